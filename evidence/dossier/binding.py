"""Sheets bound into pages: what runs at head and foot, page numbers, the band of the first page."""

from collections.abc import Callable
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING

from reportlab import rl_config
from reportlab.lib.colors import HexColor
from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageTemplate

from evidence.dossier.layout import MARGIN, Grid
from evidence.figures import style
from evidence.placing import SHEET_CREATOR
from evidence.tagging import FORM, Element, TaggedCanvas, artifact, marked

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

TOP, FOOT = 54.0, 44.0


class Anchor(Flowable):  # type: ignore[misc]  # ReportLab has no types
    """An invisible place whose page number is wanted elsewhere, and which the outline lists."""

    def __init__(self, name: str, title: str, seen: Callable[[str, int], None]) -> None:
        super().__init__()
        self.name, self.title, self._seen = name, title, seen

    def wrap(self, _across: float, _down: float) -> tuple[float, float]:
        """It takes no room."""
        return 0.0, 0.0

    def draw(self) -> None:
        """Note the page and add an outline entry."""
        self._seen(self.name, self.canv.getPageNumber())
        self.canv.bookmarkPage(self.name)
        self.canv.addOutlineEntry(self.title, self.name, level=0)


@dataclass(frozen=True, slots=True)
class Running:
    """What runs at the head and the foot of every page, and the band at the foot of the first.

    The band holds the head of the record, as a QR code and in words, beside the signature's box.
    Without a code there is no band.
    """

    left: str
    sample: str
    foot_left: str
    foot_right: str
    code: str = ""
    code_lines: tuple[str, ...] = ()


BAND = 53.0
BOX_SIZE = (212.0, 46.0)


def signature_place(layout: Grid) -> tuple[float, float, float, float]:
    """Where the signature shows on page 1: left, bottom, right and top."""
    right = layout.width - MARGIN
    return right - BOX_SIZE[0], FOOT + 2, right, FOOT + 2 + BOX_SIZE[1]


def build(
    story: Callable[[dict[str, int], Callable[[str, int], None]], list[Flowable]],
    running: Running,
    layout: Grid,
    title: str,
) -> bytes:
    """Lay the story out twice: once to learn the page numbers, once to print them.

    Args:
        story: makes the flowables, given the pages of the anchors and where to report them.
        running: head and foot.
        layout: the paper.
        title: the document's title.
    """
    pages: dict[str, int] = {}
    total = 0
    data = b""
    for _ in range(2):
        seen: dict[str, int] = {}
        data, total = _lay_out(story(pages, seen.__setitem__), running, layout, title, total)
        pages = seen
    return data


def _lay_out(
    flowables: list[Flowable], running: Running, layout: Grid, title: str, total: int
) -> tuple[bytes, int]:
    rl_config.useA85 = 0  # a quarter smaller
    out = BytesIO()
    count = 0

    def every_page(canvas: TaggedCanvas, _document: BaseDocTemplate) -> None:
        nonlocal count
        count = canvas.getPageNumber()
        with artifact(canvas):
            _head_and_foot(canvas, running, layout, count, total)

    def below_first_page(canvas: TaggedCanvas, _document: BaseDocTemplate) -> None:
        if running.code:
            with canvas.on_top():
                _band(canvas, running)

    document = BaseDocTemplate(
        out,
        pagesize=(layout.width, layout.height),
        title=title,
        creator=SHEET_CREATOR,
        lang="en",
        initialFontName=style.FONT_NAMES["text"],
        invariant=1,
        pageCompression=1,
    )
    document.addPageTemplates(
        [
            PageTemplate(
                "first",
                [_frame(layout, BAND if running.code else 0.0)],
                onPage=every_page,
                onPageEnd=below_first_page,
                autoNextPageTemplate="page",
            ),
            PageTemplate("page", [_frame(layout, 0.0)], onPage=every_page),
        ]
    )
    document.build(flowables, canvasmaker=TaggedCanvas)
    return out.getvalue(), count


def _frame(layout: Grid, raised: float) -> Frame:
    return Frame(
        MARGIN,
        FOOT + raised,
        layout.text_width,
        layout.height - TOP - FOOT - raised,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )


def _band(canvas: TaggedCanvas, running: Running) -> None:
    """The head of the record at the foot of the first page, and the place for the signature."""
    side = BOX_SIZE[1]
    square = (MARGIN, FOOT + 2, MARGIN + side, FOOT + 2 + side)
    canvas.saveState()
    canvas.setFillColor(HexColor(style.INK))
    with marked(canvas, Element("Figure", alt=f"QR code: {running.code}", box=square)):
        _code(canvas, running.code, side)
    canvas.setFont(style.FONT_NAMES["mono"], 6.8)
    with marked(canvas, Element("P")):
        for nth, line in enumerate(running.code_lines):
            canvas.drawString(MARGIN + side + 9, FOOT + side - 4 - nth * 8.2, line)
    canvas.restoreState()
    canvas.begin(Element(FORM))
    canvas.end()


def _code(canvas: "Canvas", text: str, side: float) -> None:
    """A QR code at the left margin, its lower edge just above the foot."""
    import segno

    code = segno.make(text, error="m", micro=False)
    module = side / len(code.matrix)
    for down, row in enumerate(code.matrix):
        for across, dark in enumerate(row):
            if dark:
                top = FOOT + 2 + side - down * module
                canvas.rect(
                    MARGIN + across * module, top - module, module, module, stroke=0, fill=1
                )


def _head_and_foot(canvas: "Canvas", running: Running, layout: Grid, page: int, total: int) -> None:
    right = layout.width - MARGIN
    top = layout.height - 34
    canvas.saveState()
    canvas.setFillColor(HexColor(style.MUTED))
    canvas.setFont(style.FONT_NAMES["text"], style.SMALL)
    canvas.drawString(MARGIN, top, running.left)
    number = f"page {page} of {total}"
    canvas.drawRightString(right, top, number)
    if running.sample:
        _tag(canvas, running.sample, right - style.text_width(number, "text", style.SMALL) - 8, top)
    canvas.setStrokeColor(HexColor(style.INK))
    canvas.setLineWidth(0.8)
    canvas.line(MARGIN, top - 8, right, top - 8)
    canvas.setStrokeColor(HexColor(style.HAIRLINE))
    canvas.setLineWidth(0.5)
    canvas.line(MARGIN, 36, right, 36)
    canvas.setFillColor(HexColor(style.MUTED))
    canvas.setFont(style.FONT_NAMES["text"], 7.6)
    canvas.drawString(MARGIN, 25, running.foot_left)
    canvas.drawRightString(right, 25, running.foot_right)
    canvas.restoreState()


def _tag(canvas: "Canvas", text: str, right: float, base: float) -> None:
    """The mark of a sample, boxed so that it survives a bad copy."""
    width = style.text_width(text, "text", 7.8) + 10
    canvas.setStrokeColor(HexColor(style.COPPER))
    canvas.setFillColor(HexColor(style.COPPER))
    canvas.setLineWidth(0.7)
    canvas.rect(right - width, base - 3.4, width, 12.4, stroke=1, fill=0)
    canvas.setFont(style.FONT_NAMES["text"], 7.8)
    canvas.drawString(right - width + 5, base, text)
    canvas.setFillColor(HexColor(style.MUTED))

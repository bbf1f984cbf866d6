"""The kit of the page: paper, grid, type and the few kinds of flowable that the sheets use.

Two columns of equal width and a gutter; nothing is centred; sentence case. Text is escaped here and
set in faces that have its characters, so no sheet handles markup.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from pathlib import Path
from typing import TypeAlias

from reportlab.lib.colors import HexColor
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Spacer, TableStyle

from evidence.figures import Scene, SceneFlowable, bead_mark, style
from evidence.tagging import DataTable, LaidOut, TaggedImage, TaggedParagraph, within

PAPERS = {"letter": LETTER, "a4": A4}
MARGIN = 40.0
GUTTER = 18.0

Cell: TypeAlias = Flowable | list[Flowable] | str


@dataclass(frozen=True, slots=True)
class Grid:
    """Paper size in points and the columns on it."""

    width: float
    height: float

    @property
    def text_width(self) -> float:
        """The width between the margins."""
        return self.width - 2 * MARGIN

    @property
    def column(self) -> float:
        """One of two columns."""
        return (self.text_width - GUTTER) / 2

    def shares(self, parts: Sequence[int]) -> list[float]:
        """Widths of table columns from their parts of the whole."""
        return [self.text_width * part / sum(parts) for part in parts]


def grid(paper: str) -> Grid:
    """The grid of `letter` or `a4`."""
    width, height = PAPERS[paper]
    return Grid(float(width), float(height))


@lru_cache(maxsize=1)
def styles() -> dict[str, ParagraphStyle]:
    """The paragraph styles; sizes are those of the written style sheet."""
    style.register_fonts()

    def made(name: str, size: float, leading: float, **more: object) -> ParagraphStyle:
        settings: dict[str, object] = {
            "fontName": style.FONT_NAMES["text"],
            "textColor": HexColor(style.INK),
            "fontSize": size,
            "leading": leading,
            "allowWidows": 0,
            "allowOrphans": 0,
            "splitLongWords": 1,
            **more,
        }
        return ParagraphStyle(name, **settings)

    muted, copper = HexColor(style.MUTED), HexColor(style.COPPER)
    bold = style.FONT_NAMES["bold"]
    return {
        "headline": made("headline", style.HEADLINE, 28, fontName=bold),
        "subtitle": made("subtitle", 10, 13, textColor=muted),
        "body": made("body", style.SECOND, 13),
        "figure": made("figure", 9, 11.6),
        "lead": made("lead", style.BODY, 15),
        "small": made("small", style.SMALL, 11.2),
        "fine": made("fine", 8, 10.2),
        "muted": made("muted", style.SMALL, 11.2, textColor=muted),
        "section": made("section", 15, 19, fontName=bold, spaceBefore=6),
        "heading": made("heading", style.SECOND, 12.5, fontName=bold),
        "exhibit": made("exhibit", style.SECOND, 12.5, fontName=bold, textColor=copper),
        "value": made("value", 19, 22, fontName=bold),
        "value-words": made("value-words", 12.5, 20, fontName=bold),
        "head": made("head", style.SMALL, 10.5, textColor=muted),
        "verbatim": made("verbatim", 8.2, 11.4, fontName=style.FONT_NAMES["mono"]),
        "mono": made("mono", 7.2, 10.4, fontName=style.FONT_NAMES["mono"], textColor=muted),
    }


def markup(text: str, role: style.Role = "text") -> str:
    """Escaped text with a face for every run that the first face lacks; lines break at newlines."""
    return "<br/>".join(_line(line, role) for line in text.split("\n"))


def _line(text: str, role: style.Role) -> str:
    first = style.FONT_NAMES[role]
    parts = []
    for run in style.runs(text, role):
        safe = escape(run.text, quote=False)
        parts.append(safe if run.font == first else f'<font name="{run.font}">{safe}</font>')
    return "".join(parts)


def cite(text: str) -> str:
    """An entry reference behind a sentence: mono, muted, kept on one line."""
    if not text:
        return ""
    mono = style.FONT_NAMES["mono"]
    held = text.replace(" ", "\N{NO-BREAK SPACE}").replace(",\N{NO-BREAK SPACE}", ", ")
    size, colour = 7.6, style.MUTED
    return f' <font name="{mono}" size="{size}" color="{colour}">{markup(held, "mono")}</font>'


_DEPTHS = {"headline": "H1", "section": "H2", "heading": "H3", "exhibit": "H3"}
"""What stands in the tree as a heading, and how deep its look says it is."""
_BOLD = frozenset({"headline", "section", "heading", "exhibit", "value", "value-words"})


def para(text: str, name: str = "body", *, refs: str = "", lead: str = "") -> TaggedParagraph:
    """A paragraph; `lead` stands in bold copper before it (an exhibit letter), `refs` behind it."""
    role: style.Role = "bold" if name in _BOLD else "text"
    if name in ("mono", "verbatim"):
        role = "mono"
    head = ""
    if lead:
        bold = style.FONT_NAMES["bold"]
        head = f'<font name="{bold}" color="{style.COPPER}">{markup(lead, "bold")}</font> '
    made = TaggedParagraph(head + markup(text, role) + cite(refs), styles()[name])
    made.tag = _DEPTHS.get(name, "P") if text.strip() or refs or lead else ""
    return made


def verbatim(text: str) -> TaggedParagraph:
    """One line exactly as it stands: a line of a note, a key, a sum."""
    return para((text or " ").replace(" ", "\N{NO-BREAK SPACE}"), "verbatim")


def gap(points: float) -> Spacer:
    """Vertical space."""
    return Spacer(0, points)


def section(text: str, anchor: Flowable) -> list[Flowable]:
    """A heading that starts a part and is never left alone at the foot of a page."""
    return [CondPageBreak(200), gap(12), anchor, para(text, "section"), gap(5)]


def columns(left: Cell, right: Cell, layout: Grid, wider_left: float = 0.0) -> LaidOut:
    """Two cells side by side on the grid; `wider_left` moves the gutter, in points."""
    widths = [layout.column + wider_left, GUTTER, layout.column - wider_left]
    table = LaidOut([[left, "", right]], colWidths=widths, hAlign="LEFT")
    table.setStyle(TableStyle([*BARE, ("VALIGN", (0, 0), (-1, -1), "TOP")]))
    return table


def bead(grade: int) -> Flowable:
    """A grade mark on its own."""
    length, height = 30.0, 11.0
    marks = bead_mark(grade, length / 2, 4.5, length)
    return SceneFlowable(Scene(length, height, marks, f"grade {grade}", f"Grade {grade}"))


def bead_row(mark: Flowable, words: Flowable, width: float) -> LaidOut:
    """A row of a list: a grade mark and the sentence beside it."""
    row = [within("Lbl", mark), within("LBody", words)]
    table = LaidOut([row], colWidths=[38, width - 38], hAlign="LEFT")
    table.setStyle(
        TableStyle(
            [*BARE, ("VALIGN", (0, 0), (-1, -1), "TOP"), ("BOTTOMPADDING", (0, 0), (-1, -1), 5)]
        )
    )
    return table


BARE = [
    ("FONTNAME", (0, 0), (-1, -1), style.FONT_NAMES["text"]),  # of an empty cell: embedded, too
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 0),
    ("TOPPADDING", (0, 0), (-1, -1), 0),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 0),
]


_FIGURE_WIDTH = 74.0


def figure_cell(value: str, unit: str, text: Flowable, width: float) -> LaidOut:
    """A large figure over its unit on the left, its sentence on the right, a hairline above."""
    big = para(value, "value" if len(value) <= _SHORT_VALUE else "value-words")
    left = [big, para(unit, "head")] if unit else [big]
    table = LaidOut([[left, text]], colWidths=[_FIGURE_WIDTH, width - _FIGURE_WIDTH], hAlign="LEFT")
    table.setStyle(
        TableStyle(
            [
                *BARE,
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LINEABOVE", (0, 0), (-1, 0), 0.6, HexColor(style.HAIRLINE)),
                ("TOPPADDING", (0, 0), (0, 0), 1),
                ("TOPPADDING", (1, 0), (1, 0), 5),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 6),
                ("RIGHTPADDING", (0, 0), (0, 0), 6),
            ]
        )
    )
    return table


_SHORT_VALUE = 7


def table(
    head: Sequence[str], rows: Sequence[Sequence[Cell]], widths: Sequence[float]
) -> DataTable:
    """A quiet table: muted heads, hairlines between rows, heads repeated on the next page."""
    cells: list[list[Cell]] = [[para(text, "head") for text in head]]
    cells += [[para(c, "small") if isinstance(c, str) else c for c in row] for row in rows]
    made = DataTable(cells, colWidths=list(widths), repeatRows=1, hAlign="LEFT")
    made.setStyle(
        TableStyle(
            [
                *BARE,
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("RIGHTPADDING", (0, 0), (-2, -1), 8),
                ("TOPPADDING", (0, 0), (-1, -1), 4),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
                ("LINEBELOW", (0, 0), (-1, 0), 0.6, HexColor(style.INK)),
                ("LINEBELOW", (0, 1), (-1, -1), 0.4, HexColor(style.FAINT)),
            ]
        )
    )
    return made


def picture(path: Path | None, width: float, height: float, note: str, alt: str) -> LaidOut:
    """A preview whole within its box, never cropped; without one, the reason in words.

    Args:
        path: the preview, if there is one.
        width: of the box, in points.
        height: of the box, in points.
        note: why there is none.
        alt: what it shows and when, for somebody who does not see it.
    """
    inner: Flowable = para(note, "muted")
    if path is not None:
        from PIL import Image as Pillow

        with Pillow.open(path) as opened:
            across, down = opened.size
        scale = min(width / across, height / down)
        inner = TaggedImage(str(path), across * scale, down * scale)
        inner.alt = alt
    box = LaidOut([[inner]], colWidths=[width], rowHeights=[height], hAlign="LEFT")
    box.setStyle(
        TableStyle(
            [
                *BARE,
                ("BACKGROUND", (0, 0), (-1, -1), HexColor(style.PALE)),
                ("ALIGN", (0, 0), (-1, -1), "CENTER"),
                ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
                *([("LEFTPADDING", (0, 0), (-1, -1), 12)] if path is None else []),
            ]
        )
    )
    return box


def beside(left: Flowable, right: Cell, widths: tuple[float, float]) -> LaidOut:
    """A picture and its caption beside it."""
    table = LaidOut([[left, right]], colWidths=list(widths), hAlign="LEFT")
    table.setStyle(
        TableStyle([*BARE, ("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (1, 0), (1, 0), 8)])
    )
    return table


def rows(made: Iterable[Flowable]) -> list[Flowable]:
    """Rows of `bead_row` as one list."""
    return _list([within("LI", row) for row in made])


def listed(rows: Iterable[Sequence[Flowable]], space: float = 0.0) -> list[Flowable]:
    """Rows one below the other that are a list to whoever has the page read aloud.

    Args:
        rows: the flowables of each row.
        space: between two rows, in points.
    """
    return _list([[*within("LI", *within("LBody", *row)), gap(space)] for row in rows])


def _list(rows: Sequence[Sequence[Flowable]]) -> list[Flowable]:
    return within("L", *(part for row in rows for part in row)) if rows else []


def together(*parts: Flowable) -> KeepTogether:
    """Parts that stay on one page."""
    return KeepTogether(list(parts))

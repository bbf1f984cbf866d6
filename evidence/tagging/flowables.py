"""ReportLab's paragraph, picture and table, each saying what it is.

One that goes on over the page stays one element.
"""

from functools import cached_property

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable, Image, Paragraph, Table

from evidence.tagging.canvas import TaggedCanvas, marked
from evidence.tagging.tree import Box, Element


class TaggedParagraph(Paragraph):  # type: ignore[misc]  # ReportLab has no types
    """A paragraph or, with `tag`, a heading; with an empty tag it keeps its room and is silent."""

    tag = "P"

    @cached_property
    def element(self) -> Element:
        """What it is in the tree."""
        return Element(self.tag)

    def split(self, across: float, down: float) -> list[Paragraph]:
        """The part that fits and the rest, which belong to one element."""
        parts: list[Paragraph] = super().split(across, down)
        for part in parts:
            part.element = self.element
        return parts

    def draw(self) -> None:
        """Draw it as content of its element."""
        if self.tag:
            with marked(self.canv, self.element):
                super().draw()


class TaggedImage(Image):  # type: ignore[misc]
    """A picture; `alt` says what it shows and when."""

    alt = ""

    def draw(self) -> None:
        """Draw it as a figure."""
        size = self.drawWidth, self.drawHeight
        figure = Element("Figure", alt=self.alt, box=box_of(self.canv, *size))
        with marked(self.canv, figure):
            super().draw()


def box_of(canvas: Canvas, width: float, height: float) -> Box:
    """Where what is being drawn from the canvas's origin stands on the page."""
    return *canvas.absolutePosition(0, 0), *canvas.absolutePosition(width, height)


class LaidOut(Table):  # type: ignore[misc]
    """A table that only puts things side by side: its rules and grounds are no content."""

    def __init__(self, *args: object, **settings: object) -> None:
        super().__init__(*args, **{**settings, "renderCB": type(self).told})

    def told(self, what: str, *_where: int) -> None:
        """What ReportLab is about to draw of the table, and where."""
        if not isinstance(self.canv, TaggedCanvas):
            return
        if what in {"startBG", "startLines"}:
            self.canv.begin_artifact()
        elif what in {"endBG", "endLines"}:
            self.canv.end_artifact()

    def _drawCell(  # noqa: N802
        self, content: object, look: object, corner: object, size: object
    ) -> None:
        if content != "":  # an empty text would be content that belongs nowhere
            super()._drawCell(content, look, corner, size)


class DataTable(LaidOut):
    """A table of facts: its repeated rows are header cells of their columns."""

    continued = False
    """Whether it goes on from the page before: then its heads are a repetition."""

    @cached_property
    def element(self) -> Element:
        """What it is in the tree."""
        return Element("Table")

    def split(self, across: float, down: float) -> list[Table]:
        """The part that fits and the rest, which belong to one element."""
        parts: list[Table] = super().split(across, down)
        for nth, part in enumerate(parts):
            part.element = self.element
            part.continued = self.continued or nth > 0
        return parts

    def told(self, what: str, *where: int) -> None:
        """Open and close the elements of rows and cells."""
        super().told(what, *where)
        if not isinstance(self.canv, TaggedCanvas):
            return
        if what == "startTable":
            self.canv.begin(self.element)
        elif what == "startRow":
            self._row(where[0])
        elif what == "startCell":
            self._cell(*where[:2])
        elif what == "endRow":
            self.canv.end()
            if self._repeating:
                self.canv.end_artifact()
        elif what in {"endCell", "endTable"}:
            self.canv.end()

    def _cell(self, row: int, column: int) -> None:
        spans = (self._spanRanges or {}).get((column, row)) if self._spanCmds else None
        columns = 1 if spans is None else spans[2] - spans[0] + 1
        heads = row < self.repeatRows
        cell = Element("TH", scope="Column") if heads else Element("TD")
        cell.columns = columns
        self.canv.begin(cell)

    def _row(self, number: int) -> None:
        self._repeating = self.continued and number < self.repeatRows
        if self._repeating:
            self.canv.begin_artifact()
        self.canv.begin(Element("TR"))


class Begin(Flowable):  # type: ignore[misc]
    """From here on elements belong to one of type `tag`. Takes no room."""

    def __init__(self, tag: str) -> None:
        super().__init__()
        self.tag = tag

    def wrap(self, _across: float, _down: float) -> tuple[float, float]:
        """It takes no room."""
        return 0.0, 0.0

    def draw(self) -> None:
        """Open the element."""
        if isinstance(self.canv, TaggedCanvas):
            self.canv.begin(Element(self.tag))


class End(Flowable):  # type: ignore[misc]
    """The element that `Begin` opened ends. Takes no room."""

    def wrap(self, _across: float, _down: float) -> tuple[float, float]:
        """It takes no room."""
        return 0.0, 0.0

    def draw(self) -> None:
        """Close the element."""
        if isinstance(self.canv, TaggedCanvas):
            self.canv.end()


def within(tag: str, *flowables: Flowable) -> list[Flowable]:
    """The flowables as one element."""
    return [Begin(tag), *flowables, End()]

"""A ReportLab canvas that marks what is drawn and writes the structure tree beside it.

Whatever draws says what it draws: `marked` for a piece of content, `artifact` for rules, grounds
and what runs on every page. On any other canvas both do nothing.
"""

from collections.abc import Iterator
from contextlib import contextmanager

from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas

from evidence.tagging.tree import Element, Mark


class TaggedCanvas(Canvas):  # type: ignore[misc]  # ReportLab has no types
    """Draws pages, and keeps which marked piece of which page belongs to which element."""

    def __init__(self, *args: object, **settings: object) -> None:
        self.document = Element("Document", placed=True)
        self._open = [self.document]
        self._owners: list[list[Element]] = [[]]
        self._headings: list[int] = []
        self._aside = 0
        super().__init__(*args, **settings)

    def begin(self, element: Element) -> None:
        """Open an element within the one that is open; one that is placed already goes on."""
        if not self._aside and not element.placed:
            element.placed = True
            self._set_depth(element)
            self._open[-1].kids.append(element)
        self._open.append(element)

    def end(self) -> None:
        """Close the element opened last."""
        self._open.pop()

    def _set_depth(self, element: Element) -> None:
        """A heading stands one deeper than the last that looks higher (ISO 14289-1 § 7.4.2)."""
        if element.depth:
            while self._headings and self._headings[-1] >= element.depth:
                self._headings.pop()
            self._headings.append(element.depth)
            element.tag = f"H{len(self._headings)}"

    @contextmanager
    def on_top(self) -> Iterator[None]:
        """Elements begun within stand in the document itself, whatever is open."""
        kept, self._open = self._open, [self.document]
        yield
        self._open = kept

    def begin_content(self) -> None:
        """What is drawn from here on is content of the element opened last."""
        if not self._aside:
            owners = self._owners[-1]
            mark = Mark(len(self._owners) - 1, len(owners))
            self._open[-1].kids.append(mark)
            owners.append(self._open[-1])
            self._code.append(f"/{self._open[-1].tag} <</MCID {mark.number}>> BDC")

    def end_content(self) -> None:
        """End what `begin_content` began."""
        if not self._aside:
            self._code.append("EMC")

    def begin_artifact(self) -> None:
        """What is drawn from here on carries no meaning of its own (ISO 32000-1 § 14.8.2.2)."""
        if not self._aside:
            self._code.append("/Artifact BMC")
        self._aside += 1

    def end_artifact(self) -> None:
        """End what `begin_artifact` began."""
        self._aside -= 1
        if not self._aside:
            self._code.append("EMC")

    def showPage(self) -> None:  # noqa: N802 - ReportLab's name
        """Close the page; marks are counted anew on the next."""
        super().showPage()
        self._owners.append([])

    def save(self) -> None:
        """Write the tree, then the file."""
        if len(self._code):
            self.showPage()
        self._owners.pop()  # of the page that was never begun
        self._write_tree()
        super().save()

    def _write_tree(self) -> None:
        """The tree and the way back from each mark to its element (ISO 32000-1 § 14.7.4.4)."""
        refer, catalog = self._doc.Reference, self._doc.Catalog
        root = pdfdoc.PDFDictionary({"Type": pdfdoc.PDFName("StructTreeRoot")})
        catalog.StructTreeRoot = root
        catalog.MarkInfo = pdfdoc.PDFDictionary({"Marked": "true"})
        written: dict[int, object] = {}
        root["K"] = self._written(self.document, refer(root), written)
        ways: list[object] = []
        for number, (page, owners) in enumerate(
            zip(self._doc.Pages.pages, self._owners, strict=True)
        ):
            page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
            page.StructParents, page.Tabs = number, pdfdoc.PDFName("S")
            way = pdfdoc.PDFArray([written[id(owner)] for owner in owners])
            ways += [number, refer(way)]
        root["ParentTree"] = refer(pdfdoc.PDFDictionary({"Nums": pdfdoc.PDFArray(ways)}))
        root["ParentTreeNextKey"] = len(self._owners)

    def _written(self, element: Element, parent: object, written: dict[int, object]) -> object:
        made = pdfdoc.PDFDictionary(
            {"Type": pdfdoc.PDFName("StructElem"), "S": pdfdoc.PDFName(element.tag), "P": parent}
        )
        reference = written[id(element)] = self._doc.Reference(made)
        kids = [
            self._written(kid, reference, written) if isinstance(kid, Element) else _mark(kid)
            for kid in element.kids
        ]
        if kids:
            made["K"] = pdfdoc.PDFArray(kids)
        if element.alt:
            made["Alt"] = pdfdoc.PDFString(element.alt)
        attributes = _attributes(element)
        if attributes is not None:
            made["A"] = attributes
        return reference


def _mark(mark: Mark) -> object:
    """A marked-content reference (ISO 32000-1 table 324)."""
    return pdfdoc.PDFDictionary(
        {
            "Type": pdfdoc.PDFName("MCR"),
            "Pg": pdfdoc.PDFObjectReference(f"Page{mark.page + 1}"),
            "MCID": mark.number,
        }
    )


def _attributes(element: Element) -> "pdfdoc.PDFDictionary | None":
    """Where a figure stands, or what a cell is to its table (ISO 32000-1 §§ 14.8.5.4, 14.8.5.7)."""
    name = pdfdoc.PDFName
    values: dict[str, object] = {}
    if element.box is not None:
        where = pdfdoc.PDFArray([round(side, 2) for side in element.box])
        values |= {"O": name("Layout"), "BBox": where, "Placement": name("Block")}
    if element.scope:
        values |= {"O": name("Table"), "Scope": name(element.scope)}
    if element.columns > 1:
        values |= {"O": name("Table"), "ColSpan": element.columns}
    return pdfdoc.PDFDictionary(values) if values else None


@contextmanager
def marked(canvas: Canvas, element: Element) -> Iterator[None]:
    """What is drawn within is the content of `element`."""
    if not isinstance(canvas, TaggedCanvas):
        yield
        return
    canvas.begin(element)
    canvas.begin_content()
    yield
    canvas.end_content()
    canvas.end()


@contextmanager
def artifact(canvas: Canvas) -> Iterator[None]:
    """What is drawn within is no part of what the page says."""
    if not isinstance(canvas, TaggedCanvas):
        yield
        return
    canvas.begin_artifact()
    yield
    canvas.end_artifact()

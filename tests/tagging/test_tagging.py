"""The structure tree read back with pikepdf (qpdf), and told by poppler."""

import re
import shutil
import subprocess
from io import BytesIO

import pikepdf
import pytest
from pikepdf import Array, Name
from PIL import Image as Pillow
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

from evidence.figures.style import FONT_NAMES, register_fonts
from evidence.tagging import (
    DataTable,
    Element,
    LaidOut,
    TaggedCanvas,
    TaggedImage,
    TaggedParagraph,
    artifact,
    marked,
    within,
)
from tests.conftest import needed

register_fonts()
STYLE = ParagraphStyle("plain", fontName=FONT_NAMES["text"], fontSize=10, leading=12)
HEIGHT = 200


def para(text: str, tag: str = "P") -> TaggedParagraph:
    made = TaggedParagraph(text, STYLE)
    made.tag = tag
    return made


def drawn(*flowables, on_page=lambda _canvas, _document: None) -> pikepdf.Pdf:
    out = BytesIO()
    frame = Frame(20, 20, 300, HEIGHT - 40, 0, 0, 0, 0)
    document = BaseDocTemplate(out, pagesize=(340, HEIGHT), initialFontName=FONT_NAMES["text"])
    document.addPageTemplates(PageTemplate("page", [frame], onPage=on_page))
    document.build(list(flowables), canvasmaker=TaggedCanvas)
    pdf = pikepdf.open(BytesIO(out.getvalue()))
    both_ways(pdf)
    return pdf


def kids(element) -> list:
    found = element.get("/K", [])
    return list(found) if isinstance(found, Array) else [found]


def is_mark(kid) -> bool:
    return kid.get("/Type") == Name.MCR


def shape(element) -> tuple:
    """The tags below an element; a mark is its page's number."""
    return str(element.S)[1:], *(
        kid.Pg.StructParents if is_mark(kid) else shape(kid) for kid in kids(element)
    )


def tree(pdf: pikepdf.Pdf) -> tuple:
    return shape(pdf.Root.StructTreeRoot.K)


def both_ways(pdf: pikepdf.Pdf) -> None:
    """Each mark of a page is named by one element, and the page's list leads back to it."""
    named: dict[tuple[int, int], tuple[int, int]] = {}

    def walk(element) -> None:
        for kid in kids(element):
            if is_mark(kid):
                place = int(kid.Pg.StructParents), int(kid.MCID)
                assert place not in named
                named[place] = element.objgen
            else:
                assert kid.P.objgen == element.objgen
                walk(kid)

    walk(pdf.Root.StructTreeRoot.K)
    ways = list(pdf.Root.StructTreeRoot.ParentTree.Nums)
    for number, page in enumerate(pdf.pages):
        content = page.Contents.read_bytes().decode("latin-1")
        marks = [int(found) for found in re.findall(r"MCID (\d+)>> BDC", content)]
        assert marks == list(range(len(marks)))
        assert len(re.findall(r"\bB(?:DC|MC)\b", content)) == content.count("EMC")
        way = ways[ways.index(number) + 1]
        assert [named[number, mark] for mark in marks] == [owner.objgen for owner in way]
        assert page.Tabs == Name.S


def test_headings_paragraphs_and_figures_stand_in_the_order_in_which_they_are_read():
    pdf = drawn(para("Title", "H1"), para("A sentence."), para("Part", "H2"), para("Another."))

    assert tree(pdf) == ("Document", ("H1", 0), ("P", 0), ("H2", 0), ("P", 0))
    assert pdf.Root.MarkInfo.Marked is True


def test_no_heading_is_more_than_one_deeper_than_the_one_above_it():
    pdf = drawn(*[para("x", tag) for tag in ("H1", "H3", "H3", "H2", "H3", "H2")])

    assert [element[0] for element in tree(pdf)[1:]] == ["H1", "H2", "H2", "H2", "H3", "H2"]


def test_a_paragraph_that_goes_on_over_the_page_stays_one():
    assert tree(drawn(para("word " * 500))) == ("Document", ("P", 0, 1, 2, 3))


def test_an_empty_paragraph_says_nothing():
    pdf = drawn(para("one"), para("", ""), para("two"))

    assert tree(pdf) == ("Document", ("P", 0), ("P", 0))


def test_a_list_has_its_rows_and_their_marks():
    row = LaidOut([[within("Lbl", para("1")), within("LBody", para("first"))]])
    pdf = drawn(*within("L", *within("LI", row)))

    assert tree(pdf) == ("Document", ("L", ("LI", ("Lbl", ("P", 0)), ("LBody", ("P", 0)))))


def cells(*texts: str) -> list:
    return [para(text) for text in texts]


def test_a_table_has_rows_and_heads_of_columns():
    pdf = drawn(DataTable([cells("zone", "grade"), cells("skylight", "1")], repeatRows=1))
    head, row = ("TR", ("TH", ("P", 0)), ("TH", ("P", 0))), ("TR", *[("TD", ("P", 0))] * 2)
    first = kids(kids(kids(pdf.Root.StructTreeRoot.K)[0])[0])[0]

    assert tree(pdf) == ("Document", ("Table", head, row))
    assert (first.A.O, first.A.Scope) == (Name.Table, Name.Column)


def test_a_table_over_two_pages_is_one_and_says_its_heads_once():
    rows = [cells("zone", "grade"), *[cells(f"zone {n}", "1") for n in range(20)]]
    pdf = drawn(DataTable(rows, repeatRows=1))
    (table,) = tree(pdf)[1:]

    assert len(pdf.pages) > 1
    assert len(table) == 1 + len(rows)
    assert sum(row[1][0] == "TH" for row in table[1:]) == 1


def test_a_cell_over_two_columns_says_so():
    made = DataTable([cells("a", "b"), [para("both"), ""]], repeatRows=1)
    made.setStyle([("SPAN", (0, 1), (1, 1))])
    pdf = drawn(made)
    row = kids(kids(pdf.Root.StructTreeRoot.K)[0])[1]

    assert [shape(cell)[0] for cell in kids(row)] == ["TD"]
    assert kids(row)[0].A.ColSpan == 2


def test_rules_and_grounds_are_no_content():
    made = LaidOut([[para("a"), ""]], style=[("BACKGROUND", (0, 0), (-1, -1), "#eeeeee")])
    made.setStyle([("LINEABOVE", (0, 0), (-1, 0), 1, "#000000")])
    pdf = drawn(made)
    content = pdf.pages[0].Contents.read_bytes().decode("latin-1")

    assert tree(pdf) == ("Document", ("P", 0))
    assert content.count("/Artifact BMC") == 2
    assert outside_of_marks(content) == []


def outside_of_marks(content: str) -> list[str]:
    """What paints or shows text and lies in no mark (operators of ISO 32000-1 annex A)."""
    found, depth = [], 0
    for line in content.splitlines():
        words = line.split()
        depth += sum(word in {"BDC", "BMC"} for word in words) - words.count("EMC")
        paints = {"S", "s", "f", "F", "B", "b", "Tj", "TJ", "Do", "f*", "B*", "b*"}
        if depth == 0 and paints & set(words):
            found.append(line)
    return found


def test_what_runs_on_every_page_is_no_content():
    def runs(canvas, _document):
        with artifact(canvas), marked(canvas, Element("P")):
            canvas.drawString(20, 5, "page")

    pdf = drawn(para("word " * 300), on_page=runs)

    assert tree(pdf) == ("Document", ("P", 0, 1))
    for page in pdf.pages:
        assert outside_of_marks(page.Contents.read_bytes().decode("latin-1")) == []


def test_a_picture_says_what_it_shows_and_where_it_stands():
    file = BytesIO()
    Pillow.new("RGB", (40, 30), "grey").save(file, "JPEG")
    picture = TaggedImage(file, 80, 60, hAlign="LEFT")
    picture.alt = "A skylight; grade 1"
    pdf = drawn(picture)
    (figure,) = kids(pdf.Root.StructTreeRoot.K)

    assert (figure.S, str(figure.Alt)) == (Name.Figure, "A skylight; grade 1")
    left, bottom, right, top = map(float, figure.A.BBox)
    assert (right - left, top - bottom) == pytest.approx((80, 60))
    assert (left, top) == pytest.approx((20, HEIGHT - 20))


def test_on_top_what_is_open_is_left_aside():
    canvas = TaggedCanvas(BytesIO())
    canvas.begin(Element("L"))
    with canvas.on_top():
        canvas.begin(Element("P"))
        canvas.end()
    canvas.begin(Element("LI"))

    assert [kid.tag for kid in canvas.document.kids] == ["L", "P"]
    assert [kid.tag for kid in canvas.document.kids[0].kids] == ["LI"]


def test_the_same_drawing_gives_the_same_bytes():
    def once() -> bytes:
        out = BytesIO()
        canvas = TaggedCanvas(out, invariant=1, initialFontName=FONT_NAMES["text"])
        with marked(canvas, Element("P")):
            canvas.drawString(20, 20, "A line")
        canvas.save()
        return out.getvalue()

    assert once() == once()


def test_poppler_reads_the_same_tree(tmp_path):
    needed(shutil.which("pdfinfo") is not None, "pdfinfo")
    file = tmp_path / "tagged.pdf"
    drawn(para("Title", "H1"), para("A sentence.")).save(file)
    said = subprocess.run(
        ["pdfinfo", "-struct-text", file], capture_output=True, text=True, check=True
    ).stdout

    assert re.findall(r"(H1|P) \(block\)\s+\"(.*)\"", said) == [
        ("H1", "Title"),
        ("P", "A sentence."),
    ]

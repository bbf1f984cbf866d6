"""The kit of the page: markup, references, tables and pictures."""

from io import BytesIO

import pytest
from pypdf import PdfReader
from reportlab.platypus import Paragraph, SimpleDocTemplate

from evidence.dossier import layout as lay

NOBREAK = "\N{NO-BREAK SPACE}"


def drawn(*flowables, paper="letter") -> str:
    """The text of one page with these on it."""
    grid = lay.grid(paper)
    out = BytesIO()
    SimpleDocTemplate(out, pagesize=(grid.width, grid.height)).build(list(flowables))
    return "".join(page.extract_text() for page in PdfReader(BytesIO(out.getvalue())).pages)


def height(flowable, width: float) -> float:
    return flowable.wrap(width, 10_000)[1]


@pytest.mark.parametrize(
    "text",
    [
        "3 < 4 & 5 > 2",
        "<b>bold</b> & <font color=red>",
        "</para><para>",
        "&lt; &amp; &#60; &copy;",
        'a "quoted" name',
        "<br/>",
        "<img src=/etc/passwd>",
    ],
)
def test_text_of_the_record_stands_on_the_page_as_it_was_written(text):
    assert "".join(text.split()) in "".join(drawn(lay.para(text)).split())
    assert "".join(text.split()) in "".join(drawn(lay.para("before", refs=text)).split())
    assert "".join(text.split()) in "".join(drawn(lay.para("before", lead=text)).split())


@pytest.mark.parametrize("style", sorted(lay.styles()))
@pytest.mark.parametrize(
    "name", ["Ελένη Παπαδοπούλου", "Надежда Ковальчук", "Nguyễn Thị Ánh", "Łódź, Straße, Ðà"]
)
def test_names_of_other_scripts_are_drawn_with_a_face_that_has_them(name, style):
    assert drawn(lay.para(name, style)).split() == name.split()


@pytest.mark.parametrize(
    "name", ["屋根の天窓", "지붕", "سقف", "🛠 fixed", "\U0001f3f4\u200d", "a\u0301"]
)
@pytest.mark.parametrize("style", ["headline", "body", "mono", "exhibit"])
def test_what_no_face_has_is_drawn_as_question_marks_and_stops_nothing(name, style):
    assert height(lay.para(name, style, refs=name, lead=name), 200) > 0


def test_a_reference_is_mono_and_stays_on_one_line():
    held = lay.cite("entry 18")
    assert f"entry{NOBREAK}18" in held
    assert "PlexMono" in held
    assert lay.cite("") == ""


def test_a_list_of_references_breaks_only_between_them():
    said = lay.cite("entries 18, 20, 21")
    assert f"entries{NOBREAK}18, 20, 21" in said


@pytest.mark.parametrize("style", ["body", "small", "headline", "mono", "value"])
def test_a_word_longer_than_the_column_is_broken_within_it(style):
    long = lay.para("x" * 900, style)
    assert height(long, 120) > 5 * height(lay.para("x", style), 120)


def test_a_file_name_longer_than_the_column_is_broken_behind_a_sentence():
    long = lay.para("sealed.", "small", refs=f"entry 3, {'a_long_name_' * 20}.jpg")
    assert height(long, 120) > 5 * height(lay.para("x", "small"), 120)


def test_a_column_is_half_the_text_less_the_gutter():
    for paper in ("letter", "a4"):
        grid = lay.grid(paper)
        assert 2 * grid.column + lay.GUTTER == pytest.approx(grid.text_width)
        assert sum(grid.shares((1, 2, 3))) == pytest.approx(grid.text_width)
    assert lay.grid("letter").width == 612
    assert lay.grid("a4").height == pytest.approx(841.89, abs=0.01)


def test_a_table_repeats_its_heads_on_every_page():
    rows = [[f"row {n}", "what it says"] for n in range(80)]
    out = BytesIO()
    SimpleDocTemplate(out).build([lay.table(("number", "text"), rows, (100, 200))])
    pages = PdfReader(BytesIO(out.getvalue())).pages
    assert len(pages) > 1
    assert all("number" in page.extract_text() for page in pages)


def test_a_picture_stands_whole_in_its_frame(tmp_path):
    from PIL import Image

    tall = tmp_path / "tall.jpg"
    Image.new("RGB", (60, 120), (9, 9, 9)).save(tall)
    box = lay.picture(tall, 100.0, 80.0, "note", "A picture")
    (image,) = box._cellvalues[0]
    assert (image.drawWidth, image.drawHeight) == (40.0, 80.0)
    assert box.wrap(1000, 1000) == (100.0, 80.0)


def test_without_a_picture_the_frame_says_why():
    box = lay.picture(None, 100.0, 80.0, "This file cannot be shown.", "A picture")
    (words,) = box._cellvalues[0]
    assert isinstance(words, Paragraph)
    assert words.text.startswith("This file cannot")
    assert box.wrap(1000, 1000) == (100.0, 80.0)


@pytest.mark.parametrize("grade", range(5))
def test_every_grade_has_its_mark(grade):
    assert height(lay.bead(grade), 100) > 0


def test_a_line_ends_where_its_text_does():
    assert lay.markup("seen\nfrom the ladder") == "seen<br/>from the ladder"


def test_a_file_name_in_another_script_is_cited_in_faces_that_have_it():
    cited = lay.cite("entry 4, Ελένη.jpg")
    assert '<font name="PlexSans">Ελένη</font>' in cited

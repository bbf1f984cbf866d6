from io import BytesIO

import pypdf
import pytest

from evidence.figures import SceneFlowable
from evidence.figures.scene import (
    Circle,
    Close,
    CurveTo,
    Hatch,
    Line,
    LineTo,
    MoveTo,
    Path,
    Polygon,
    Rect,
    Scene,
    Stroke,
    Text,
)

from .samples import all_figures, words_of

NAMES = list(all_figures())


def pdf_of(*scenes: Scene) -> bytes:
    from reportlab.pdfgen.canvas import Canvas

    out = BytesIO()
    canvas = Canvas(out, pagesize=(612, 792), invariant=1, pageCompression=0)
    for scene in scenes:
        flowable = SceneFlowable(scene)
        flowable.wrapOn(canvas, 540, 700)
        flowable.drawOn(canvas, 36, 36)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def operators(pdf: bytes) -> list[str]:
    page = pypdf.PdfReader(BytesIO(pdf)).pages[0]
    return page.get_contents().get_data().decode("latin-1").split()


@pytest.mark.parametrize("name", NAMES)
def test_the_pdf_holds_every_word_of_the_figure(figures, name):
    page = pypdf.PdfReader(BytesIO(pdf_of(figures[name]))).pages[0]
    drawn = "".join(page.extract_text().split())
    missing = [
        text.text for text in words_of(figures[name]) if "".join(text.text.split()) not in drawn
    ]
    assert missing == []


def test_the_same_scene_gives_the_same_bytes(figures):
    scenes = figures.values()
    assert pdf_of(*scenes) == pdf_of(*scenes)


def test_a_figure_takes_its_own_size_and_keeps_its_words(figures):
    scene = figures["plan"]
    flowable = SceneFlowable(scene)
    assert flowable.wrap(100, 100) == (scene.width, scene.height)
    assert (flowable.title, flowable.alt) == (scene.title, scene.alt)
    assert flowable.hAlign == "LEFT"


def test_y_runs_down_from_the_top_of_the_figure():
    scene = Scene(100, 40, (Text(10, 15, "here"),), "t", "a")
    places = []
    page = pypdf.PdfReader(BytesIO(pdf_of(scene))).pages[0]

    def visit(text, matrix, text_matrix, _font, _size):
        if text.strip():
            x, y = text_matrix[4], text_matrix[5]
            a, b, c, d, e, f = matrix
            places.append((a * x + c * y + e, b * x + d * y + f, d))

    page.extract_text(visitor_text=visit)
    x, y, upright = places[0]
    assert (x, y) == pytest.approx((36 + 10, 36 + 40 - 15))
    assert upright > 0


def test_hatching_is_clipped_and_the_clip_ends_with_it():
    hatch = Hatch(((0, 0), (50, 0), (50, 20)), Stroke(width=0.5), 4.0)
    codes = operators(pdf_of(Scene(100, 40, (hatch, Line(0, 0, 100, 40)), "t", "a")))
    clip = codes.index("W*")
    end = clip + codes[clip:].index("Q")
    assert codes[:clip].count("l") == 2  # the triangle's two sides; "h" closes the third
    assert codes[clip:end].count("l") == len(hatch.lines())
    assert "l" in codes[end:]


def test_every_kind_of_item_is_drawn_with_its_own_paint():
    steps = (MoveTo(0, 0), LineTo(9, 0), CurveTo(9, 5, 5, 9, 0, 9), Close())
    items = (
        Rect(0, 0, 10, 10, "#ff0000"),
        Rect(0, 0, 10, 10, "#00ff00", Stroke("#0000ff", 2.0), 3.0),
        Circle(5, 5, 5, stroke=Stroke("#0000ff", 1.0, (3.0, 2.0))),
        Polygon(((0, 0), (5, 5), (0, 5)), "#ff0000"),
        Path(steps, "#00ff00", Stroke(round_ends=True)),
    )
    codes = operators(pdf_of(Scene(20, 20, items, "t", "a")))
    code = " ".join(codes)
    assert "1 0 0 rg" in code
    assert "0 1 0 rg" in code
    assert "0 0 1 RG" in code
    assert "[3 2] 0 d" in code
    assert "1 J" in code
    painting = [operator for operator in codes if operator in {"f*", "f", "S", "B", "B*"}]
    assert len(painting) == len(items)


def test_a_name_that_no_face_has_is_drawn_with_question_marks():
    scene = Scene(100, 20, (Text(90, 10, "天窗 1", anchor="end"),), "t", "a")
    page = pypdf.PdfReader(BytesIO(pdf_of(scene))).pages[0]
    assert "?? 1" in page.extract_text()

from PIL import Image, ImageDraw

from evidence.figures.codes import code_rects, matrix_of, one_shape
from evidence.figures.scene import Close, MoveTo


def test_the_runs_of_a_code_are_its_dark_modules():
    matrix = matrix_of("CARD1/TEST")
    page = Image.new("1", (len(matrix[0]), len(matrix)), 1)
    draw = ImageDraw.Draw(page)
    rects = code_rects(matrix, 0, 0, 1)
    for rect in rects:
        assert (rect.height, rect.width >= 1) == (1, True)
        draw.rectangle((rect.x, rect.y, rect.x + rect.width - 1, rect.y), fill=0)
    wide, high = page.size
    seen = [[not page.getpixel((x, y)) for x in range(wide)] for y in range(high)]
    assert seen == [[bool(module) for module in row] for row in matrix]


def test_a_code_stands_where_it_is_asked_to():
    rects = code_rects(matrix_of("A"), 10, 20, 0.5)
    assert (min(r.x for r in rects), min(r.y for r in rects)) == (10, 20)


def test_one_shape_holds_every_rectangle():
    rects = code_rects(matrix_of("A"), 0, 0, 1)
    steps = one_shape(rects).steps
    assert sum(isinstance(step, MoveTo) for step in steps) == len(rects)
    assert sum(isinstance(step, Close) for step in steps) == len(rects)

import io

from PIL import Image

from evidence.figures.raster import MM, to_png
from evidence.figures.scene import Rect, Stroke, Text
from evidence.figures.style import COPPER, INK, text_width

TEN = (10 * MM, 10 * MM)


def drawn(*items, size=TEN, px_per_mm=10):
    return Image.open(io.BytesIO(to_png(items, size, px_per_mm))).convert("RGB")


def rgb(colour: str) -> tuple[int, ...]:
    return tuple(bytes.fromhex(colour[1:]))


def test_a_rectangle_covers_its_pixels_and_no_others():
    picture = drawn(Rect(2 * MM, 3 * MM, 4 * MM, 1 * MM, INK))
    grey = picture.convert("L").point(lambda value: 255 if value < 128 else 0)
    assert picture.size == (100, 100)
    assert grey.getbbox() == (20, 30, 60, 40)


def test_rectangles_side_by_side_leave_no_seam():
    both = drawn(Rect(MM, MM, MM, MM, INK), Rect(2 * MM, MM, MM, MM, INK))
    assert set(both.crop((10, 10, 30, 20)).get_flattened_data()) == {rgb(INK)}


def test_an_outline_has_its_width_and_colour():
    picture = drawn(Rect(MM, MM, 5 * MM, 5 * MM, None, Stroke(COPPER, 0.2 * MM)))
    assert picture.getpixel((10, 30)) == picture.getpixel((11, 30)) == rgb(COPPER)
    assert picture.getpixel((12, 30)) == (255, 255, 255)


def test_text_stands_on_its_baseline_from_its_anchor():
    width = text_width("HEX", "bold", 12)
    for anchor, left in (("start", 60), ("middle", 60 - width / 2), ("end", 60 - width)):
        picture = drawn(Text(60, 20, "HEX", 12, "bold", anchor), size=(120, 30))
        dark = picture.convert("L").point(lambda value: 255 if value < 128 else 0)
        box = [side / 10 * MM for side in dark.getbbox()]
        assert abs(box[0] - left) < 1.5
        assert abs(box[2] - (left + width)) < 1.5
        assert abs(box[3] - 20) < 0.6


def test_what_no_face_has_is_drawn_as_a_question_mark():
    assert drawn(Text(2, 20, "\u4e2d", 12)).tobytes() == drawn(Text(2, 20, "?", 12)).tobytes()


def test_the_file_says_its_resolution():
    assert Image.open(io.BytesIO(to_png((), TEN, 20))).info["dpi"] == (508.0, 508.0)

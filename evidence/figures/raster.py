"""A flat scene as pixels: rectangles and text, for what is shown on a screen or printed."""

from collections.abc import Sequence
from functools import lru_cache
from io import BytesIO
from typing import TYPE_CHECKING, TypeAlias

from evidence.figures.scene import Rect, Text
from evidence.figures.style import PAPER, face_file, runs, text_width
from evidence.placing import PICTURE_SOFTWARE

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw
    from PIL.ImageFont import FreeTypeFont

Flat: TypeAlias = Rect | Text
"""What can be drawn here; text stands upright, rectangles have sharp corners."""

MM = 72 / 25.4
"""Points in a millimetre."""


def to_png(items: Sequence[Flat], size: tuple[float, float], px_per_mm: int) -> bytes:
    """Draw the items, later over earlier, on white paper.

    Args:
        items: in points, x to the right and y down.
        size: width and height in points.
        px_per_mm: the resolution, whole pixels a millimetre; the file says it, as pHYs does (ISO
            15948 § 11.3.5.3), so that a program prints it in its true size.
    """
    from PIL import Image, ImageDraw, PngImagePlugin

    scale = px_per_mm / MM
    width, height = (round(side * scale) for side in size)
    page = Image.new("RGB", (width, height), PAPER)
    draw = ImageDraw.Draw(page)
    for item in items:
        _draw(draw, item, scale)
    out = BytesIO()
    dpi = px_per_mm * 25.4
    told = PngImagePlugin.PngInfo()
    told.add_text("Software", PICTURE_SOFTWARE)
    page.save(out, "PNG", dpi=(dpi, dpi), pnginfo=told, optimize=True)
    return out.getvalue()


def _draw(draw: "ImageDraw", item: Flat, scale: float) -> None:
    match item:
        case Rect():
            left, top = round(item.x * scale), round(item.y * scale)
            # the last pixel is included
            right = round((item.x + item.width) * scale) - 1
            bottom = round((item.y + item.height) * scale) - 1
            stroke = item.stroke
            draw.rectangle(
                (left, top, right, bottom),
                fill=item.fill,
                outline=None if stroke is None else stroke.colour,
                width=0 if stroke is None else max(1, round(stroke.width * scale)),
            )
        case Text():
            _write(draw, item, scale)


def _write(draw: "ImageDraw", item: Text, scale: float) -> None:
    before = {"start": 0.0, "middle": 0.5, "end": 1.0}[item.anchor]
    x = item.x - before * text_width(item.text, item.role, item.size)
    for run in runs(item.text, item.role):
        font = _font(run.font, round(item.size * scale))
        draw.text((x * scale, item.y * scale), run.text, item.colour, font, anchor="ls")
        x += font.getlength(run.text) / scale


@lru_cache(maxsize=32)
def _font(face: str, pixels: int) -> "FreeTypeFont":
    from PIL import ImageFont

    return ImageFont.truetype(face_file(face), pixels)

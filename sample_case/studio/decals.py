"""Flat things with writing on them: drawn as a picture, then laid onto the surface."""

from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from studio.shapes import Point, box, turned
from studio.surface import Grid, Mask, Surface

SEVEN = {"0": "abcdef", "1": "bc", "2": "abged", "3": "abgcd", "4": "fgbc", "5": "afgcd",
         "6": "afgedc", "7": "abc", "8": "abcdefg", "9": "abcdfg"}  # fmt: skip
"""The lit bars of a seven-bar figure: a on top, b to f clockwise, g in the middle."""


def linear(picture: Image.Image) -> Grid:
    """A picture as linear light."""
    value = np.asarray(picture.convert("RGB"), np.float32) / 255
    return np.where(value <= 0.04045, value / 12.92, ((value + 0.055) / 1.055) ** 2.4)


@dataclass(frozen=True, slots=True)
class Plate:
    """How a flat thing lies there: its thickness and corner radius in mm, its gloss."""

    thick: float = 0.8
    corner: float = 1.0
    gloss: float = 0.15


def lay(
    s: Surface,
    picture: Image.Image,
    centre: Point,
    width: float,
    *,
    turn: float = 0.0,
    plate: Plate = Plate(),
) -> Grid:
    """Lay `picture`, `width` mm wide, onto the surface as a plate."""
    depth = width * picture.height / picture.width
    mask = s.soft(box(s, centre, (width, depth), turn=turn, corner=plate.corner), 0.3)
    u, v = turned(s, centre, turn)
    chosen = mask > 0
    ground = float(np.median(s.height[chosen])) if chosen.any() else 0.0
    s.level(mask, ground + plate.thick)
    s.paint(mask, _sampled(linear(picture), u / width + 0.5, v / depth + 0.5, chosen), plate.gloss)
    return mask


def ink(
    s: Surface, picture: Image.Image, centre: Point, width: float, *, turn: float = 0.0,
    strength: float = 1.0,
) -> None:  # fmt: skip
    """Write the dark parts of `picture` onto the surface, as a pencil or a stamp does."""
    depth = width * picture.height / picture.width
    inside = box(s, centre, (width, depth), turn=turn) < 0
    u, v = turned(s, centre, turn)
    seen = _sampled(linear(picture), u / width + 0.5, v / depth + 0.5, inside)
    s.rgb *= np.where(inside[..., None], 1 - strength * (1 - seen), np.float32(1))


def _sampled(picture: Grid, u: Grid, v: Grid, chosen: Mask) -> Grid:
    out = np.zeros((*u.shape, 3), np.float32)
    rows, columns = picture.shape[:2]
    x = np.clip(u[chosen] * columns - 0.5, 0, columns - 1.001)
    y = np.clip(v[chosen] * rows - 0.5, 0, rows - 1.001)
    c, r = x.astype(int), y.astype(int)
    a, b = (x - c)[:, None], (y - r)[:, None]
    upper = picture[r, c] * (1 - a) + picture[r, c + 1] * a
    out[chosen] = upper * (1 - b) + (picture[r + 1, c] * (1 - a) + picture[r + 1, c + 1] * a) * b
    return out


def ruler(length_cm: int = 20) -> Image.Image:
    """A wooden rule in centimetres, 10 pixels a millimetre."""
    width, depth = length_cm * 100 + 80, 280
    rng = np.random.default_rng(7)
    grain = np.cumsum(rng.standard_normal((depth, width // 20)), axis=1)
    streaks = np.kron(grain / 22, np.ones((1, 20)))[:, :width, None]
    base = np.array([224, 190, 122], np.float32) * (1 + 0.03 * streaks)
    picture = Image.fromarray(
        np.clip(
            np.pad(base, ((0, 0), (0, width - base.shape[1]), (0, 0)), mode="edge"), 0, 255
        ).astype(np.uint8)
    )
    draw = ImageDraw.Draw(picture)
    digits = ImageFont.load_default(74)
    for mm in range(length_cm * 10 + 1):
        x = 40 + mm * 10
        long = 110 if mm % 10 == 0 else 78 if mm % 5 == 0 else 52
        draw.line((x, 0, x, long), fill=(32, 26, 20), width=3)
        if mm % 10 == 0 and 0 < mm < length_cm * 10:
            draw.text((x, 170), str(mm // 10), font=digits, fill=(32, 26, 20), anchor="mm")
    draw.text((60, 235), "cm", font=ImageFont.load_default(46), fill=(60, 48, 34), anchor="lm")
    return picture


def meter_face(reading: str, mode: str) -> Image.Image:
    """The front of a pin moisture meter whose display shows `reading` per cent."""
    picture = Image.new("RGB", (560, 1320), (34, 37, 38))
    draw = ImageDraw.Draw(picture)
    draw.rounded_rectangle((26, 26, 534, 1294), 60, fill=(226, 160, 30))
    draw.rounded_rectangle((70, 150, 490, 1230), 44, fill=(38, 41, 43))
    draw.rounded_rectangle((100, 200, 460, 520), 22, fill=(158, 170, 150))
    draw.rounded_rectangle((100, 200, 460, 226), 13, fill=(132, 144, 126))
    _figures(draw, reading, right=404, top=272, tall=140)
    small = ImageFont.load_default(50)
    draw.text((452, 440), "%", font=small, fill=(24, 28, 26), anchor="rs")
    draw.text((116, 508), mode, font=ImageFont.load_default(34), fill=(24, 28, 26), anchor="ls")
    for x, y, name in ((180, 660, "mode"), (380, 660, "hold"), (280, 800, "on")):
        draw.ellipse(
            (x - 62, y - 46, x + 62, y + 46), fill=(70, 75, 78), outline=(22, 24, 25), width=6
        )
        draw.text((x, y), name, font=ImageFont.load_default(36), fill=(215, 218, 215), anchor="mm")
    draw.text(
        (280, 960),
        "wood moisture",
        font=ImageFont.load_default(44),
        fill=(190, 194, 190),
        anchor="mm",
    )
    for row in range(6):
        draw.line((130, 1040 + row * 26, 430, 1040 + row * 26), fill=(25, 27, 28), width=9)
    return picture


def _figures(draw: ImageDraw.ImageDraw, text: str, *, right: int, top: int, tall: int) -> None:
    wide, bar = tall // 2, tall // 8
    x = right
    for sign in reversed(text):
        if sign == ".":
            draw.ellipse((x - bar - 4, top + tall - bar, x - 4, top + tall), fill=(24, 28, 26))
            x -= bar + 14
            continue
        left, middle = x - wide, top + tall // 2
        bars = {
            "a": (left + bar, top, x - bar, top + bar),
            "b": (x - bar, top + bar // 2, x, middle - 3),
            "c": (x - bar, middle + 3, x, top + tall - bar // 2),
            "d": (left + bar, top + tall - bar, x - bar, top + tall),
            "e": (left, middle + 3, left + bar, top + tall - bar // 2),
            "f": (left, top + bar // 2, left + bar, middle - 3),
            "g": (left + bar, middle - bar // 2, x - bar, middle + bar // 2),
        }
        for name in SEVEN[sign]:
            draw.rectangle(bars[name], fill=(24, 28, 26))
        x = left - bar


STROKES = {
    "0": [[(3, 0), (0, 3), (0, 7), (3, 10), (6, 7), (6, 3), (3, 0)]],
    "1": [[(1, 2), (3, 0), (3, 10)]],
    "2": [[(0, 2), (3, 0), (6, 2), (5, 5), (0, 10), (6, 10)]],
    "3": [[(0, 1), (4, 0), (6, 2), (3, 5), (6, 7), (4, 10), (0, 9)]],
    "4": [[(4, 0), (0, 6), (6, 6)], [(4, 3), (4, 10)]],
    "5": [[(6, 0), (1, 0), (0, 4), (4, 4), (6, 7), (3, 10), (0, 9)]],
    "6": [[(5, 0), (1, 4), (0, 7), (3, 10), (6, 8), (4, 5), (1, 6)]],
    "7": [[(0, 0), (6, 0), (2, 10)]],
    "8": [[(3, 5), (0, 2), (3, 0), (6, 2), (3, 5), (0, 8), (3, 10), (6, 8), (3, 5)]],
    "9": [[(6, 3), (3, 5), (0, 3), (3, 0), (6, 2), (5, 10)]],
    "/": [[(5, -1), (1, 11)]],
    ".": [[(2, 9), (3, 10)]],
    " ": [],
}
"""Pencil strokes of the figures on a grid 6 wide and 10 high."""


def handwriting(text: str, seed: int = 5) -> Image.Image:
    """Figures as a hand writes them: grey strokes on white, none quite like the last."""
    rng = np.random.default_rng(seed)
    picture = Image.new("RGB", (len(text) * 90 + 60, 190), "white")
    draw = ImageDraw.Draw(picture)
    for k, sign in enumerate(text):
        lift, lean = rng.uniform(-8, 8), rng.uniform(0.05, 0.22)
        for stroke in STROKES[sign]:
            points = [
                (
                    30 + k * 90 + x * 9 + (10 - y) * 9 * lean + rng.uniform(-3, 3),
                    42 + lift + y * 10 + rng.uniform(-3, 3),
                )
                for x, y in stroke
            ]
            draw.line(points, fill=(62, 62, 68), width=9, joint="curve")
    return picture

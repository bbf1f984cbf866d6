"""The four corners of each card in a picture, found by its code. Runs inside the limited child.

A code's corners come as whole pixels, and its side is half the card's. They only say where to look:
around each corner mark a small part is taken as if seen from straight above, and the middle of each
of the mark's two dark arms is found by weight. Blur and ink that has run spread an arm to both
sides alike, so its middle stays. Of 57 drawn pictures of a card (seen at 0 to 55°, at 1.5 to 6
pixels a millimetre, blurred, noisy, as JPEG) no corner was wrong by more than 0.07 pixels.
"""

from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING

from evidence.card_size import ARM, CODE_AT, HEIGHT, THICK, WIDTH, module_of
from evidence.lengths.plane import Corners, Point, Projection, apart, convex, onto
from evidence.photos.codes import MOST, codes_in, grey_of
from evidence.photos.pictures import opened, reason
from evidence.photos.previews import upright
from evidence.shapes import Strict

if TYPE_CHECKING:
    from PIL.Image import Image, Resampling

CORNERS_SURE = 0.5
"""Standard uncertainty of a corner's coordinate in pixels. Drawn pictures show a tenth of it; real
paper does not lie quite flat, and lenses bend lines (common practice, no source)."""

_HALF = THICK / 2
_MARKS: Corners = (
    (_HALF, _HALF),
    (WIDTH - _HALF, _HALF),
    (WIDTH - _HALF, HEIGHT - _HALF),
    (_HALF, HEIGHT - _HALF),
)
"""Where the middles of a mark's arms meet."""
_OUTER: Corners = ((0.0, 0.0), (WIDTH, 0.0), (WIDTH, HEIGHT), (0.0, HEIGHT))

_BETWEEN = (WIDTH - THICK, HEIGHT - THICK)
_ROUNDS = (3.2, 2.4, 2.4, 2.4)
"""How far to either side of an arm's middle is looked, in mm, in each round."""
_BAND = 1.5
"""To either side of the darkest line, in mm: an arm, and as much again for blur."""
_ARM_FROM, _ARM_TO = 1.8, ARM - 0.6
"""The part of an arm that is looked at: not its corner, not its end."""
_LEAST_DARK = 20.0
"""Greys between the paper and an arm."""
_FINEST, _COARSEST = 20.0, 5.0
_FITS_PX, _FITS_MM = 2.5, 1.5


class CardCorners(Strict):
    """One card: its code's text, and the outer corners of its marks in pixels.

    The corners stand from the upper left one of the printed card on, clockwise on the paper; they
    are None, with the reason, where its marks are not all found.
    """

    text: str
    corners: Corners | None = None
    why: str | None = None


class MarksRead(Strict):
    """A picture's size upright, as it is shown, and the cards in it; why it could not be opened."""

    size: tuple[int, int] | None = None
    cards: tuple[CardCorners, ...] = ()
    unreadable: str | None = None


def read_marks(path: Path, start: str, longest: int) -> MarksRead:
    """The cards in the picture at `path` with their corners. No file makes this raise.

    Args:
        path: a file of any kind.
        start: how the text of a card's code begins; empty: only the size is told.
        longest: characters of the longest text.
    """
    try:
        with opened(path) as picture:
            shown = upright(picture)
            if not start:
                return MarksRead(size=shown.size)
            grey = grey_of(shown)
        found = codes_in(grey, start, longest)[:MOST]
        return MarksRead(size=grey.size, cards=tuple(_card(grey, *code) for code in found))
    except Exception as error:  # noqa: BLE001 - decoders of strangers' files raise anything
        return MarksRead(unreadable=reason(error))


def _card(grey: "Image", text: str, version: int, code: Corners) -> CardCorners:
    """One card's corners, from where its code was seen."""
    modules = 17 + 4 * version  # ISO/IEC 18004 § 5.3.1
    side = module_of(modules) * modules
    if not convex(code):
        return CardCorners(text=text, why="its code is seen too obliquely")
    seen = onto(code, (side, side), (CODE_AT, CODE_AT))
    for reach in _ROUNDS:
        marks = [_middle(grey, seen, mark, reach) for mark in _MARKS]
        found = tuple(mark for mark in marks if mark is not None)
        if len(found) != 4 or not convex(found):
            return CardCorners(text=text, why="its four corner marks are not all to be seen")
        seen = onto(found, _BETWEEN, _MARKS[0])
    if not _fits(seen, code, side):
        return CardCorners(text=text, why="its corner marks do not fit its code: it is not flat")
    a, b, c, d = (_rounded(seen.at(corner)) for corner in _OUTER)
    return CardCorners(text=text, corners=(a, b, c, d))


def _rounded(point: Point) -> Point:
    return round(point[0], 2), round(point[1], 2)


def _fits(seen: Projection, code: Corners, side: float) -> bool:
    """Whether the code is where the marks say; a card that is bent has it elsewhere."""
    low, high = CODE_AT, CODE_AT + side
    printed = ((low, low), (high, low), (high, high), (low, high))
    return all(
        apart(seen.at(known), there) <= max(_FITS_PX, _FITS_MM * seen.scales(known)[0])
        for known, there in zip(printed, code, strict=True)
    )


def _middle(grey: "Image", seen: Projection, mark: Point, reach: float) -> Point | None:
    """Where in the picture the middles of a mark's two arms meet; None where there is no mark."""
    px_per_mm = min(_FINEST, max(_COARSEST, 2 * seen.scales(mark)[0]))
    right, down = (1 if at == _HALF else -1 for at in mark)
    off_x = _off(grey, seen, mark, (0, down), reach, px_per_mm)
    off_y = _off(grey, seen, mark, (right, 0), reach, px_per_mm)
    if off_x is None or off_y is None:
        return None
    return seen.at((mark[0] + off_x, mark[1] + off_y))


def _off(
    grey: "Image",
    seen: Projection,
    mark: Point,
    along: tuple[int, int],
    reach: float,
    px_per_mm: float,
) -> float | None:
    """How far the middle of an arm lies from where it is looked for, across the arm, in mm."""
    near, far = _ARM_FROM - _HALF, _ARM_TO - _HALF
    if along[0]:
        left = mark[0] + (near if along[0] > 0 else -far)
        box = (left, mark[1] - reach, left + far - near, mark[1] + reach)
    else:
        top = mark[1] + (near if along[1] > 0 else -far)
        box = (mark[0] - reach, top, mark[0] + reach, top + far - near)
    part = _from_above(grey, seen, box, px_per_mm)
    # the mean across the arm's length: what runs along it is left
    wide, high = part.size
    flat = (1, high) if along[0] else (wide, 1)
    profile = list(part.resize(flat, _box()).tobytes())
    at = _weight_middle(profile, px_per_mm)
    return None if at is None else at / px_per_mm - reach


def _from_above(
    grey: "Image", seen: Projection, box: tuple[float, float, float, float], px_per_mm: float
) -> "Image":
    """A part of the card as if seen from straight above."""
    from PIL.Image import Resampling, Transform

    left, top, right, bottom = box
    size = (round((right - left) * px_per_mm), round((bottom - top) * px_per_mm))
    (a, b, c), (d, e, f), (g, h, i) = seen.rows
    rows = [
        (row[0] / px_per_mm, row[1] / px_per_mm, row[0] * left + row[1] * top + row[2])
        for row in ((a, b, c), (d, e, f), (g, h, i))
    ]
    last = rows[2][2]
    data = tuple(figure / last for row in rows for figure in row)[:8]
    return grey.transform(size, Transform.PERSPECTIVE, data, Resampling.BILINEAR, fillcolor=255)


def _box() -> "Resampling":
    from PIL.Image import Resampling

    return Resampling.BOX


def _weight_middle(profile: list[int], px_per_mm: float) -> float | None:
    """The middle of a dark band by its weight, in pixels from the profile's start.

    Greys near the paper's own count nothing, so that noise far from the band does not draw it.
    """
    paper = median(sorted(profile)[len(profile) // 2 :])
    darkest = min(range(len(profile)), key=profile.__getitem__)
    deep = paper - profile[darkest]
    if deep < _LEAST_DARK:
        return None
    around = round(_BAND * px_per_mm)
    first, last = max(0, darkest - around), min(len(profile), darkest + around + 1)
    weights = [max(0.0, paper - profile[at] - deep / 4) for at in range(first, last)]
    return sum((first + at + 0.5) * weight for at, weight in enumerate(weights)) / sum(weights)

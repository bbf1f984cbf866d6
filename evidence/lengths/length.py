"""A length by the four corners of something flat and of known size, and what is refused. Pure.

The limits below are those within which the stated uncertainty holds. On 1,000 drawn views (cards of
28 to 140 pixels a side, seen at 0 to 70°, lengths of 100 mm up to 8 diagonals away) ±2u held the
truth in 94 to 97 of 100 trials wherever the corners gave less than an eighth of the length; beyond
that the sum of squares tells too little, soon by factors of ten.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from evidence.errors import RefusedError
from evidence.lengths.plane import (
    Corners,
    Point,
    Projection,
    apart,
    convex,
    plane_of,
    propagated,
)

LEAST_PX = 40.0
"""The shortest side of the card in the picture."""
MOST_TILT = 60.0
"""Degrees between the line of sight and the straight look onto the card."""
MOST_REACH = 5.0
"""The farther point's distance from the card's in diagonals of the card."""
MOST_BY_CORNERS = 1 / 8
MOST_IN_ALL = 1 / 4
"""Of the length: what the corners may give to its standard uncertainty, and all together."""
AGAIN = "Take another picture: nearer, straighter from above, the card beside what is measured."

K = 2
"""The stated uncertainty is so many standard ones: about 95 of 100 (JCGM 100:2008, § 6.3.3)."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """Something flat and rectangular that lies in the plane that is measured.

    Attributes:
        name: what it is, as the end of "by the four corners of".
        size: in millimetres, along the side from the first corner to the second, and the other.
        size_sure: standard uncertainty of each of the two, in millimetres.
        corners: as they show in the upright picture, in pixels, in order around it.
        corners_sure: standard uncertainty of each coordinate of a corner, in pixels.
        sides_known: which side is which is known for certain: it was read, not typed.
    """

    name: str
    size: Point
    size_sure: float
    corners: Corners
    corners_sure: float
    sides_known: bool = False

    @property
    def marked(self) -> tuple[Point, ...]:
        """Where it shows in the picture."""
        return self.corners


@dataclass(frozen=True, slots=True)
class Length:
    """A length in a plane, in millimetres, with its standard uncertainty by where it comes from.

    `tilt` is the angle off the straight look in degrees, `px_per_mm` the finest that the picture
    shows at the card, `reach` how many diagonals the farther point lies from the card's middle.
    """

    mm: float
    by_reference: float
    by_points: float
    by_size: float
    by_tilt: float
    tilt: float
    px_per_mm: float
    reach: float

    @property
    def sure(self) -> float:
        """The standard uncertainty of the whole."""
        parts = (self.by_reference, self.by_points, self.by_size, self.by_tilt)
        return math.hypot(*parts)


def length_on(sheet: Sheet, start: Point, end: Point, points_sure: float) -> Length:
    """The length between two points of the picture that lie in the sheet's plane.

    Args:
        sheet: the card, with its corners in the picture.
        start: one point, in pixels of the upright picture.
        end: the other.
        points_sure: standard uncertainty of each coordinate of the two, in pixels.

    Raises:
        RefusedError: the corners do not stand around a card; it is too small or too oblique, the
            points lie far outside, or what is not sure is too much of the length.
    """
    if not convex(sheet.corners):
        raise RefusedError(
            "the four corners",
            "do not stand around a card",
            "Give them in order around it: upper left, upper right, lower right, lower left.",
        )
    plane = plane_of(sheet.corners, sheet.size)
    tilt, finest = _view(plane, sheet)
    _refuse_view(sheet, tilt)
    reach = _reach(plane, sheet, (start, end))
    values = [*_flat((*sheet.corners, start, end)), *sheet.size]
    sure = [sheet.corners_sure] * 8 + [points_sure] * 4 + [sheet.size_sure] * 2
    parts = propagated(_reckoned, values, sure)
    found = Length(
        mm=_reckoned(values),
        by_reference=math.hypot(*parts[:8]),
        by_points=math.hypot(*parts[8:12]),
        by_size=math.hypot(*parts[12:]),
        by_tilt=0.0,
        tilt=tilt,
        px_per_mm=1 / finest,
        reach=reach,
    )
    refuse_unsure(found)
    return found


def _reckoned(values: Sequence[float]) -> float:
    """The length from all fourteen figures: four corners, two points, two sizes."""
    x = [(values[at], values[at + 1]) for at in range(0, 12, 2)]
    plane = plane_of((x[0], x[1], x[2], x[3]), (values[12], values[13]))
    return apart(plane.at(x[4]), plane.at(x[5]))


def _view(plane: Projection, sheet: Sheet) -> tuple[float, float]:
    """The angle off the straight look in degrees, and millimetres for a pixel, both at the card."""
    most, least = plane.scales(_heart(sheet.corners))
    return math.degrees(math.acos(min(1.0, least / most))), least


def _heart(corners: Corners) -> Point:
    """Where the diagonals cross: the card's own however it is seen."""
    return _crossing(corners[0], corners[2], corners[1], corners[3])


def _crossing(a: Point, c: Point, b: Point, d: Point) -> Point:
    down, across = (c[0] - a[0], c[1] - a[1]), (d[0] - b[0], d[1] - b[1])
    share = ((b[0] - a[0]) * across[1] - (b[1] - a[1]) * across[0]) / (
        down[0] * across[1] - down[1] * across[0]
    )
    return a[0] + share * down[0], a[1] + share * down[1]


def _refuse_view(sheet: Sheet, tilt: float) -> None:
    around = (*sheet.corners, sheet.corners[0])
    shortest = min(apart(around[at], around[at + 1]) for at in range(4))
    if shortest < LEAST_PX:
        raise RefusedError(
            sheet.name,
            f"is too small in this picture: its shortest side has {shortest:.0f} pixels, and"
            f" {LEAST_PX:.0f} are needed",
            AGAIN,
        )
    if tilt > MOST_TILT:
        raise RefusedError(
            sheet.name,
            f"is seen too obliquely: {tilt:.0f}° off the straight look, and {MOST_TILT:.0f}° is"
            " the most",
            "Look straighter from above; or the corners begin on the wrong side.",
        )
    if sheet.sides_known:
        return
    other, _ = _view(plane_of(sheet.corners, (sheet.size[1], sheet.size[0])), sheet)
    if other < tilt:
        raise RefusedError(
            sheet.name,
            f"is seen {tilt:.0f}° off the straight look as typed, and {other:.0f}° with its two"
            " sides exchanged: which side is which cannot be told",
            "The first size runs from the first corner to the second; or look straighter down.",
        )


def _reach(plane: Projection, sheet: Sheet, points: Sequence[Point]) -> float:
    """How far the farther point lies from the card's in diagonals of the card.

    Raises:
        RefusedError: too far, or where the plane is not seen at all.
    """
    here = plane.depth(sheet.corners[0])
    if not all(plane.depth(point) * here > 0 for point in points):
        raise RefusedError(
            "a point",
            "lies beyond the horizon of the card's plane: it cannot be a place in it",
            "See the corners and the points once more.",
        )
    wide, high = sheet.size
    far = max(apart(plane.at(point), (wide / 2, high / 2)) for point in points)
    reach = far / math.hypot(wide, high)
    if reach > MOST_REACH:
        raise RefusedError(
            "a point",
            f"lies {far:.0f} mm from the middle of {sheet.name}: {reach:.1f} of its diagonals, and"
            f" {MOST_REACH:.0f} are the most",
            "Take another picture with the card beside what is measured.",
        )
    return reach


def refuse_unsure(found: Length) -> None:
    """Refuse a length of which too much is not sure.

    Raises:
        RefusedError: by the corners alone, or by everything together.
    """
    if found.mm == 0:
        raise RefusedError("the two points", "are one", "Give two points that lie apart.")
    if found.by_reference > found.mm * MOST_BY_CORNERS:
        raise RefusedError(
            "the length",
            f"would be {_told(found)}: at that distance the card is too small or too oblique",
            AGAIN,
        )
    if found.sure > found.mm * MOST_IN_ALL:
        raise RefusedError(
            "the length",
            f"would be {_told(found)}: the two points are too near each other for this picture",
            "Take a picture from nearer.",
        )


def _told(found: Length) -> str:
    return f"{found.mm:.1f} ± {K * found.sure:.1f} mm"


def _flat(points: Sequence[Point]) -> list[float]:
    return [figure for point in points for figure in point]

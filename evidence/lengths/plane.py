"""One plane seen in a picture: from pixels to millimetres in it. Pure.

Four corners of a rectangle of known size fix the map (a homography):
X = (ax + by + c)/(gx + hy + 1), and Y likewise. A lens that bends straight lines is not reckoned
with.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

Point = tuple[float, float]
"""x to the right, y down, from the upper left corner of the upright picture in pixels; in the plane
from the rectangle's first corner in millimetres."""

Corners = tuple[Point, Point, Point, Point]
"""In order around the rectangle; from the first to the second runs the first of its two sizes."""

Row = tuple[float, float, float]

_STEP = 1e-3
"""Of the central differences, in pixels or millimetres; SUMS' example agrees with steps of 1 and
of 1e-6 in all its digits."""


@dataclass(frozen=True, slots=True)
class Projection:
    """A map of one plane onto another that keeps straight lines straight.

    Its nine figures stand row by row, to a common factor.
    """

    rows: tuple[Row, Row, Row]

    def at(self, point: Point) -> Point:
        """Where a point comes to lie."""
        x, y, depth = (_along(row, point) for row in self.rows)
        return x / depth, y / depth

    def depth(self, point: Point) -> float:
        """Of one sign on one side of the horizon, of the other beyond it, 0 on it."""
        return _along(self.rows[2], point)

    def scales(self, point: Point) -> Point:
        """How much longer a step at a point becomes: the most and the least of all directions.

        These are the singular values of the map's derivative. From the picture to a plane they are
        millimetres for a pixel. Where a camera looks straight down they are equal; from an angle
        off the straight, their ratio is 1/cos of it (for a card small beside its distance).
        """
        x, y = self.at(point)
        bottom, depth = self.rows[2], self.depth(point)
        xx, xy = ((self.rows[0][at] - x * bottom[at]) / depth for at in (0, 1))
        yx, yy = ((self.rows[1][at] - y * bottom[at]) / depth for at in (0, 1))
        around = math.hypot(xx + yy, yx - xy)
        skewed = math.hypot(xx - yy, xy + yx)
        return (around + skewed) / 2, abs(around - skewed) / 2


def onto(corners: Corners, size: Point, first: Point = (0.0, 0.0)) -> Projection:
    """The map from a plane into the picture that sets a rectangle's corners at these pixels.

    The unit square is mapped onto four corners in closed form (P. Heckbert, Fundamentals of Texture
    Mapping and Image Warping, 1989, § 2.2.3, from memory).

    Args:
        corners: where they show.
        size: of the rectangle in millimetres.
        first: where its first corner lies in the plane.

    Raises:
        ValueError: the corners do not stand around four sides.
    """
    a, b, c = _square_onto(corners)
    wide, high = size
    x, y = first
    top, between, last = (
        (row[0] / wide, row[1] / high, row[2] - row[0] * x / wide - row[1] * y / high)
        for row in (a, b, c)
    )
    return Projection((top, between, last))


def plane_of(corners: Corners, size: Point) -> Projection:
    """The map from the picture into the plane, where the corners are those of such a rectangle.

    Raises:
        ValueError: the corners do not stand around four sides.
    """
    (a, b, c), (d, e, f), (g, h, i) = onto(corners, size).rows
    return Projection(
        (
            (e * i - f * h, c * h - b * i, b * f - c * e),
            (f * g - d * i, a * i - c * g, c * d - a * f),
            (d * h - e * g, b * g - a * h, a * e - b * d),
        )
    )


def _square_onto(corners: Corners) -> tuple[Row, Row, Row]:
    if not convex(corners):
        raise ValueError("the corners do not stand around four sides")
    (x0, y0), (x1, y1), (x2, y2), (x3, y3) = corners
    back, down = (x1 - x2, y1 - y2), (x3 - x2, y3 - y2)
    skew = (x0 - x1 + x2 - x3, y0 - y1 + y2 - y3)
    whole = _cross(back, down)
    g, h = _cross(skew, down) / whole, _cross(back, skew) / whole
    return (
        (x1 - x0 + g * x1, x3 - x0 + h * x3, x0),
        (y1 - y0 + g * y1, y3 - y0 + h * y3, y0),
        (g, h, 1.0),
    )


def convex(corners: Sequence[Point]) -> bool:
    """Whether the corners stand around an area that is nowhere hollow, in either direction."""
    around = (*corners, corners[0], corners[1])
    sides = [(q[0] - p[0], q[1] - p[1]) for p, q in pairwise(around)]
    turns = [_cross(one, other) for one, other in pairwise(sides)]
    return all(turn > 0 for turn in turns) or all(turn < 0 for turn in turns)


def apart(one: Point, other: Point) -> float:
    """The distance of two points."""
    return math.hypot(other[0] - one[0], other[1] - one[1])


def middle(points: Sequence[Point]) -> Point:
    """The mean of some points."""
    return (
        sum(x for x, _ in points) / len(points),
        sum(y for _, y in points) / len(points),
    )


def propagated(
    reckon: Callable[[Sequence[float]], float], values: Sequence[float], sure: Sequence[float]
) -> tuple[float, ...]:
    """What the standard uncertainty of each value gives to the result: |∂f/∂v|·u, in order.

    The root of the sum of their squares is the result's own (JCGM 100:2008, § 5.1.2, for values
    that do not depend on each other).
    """
    return tuple(
        abs(reckon(_moved(values, at, _STEP)) - reckon(_moved(values, at, -_STEP)))
        / (2 * _STEP)
        * u
        for at, u in enumerate(sure)
    )


def _moved(values: Sequence[float], at: int, step: float) -> list[float]:
    moved = list(values)
    moved[at] += step
    return moved


def _along(row: Row, point: Point) -> float:
    return row[0] * point[0] + row[1] * point[1] + row[2]


def _cross(one: Point, other: Point) -> float:
    return one[0] * other[1] - one[1] * other[0]

"""A length by a coin: a scale at one place, where the look is nearly straight. Pure.

A coin shows no corners, so nothing tells how the scale changes across the picture. Its rim is an
ellipse, as much shorter one way as the cosine of the angle off the straight look. Up to a small
angle one scale is used, that of a circle of the same area, and what it may be wrong by goes into
the uncertainty; beyond it, and far from the coin, the length is refused.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

from evidence.errors import RefusedError
from evidence.lengths.length import LEAST_PX, K, Length, refuse_unsure
from evidence.lengths.plane import Point, apart, middle, propagated

LEAST_POINTS = 5
"""An ellipse has five figures; more points make it surer."""
WIDEST_GAP = 150.0
"""Degrees between neighbours on the rim: on a short arc an ellipse is a guess."""
MOST_TILT = 20.0
"""Degrees off the straight look, what is not sure of it included."""
MOST_REACH = 4.0
"""The farther point's distance from the coin's middle, in diameters."""
NEAREST = 0.7
"""How near a camera is, as a share of what the picture's longer side shows at the coin: that of a
wide phone camera, which sees about 70° (common practice, no source)."""

_NOT_CARD = "Lay a card beside what is measured, or look from straight above."


@dataclass(frozen=True, slots=True)
class Coin:
    """A coin on the plane that is measured.

    Attributes:
        name: what it is, as the end of "by the rim of".
        across: its diameter in millimetres.
        across_sure: standard uncertainty of that, in millimetres.
        rim: points on its rim in the upright picture, in pixels, five or more.
        rim_sure: standard uncertainty of each coordinate of a point on the rim, in pixels.
    """

    name: str
    across: float
    across_sure: float
    rim: tuple[Point, ...]
    rim_sure: float

    @property
    def marked(self) -> tuple[Point, ...]:
        """Where it shows in the picture."""
        return self.rim


@dataclass(frozen=True, slots=True)
class Ellipse:
    """Its middle and its mean radius (that of a circle of the same area) in pixels, and its shape.

    `shape` is how far it is from a circle, in two directions: of (p, q), √(p² + q²) is
    (l² − s²)/(l² + s²) of its longer and shorter half. Unlike those two it has no edge at a circle,
    so that what is not sure of it can be reckoned there, too.
    """

    middle: Point
    radius: float
    shape: Point


def length_by(
    coin: Coin, start: Point, end: Point, points_sure: float, picture: tuple[int, int]
) -> Length:
    """The length between two points of the picture that lie in the coin's plane.

    Args:
        coin: with its rim in the picture.
        start: one point, in pixels of the upright picture.
        end: the other.
        points_sure: standard uncertainty of each coordinate of the two, in pixels.
        picture: width and height of the picture in pixels.

    Raises:
        RefusedError: the rim is none, too small or seen too obliquely, the points lie too far
            away, or what is not sure is too much of the length.
    """
    rim = ellipse_of(coin.rim)
    if 2 * rim.radius < LEAST_PX:
        raise RefusedError(
            coin.name,
            f"is too small in this picture: {2 * rim.radius:.0f} pixels across, and"
            f" {LEAST_PX:.0f} are needed",
            "Take another picture from nearer.",
        )
    values = [figure for point in coin.rim for figure in point]
    on_rim = [coin.rim_sure] * len(values)
    tilt = _tilt(coin, values, on_rim)
    scale = coin.across / (2 * rim.radius)
    seen = apart(start, end)
    reach = max(apart(point, rim.middle) for point in (start, end)) / (2 * rim.radius)
    if reach > MOST_REACH:
        raise RefusedError(
            "a point",
            f"lies {reach:.1f} diameters from {coin.name}, and {MOST_REACH:.0f} are the most",
            "A coin gives a scale at its own place alone. Lay it beside what is measured.",
        )
    parts = propagated(lambda v: coin.across * seen / (2 * _rim(v).radius), values, on_rim)
    found = Length(
        mm=seen * scale,
        by_reference=math.hypot(*parts),
        by_points=scale * points_sure * math.sqrt(2),
        by_size=seen * scale * coin.across_sure / coin.across,
        by_tilt=seen * scale * _by_tilt(tilt, reach * coin.across, max(picture) * scale),
        tilt=tilt,
        px_per_mm=1 / scale,
        reach=reach,
    )
    refuse_unsure(found)
    return found


def ellipse_of(rim: Sequence[Point]) -> Ellipse:
    """The ellipse nearest to points on a rim, by least squares of its equation.

    Around the points' middle it is Ax² + Bxy + Cy² + Dx + Ey = 1.

    Raises:
        RefusedError: too few points, points on a short arc, or of no ellipse.
    """
    if len(rim) < LEAST_POINTS:
        raise RefusedError(
            "the rim", f"has {len(rim)} points", f"Give {LEAST_POINTS} or more, all around it."
        )
    heart = middle(rim)
    size = max(apart(point, heart) for point in rim)
    if size == 0 or _widest_gap(rim, heart) > WIDEST_GAP:
        raise RefusedError("the rim", "is seen on one side alone", "Give points all around it.")
    rows = []
    for point in rim:
        x, y = (point[0] - heart[0]) / size, (point[1] - heart[1]) / size
        rows.append((x * x, x * y, y * y, x, y))
    found = _solved(rows)
    if found is None or found[1] ** 2 - 4 * found[0] * found[2] >= 0:
        raise RefusedError("the rim", "is no ellipse", "See its points once more.")
    a, b, c, d, e = found
    flat = 4 * a * c - b * b
    x, y = (b * e - 2 * c * d) / flat, (b * d - 2 * a * e) / flat
    inside = 1 + a * x * x + b * x * y + c * y * y
    if inside <= 0 or a + c <= 0:
        raise RefusedError("the rim", "is no ellipse", "See its points once more.")
    radius = size * math.sqrt(2 * inside / math.sqrt(flat))
    there = (heart[0] + x * size, heart[1] + y * size)
    return Ellipse(there, radius, ((a - c) / (a + c), b / (a + c)))


def _widest_gap(rim: Sequence[Point], heart: Point) -> float:
    angles = sorted(math.atan2(y - heart[1], x - heart[0]) for x, y in rim)
    gaps = [after - before for before, after in pairwise(angles)]
    return math.degrees(max(*gaps, angles[0] + math.tau - angles[-1]))


def _solved(rows: Sequence[Sequence[float]]) -> list[float] | None:
    """The least-squares answer to rows · answer = 1; None where there is no single one."""
    size = len(rows[0])
    table = [
        [sum(row[i] * row[j] for row in rows) for j in range(size)] + [sum(row[i] for row in rows)]
        for i in range(size)
    ]
    for at in range(size):
        best = max(range(at, size), key=lambda row: abs(table[row][at]))
        table[at], table[best] = table[best], table[at]
        if abs(table[at][at]) < 1e-12:
            return None
        for row in range(size):
            if row != at:
                share = table[row][at] / table[at][at]
                table[row] = [
                    mine - share * other for mine, other in zip(table[row], table[at], strict=True)
                ]
    return [table[at][size] / table[at][at] for at in range(size)]


def _rim(values: Sequence[float]) -> Ellipse:
    return ellipse_of([(values[at], values[at + 1]) for at in range(0, len(values), 2)])


def _shape(at: int, values: Sequence[float]) -> float:
    return _rim(values).shape[at]


def _tilt(coin: Coin, values: Sequence[float], sure: Sequence[float]) -> float:
    """The largest angle off the straight look that the rim allows, in degrees.

    Raises:
        RefusedError: it is more than a coin bears.
    """
    p, q = _rim(values).shape
    unsure = [figure for at in (0, 1) for figure in propagated(partial(_shape, at), values, sure)]
    most = min(1.0, math.hypot(p, q) + K * math.hypot(*unsure))
    tilt = math.degrees(math.acos(math.sqrt((1 - most) / (1 + most))))
    if tilt > MOST_TILT:
        raise RefusedError(
            coin.name,
            f"may be seen {tilt:.0f}° off the straight look, and {MOST_TILT:.0f}° is the most: a"
            " coin gives a scale and no angle",
            _NOT_CARD,
        )
    return tilt


def _by_tilt(tilt: float, away: float, shown: float) -> float:
    """What the angle can be wrong by, as a share of the length: a standard uncertainty.

    Along the tilt a length shows shorter than across it, by the cosine, and the mean radius stands
    between the two; and the scale changes with the distance from the camera, by the tangent over so
    far. Each is taken as anywhere up to its most (JCGM 100:2008, § 4.3.7: the most over √3).
    """
    angle = math.radians(tilt)
    shorter = (1 - math.cos(angle)) / 2
    nearer = math.tan(angle) * away / (NEAREST * shown)
    return math.hypot(shorter, nearer) / math.sqrt(3)

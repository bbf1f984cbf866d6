"""A drawing as data: what stands where, in points, x to the right and y down.

Figures make scenes; `svg` and `flowable` draw them. Nothing here knows a roof, a page or a font.
"""

from dataclasses import dataclass
from math import ceil, cos, floor, radians, sin
from typing import Literal

from evidence.figures.style import INK, SMALL, Role

Anchor = Literal["start", "middle", "end"]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line's colour, its width in points, and lengths of dashes and gaps (none: unbroken)."""

    colour: str = INK
    width: float = 0.8
    dash: tuple[float, ...] = ()
    round_ends: bool = False


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line between two points."""

    x1: float
    y1: float
    x2: float
    y2: float
    stroke: Stroke = Stroke()


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle by its upper left corner; `radius` rounds its corners."""

    x: float
    y: float
    width: float
    height: float
    fill: str | None = None
    stroke: Stroke | None = None
    radius: float = 0.0


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle by its centre."""

    x: float
    y: float
    radius: float
    fill: str | None = None
    stroke: Stroke | None = None


@dataclass(frozen=True, slots=True)
class Polygon:
    """A closed outline of straight lines."""

    points: tuple[Point, ...]
    fill: str | None = None
    stroke: Stroke | None = None


@dataclass(frozen=True, slots=True)
class MoveTo:
    """Start a piece of a path."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class LineTo:
    """Go straight."""

    x: float
    y: float


@dataclass(frozen=True, slots=True)
class CurveTo:
    """Go along a cubic Bézier curve with two control points."""

    x1: float
    y1: float
    x2: float
    y2: float
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Close:
    """Go straight back to where the piece started."""


Step = MoveTo | LineTo | CurveTo | Close


@dataclass(frozen=True, slots=True)
class Path:
    """An outline of lines and curves."""

    steps: tuple[Step, ...]
    fill: str | None = None
    stroke: Stroke | None = None


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text on its baseline; `rotation` in degrees clockwise about (x, y)."""

    x: float
    y: float
    text: str
    size: float = SMALL
    role: Role = "text"
    anchor: Anchor = "start"
    colour: str = INK
    rotation: float = 0.0


@dataclass(frozen=True, slots=True)
class Hatch:
    """Parallel lines seen only inside `outline`.

    `angle` in degrees, clockwise from the x axis. The lines hang on a grid of the whole scene, so
    that two hatched shapes side by side look like one cloth. Round dashes of length 0 give dots.
    """

    outline: tuple[Point, ...]
    stroke: Stroke = Stroke()
    spacing: float = 4.0
    angle: float = -45.0

    def lines(self) -> tuple[Line, ...]:
        """The lines to draw under the clip: they reach over the outline, never short of it."""
        along = (cos(radians(self.angle)), sin(radians(self.angle)))
        across = (-along[1], along[0])
        offsets = [x * across[0] + y * across[1] for x, y in self.outline]
        reach = [x * along[0] + y * along[1] for x, y in self.outline]
        period = sum(self.stroke.dash) or 1.0
        start, end = floor(min(reach) / period) * period, max(reach)
        first, last = ceil(min(offsets) / self.spacing), floor(max(offsets) / self.spacing)
        return tuple(
            Line(
                along[0] * start + across[0] * n * self.spacing,
                along[1] * start + across[1] * n * self.spacing,
                along[0] * end + across[0] * n * self.spacing,
                along[1] * end + across[1] * n * self.spacing,
                self.stroke,
            )
            for n in range(first, last + 1)
        )


Item = Line | Rect | Circle | Polygon | Path | Text | Hatch


@dataclass(frozen=True, slots=True)
class Scene:
    """A finished figure: its size in points, what is drawn (later over earlier), and its words.

    `title` is its name; `alt` says to somebody who cannot see it what it shows.
    """

    width: float
    height: float
    items: tuple[Item, ...]
    title: str
    alt: str

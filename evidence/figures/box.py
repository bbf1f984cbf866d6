"""Rectangles that must not meet, and text cut to a width."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import cos, radians, sin

from evidence.figures.scene import Line, Point, Text
from evidence.figures.style import Role, text_width

ABOVE_BASELINE = 0.76
BELOW_BASELINE = 0.22
"""How far a line of text reaches over and under its baseline, over type size."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle by its corners, in points, y down."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        """Along x."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Along y."""
        return self.y1 - self.y0

    @property
    def centre(self) -> Point:
        """The middle."""
        return (self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2

    @property
    def corners(self) -> tuple[Point, Point, Point, Point]:
        """Clockwise from the upper left."""
        return (self.x0, self.y0), (self.x1, self.y0), (self.x1, self.y1), (self.x0, self.y1)

    def meets(self, other: "Box") -> bool:
        """True where the two share more than an edge."""
        return (
            self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1
        )

    def holds(self, other: "Box") -> bool:
        """True where the other lies wholly inside, edges included."""
        return (
            self.x0 <= other.x0
            and self.y0 <= other.y0
            and other.x1 <= self.x1
            and other.y1 <= self.y1
        )

    def grown(self, by: float) -> "Box":
        """The same with `by` more on every side."""
        return Box(self.x0 - by, self.y0 - by, self.x1 + by, self.y1 + by)

    def grown_to(self, least: float) -> "Box":
        """The same about its middle, but no narrower and no lower than `least`."""
        across, down = max(0.0, least - self.width) / 2, max(0.0, least - self.height) / 2
        return Box(self.x0 - across, self.y0 - down, self.x1 + across, self.y1 + down)

    def moved_into(self, other: "Box") -> "Box":
        """The same, shifted no further than needed to lie inside a larger one."""
        across = max(0.0, other.x0 - self.x0) - max(0.0, self.x1 - other.x1)
        down = max(0.0, other.y0 - self.y0) - max(0.0, self.y1 - other.y1)
        return Box(self.x0 + across, self.y0 + down, self.x1 + across, self.y1 + down)

    def cut_to(self, other: "Box") -> "Box | None":
        """The common part, or None where the two do not meet."""
        if not self.meets(other):
            return None
        return Box(
            max(self.x0, other.x0),
            max(self.y0, other.y0),
            min(self.x1, other.x1),
            min(self.y1, other.y1),
        )


def text_box(text: Text) -> Box:
    """The rectangle that a text takes up, whatever its anchor and rotation."""
    width = text_width(text.text, text.role, text.size)
    shift = {"start": 0.0, "middle": -width / 2, "end": -width}[text.anchor]
    turn = radians(text.rotation)
    corners = [
        (x * cos(turn) - y * sin(turn), x * sin(turn) + y * cos(turn))
        for x in (shift, shift + width)
        for y in (-ABOVE_BASELINE * text.size, BELOW_BASELINE * text.size)
    ]
    across, down = zip(*corners, strict=True)
    return Box(text.x + min(across), text.y + min(down), text.x + max(across), text.y + max(down))


def interrupted(line: Line, around: Iterable[Box]) -> list[Line]:
    """An upright or level line that leaves out every box of `around`, so as to cross no text."""
    upright = line.x1 == line.x2
    at, start, end = (line.x1, line.y1, line.y2) if upright else (line.y1, line.x1, line.x2)
    spans = sorted(
        (box.y0, box.y1) if upright else (box.x0, box.x1)
        for box in around
        if (box.x0 < at < box.x1 if upright else box.y0 < at < box.y1)
    )
    pieces: list[tuple[float, float]] = []
    for low, high in spans:
        pieces.append((start, min(low, end)))
        start = max(start, high)
    pieces.append((start, end))
    return [
        replace(line, y1=low, y2=high) if upright else replace(line, x1=low, x2=high)
        for low, high in pieces
        if low < high
    ]


def one_line(text: str) -> str:
    """The text without line breaks and repeated spaces."""
    return " ".join(text.split())


def elided(text: str, width: float, role: Role, size: float) -> str:
    """The text, cut and ended with "…" where it is wider than `width`."""
    if text_width(text, role, size) <= width:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if text_width(text[:middle].rstrip() + "…", role, size) <= width:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + "…"


def wrapped(
    text: str, width: float, role: Role, size: float, most: int | None = None
) -> tuple[str, ...]:
    """The text in lines no wider than `width`; past `most` lines the rest is elided."""
    words = one_line(text).split(" ")
    lines: list[str] = []
    while words:
        if most is not None and len(lines) == most - 1:
            lines.append(elided(" ".join(words), width, role, size))
            break
        count = 1
        while count < len(words) and text_width(" ".join(words[: count + 1]), role, size) <= width:
            count += 1
        lines.append(elided(" ".join(words[:count]), width, role, size))
        words = words[count:]
    return tuple(lines)

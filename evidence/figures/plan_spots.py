"""Where the name of a zone may stand, in order of preference, whatever else is there."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, pi, sin

from evidence.figures.box import ABOVE_BASELINE, BELOW_BASELINE, Box
from evidence.figures.plan_zones import Form, Placed
from evidence.figures.scene import Anchor, Point
from evidence.figures.style import SMALL, Role, text_width

BEAD = 15.0
"""Length of the grade sign before a name."""
BEAD_GAP = 3.5
LEADING = 9.6
"""Distance of the lines of one name: tight, they belong together."""
_GAP = 2.2
_UPRIGHT = 11.0  # a number of two figures needs not be turned
_RING_STEP = 6.0
_RINGS = 10
_DIRECTIONS = 16


@dataclass(frozen=True, slots=True)
class Words:
    """A block of lines to be placed, with a grade sign before the first where there is one."""

    lines: tuple[str, ...]
    role: Role
    bead: int | None = None

    @property
    def lead(self) -> float:
        """How far the lines stand in, to the right of the sign."""
        return 0.0 if self.bead is None else BEAD + BEAD_GAP

    @property
    def width(self) -> float:
        """Of the widest line, in points."""
        return self.lead + max(text_width(line, self.role, SMALL) for line in self.lines)

    @property
    def height(self) -> float:
        """From over the first line to under the last."""
        return (ABOVE_BASELINE + BELOW_BASELINE) * SMALL + LEADING * (len(self.lines) - 1)


@dataclass(frozen=True, slots=True)
class Spot:
    """A place for a block: its rectangle, how its lines stand in it, and if it reads upward."""

    box: Box
    align: Anchor = "start"
    turned: bool = False


def spots(placed: Placed, words: Words, body: Box) -> Iterator[Spot]:
    """Candidate places in order of preference."""
    if placed.form is Form.FIELD:
        yield from _within(placed.box, words)
        return
    if placed.form is Form.EDGE:
        yield from _outside(placed.box, words, body)
    yield from _around(placed.box, words)


def _around(own: Box, words: Words) -> Iterator[Spot]:
    """Below, above, right, left; then below and above along either edge of the box."""
    x, y = own.centre
    width, height = words.width, words.height
    below, above = own.y1 + _GAP, own.y0 - _GAP - height
    yield Spot(_at(x - width / 2, below, words), "middle")
    yield Spot(_at(x - width / 2, above, words), "middle")
    yield Spot(_at(own.x1 + _GAP, y - height / 2, words), "start")
    yield Spot(_at(own.x0 - _GAP - width, y - height / 2, words), "end")
    for top in (below, above):
        yield Spot(_at(own.x0, top, words), "start")
        yield Spot(_at(own.x1 - width, top, words), "end")


def _within(own: Box, words: Words) -> Iterator[Spot]:
    """The corners of a field, then everywhere in it, row by row."""
    inner = own.grown(-2.5)
    right, bottom = inner.x1 - words.width, inner.y1 - words.height
    if right < inner.x0 or bottom < inner.y0:
        return
    for y in (inner.y0, bottom):
        yield Spot(_at(inner.x0, y, words), "start")
        yield Spot(_at(right, y, words), "end")
    for row in range(int((bottom - inner.y0) // 5) + 1):
        for column in range(int((right - inner.x0) // 8) + 1):
            yield Spot(_at(inner.x0 + column * 8, inner.y0 + row * 5, words), "start")


def _outside(own: Box, words: Words, body: Box) -> Iterator[Spot]:
    """Along the outline, outside it: for what lies at the roof's own edge."""
    x, y = own.centre
    width, height = words.width, words.height
    if own.height > own.width * 2:
        if words.width <= _UPRIGHT:
            left = body.x0 - _GAP - width if x < body.centre[0] else body.x1 + _GAP
            yield Spot(_at(left, y - height / 2, words), "middle")
        if len(words.lines) == 1:
            left = body.x0 - _GAP - height if x < body.centre[0] else body.x1 + _GAP
            for share in (0.5, 0.25, 0.75):
                top = own.y0 + own.height * share - width / 2
                yield Spot(Box(left, top, left + height, top + width), "middle", turned=True)
        return
    top = body.y0 - _GAP - height if y < body.centre[1] else body.y1 + _GAP
    if own.width > own.height * 2:
        for share in (0.5, 0.3, 0.7, 0.15, 0.85):
            yield Spot(_at(own.x0 + own.width * share - width / 2, top, words), "middle")
    elif x < body.centre[0]:
        yield Spot(_at(own.x0, top, words), "start")
    else:
        yield Spot(_at(own.x1 - width, top, words), "end")


def rings(own: Box, words: Words) -> Iterator[Box]:
    """Places further and further away, for a number on a leader."""
    x, y = own.centre
    for ring in range(1, _RINGS + 1):
        for nth in range(_DIRECTIONS):
            turn = 2 * pi * nth / _DIRECTIONS
            away = ring * _RING_STEP
            centre = (
                x + cos(turn) * (own.width / 2 + words.width / 2 + away),
                y + sin(turn) * (own.height / 2 + words.height / 2 + away),
            )
            yield about(centre, words)


def about(centre: Point, words: Words) -> Box:
    """The rectangle of a block with its middle at `centre`."""
    return _at(centre[0] - words.width / 2, centre[1] - words.height / 2, words)


def _at(x: float, y: float, words: Words) -> Box:
    return Box(x, y, x + words.width, y + words.height)

"""Names on a roof plan: each beside its zone where there is room, else a number with a key.

A plain search: candidate places in a fixed order, the first free one is taken. No name or number
ever meets another, the outline or a zone's edge; the same plan always gives the same drawing.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import cos, pi, sin

from evidence.figures.box import ABOVE_BASELINE, BELOW_BASELINE, Box, elided, wrapped
from evidence.figures.plan_zones import Form, Frame, Placed
from evidence.figures.scene import Anchor, Line, Point
from evidence.figures.style import SMALL, Role, text_width

BEAD = 15.0
"""Length of the grade sign before a name."""
BEAD_GAP = 3.5
LEADING = 9.6
"""Distance of the lines of one name: tight, they belong together."""
_GAP = 2.2
_CLEAR = 1.2
_LONGEST = 130.0
_RING_STEP = 6.0
_RINGS = 8
_DIRECTIONS = 16


@dataclass(frozen=True, slots=True)
class Words:
    """A block of lines to be placed, with a grade sign before the first where there is one."""

    lines: tuple[str, ...]
    role: Role
    bead: int | None = None

    @property
    def lead(self) -> float:
        """What the sign takes of the first line."""
        return 0.0 if self.bead is None else BEAD + BEAD_GAP

    @property
    def width(self) -> float:
        """Of the widest line, in points."""
        first, *others = (text_width(line, self.role, SMALL) for line in self.lines)
        return max(self.lead + first, *others, 0.0)

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


@dataclass(frozen=True, slots=True)
class Label:
    """A block at its place. `number` where it stands for a name in the key."""

    placed: Placed
    words: Words
    spot: Spot
    number: int | None = None
    leader: Line | None = None


@dataclass(frozen=True, slots=True)
class Labels:
    """All that could be placed, and the zones for which not even a number found room."""

    shown: tuple[Label, ...]
    nameless: tuple[Placed, ...]


def place_labels(placed: tuple[Placed, ...], frame: Frame, bounds: Box) -> Labels:
    """Find a place for each zone's name, or else for a number.

    Args:
        placed: the zones as they lie on the drawing.
        frame: the roof's outline.
        bounds: what no label may leave.
    """
    room = _Room.of(placed, frame, bounds)
    shown: list[Label] = []
    numbered: list[Placed] = []
    for zone in sorted(placed, key=_turn):
        label = _named(zone, room)
        if label is None:
            numbered.append(zone)
        else:
            shown.append(label)
    nameless: list[Placed] = []
    number = 1
    for zone in sorted(numbered, key=lambda zone: (zone.box.x0, zone.box.y0, zone.zone.id)):
        label = _numbered(zone, number, room)
        if label is None:
            nameless.append(zone)
        else:
            number += 1
            shown.append(label)
    return Labels(tuple(shown), tuple(nameless))


def _turn(placed: Placed) -> tuple[object, ...]:
    """The place in question first, then edges, boxes from the front, and the fields last."""
    order = (Form.EDGE, Form.BOX, Form.POINT, Form.FIELD)
    box = placed.box
    return (
        not placed.zone.highlight,
        order.index(placed.form),
        round(box.x0, 3),
        round(box.y0, 3),
        placed.zone.id,
    )


@dataclass(slots=True)
class _Room:
    """What is taken already."""

    frame: Frame
    bounds: Box
    solid: list[Box]
    fields: list[Box]
    taken: list[Box] = field(default_factory=list)

    @classmethod
    def of(cls, placed: tuple[Placed, ...], frame: Frame, bounds: Box) -> "_Room":
        solid = [box for zone in placed if zone.form is not Form.FIELD for box in zone.boxes]
        fields = [box for zone in placed if zone.form is Form.FIELD for box in zone.boxes]
        return cls(frame, bounds, solid, fields)

    def free(self, box: Box, inside: Box | None = None) -> bool:
        """True where a label may stand; `inside` is the zone it may cover: its own."""
        around = box.grown(_CLEAR)
        body = self.frame.body
        inner = Box(body.x0 + self.frame.nose * 0.6, body.y0, body.x1, body.y1).grown(-_CLEAR)
        return (
            self.bounds.holds(box)
            and (inner.holds(box) or not around.meets(body))
            and not any(around.meets(other) for other in self.solid if other != inside)
            and not any(around.meets(other) for other in self.taken)
            and all(other.holds(box) or not box.meets(other) for other in self.fields)
        )

    def take(self, box: Box, leader: Line | None = None) -> None:
        """From now on nothing else may stand there, nor on the line that leads to it."""
        self.taken.append(box)
        if leader is not None:
            self.taken += _along(leader)

    def clear(self, line: Line) -> bool:
        """True where a leader crosses no label."""
        return not any(bit.meets(box) for bit in _along(line) for box in self.taken)


def _named(placed: Placed, room: _Room) -> Label | None:
    zone = placed.zone
    role: Role = "bold" if zone.highlight else "text"
    name = elided(zone.name, _LONGEST, role, SMALL)
    bead = zone.grade or None
    blocks = [Words((name,), role, bead)]
    if " " in zone.name:
        half = max(text_width(word, role, SMALL) for word in zone.name.split())
        half = max(half, text_width(name, role, SMALL) * 0.62)
        blocks.append(Words(wrapped(zone.name, min(half, _LONGEST), role, SMALL, 2), role, bead))
    for words in blocks:
        for spot in _spots(placed, words, room.frame):
            if room.free(spot.box):
                room.take(spot.box)
                return Label(placed, words, spot)
    return None


def _numbered(placed: Placed, number: int, room: _Room) -> Label | None:
    words = Words((str(number),), "text", placed.zone.grade or None)
    own = placed.box
    middle = _about(own.centre, words)
    if not placed.zone.highlight and own.grown(-1.0).holds(middle) and room.free(middle, own):
        room.take(middle)
        return Label(placed, words, Spot(middle), number)
    for spot in _spots(placed, words, room.frame):
        if room.free(spot.box):
            room.take(spot.box)
            return Label(placed, words, spot, number)
    for box in _rings(own, words):
        leader = _leader(own, box)
        if room.free(box) and room.clear(leader):
            room.take(box, leader)
            return Label(placed, words, Spot(box), number, leader)
    return None


def _spots(placed: Placed, words: Words, frame: Frame) -> Iterator[Spot]:
    """Candidate places in order of preference."""
    if placed.form is Form.FIELD:
        yield from _within(placed.box, words)
        return
    if placed.form is Form.EDGE:
        yield from _outside(placed.box, words, frame.body)
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


def _rings(own: Box, words: Words) -> Iterator[Box]:
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
            yield _about(centre, words)


def _leader(own: Box, box: Box) -> Line:
    """From the label's nearest edge to the zone's."""
    x, y = own.centre
    start = min(max(x, box.x0), box.x1), min(max(y, box.y0), box.y1)
    end = min(max(start[0], own.x0), own.x1), min(max(start[1], own.y0), own.y1)
    return Line(*start, *end)


def _along(line: Line) -> list[Box]:
    """Small boxes on a line, leaving out its very start, which touches its own label."""
    steps = max(2, int(max(abs(line.x2 - line.x1), abs(line.y2 - line.y1)) / 1.5))
    return [
        Box(x - 0.4, y - 0.4, x + 0.4, y + 0.4)
        for n in range(1, steps + 1)
        for x in (line.x1 + (line.x2 - line.x1) * n / steps,)
        for y in (line.y1 + (line.y2 - line.y1) * n / steps,)
    ]


def _about(centre: Point, words: Words) -> Box:
    return _at(centre[0] - words.width / 2, centre[1] - words.height / 2, words)


def _at(x: float, y: float, words: Words) -> Box:
    return Box(x, y, x + words.width, y + words.height)

"""Names on a roof plan: each beside its zone where there is room, else a number with a key.

A plain search: candidate places in a fixed order, the first free one is taken. No name or number
ever meets another, the outline or a box; where it must stand on the dashed line between two fields,
the line makes room. The same plan always gives the same drawing.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from evidence.figures.box import Box
from evidence.figures.plan_spots import Spot, Words, about, rings, spots
from evidence.figures.plan_zones import Form, Frame, Placed
from evidence.figures.scene import Line
from evidence.figures.style import SMALL, Role, text_width

_CLEAR = 1.2
_APART = 2.5
_LONGEST = 130.0
_WORTH_WRAPPING = 44.0
_TRIES = 4


@dataclass(frozen=True, slots=True)
class Label:
    """A block at its place. `number` where it stands for `name` in the key."""

    placed: Placed
    name: str
    words: Words
    spot: Spot
    number: int | None = None
    leader: Line | None = None


@dataclass(frozen=True, slots=True)
class Labels:
    """All that could be placed, and the zones for which not even a number found room."""

    shown: tuple[Label, ...]
    nameless: tuple[Placed, ...]


def place_labels(
    placed: tuple[Placed, ...], frame: Frame, bounds: Box, note: str = "", *, sparse: bool = False
) -> Labels:
    """Find a place for each zone's name, or else for a number.

    A zone whose name is evident from its place shows its grade sign alone, if it has one.

    Args:
        placed: the zones as they lie on the drawing.
        frame: the roof's outline.
        bounds: what no label may leave.
        note: what is said of the place in question.
        sparse: name the place in question alone.
    """
    spoken = [zone for zone in placed if zone.zone.highlight or not sparse]
    names = [(zone, _said(zone, note)) for zone in spoken]
    wanting = [(zone, name) for zone, name in names if name or zone.zone.grade]
    best = _placed(wanting, _Room.of(placed, frame, bounds), frozenset())
    first: frozenset[str] = frozenset()
    for _ in range(_TRIES):
        if not best.nameless:
            break
        first |= {zone.zone.id for zone in best.nameless}
        again = _placed(wanting, _Room.of(placed, frame, bounds), first)
        if len(again.nameless) < len(best.nameless):
            best = again
    return best


def place_numbers(
    placed: tuple[Placed, ...], frame: Frame, bounds: Box, numbers: Mapping[str, int]
) -> Labels:
    """Find a place for each zone's given number; fields choose last, and theirs are bold.

    So a number in the middle of nothing is told from that of the box beside it.
    """
    room = _Room.of(placed, frame, bounds)
    shown: list[Label] = []
    nameless: list[Placed] = []
    for zone in sorted(placed, key=lambda zone: (zone.form is Form.FIELD, *_reading_order(zone))):
        role: Role = "bold" if zone.form is Form.FIELD else "text"
        label = _numbered(zone, numbers[zone.zone.id], zone.zone.name, room, role)
        if label is None:
            nameless.append(zone)
        else:
            room.take(label)
            shown.append(label)
    return Labels(tuple(shown), tuple(nameless))


def _placed(wanting: list[tuple[Placed, str]], room: "_Room", first: frozenset[str]) -> Labels:
    """One pass: names in turn, the zones of `first` before all others, then numbers."""
    shown: list[Label] = []
    numbered: list[tuple[Placed, str]] = []
    turns = {zone.zone.id: _turn(zone, name, room) for zone, name in wanting}
    for zone, name in sorted(
        wanting, key=lambda pair: (pair[0].zone.id not in first, turns[pair[0].zone.id])
    ):
        label = _named(zone, name, room)
        if label is None:
            numbered.append((zone, name))
        else:
            room.take(label)
            shown.append(label)
    nameless: list[Placed] = []
    number = 1
    for zone, name in sorted(numbered, key=lambda pair: _reading_order(pair[0])):
        label = _numbered(zone, number, name, room)
        if label is None:
            nameless.append(zone)
        else:
            number += 1
            room.take(label)
            shown.append(label)
    return Labels(tuple(shown), tuple(nameless))


def _reading_order(placed: Placed) -> tuple[float, float, str]:
    return round(placed.box.x0, 3), round(placed.box.y0, 3), placed.zone.id


def _turn(placed: Placed, name: str, room: "_Room") -> tuple[object, ...]:
    """The place in question first, then edges, then whoever has the fewest places to choose from.

    Fields come last: their names fit in many places.
    """
    rank = {Form.EDGE: 0, Form.BOX: 1, Form.POINT: 1, Form.FIELD: 2}[placed.form]
    choices = [
        sum(1 for _ in _choices(placed, name, room, strict=strict)) if rank == 1 else 0
        for strict in (True, False)
    ]
    return not placed.zone.highlight, rank, choices, _reading_order(placed)


@dataclass(slots=True)
class _Room:
    """What is taken already."""

    frame: Frame
    bounds: Box
    solid: list[Box]
    fields: list[Box]
    asked: list[Box]
    taken: list[Box] = field(default_factory=list)

    @classmethod
    def of(cls, placed: tuple[Placed, ...], frame: Frame, bounds: Box) -> "_Room":
        solid = [box for zone in placed if zone.form is not Form.FIELD for box in zone.boxes]
        fields = [zone.box for zone in placed if zone.form is Form.FIELD]
        asked = [zone.box for zone in placed if zone.form is Form.FIELD and zone.zone.highlight]
        return cls(frame, bounds, solid, fields, asked)

    def free(self, box: Box, own: Box, *, strict: bool = True, inside: bool = False) -> bool:
        """True where a label may stand.

        Args:
            box: the label's rectangle.
            own: the zone that it names: it may stand closer to it than to others.
            strict: it may not stand on the line between two fields either.
            inside: it may stand in its own zone.
        """
        body = self.frame.body
        inner = Box(body.x0 + self.frame.nose * 0.6, body.y0, body.x1, body.y1).grown(-_CLEAR)
        near, far = box.grown(_CLEAR), box.grown(_APART)
        whole = self.fields if strict else self.asked
        return (
            self.bounds.holds(box)
            and (inner.holds(box) or not near.meets(body))
            and not any(far.meets(other) for other in self.solid if other != own)
            and (inside or own not in self.solid or not near.meets(own))
            and not any(far.meets(other) for other in self.taken)
            and all(other.holds(box) or not box.meets(other) for other in whole)
        )

    def take(self, label: Label) -> None:
        """From now on nothing else may stand there, nor on the line that leads to it."""
        self.taken.append(label.spot.box)
        if label.leader is not None:
            self.taken += _along(label.leader)

    def clear(self, line: Line) -> bool:
        """True where a leader crosses no label."""
        return not any(bit.meets(box) for bit in _along(line) for box in self.taken)


def _said(placed: Placed, note: str) -> str:
    zone = placed.zone
    if not zone.highlight or not note:
        return "" if placed.evident and not zone.highlight else zone.name
    return note if placed.evident else f"{zone.name}, {note}"


def _named(placed: Placed, name: str, room: _Room) -> Label | None:
    for strict in (True, False):
        for words, spot in _choices(placed, name, room, strict=strict):
            return Label(placed, name, words, spot)
    return None


def _choices(
    placed: Placed, name: str, room: _Room, *, strict: bool
) -> Iterator[tuple[Words, Spot]]:
    """Every free place for the name, the best first."""
    for words in _blocks(placed, name):
        for spot in spots(placed, words, room.frame.body):
            if room.free(spot.box, placed.box, strict=strict):
                yield words, spot


def _blocks(placed: Placed, name: str) -> Iterator[Words]:
    """The name on one line, or on two; none where it is too long for a plan."""
    zone = placed.zone
    role: Role = "bold" if zone.highlight else "text"
    bead = zone.grade or None
    width = text_width(name, role, SMALL)
    if width <= _LONGEST:
        yield Words((name,), role, bead)
    if " " in name and width >= _WORTH_WRAPPING:
        lines = _in_two(name, role)
        if all(text_width(line, role, SMALL) <= _LONGEST for line in lines):
            yield Words(lines, role, bead)


def _in_two(name: str, role: Role) -> tuple[str, str]:
    """The name broken where the longer of its two lines is shortest."""
    words = name.split()
    breaks = [(" ".join(words[:n]), " ".join(words[n:])) for n in range(1, len(words))]
    return min(breaks, key=lambda lines: max(text_width(line, role, SMALL) for line in lines))


def _numbered(
    placed: Placed, number: int, name: str, room: _Room, role: Role = "text"
) -> Label | None:
    """In its box, beside it, or at the end of a leader."""
    words = Words((str(number),), role, placed.zone.grade or None)
    own = placed.box
    middle = about(own.centre, words)
    fits = not placed.zone.highlight and own.grown(-1.0).holds(middle)
    if fits and room.free(middle, own, inside=True):
        return Label(placed, name, words, Spot(middle), number)
    for strict in (True, False):
        for spot in spots(placed, words, room.frame.body):
            if room.free(spot.box, own, strict=strict):
                return Label(placed, name, words, spot, number)
    for box in rings(own, words):
        leader = _leader(own, box)
        if room.free(box, own, strict=False) and room.clear(leader):
            return Label(placed, name, words, Spot(box), number, leader)
    return None


def _leader(own: Box, box: Box) -> Line:
    """From the label's nearest edge to the zone's."""
    x, y = own.centre
    edge = box.grown(_CLEAR)
    start = min(max(x, edge.x0), edge.x1), min(max(y, edge.y0), edge.y1)
    end = min(max(start[0], own.x0), own.x1), min(max(start[1], own.y0), own.y1)
    return Line(*start, *end)


def _along(line: Line) -> list[Box]:
    """Small boxes on a line."""
    steps = max(2, int(max(abs(line.x2 - line.x1), abs(line.y2 - line.y1)) / 1.5))
    return [
        Box(x - 0.4, y - 0.4, x + 0.4, y + 0.4)
        for n in range(steps + 1)
        for x in (line.x1 + (line.x2 - line.x1) * n / steps,)
        for y in (line.y1 + (line.y2 - line.y1) * n / steps,)
    ]

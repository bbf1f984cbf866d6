"""Where each zone of a roof lies on its plan: measured, or by its type.

The roof is seen from above, front to the left, so its left side is at the bottom of the drawing.
The record measures x along the length from the front and y across the width from the left side:
x grows to the right of the drawing, y grows upward on it.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from evidence.errors import RefusedError
from evidence.figures.box import Box, one_line
from evidence.figures.plan_words import ACROSS, ALONG, cell_of, side_of

MEMBRANE = "Z08"
_STRIPS = {"Z01": "front", "Z03": "rear"}
_CORNERS = {"Z02": "front", "Z04": "rear"}
_RAILS = {"Z05": "left", "Z06": "right"}

_THICK = 5.0  # strips and rails have no measured breadth: points, so that they stay visible
_CORNER = 9.0
_EDGE = 3.5
_SPACE = 2.0
_POINT = 5.0
_LEAST = 2.0
_NOSE_OF_WIDTH = 0.2
_NOSE_OF_LENGTH = 0.08


class Form(StrEnum):
    """How a zone is drawn."""

    BOX = "box"
    POINT = "point"
    FIELD = "field"
    EDGE = "edge"


@dataclass(frozen=True, slots=True)
class PlanZone:
    """One zone of the roof and what the last look says of it.

    Attributes:
        id: its id in the record.
        label: its name.
        type: `Z01` … `Z27` (TRADE § 3).
        at: its corner nearest to the front left corner of the roof, [x, y] in mm; the place
            itself where there is no size.
        size_mm: [along the length, across it] in mm.
        look_age_days: days since the last look; None where it was not looked at.
        grade: 0 to 4 as last found; None where it has none.
        highlight: the place in question.
    """

    id: str
    label: str
    type: str
    at: tuple[int, int] | None = None
    size_mm: tuple[int, int] | None = None
    look_age_days: int | None = None
    grade: int | None = None
    highlight: bool = False

    @property
    def name(self) -> str:
        """The label on one line; the id where the label is empty."""
        return one_line(self.label) or self.id


@dataclass(frozen=True, slots=True)
class Frame:
    """The roof's outline on the drawing, its width and the scale, in points a millimetre."""

    body: Box
    scale: float
    width_mm: int

    @classmethod
    def of(cls, length_mm: int, width_mm: int, x0: float, x1: float, y0: float) -> "Frame":
        """The outline between x0 and x1, from its right side at y0 down to its left.

        Raises:
            RefusedError: the rig has no length or no width.
        """
        if length_mm <= 0 or width_mm <= 0:
            raise RefusedError(
                "the roof plan",
                "the rig's length and width are not known",
                "Enter the rig again with length_mm and width_mm.",
            )
        scale = (x1 - x0) / length_mm
        return cls(Box(x0, y0, x1, y0 + width_mm * scale), scale, width_mm)

    @property
    def nose(self) -> float:
        """How far the rounded front reaches back, in points."""
        return min(self.body.height * _NOSE_OF_WIDTH, self.body.width * _NOSE_OF_LENGTH)

    def box(self, at: tuple[int, int], size_mm: tuple[int, int]) -> Box:
        """A measured rectangle at its true place: `at` is its corner at the lower left."""
        x, y = self.body.x0 + at[0] * self.scale, self._down_to(at[1])
        return Box(x, y - size_mm[1] * self.scale, x + size_mm[0] * self.scale, y)

    def _down_to(self, from_left_mm: int) -> float:
        """The y of a place so far from the left side.

        Measured from the top, so that either side of the roof meets the outline to the last bit.
        """
        return self.body.y0 + (self.width_mm - from_left_mm) * self.scale


@dataclass(frozen=True, slots=True)
class Placed:
    """A zone with its place on the drawing.

    Attributes:
        zone: what it is.
        form: how it is drawn.
        boxes: one, or two where one zone means the corners of both sides.
        evident: its name says no more than its place does ("field rear left", one of the nine).
    """

    zone: PlanZone
    form: Form
    boxes: tuple[Box, ...]
    evident: bool = False

    @property
    def box(self) -> Box:
        """The first of its boxes: where its name belongs."""
        return self.boxes[0]


def place_zones(
    zones: Iterable[PlanZone], frame: Frame
) -> tuple[tuple[Placed, ...], tuple[PlanZone, ...]]:
    """Give every zone its place, in the order given.

    A zone with `at` and `size_mm` is drawn at its true place, cut where it passes the outline.
    Strips, rails, corners and the field are otherwise placed by type; several that share a place
    divide it. Any other zone needs at least `at`, and is then a point.

    Returns:
        The placed zones, and those that cannot be drawn.
    """
    zones = tuple(zones)
    places = {zone.id: at for zone in zones if (at := _measured(zone, frame)) is not None}
    places |= _by_type([zone for zone in zones if zone.id not in places], frame)
    placed: list[Placed] = []
    missing: list[PlanZone] = []
    for zone in zones:
        place = places.get(zone.id) or _point(zone, frame)
        if place is None:
            missing.append(zone)
        else:
            placed.append(place)
    return tuple(placed), tuple(missing)


def _measured(zone: PlanZone, frame: Frame) -> Placed | None:
    if zone.at is None or zone.size_mm is None:
        return None
    box = frame.box(zone.at, zone.size_mm)
    seen = box.grown_to(_LEAST).cut_to(frame.body) if box.meets(frame.body) else None
    if seen is None:
        return None
    return Placed(zone, _measured_form(zone, seen, frame), (seen,))


def _measured_form(zone: PlanZone, seen: Box, frame: Frame) -> Form:
    """Strips, rails and corners that reach the outline are named outside it, measured or not."""
    if zone.type == MEMBRANE:
        return Form.FIELD
    at_the_rim = not frame.body.grown(-_EDGE).holds(seen)
    return Form.EDGE if zone.type in _STRIPS | _CORNERS | _RAILS and at_the_rim else Form.BOX


def _point(zone: PlanZone, frame: Frame) -> Placed | None:
    if zone.at is None or not frame.body.holds(place := frame.box(zone.at, (0, 0))):
        return None
    dot = place.grown_to(_POINT).moved_into(frame.body)
    return Placed(zone, Form.POINT, (dot,))


def _by_type(zones: list[PlanZone], frame: Frame) -> dict[str, Placed]:
    """Places for the zones whose type or name says where on the roof they are."""
    types = {zone.type for zone in zones}
    slots = _Slots.of(frame, corners=bool(types & _CORNERS.keys()))
    lone_corners = {kind for kind in _CORNERS if sum(zone.type == kind for zone in zones) == 1}
    shared: dict[tuple[str, ...], list[PlanZone]] = defaultdict(list)
    placed: dict[str, Placed] = {}
    for zone in zones:
        side = side_of(zone.label, zone.id)
        if zone.type in _CORNERS and side is None and zone.type in lone_corners:
            both = tuple(slots.corner(_CORNERS[zone.type], end) for end in ("left", "right"))
            placed[zone.id] = Placed(zone, Form.EDGE, both)
        elif zone.type in _CORNERS and side is not None:
            shared["corner", _CORNERS[zone.type], side].append(zone)
        elif zone.type in _STRIPS:
            shared["strip", _STRIPS[zone.type]].append(zone)
        elif zone.type in _RAILS:
            shared["rail", side or _RAILS[zone.type]].append(zone)
        elif zone.type == MEMBRANE:
            shared["field", *cell_of(zone.label, zone.id)].append(zone)
    for place, together in shared.items():
        form = Form.FIELD if place[0] == "field" else Form.EDGE
        evident = form is Form.FIELD and all(place) and len(together) == 1
        for zone, box in zip(together, slots.divided(place, len(together)), strict=True):
            placed[zone.id] = Placed(zone, form, (box,), evident)
    return placed


@dataclass(frozen=True, slots=True)
class _Slots:
    """The places that a type has by its nature, inside the outline."""

    edge: Box
    corner_side: float

    @classmethod
    def of(cls, frame: Frame, *, corners: bool) -> "_Slots":
        body = frame.body
        edge = Box(body.x0 + frame.nose, body.y0 + _EDGE, body.x1 - _EDGE, body.y1 - _EDGE)
        return cls(edge, _CORNER if corners else 0.0)

    def corner(self, end: str, side: str) -> Box:
        """A square in a corner of the roof."""
        size, edge = self.corner_side, self.edge
        x = edge.x0 if end == "front" else edge.x1 - size
        y = edge.y1 - size if side == "left" else edge.y0
        return Box(x, y, x + size, y + size)

    def divided(self, place: tuple[str, ...], parts: int) -> tuple[Box, ...]:
        """The place cut into equal parts: strips from the left side, all else from the front."""
        match place:
            case ("corner", end, side):
                return _cut(self.corner(end, side), parts)
            case ("strip", end):
                return _cut(self._strip(end), parts, down=True)[::-1]
            case ("rail", side):
                return _cut(self._rail(side), parts)
            case _:
                return _cut(self._cell(place[1], place[2]), parts)

    def _strip(self, end: str) -> Box:
        off = self.corner_side + _SPACE if self.corner_side else 0.0
        x = self.edge.x0 if end == "front" else self.edge.x1 - _THICK
        return Box(x, self.edge.y0 + off, x + _THICK, self.edge.y1 - off)

    def _rail(self, side: str) -> Box:
        off = max(self.corner_side, _THICK) + _SPACE
        y = self.edge.y1 - _THICK if side == "left" else self.edge.y0
        return Box(self.edge.x0 + off, y, self.edge.x1 - off, y + _THICK)

    def _cell(self, along: str, across: str) -> Box:
        """A ninth of the field, or a whole row or column where one of the words is missing."""
        field = self.edge.grown(-_THICK - _SPACE)
        x0, x1 = _third(field.x0, field.x1, along, ALONG)
        y0, y1 = _third(field.y0, field.y1, across, ACROSS[::-1])
        return Box(x0, y0, x1, y1)


def field_of(frame: Frame) -> Box:
    """Where the membrane lies, inside strips and rails: the nine fields together."""
    return _Slots.of(frame, corners=False).divided(("field", "", ""), 1)[0]


def _cut(box: Box, parts: int, *, down: bool = False) -> tuple[Box, ...]:
    step = (box.height if down else box.width) / parts
    if down:
        return tuple(
            Box(box.x0, box.y0 + n * step, box.x1, box.y0 + (n + 1) * step) for n in range(parts)
        )
    return tuple(
        Box(box.x0 + n * step, box.y0, box.x0 + (n + 1) * step, box.y1) for n in range(parts)
    )


def _third(low: float, high: float, word: str, words: tuple[str, ...]) -> tuple[float, float]:
    if not word:
        return low, high
    step, nth = (high - low) / len(words), words.index(word)
    return low + nth * step, low + (nth + 1) * step

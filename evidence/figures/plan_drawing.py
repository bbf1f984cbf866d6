"""How zones and names of a roof plan are drawn, once their places are known."""

from collections.abc import Iterable
from dataclasses import replace

from evidence.figures.box import ABOVE_BASELINE, Box, interrupted
from evidence.figures.marks import bead_mark
from evidence.figures.plan_labels import Label, Labels
from evidence.figures.plan_spots import BEAD, BEAD_GAP, LEADING
from evidence.figures.plan_zones import Form, Frame, Placed, field_of
from evidence.figures.scene import (
    Circle,
    Close,
    CurveTo,
    Hatch,
    Item,
    Line,
    LineTo,
    MoveTo,
    Path,
    Rect,
    Step,
    Stroke,
    Text,
)
from evidence.figures.style import (
    CAP_HEIGHT,
    COPPER,
    INK,
    MIDDLE_GREY,
    MUTED,
    PALE,
    PAPER,
    SMALL,
    contrast,
    legible,
    text_width,
)

TINTS = {
    "looked at within 30 days": PAPER,
    "31 to 90 days ago": PALE,
    "91 to 180 days ago": "#d2d8d5",
    "over 180 days ago": MIDDLE_GREY,
}
"""Age of the last look as a grey, in the words of the key."""
_TINT_ENDS = (30, 90, 180)
_REAR_RADIUS = 6.0
_DOTS = Stroke(MIDDLE_GREY, 1.1, (0.0, 4.0), round_ends=True)
FIELD_EDGE = Stroke(MUTED, 0.45, (2.0, 2.5))


def tint(age_days: int) -> str:
    """The grey for a zone last looked at so many days ago."""
    nth = sum(age_days > end for end in _TINT_ENDS)
    return list(TINTS.values())[nth]


def swatch(x: float, y: float, fill: str | None) -> tuple[Item, ...]:
    """A small piece of a tint, or of the dots for "not looked at", for the key."""
    box = Box(x - 5.5, y - 3.5, x + 5.5, y + 3.5)
    return *_ground(box, fill), _outlined(box, Stroke(INK, 0.6))


def outline(frame: Frame, *, filled: bool = True) -> Path:
    """The roof seen from above: a round front to the left, a square rear with eased corners."""
    body, nose = frame.body, frame.nose
    ease = min(_REAR_RADIUS, body.height / 4)
    middle, bend, slope = body.centre[1], body.height * 0.27, nose * 0.35
    steps: tuple[Step, ...] = (
        MoveTo(body.x0 + nose, body.y0),
        LineTo(body.x1 - ease, body.y0),
        CurveTo(body.x1, body.y0, body.x1, body.y0, body.x1, body.y0 + ease),
        LineTo(body.x1, body.y1 - ease),
        CurveTo(body.x1, body.y1, body.x1, body.y1, body.x1 - ease, body.y1),
        LineTo(body.x0 + nose, body.y1),
        CurveTo(body.x0 + slope, body.y1, body.x0, middle + bend, body.x0, middle),
        CurveTo(body.x0, middle - bend, body.x0 + slope, body.y0, body.x0 + nose, body.y0),
        Close(),
    )
    return Path(steps, PAPER if filled else None, None if filled else Stroke(INK, 1.2))


def draw_zones(placed: Iterable[Placed], frame: Frame, labels: Labels) -> list[Item]:
    """Fields first, the larger under the smaller; then edges, boxes and points.

    The lines between fields leave out what stands on them in `labels`.
    """
    zones = list(placed)
    fields = sorted(
        (zone for zone in zones if zone.form is Form.FIELD),
        key=lambda zone: -zone.box.width * zone.box.height,
    )
    others = [zone for zone in zones if zone.form is not Form.FIELD]
    items: list[Item] = []
    for zone in fields:
        items += _ground(zone.box, _fill(zone))
    words = [label.spot.box.grown(1.0) for label in labels.shown]
    for line in _field_edges(fields, frame):
        items += interrupted(line, words)
    for zone in fields:
        if zone.zone.highlight:
            items += hatched(zone.box, 5.0)
    for zone in others:
        for box in zone.boxes:
            items += _solid(zone, box)
    return items


def draw_labels(labels: Labels, placed: Iterable[Placed]) -> list[Item]:
    """Leaders, then each name or number in a colour that can be read on what lies behind it."""
    fields = [zone for zone in placed if zone.form is Form.FIELD]
    items: list[Item] = [
        replace(label.leader, stroke=Stroke(MUTED, 0.5))
        for label in labels.shown
        if label.leader is not None
    ]
    for label in labels.shown:
        items += _label(label, fields)
    return items


def hatched(box: Box, spacing: float) -> tuple[Item, ...]:
    """The place in question."""
    hatch = Hatch(box.corners, Stroke(COPPER, 0.8), spacing, -55.0)
    return hatch, _outlined(box, Stroke(COPPER, 1.3))


def _fill(zone: Placed) -> str | None:
    age = zone.zone.look_age_days
    return None if age is None else tint(age)


def _ground(box: Box, fill: str | None) -> tuple[Item, ...]:
    if fill is not None:
        return (Rect(box.x0, box.y0, box.width, box.height, fill),)
    paper = Rect(box.x0, box.y0, box.width, box.height, PAPER)
    return paper, Hatch(box.corners, _DOTS, 4.0, 0.0)


def _outlined(box: Box, stroke: Stroke, radius: float = 0.0) -> Rect:
    return Rect(box.x0, box.y0, box.width, box.height, None, stroke, radius)


def _solid(zone: Placed, box: Box) -> tuple[Item, ...]:
    """An edge, a box or a point."""
    if zone.zone.highlight:
        return *_ground(box, _fill(zone)), *hatched(box, 3.0)
    if zone.form is Form.POINT:
        fill = _fill(zone)
        pen = Stroke(INK, 0.9, () if fill else (1.4, 1.2))
        return (Circle(*box.centre, box.width / 2, fill or PAPER, pen),)
    pen = Stroke(INK, 0.7 if zone.form is Form.EDGE else 0.9)
    return *_ground(box, _fill(zone)), _outlined(box, pen)


def _field_edges(fields: list[Placed], frame: Frame) -> list[Line]:
    """Dashed lines between fields, each drawn once; not along strips and rails."""
    whole = field_of(frame)
    rim = (
        {round(value, 2) for value in (whole.x0, whole.x1)},
        {round(value, 2) for value in (whole.y0, whole.y1)},
    )
    edges: dict[tuple[float, float, float, float], Line] = {}
    for box in (zone.box for zone in fields):
        x0, y0, x1, y1 = (round(value, 2) for value in (box.x0, box.y0, box.x1, box.y1))
        for x in (x0, x1):
            if x not in rim[0]:
                edges.setdefault((x, y0, x, y1), Line(x, y0, x, y1, FIELD_EDGE))
        for y in (y0, y1):
            if y not in rim[1]:
                edges.setdefault((x0, y, x1, y), Line(x0, y, x1, y, FIELD_EDGE))
    return list(edges.values())


def _label(label: Label, fields: list[Placed]) -> list[Item]:
    box = label.spot.box
    grounds = [_fill(zone) for zone in fields if zone.box.meets(box)]
    restless = any(
        zone.zone.highlight or zone.zone.look_age_days is None
        for zone in fields
        if zone.box.meets(box)
    )
    if label.number is not None and label.placed.box.holds(box):
        grounds, restless = [_fill(label.placed)], label.placed.zone.look_age_days is None
    items: list[Item] = []
    behind = PAPER
    if restless:
        plate = box.grown(1.2)
        items.append(Rect(plate.x0, plate.y0, plate.width, plate.height, PAPER, None, 1.5))
    else:
        behind = min((ground or PAPER for ground in grounds), key=_lightness, default=PAPER)
    wanted = COPPER if label.placed.zone.highlight else MUTED
    if label.number is not None:
        wanted = INK
    colour = legible(wanted, behind)
    return items + (_turned(label, colour) if label.spot.turned else _upright(label, colour))


def _lightness(colour: str) -> float:
    return contrast(colour, "#000000")


def _upright(label: Label, colour: str) -> list[Item]:
    words, box = label.words, label.spot.box
    align = "start" if words.bead is not None else label.spot.align
    items: list[Item] = []
    for nth, line in enumerate(words.lines):
        spare = box.width - words.lead - text_width(line, words.role, SMALL)
        x = box.x0 + words.lead + {"start": 0.0, "middle": spare / 2, "end": spare}[align]
        base = box.y0 + ABOVE_BASELINE * SMALL + nth * LEADING
        if nth == 0 and words.bead is not None:
            middle = base - CAP_HEIGHT * SMALL / 2
            items += bead_mark(words.bead, x - BEAD_GAP - BEAD / 2, middle, BEAD)
        if line:
            items.append(Text(x, base, line, SMALL, words.role, colour=colour))
    return items


def _turned(label: Label, colour: str) -> list[Item]:
    """One line that reads upward, its sign with it."""
    words, box = label.words, label.spot.box
    x = box.x0 + ABOVE_BASELINE * SMALL
    items: list[Item] = []
    if words.bead is not None:
        middle = x - CAP_HEIGHT * SMALL / 2, box.y1 - BEAD / 2
        items += [_upward(mark, *middle) for mark in bead_mark(words.bead, *middle, BEAD)]
    start = box.y1 - words.lead
    items.append(Text(x, start, words.lines[0], SMALL, words.role, colour=colour, rotation=-90.0))
    return items


def _upward(path: Item, x: float, y: float) -> Item:
    """A path turned a quarter to the left about (x, y)."""
    if not isinstance(path, Path):
        return path

    def turn(px: float, py: float) -> tuple[float, float]:
        return x + (py - y), y - (px - x)

    steps: list[Step] = []
    for step in path.steps:
        match step:
            case MoveTo():
                steps.append(MoveTo(*turn(step.x, step.y)))
            case LineTo():
                steps.append(LineTo(*turn(step.x, step.y)))
            case CurveTo(x1, y1, x2, y2, x3, y3):
                steps.append(CurveTo(*turn(x1, y1), *turn(x2, y2), *turn(x3, y3)))
            case Close():
                steps.append(step)
    return replace(path, steps=tuple(steps))

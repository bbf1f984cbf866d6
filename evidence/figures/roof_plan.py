"""The roof plan: every zone where it is, when it was last looked at, and the place in question."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from math import ceil

from evidence.figures.box import Box, elided, wrapped
from evidence.figures.key import LINE, Sign, key_lines
from evidence.figures.marks import bead_mark, grade_signs, grade_words
from evidence.figures.plan_drawing import (
    FIELD_EDGE,
    TINTS,
    draw_labels,
    draw_zones,
    hatched,
    outline,
    swatch,
    tint,
)
from evidence.figures.plan_labels import Labels, place_labels, place_numbers
from evidence.figures.plan_spots import BEAD, BEAD_GAP
from evidence.figures.plan_zones import Frame, Placed, PlanZone, place_zones
from evidence.figures.scene import Item, Line, Polygon, Rect, Scene, Stroke, Text
from evidence.figures.style import CAP_HEIGHT, MUTED, PAPER, SMALL, text_width

NOT_LOOKED_AT = "not looked at"
PLACE_IN_QUESTION = "place in question"
FIELDS = "fields: front, middle, rear \N{MULTIPLICATION SIGN} left, centre, right"
_ORIENTATION = "front to the left, left side at the bottom, seen from above"
_BAND = 14.0  # room around the outline for the names of strips, rails and corners
_BARE = 3.0
_COLUMN_GAP = 16.0
_LONGEST_SCALE = 120.0


@dataclass(frozen=True, slots=True)
class RoofPlan:
    """What one plan shows.

    Attributes:
        length_mm: of the roof, from the rig's entry.
        width_mm: of the roof.
        zones: at most one each id.
        name: the rig's name, for the words of the drawing.
        highlight_note: what is said after the name of the place in question ("tear 210 mm").
        key: say below the plan what its greys and signs mean.
        sparse: name the place in question alone; a larger plan elsewhere has all the names.
        numbers: what stands on the drawing for each zone, by its id, instead of any name; the names
            are listed elsewhere.
    """

    length_mm: int
    width_mm: int
    zones: tuple[PlanZone, ...] = ()
    name: str = ""
    highlight_note: str = ""
    key: bool = True
    sparse: bool = False
    numbers: Mapping[str, int] | None = None


@dataclass(frozen=True, slots=True)
class PlanLayout:
    """Where everything on the plan stands."""

    frame: Frame
    bounds: Box
    placed: tuple[Placed, ...]
    missing: tuple[PlanZone, ...]
    labels: Labels


def draw_roof_plan(plan: RoofPlan, width: float) -> Scene:
    """Draw the plan `width` points wide, from above, front to the left; its height follows.

    Raises:
        RefusedError: the rig has no length or no width.
    """
    layout = lay_out(plan, width)
    items: list[Item] = [
        outline(layout.frame),
        *draw_zones(layout.placed, layout.frame, layout.labels),
        outline(layout.frame, filled=False),
        *draw_labels(layout.labels, layout.placed),
    ]
    y = layout.bounds.y1 + 4.0
    if plan.numbers is None:
        below, y = _numbers(layout.labels, y, width)
        items += below
    if plan.key:
        key, y = key_lines(_signs(layout), y + 2.0, width)
        items += key
    for words in _remarks(layout, plan.numbers or {}):
        below, y = _paragraph(words, y, width)
        items += below
    return Scene(width, y, tuple(items), _title(plan), _alt(plan, layout))


def lay_out(plan: RoofPlan, width: float) -> PlanLayout:
    """The places of zones and names, before anything is drawn.

    Raises:
        RefusedError: the rig has no length or no width.
    """
    types = {zone.type for zone in plan.zones}
    left = _BAND if "Z01" in types else _BARE
    right = _BAND if "Z03" in types else _BARE
    band = _BAND if types & {"Z02", "Z04", "Z05", "Z06"} else _BARE
    frame = Frame.of(plan.length_mm, plan.width_mm, left, width - right, band)
    placed, missing = place_zones(plan.zones, frame)
    bounds = Box(0.0, 0.0, width, frame.body.y1 + band)
    if plan.numbers is not None:
        labels = place_numbers(placed, frame, bounds, plan.numbers)
    else:
        labels = place_labels(placed, frame, bounds, plan.highlight_note, sparse=plan.sparse)
    return PlanLayout(frame, bounds, placed, missing, labels)


def _numbers(labels: Labels, y: float, width: float) -> tuple[list[Item], float]:
    """The names behind the numbers, in columns that are read downward."""
    entries = [label for label in labels.shown if label.number is not None]
    if not entries:
        return [], y
    name_at = 14.0 + (BEAD + BEAD_GAP if any(label.words.bead for label in entries) else 0.0)
    names = [
        elided(label.name or label.placed.zone.name, width - name_at, "text", SMALL)
        for label in entries
    ]
    column = name_at + max(text_width(name, "text", SMALL) for name in names) + _COLUMN_GAP
    columns = max(1, int((width + _COLUMN_GAP) // column))
    rows = ceil(len(entries) / columns)
    items: list[Item] = []
    for nth, (label, name) in enumerate(zip(entries, names, strict=True)):
        x, base = nth // rows * column, y + nth % rows * LINE + LINE - 4.0
        items.append(Text(x + 10.0, base, str(label.number), anchor="end"))
        if label.words.bead is not None:
            middle = base - CAP_HEIGHT * SMALL / 2
            items += bead_mark(label.words.bead, x + 14.0 + BEAD / 2, middle, BEAD)
        items.append(Text(x + name_at, base, name, colour=MUTED))
    return items, y + rows * LINE


def _signs(layout: PlanLayout) -> tuple[Sign, ...]:
    """The key: which way it lies, how large it is, and what the greys and signs on it mean."""
    scale = layout.frame.scale
    signs = [Sign(12.0, _front_arrow, _ORIENTATION), _scale_sign(scale)]
    ages = [placed.zone.look_age_days for placed in layout.placed]
    signs += [
        Sign(11.0, partial(swatch, fill=fill), words)
        for words, fill in TINTS.items()
        if any(age is not None and tint(age) == fill for age in ages)
    ]
    if None in ages:
        signs.append(Sign(11.0, partial(swatch, fill=None), NOT_LOOKED_AT))
    grades = {placed.zone.grade for placed in layout.placed if placed.zone.grade}
    signs += grade_signs(sorted(grade for grade in grades if grade), BEAD)
    asked = ", ".join(placed.zone.name for placed in layout.placed if placed.zone.highlight)
    if asked:
        signs.append(Sign(11.0, _question_sign, f"{PLACE_IN_QUESTION}: {asked}"))
    if any(placed.evident for placed in layout.placed):
        signs.append(Sign(11.0, _field_sign, FIELDS))
    return tuple(signs)


def _front_arrow(x: float, y: float) -> tuple[Item, ...]:
    tip = x - 6.0
    head = Polygon(((tip, y), (tip + 4.5, y - 2.4), (tip + 4.5, y + 2.4)), MUTED)
    return Line(tip + 4.0, y, x + 6.0, y, Stroke(MUTED, 0.8)), head


def _scale_sign(scale: float) -> Sign:
    """A bar of one metre, or of half a metre where the plan is large."""
    millimetres, words = (1000, "1 m") if scale * 1000 <= _LONGEST_SCALE else (500, "0.5 m")
    return Sign(scale * millimetres, partial(_scale_bar, length=scale * millimetres), words)


def _scale_bar(x: float, y: float, length: float) -> tuple[Item, ...]:
    left, right, pen = x - length / 2, x + length / 2, Stroke(MUTED, 0.8)
    return (
        Line(left, y, right, y, pen),
        Line(left, y - 2.4, left, y + 2.4, pen),
        Line(right, y - 2.4, right, y + 2.4, pen),
    )


def _question_sign(x: float, y: float) -> tuple[Item, ...]:
    return hatched(Box(x - 5.5, y - 3.5, x + 5.5, y + 3.5), 3.0)


def _field_sign(x: float, y: float) -> tuple[Item, ...]:
    return (Rect(x - 5.5, y - 3.5, 11.0, 7.0, PAPER, FIELD_EDGE),)


def _remarks(layout: PlanLayout, numbers: Mapping[str, int]) -> list[str]:
    """What the drawing could not show, in words."""
    remarks = []
    if layout.labels.nameless:
        names = ", ".join(_described(placed.zone, numbers) for placed in layout.labels.nameless)
        remarks.append(f"Drawn, but no room for the name: {names}")
    if layout.missing:
        names = ", ".join(_described(zone, numbers) for zone in layout.missing)
        remarks.append(f"Not drawn, place not in the record: {names}")
    return remarks


def _described(zone: PlanZone, numbers: Mapping[str, int]) -> str:
    notes = [PLACE_IN_QUESTION] if zone.highlight else []
    if zone.grade:
        notes.append(grade_words(zone.grade))
    name = f"{numbers[zone.id]} {zone.name}" if zone.id in numbers else zone.name
    return f"{name} ({', '.join(notes)})" if notes else name


def _paragraph(words: str, y: float, width: float) -> tuple[list[Item], float]:
    lines = wrapped(words, width, "text", SMALL)
    items: list[Item] = [
        Text(0.0, y + (nth + 1) * LINE - 4.0, line, colour=MUTED) for nth, line in enumerate(lines)
    ]
    return items, y + len(lines) * LINE


def _title(plan: RoofPlan) -> str:
    return f"Roof plan, {plan.name}" if plan.name else "Roof plan"


def _alt(plan: RoofPlan, layout: PlanLayout) -> str:
    size = f"{plan.length_mm / 1000:g} by {plan.width_mm / 1000:g} m"
    parts = [f"{_title(plan)}, {size}, {_ORIENTATION}; {len(layout.placed)} zones drawn."]
    zones = [placed.zone for placed in layout.placed]
    asked = ", ".join(zone.name for zone in zones if zone.highlight)
    if asked:
        asked += f", {plan.highlight_note}" if plan.highlight_note else ""
        parts.append(f"Place in question: {asked}.")
    parts += [
        f"{grade_words(grade)}: {', '.join(zone.name for zone in zones if zone.grade == grade)}."
        for grade in sorted({zone.grade for zone in zones if zone.grade}, reverse=True)
    ]
    unseen = ", ".join(zone.name for zone in zones if zone.look_age_days is None)
    if unseen:
        parts.append(f"Not looked at: {unseen}.")
    return " ".join((*parts, *(f"{remark}." for remark in _remarks(layout, plan.numbers or {}))))

"""The roof plan: every zone where it is, when it was last looked at, and the place in question."""

from dataclasses import dataclass
from functools import partial
from itertools import pairwise

from evidence.figures.box import Box, elided, wrapped
from evidence.figures.key import LINE, Sign, key_lines
from evidence.figures.marks import bead_mark, grade_signs, grade_words
from evidence.figures.plan_drawing import (
    NOT_LOOKED_AT,
    TINTS,
    draw_labels,
    draw_zones,
    hatched,
    outline,
    swatch,
    tint,
)
from evidence.figures.plan_labels import BEAD, BEAD_GAP, Label, Labels, place_labels
from evidence.figures.plan_zones import Form, Frame, Placed, PlanZone, place_zones
from evidence.figures.scene import Item, Line, Scene, Stroke, Text
from evidence.figures.style import INK, MUTED, SMALL, text_width

_BAND = 14.0  # room around the outline for the names of strips, rails and corners
_BARE = 3.0
_COLUMN_GAP = 16.0
_ORIENTATION = "front to the left, left side at the top"


@dataclass(frozen=True, slots=True)
class RoofPlan:
    """What one plan shows.

    Attributes:
        length_mm: of the roof, from the rig's entry.
        width_mm: of the roof.
        zones: at most one each id.
        name: the rig's name, for the words of the drawing.
        highlight_note: what is said after the name of the place in question ("tear 210 mm").
    """

    length_mm: int
    width_mm: int
    zones: tuple[PlanZone, ...] = ()
    name: str = ""
    highlight_note: str = ""


@dataclass(frozen=True, slots=True)
class PlanLayout:
    """Where everything on the plan stands."""

    frame: Frame
    bounds: Box
    placed: tuple[Placed, ...]
    missing: tuple[PlanZone, ...]
    labels: Labels


def draw_roof_plan(plan: RoofPlan, width: float) -> Scene:
    """Draw the plan `width` points wide, front to the left; its height follows.

    Raises:
        RefusedError: the rig has no length or no width.
    """
    layout = lay_out(plan, width)
    items: list[Item] = [
        outline(layout.frame),
        *draw_zones(layout.placed, layout.frame),
        outline(layout.frame, filled=False),
        *draw_labels(layout.labels, layout.placed),
    ]
    below, y = _numbers(layout.labels, layout.bounds.y1 + 4.0, width)
    items += below
    below, y = key_lines(_signs(layout), y + 2.0, width)
    items += below
    for words in _remarks(layout):
        below, y = _paragraph(words, y, width)
        items += below
    return Scene(width, y, tuple(items), _title(plan), _alt(plan, layout))


def lay_out(plan: RoofPlan, width: float) -> PlanLayout:
    """The places of zones and names, before anything is drawn.

    Raises:
        RefusedError: the rig has no length or no width.
    """
    zones = tuple(_noted(zone, plan.highlight_note) for zone in plan.zones)
    types = {zone.type for zone in zones}
    left = _BAND if "Z01" in types else _BARE
    right = _BAND if "Z03" in types else _BARE
    band = _BAND if types & {"Z02", "Z04", "Z05", "Z06"} else _BARE
    frame = Frame.of(plan.length_mm, plan.width_mm, left, width - right, band)
    placed, missing = place_zones(zones, frame)
    bounds = Box(0.0, 0.0, width, frame.body.y1 + band)
    return PlanLayout(frame, bounds, placed, missing, place_labels(placed, frame, bounds))

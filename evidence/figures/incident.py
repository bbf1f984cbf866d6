"""The incident on a line of time: a copper triangle, and a band where its day is not known."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from evidence.errors import RefusedError
from evidence.figures.axis import TimeAxis, day_text
from evidence.figures.box import Box, interrupted, wrapped
from evidence.figures.marks import incident_mark
from evidence.figures.scene import Anchor, Item, Line, Rect, Stroke, Text
from evidence.figures.style import CAP_HEIGHT, COPPER, COPPER_PALE, LEADING, SMALL, text_width

_DASHED = Stroke(COPPER, 1.0, (3.0, 2.0))
_MOST_LINES = 3
_LEAST_ROOM = 60.0


@dataclass(frozen=True, slots=True)
class IncidentWindow:
    """When it happened, as far as anybody can say; both dates equal where the day is known.

    Attributes:
        earliest: None where only "not after" is known.
        latest: the last day on which it can have happened.
        label: what is said beside its mark.
    """

    earliest: date | None
    latest: date
    label: str

    def __post_init__(self) -> None:
        if self.earliest is not None and self.latest < self.earliest:
            raise RefusedError(
                f"incident {self.label}", "ends before it starts", "Give the earlier date first."
            )

    def sentence(self) -> str:
        """What the drawing says, in words."""
        if self.earliest is None:
            return f"Incident, {self.label}: not after {day_text(self.latest)}."
        days = dict.fromkeys((self.earliest, self.latest))
        return f"Incident, {self.label}: {' to '.join(map(day_text, days))}."

    def ends(self, axis: TimeAxis) -> tuple[float, float]:
        """The x of its first and its last day; an open start lies where the axis starts."""
        first = axis.x0 if self.earliest is None else axis.inside(self.earliest)
        return first, axis.inside(self.latest)


def incident_band(axis: TimeAxis, incident: IncidentWindow, y0: float, y1: float) -> list[Item]:
    """The window of an incident as a pale band behind everything; nothing for a known day."""
    left, right = incident.ends(axis)
    if right - left < 1.0:
        return []
    return [Rect(left, y0, right - left, y1 - y0, COPPER_PALE)]


def incident_lines(
    axis: TimeAxis, incident: IncidentWindow, y0: float, y1: float, around: Iterable[Box]
) -> list[Line]:
    """A dashed copper line at the day, or at both ends of the window, as far as the axis goes."""
    boxes = list(around)
    ends = dict.fromkeys((incident.earliest, incident.latest))
    return [
        line
        for day in ends
        if day is not None and axis.reaches(day)
        for line in interrupted(Line(axis.at(day), y0, axis.at(day), y1, _DASHED), boxes)
    ]


def incident_row(
    axis: TimeAxis, incident: IncidentWindow, middle: float, width: float
) -> tuple[tuple[Item, ...], list[Text]]:
    """The triangle, its window as a line, its words to the right, to the left or below."""
    if incident.latest < axis.start or (incident.earliest or axis.start) > axis.end:
        elsewhere = f"{incident.label}, {day_text(incident.latest)}: not within these dates"
        return (), _beside(elsewhere, axis.x0, width - axis.x0, middle, "start")
    left, right = incident.ends(axis)
    centre = (left + right) / 2
    sign = incident_mark(centre, middle)
    if right - left >= 1.0:
        sign = (Line(left, middle + 4.5, right, middle + 4.5, Stroke(COPPER, 1.0)), *sign)
    left, right = min(left, centre - 5.0) - 5.0, max(right, centre + 5.0) + 5.0
    room_left, room_right = left - axis.x0, width - right
    if max(room_left, room_right) < _LEAST_ROOM:
        return sign, _beside(incident.label, axis.x0, width - axis.x0, middle + 15.0, "start")
    if room_right >= min(text_width(incident.label, "text", SMALL), room_left):
        return sign, _beside(incident.label, right, room_right, middle, "start")
    return sign, _beside(incident.label, left, room_left, middle, "end")


def _beside(words: str, x: float, room: float, middle: float, anchor: Anchor) -> list[Text]:
    base = middle + CAP_HEIGHT * SMALL / 2
    return [
        Text(x, base + nth * SMALL * LEADING, line, anchor=anchor, colour=COPPER)
        for nth, line in enumerate(wrapped(words, room, "text", SMALL, _MOST_LINES))
    ]

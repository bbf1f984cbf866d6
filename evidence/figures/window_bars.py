"""Onset windows: for each finding the time in which it began, as far as anybody looked.

A window runs from the last look without the finding to the first look that had it. It says when
something was seen, never what caused it.
"""

from dataclasses import dataclass, replace
from datetime import date

from evidence.errors import RefusedError
from evidence.figures.axis import TimeAxis, calendar, day_text, grid
from evidence.figures.box import text_box, wrapped
from evidence.figures.incident import (
    IncidentWindow,
    incident_band,
    incident_lines,
    incident_row,
)
from evidence.figures.key import Sign, key_lines
from evidence.figures.scene import Item, Line, Polygon, Rect, Scene, Stroke, Text
from evidence.figures.style import FAINT, INK, LEADING, MIDDLE_GREY, MUTED, SMALL

NO_EARLIER_LOOK = "no earlier look"
ELSEWHERE = "not within these dates"
_BAR = 7.0
_CAP_REACH = 5.5
_ARROW = 4.0
_FADE = 40.0
_SLICES = 8
_PADDING = 4.5
_LABEL_SHARE = 0.36
_AFTER_LABEL = 14.0
_RIGHT_EDGE = 5.0
_CAP = Stroke(INK, 1.1)


@dataclass(frozen=True, slots=True)
class WindowBar:
    """The onset window of one finding.

    Attributes:
        label: the finding and its place.
        earliest: day of the last look without it; None where nobody had looked before.
        latest: the last day on which it can have begun.
        seen: the day it was first seen.
        note: what else the row says, entry numbers say.
    """

    label: str
    earliest: date | None
    latest: date
    seen: date
    note: str = ""

    def __post_init__(self) -> None:
        if self.earliest is not None and self.latest < self.earliest:
            raise RefusedError(
                f"window of {self.label}", "ends before it starts", "Give the earlier date first."
            )


def draw_window_bars(
    bars: tuple[WindowBar, ...],
    start: date,
    end: date,
    width: float,
    incident: IncidentWindow | None = None,
) -> Scene:
    """Draw one row a window, `width` points wide, over the dates from `start` to `end`.

    Raises:
        RefusedError: the dates end before they start.
    """
    labels = [_words(bar, start, end, width * _LABEL_SHARE) for bar in bars]
    widest = max((text_box(text).x1 for row in labels for text in row), default=0.0)
    axis = TimeAxis(start, end, widest + _AFTER_LABEL, width - _RIGHT_EDGE)
    sign: tuple[Item, ...] = ()
    named: list[Text] = []
    if incident is not None:
        sign, named = incident_row(axis, incident, 6.0, width)
    top = bottom = max((text_box(text).y1 + 4.0 for text in named), default=4.0)

    drawn: list[Item] = [*sign, *named]
    for bar, words in zip(bars, labels, strict=True):
        height = len(words) * SMALL * LEADING + 2 * _PADDING
        middle = bottom + height / 2
        drawn.append(Line(axis.x0, middle, axis.x1, middle, Stroke(FAINT, 0.8)))
        drawn += _window(axis, bar, middle)
        drawn += [replace(text, y=text.y + bottom + _PADDING) for text in words]
        bottom += height

    behind: list[Item] = [*grid(axis, top, bottom)]
    if incident is not None:
        behind += incident_band(axis, incident, top, bottom)
        behind += incident_lines(axis, incident, 11.0, bottom, map(text_box, named))
    dates = calendar(axis, bottom + 13.0, width)
    key, height = key_lines(_signs(axis, bars), bottom + 20.0, width)
    title = f"Onset windows, {day_text(start)} to {day_text(end)}"
    return Scene(width, height, (*behind, *drawn, *dates, *key), title, _alt(bars, incident))


def _words(bar: WindowBar, start: date, end: date, room: float) -> list[Text]:
    """The row's label and its note below, with baselines from the top of the row."""
    notes = [bar.note] if bar.note else []
    if bar.earliest is None:
        notes.append(NO_EARLIER_LOOK)
    if bar.latest < start or (bar.earliest or start) > end:
        notes.append(ELSEWHERE)
    lines = [(line, INK) for line in wrapped(bar.label, room, "text", SMALL, 2)]
    lines += [(line, MUTED) for line in wrapped(" · ".join(notes), room, "text", SMALL, 2) if line]
    return [
        Text(0.0, SMALL * 0.9 + nth * SMALL * LEADING, line, colour=colour)
        for nth, (line, colour) in enumerate(lines)
    ]


def _window(axis: TimeAxis, bar: WindowBar, middle: float) -> list[Item]:
    """The window as a bar: capped where an end is known, fading where it is open.

    An end that the axis does not reach gets a point instead of a cap.
    """
    if bar.latest < axis.start or (bar.earliest or axis.start) > axis.end:
        return []
    left = axis.x0 if bar.earliest is None else axis.inside(bar.earliest)
    right = max(axis.inside(bar.latest), left + 1.0)
    items: list[Item] = []
    if bar.earliest is None:
        items += _fading(left, right, middle)
    elif bar.earliest < axis.start:
        items += [_bar(left + _ARROW, right, middle), _point(left + _ARROW, middle, -_ARROW)]
    else:
        items += [_bar(left, right, middle), _cap(left, middle)]
    if bar.latest > axis.end:
        items.append(_point(right, middle, _ARROW))
    else:
        items.append(_cap(right, middle))
    if axis.reaches(bar.seen):
        items += _seen(axis.at(bar.seen), middle)
    return items


def _fading(left: float, right: float, middle: float) -> list[Item]:
    """A bar whose left end dissolves in ever thinner slices: nobody knows how far it goes."""
    reach = min(_FADE, (right - left) * 0.8)
    pitch = reach / _SLICES
    items: list[Item] = [_bar(left + reach, right, middle)]
    for nth in range(_SLICES):
        edge = left + (nth + 1) * pitch
        items.append(_bar(edge - pitch * (nth + 1) / (_SLICES + 2), edge, middle))
    return items


def _bar(left: float, right: float, middle: float) -> Rect:
    return Rect(left, middle - _BAR / 2, right - left, _BAR, MIDDLE_GREY)


def _cap(x: float, middle: float) -> Line:
    return Line(x, middle - _CAP_REACH, x, middle + _CAP_REACH, _CAP)


def _point(x: float, middle: float, reach: float) -> Polygon:
    half = _BAR / 2
    return Polygon(((x, middle - half), (x + reach, middle), (x, middle + half)), MIDDLE_GREY)


def _seen(x: float, y: float, half: float = 3.4) -> tuple[Item, ...]:
    return (Polygon(((x, y - half), (x + half, y), (x, y + half), (x - half, y)), INK),)


def _signs(axis: TimeAxis, bars: tuple[WindowBar, ...]) -> tuple[Sign, ...]:
    """Key entries for the ends that really occur."""
    signs: list[Sign] = []
    if any(bar.earliest is not None for bar in bars):
        signs.append(Sign(22.0, _closed_sign, "last look without it to first look with it"))
    if any(bar.earliest is None for bar in bars):
        signs.append(Sign(26.0, _open_sign, NO_EARLIER_LOOK))
    if any(axis.reaches(bar.seen) for bar in bars):
        signs.append(Sign(7.0, _seen, "first seen"))
    return tuple(signs)


def _closed_sign(x: float, y: float) -> tuple[Item, ...]:
    return _bar(x - 10.0, x + 10.0, y), _cap(x - 10.0, y), _cap(x + 10.0, y)


def _open_sign(x: float, y: float) -> tuple[Item, ...]:
    return *_fading(x - 12.0, x + 12.0, y), _cap(x + 12.0, y)


def _alt(bars: tuple[WindowBar, ...], incident: IncidentWindow | None) -> str:
    parts = [
        f"{bar.label}: "
        + (NO_EARLIER_LOOK if bar.earliest is None else f"not before {day_text(bar.earliest)}")
        + f", not after {day_text(bar.latest)}, first seen {day_text(bar.seen)}."
        for bar in bars
    ]
    if incident is not None:
        parts.append(incident.sentence())
    return " ".join(parts)

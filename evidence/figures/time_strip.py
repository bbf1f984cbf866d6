"""The time strip: what was done and seen, when, and on whose word, on one line of time."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from evidence.figures.axis import TimeAxis, calendar, day_text, grid
from evidence.figures.box import Box, interrupted, text_box, wrapped
from evidence.figures.incident import (
    IncidentWindow,
    incident_band,
    incident_lines,
    incident_row,
)
from evidence.figures.key import key_lines
from evidence.figures.marks import INCIDENT, outsider_mark, who_signs
from evidence.figures.scene import Item, Line, Scene, Stroke, Text
from evidence.figures.strip_items import (
    TIER,
    Gap,
    Look,
    StripItem,
    draw_item,
    is_on,
    item_signs,
    mark_radius,
    over_labels,
)
from evidence.figures.style import (
    CAP_HEIGHT,
    FAINT,
    INK,
    LEADING,
    MUTED,
    SMALL,
    text_width,
)

ROW = 16.0
"""Least height of a row, in points."""
_HEAD = 12.0
_LABEL_SHARE = 0.3
_AFTER_LABEL = 14.0
_RIGHT_EDGE = 5.0
_OVER_BAR = 6.2  # from the middle line up to the baseline of the lowest "50 over"
_DENSE = 24.0  # outsiders' lines closer than this on average are drawn thinner


@dataclass(frozen=True, slots=True)
class StripRow:
    """One kind of thing, in its own row."""

    label: str
    items: tuple[StripItem, ...] = ()


@dataclass(frozen=True, slots=True)
class TimeStrip:
    """What one strip shows.

    Attributes:
        start: first day of the line.
        end: last day of the line.
        rows: from top to bottom.
        witnesses: days of outsiders' answers; everything left of one existed then.
        incident: gets a row of its own below the others.
        key: say below the strip what its signs mean.
    """

    start: date
    end: date
    rows: tuple[StripRow, ...]
    witnesses: tuple[date, ...] = ()
    incident: IncidentWindow | None = None
    key: bool = True


@dataclass(frozen=True, slots=True)
class _Row:
    """A row with its place: where it starts, its middle line, its words."""

    row: StripRow
    label: tuple[str, ...]
    top: float
    middle: float
    bottom: float
    overs: tuple[Text, ...]


def draw_time_strip(strip: TimeStrip, width: float) -> Scene:
    """Draw the strip `width` points wide; its height follows from the rows.

    Raises:
        RefusedError: the strip ends before it starts.
    """
    rows = strip.rows if strip.incident is None else (*strip.rows, StripRow(INCIDENT))
    labels = _row_labels(rows, width)
    widest = max((text_width(line, "text", SMALL) for lines in labels for line in lines), default=0)
    axis = TimeAxis(strip.start, strip.end, widest + _AFTER_LABEL, width - _RIGHT_EDGE)
    top = _HEAD if strip.witnesses else 4.0
    placed = _stack(axis, rows, labels, top, width)
    bottom = placed[-1].bottom if placed else top + ROW

    words = [text for row in placed for text in row.overs]
    sign: tuple[Item, ...] = ()
    if strip.incident is not None:
        sign, named = incident_row(axis, strip.incident, placed[-1].middle, width)
        words += named
        bottom = max(bottom, *(text_box(text).y1 + 3.0 for text in named))
    boxes = [text_box(text).grown(1.0) for text in words]

    items: list[Item] = [*grid(axis, top, bottom)]
    if strip.incident is not None:
        items += incident_band(axis, strip.incident, top, bottom)
    items += [Line(axis.x0, row.middle, axis.x1, row.middle, Stroke(FAINT, 0.8)) for row in placed]
    items += _witnesses(axis, strip.witnesses, top, bottom, boxes)
    if strip.incident is not None:
        items += incident_lines(axis, strip.incident, top, placed[-1].middle, boxes)
    for row in placed:
        items += _draw_row(axis, row)
    items += [*sign, *words, *calendar(axis, bottom + 13.0, width)]
    key, height = _key(strip, axis, bottom + 20.0, width)
    return Scene(width, height, (*items, *key), _title(strip), _alt(strip, axis))


def _row_labels(rows: tuple[StripRow, ...], width: float) -> tuple[tuple[str, ...], ...]:
    return tuple(wrapped(row.label, width * _LABEL_SHARE, "text", SMALL, 2) for row in rows)


def _stack(
    axis: TimeAxis,
    rows: tuple[StripRow, ...],
    labels: tuple[tuple[str, ...], ...],
    top: float,
    edge: float,
) -> tuple[_Row, ...]:
    placed: list[_Row] = []
    for row, label in zip(rows, labels, strict=True):
        tiers = over_labels(axis, row.items, edge)
        above = max(ROW / 2 + len(tiers) * TIER, len(label) * SMALL * LEADING / 2 + 2.0)
        middle = top + above
        bottom = middle + max(ROW / 2, len(label) * SMALL * LEADING / 2 + 2.0)
        overs = tuple(
            replace(text, y=middle - _OVER_BAR - tier * TIER)
            for tier, texts in enumerate(tiers)
            for text in texts
        )
        placed.append(_Row(row, label, top, middle, bottom, overs))
        top = bottom
    return tuple(placed)


def _draw_row(axis: TimeAxis, row: _Row) -> list[Item]:
    """The words on the left, then lines and bars, then marks, so that marks lie on top."""
    leading = SMALL * LEADING
    base = row.middle + CAP_HEIGHT * SMALL / 2 - (len(row.label) - 1) * leading / 2
    items: list[Item] = [
        Text(0.0, base + nth * leading, line) for nth, line in enumerate(row.label)
    ]
    there = [item for item in row.row.items if is_on(axis, item)]
    looks = sorted((item for item in there if isinstance(item, Look)), key=lambda look: look.days)
    others = sorted(
        (item for item in there if not isinstance(item, Look)),
        key=lambda item: not isinstance(item, Gap),
    )
    if len(looks) > 1:
        ends = axis.inside(looks[0].days[0]), axis.inside(looks[-1].days[1])
        items.append(Line(ends[0], row.middle, ends[1], row.middle, Stroke(INK, 0.9)))
    radius = mark_radius(axis, len(there))
    for item in (*others, *looks):
        items += draw_item(axis, item, row.middle, radius)
    return items


def _witnesses(
    axis: TimeAxis, days: tuple[date, ...], top: float, bottom: float, around: Iterable[Box]
) -> list[Item]:
    there = sorted({day for day in days if axis.reaches(day)})
    dense = len(there) * _DENSE > axis.x1 - axis.x0
    stroke = Stroke(MUTED, 0.4) if dense else Stroke(INK, 0.8)
    side = 3.0 if dense else 5.0
    boxes = list(around)
    items: list[Item] = []
    for day in there:
        x = axis.at(day)
        items += interrupted(Line(x, top - 5.0, x, bottom, stroke), boxes)
        items += outsider_mark(x, top - 7.0, side)
    return items


def _key(
    strip: TimeStrip, axis: TimeAxis, y: float, width: float
) -> tuple[tuple[Item, ...], float]:
    everything = tuple(item for row in strip.rows for item in row.items)
    items: tuple[Item, ...] = ()
    if strip.key:
        looks = any(isinstance(item, Look) for item in everything)
        who = who_signs() if looks else who_signs()[2:] if strip.witnesses else ()
        items, y = key_lines((*who, *item_signs(everything)), y, width)
    outside = sum(not is_on(axis, item) for item in everything if not isinstance(item, Gap))
    if outside:
        verb = "mark lies" if outside == 1 else "marks lie"
        items = (*items, Text(0.0, y + 9.5, f"{outside} {verb} outside these dates", colour=MUTED))
        y += 13.5
    return items, y


def _title(strip: TimeStrip) -> str:
    return f"Time strip, {day_text(strip.start)} to {day_text(strip.end)}"


def _alt(strip: TimeStrip, axis: TimeAxis) -> str:
    parts = [f"From {day_text(strip.start)} to {day_text(strip.end)}."]
    for row in strip.rows:
        there = [item for item in row.items if is_on(axis, item)]
        parts.append(f"{row.label}: {_counted(there)}.")
    days = [day_text(day) for day in sorted(strip.witnesses) if axis.reaches(day)]
    if days:
        parts.append(f"Outsiders\N{RIGHT SINGLE QUOTATION MARK} answers: {', '.join(days)}.")
    if strip.incident is not None:
        parts.append(strip.incident.sentence())
    return " ".join(parts)


def _counted(items: list[StripItem]) -> str:
    looks = [item for item in items if isinstance(item, Look)]
    others = sum(not isinstance(item, Look | Gap) for item in items)
    overs = [item for item in items if isinstance(item, Gap) and item.over_from is not None]
    parts = []
    if looks:
        witnessed = sum(look.witnessed for look in looks)
        parts.append(f"{len(looks)}, of which {witnessed} witnessed before")
    if others or not (looks or overs):
        parts.append(str(others) if others else "none")
    parts += [f"{day_text(gap.first)} to {day_text(gap.last)}, {gap.over_text}" for gap in overs]
    return "; ".join(parts)

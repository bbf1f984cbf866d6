"""A line of time: where a date stands, and which lines and words the calendar gets."""

from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from evidence.errors import RefusedError
from evidence.figures.scene import Item, Line, Stroke, Text
from evidence.figures.style import (
    FAINT,
    HAIRLINE,
    MUTED,
    SMALL,
    text_width,
)

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)
_LABEL_STEPS = (1, 3, 6, 12, 24, 60, 120, 240)
_LINE_STEPS = (1, 3, 12, 60)
_BETWEEN_LABELS = 7.0
_BETWEEN_LINES = 5.0


def day_text(day: date) -> str:
    """`8 June 2025`, the same whatever the machine's language."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


@dataclass(frozen=True, slots=True)
class Tick:
    """A calendar line at x; `text` is empty where it has no words."""

    x: float
    text: str


@dataclass(frozen=True, slots=True)
class TimeAxis:
    """Dates from `start` to `end` laid evenly from x0 to x1 (points).

    A single day is laid out as far as the next one begins.
    """

    start: date
    end: date
    x0: float
    x1: float

    def __post_init__(self) -> None:
        if self.end < self.start:
            raise RefusedError(
                f"{self.start}/{self.end}",
                "is no stretch of time that can be drawn",
                "Give an end that is not before the start.",
            )

    def at(self, day: date) -> float:
        """The x of a date, outside [x0, x1] for one that the axis does not reach."""
        share = (day - self.start).days / max(1, (self.end - self.start).days)
        return self.x0 + share * (self.x1 - self.x0)

    def inside(self, day: date) -> float:
        """The x of a date, one beyond an end of the axis put on that end."""
        return min(max(self.at(day), self.x0), self.x1)

    def reaches(self, day: date) -> bool:
        """True where the axis has a place for the date."""
        return self.start <= day <= self.end

    def labels(self) -> tuple[Tick, ...]:
        """Every month, quarter, half-year, year … whichever first leaves room for its words."""
        for step in _LABEL_STEPS:
            ticks = self._months(step)
            if all(
                before.x + text_width(before.text, "text", SMALL) + _BETWEEN_LABELS <= after.x
                for before, after in pairwise(ticks)
            ):
                return ticks
        return self._months(_LABEL_STEPS[-1])[:1]

    def lines(self) -> tuple[Tick, ...]:
        """The finest of months, quarters, years and five years that stays quiet."""
        for step in _LINE_STEPS:
            ticks = self._months(step)
            if len(ticks) * _BETWEEN_LINES <= self.x1 - self.x0:
                return ticks
        return ()

    def _months(self, step: int) -> tuple[Tick, ...]:
        """The first day of each month whose number in all months is a multiple of `step`."""
        first = self.start.year * 12 + self.start.month - 1 + (self.start.day > 1)
        ticks: list[Tick] = []
        for month in range(-(-first // step) * step, self.end.year * 12 + self.end.month, step):
            year, name = month // 12, MONTHS[month % 12][:3]
            if step % 12 == 0:
                text = str(year)
            elif month % 12 == 0 or not ticks:
                text = f"{name} {year}"
            else:
                text = name
            ticks.append(Tick(self.at(date(year, month % 12 + 1, 1)), text))
        return tuple(ticks)


def grid(axis: TimeAxis, y0: float, y1: float) -> tuple[Item, ...]:
    """The calendar's lines from y0 to y1, those with words a little stronger and longer."""
    named = {tick.x for tick in axis.labels()}
    items: list[Item] = [
        Line(tick.x, y0, tick.x, y1, Stroke(FAINT, 0.5))
        for tick in axis.lines()
        if tick.x not in named
    ]
    items += [Line(x, y0, x, y1 + 4.0, Stroke(HAIRLINE, 0.6)) for x in sorted(named)]
    return tuple(items)


def calendar(axis: TimeAxis, baseline: float, edge: float) -> tuple[Text, ...]:
    """The words under the axis; one that would pass the figure's right `edge` is left out.

    A stretch without the first of a month in it gets its own two ends instead.
    """
    words = tuple(
        Text(tick.x, baseline, tick.text, colour=MUTED)
        for tick in axis.labels()
        if tick.x + text_width(tick.text, "text", SMALL) <= edge
    )
    return words or _both_ends(axis, baseline)


def _both_ends(axis: TimeAxis, baseline: float) -> tuple[Text, ...]:
    """The first and the last day in full; the first alone where that is all, or all that fits."""
    first, last = day_text(axis.start), day_text(axis.end)
    start = Text(axis.x0, baseline, first, colour=MUTED)
    taken = text_width(first, "text", SMALL) + text_width(last, "text", SMALL)
    if axis.start == axis.end or taken + _BETWEEN_LABELS > axis.x1 - axis.x0:
        return (start,)
    return start, Text(axis.x1, baseline, last, anchor="end", colour=MUTED)

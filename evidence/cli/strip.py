"""The record on one line of time, in characters: what was looked at and done, and on whose word."""

import shutil
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import click

from evidence.cli import common
from evidence.dossier import say
from evidence.entries import Body, Cover, Inspection, Repair, Reseal, Treatment, Wash
from evidence.upkeep.places import FROM_BELOW
from evidence.upkeep.standing import told_from
from evidence.words import Task

if TYPE_CHECKING:
    from evidence.upkeep import History, Item, Standing
    from evidence.upkeep.incidents import IncidentFacts

_LABELS = 11
_NARROWEST, _USUAL = 40, 88
_TICKS_APART, _NAMES_APART = 2, 5
_STEPS = (1, 2, 3, 6, 12)
"""Months from one tick to the next; the first that leaves room is taken."""
_WORK: tuple[tuple[str, type[Body], str], ...] = (
    ("w", Wash, "wash"),
    ("t", Treatment, "treatment"),
    ("s", Reseal, "reseal"),
    ("c", Cover, "cover"),
    ("r", Repair, "repair"),
)
_SEVERAL = "+"


@dataclass(frozen=True, slots=True)
class Signs:
    """The characters of the strip."""

    own: str
    witnessed: str
    incident: str
    outsider: str
    over: str = "/"
    between: str = "~"


DRAWN = Signs("○", "●", "▲", "■")
PLAIN = Signs("o", "@", "^", "#")
"""For an output that cannot carry the others."""


def signs_for(encoding: str | None) -> Signs:
    """The drawn signs where the encoding has them all, else those of ASCII."""
    try:
        (DRAWN.own + DRAWN.witnessed + DRAWN.incident + DRAWN.outsider).encode(encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return PLAIN
    return DRAWN


def tell_strip(standing: "Standing", zone_id: str | None = None) -> None:
    """Print the strip as wide as the terminal: of one zone, or of the whole roof."""
    width = shutil.get_terminal_size((_USUAL, 24)).columns
    drawn = strip(standing, zone_id, width, signs_for(sys.stdout.encoding))
    first, last = say.short_day(told_from(standing.history)), say.short_day(standing.history.on)
    common.heading(f"On one line of time, {first} to {last}")
    for line in drawn:
        click.echo(line)


def strip(standing: "Standing", zone_id: str | None, width: int, signs: Signs) -> list[str]:
    """The strip's lines, none wider than `width` (of which it takes at least 40).

    A look is filled where an outsider that counts vouches for it: before the next incident began,
    or by the end of the line where none followed. In one column the weaker look is shown.

    Args:
        standing: the measured record.
        zone_id: a zone, of which alone is told; None for the looks from the roof, and the time
            beyond the rule in each rule's worst zone.
        width: characters of the widest line.
        signs: the characters to draw with.
    """
    columns = max(_NARROWEST, width) - _LABELS - 1  # some terminals wrap a line that is full
    drawn = _Strip(standing, zone_id, told_from(standing.history), columns, signs)
    rows = [(label, text) for label, text in drawn.rows() if text or label == "looks"]
    lines = [f"{label:<{_LABELS}}{text}" for label, text in rows]
    return [line.rstrip() for line in (*lines, *drawn.key(rows))]


@dataclass(frozen=True)
class _Strip:
    standing: "Standing"
    zone_id: str | None
    start: date
    columns: int
    signs: Signs

    @property
    def history(self) -> "History":
        return self.standing.history

    def rows(self) -> Iterator[tuple[str, str]]:
        """Each row's label and its characters; what nothing stands on is empty."""
        yield "looks", self._looks()
        yield "work", self._work()
        yield "away", self._away()
        yield "incidents", self._incidents()
        yield "outsiders", self._outsiders()
        yield "", self._ticks()
        yield "", self._names()

    def key(self, rows: Sequence[tuple[str, str]]) -> Iterator[str]:
        """What the signs mean, for those that are there."""
        drawn = {label: text for label, text in rows if label}
        signs = self.signs
        meanings = [
            ("looks", signs.own, "own clock"),
            ("looks", signs.witnessed, "witnessed"),
            ("looks", signs.between, "some day in between"),
            ("looks", signs.over, "beyond the rule"),
            *(("work", letter, words) for letter, _, words in _WORK),
            ("work", _SEVERAL, "several"),
            ("away", "=", "trip"),
            ("away", "-", "storage"),
            ("incidents", signs.incident, "incident"),
            ("outsiders", signs.outsider, "outsider's answer"),
        ]
        line = ""
        for label, sign, words in meanings:
            if sign not in drawn.get(label, ""):
                continue
            part = f"{sign} {words}"
            if line and len(line) + 3 + len(part) > self.columns:
                yield " " * _LABELS + line
                line = ""
            line = f"{line}   {part}" if line else part
        if line:
            yield " " * _LABELS + line

    # Rows

    def _looks(self) -> str:
        row = _Row(self._column, self.columns)
        for first, last in self._beyond_the_rule():
            row.fill(first, last, self.signs.over)
        looks = list(self._looks_there())
        for item in looks:
            if item.dates[0] != item.dates[1]:
                row.fill(*item.dates, self.signs.between)
        # The weaker word is drawn last and stays.
        for item in sorted(looks, key=self._vouched, reverse=True):
            row.put(item.dates[1], self.signs.witnessed if self._vouched(item) else self.signs.own)
        return row.text

    def _looks_there(self) -> "Iterator[Item]":
        if self.zone_id is not None:
            yield from (item for item, _ in self.history.looks_at(self.zone_id))
            return
        yield from (i for i, body in self.history.of(Inspection) if body.means not in FROM_BELOW)

    def _vouched(self, item: "Item") -> bool:
        answered = self.history.outsiders.not_after(max([item.seq, *item.corrected_by]))
        begins = (facts.window.earliest for facts in self.standing.incidents)
        behind = [begin for begin in begins if begin is not None and begin >= item.time.latest]
        return answered is not None and (not behind or answered <= min(behind))

    def _beyond_the_rule(self) -> Iterator[tuple[date, date]]:
        for measured in (*self.standing.rules, *self.standing.superseded_rules):
            rule = measured.rule
            if rule.task is not Task.INSPECTION or not rule.required:
                continue
            worst = () if measured.worst is None else (measured.worst,)
            one = [row for row in measured.zones if row.zone == self.zone_id]
            for gap in (
                gap for row in (worst if self.zone_id is None else one) for gap in row.gaps
            ):
                over_from = gap.over_from(rule.days)
                if over_from is not None:
                    yield over_from, gap.to

    def _work(self) -> str:
        row = _Row(self._column, self.columns)
        for letter, kind, _ in _WORK:
            for item, body in self.history.of(kind):
                zones = getattr(body, "zones", ())
                if self.zone_id is None or zones == "all" or self.zone_id in zones:
                    row.add(item.dates[1], letter)
        return row.text

    def _away(self) -> str:
        row, history = _Row(self._column, self.columns), self.history
        for _, storage, to in history.storages():
            last = history.on if to is None else history.last_day(to)
            row.fill(history.first_day(storage.from_), last, "-")
        for _, trip, back in history.trips():
            last = history.on if back is None else history.last_day(back)
            row.fill(history.first_day(trip.out), last, "=")
        return row.text

    def _incidents(self) -> str:
        row = _Row(self._column, self.columns)
        named = [facts for facts in self.standing.incidents if self._named(facts)]
        for facts in named:
            first, last = facts.window.days(self.history.home)
            row.fill(self.start if facts.window.earliest is None else first, last, "-")
        for facts in named:
            row.put(facts.window.days(self.history.home)[1], self.signs.incident)
        return row.text

    def _named(self, facts: "IncidentFacts") -> bool:
        return self.zone_id is None or self.zone_id in facts.incident.zones

    def _outsiders(self) -> str:
        row = _Row(self._column, self.columns)
        for answer in self.history.vouched:
            if answer.counts:
                row.put(answer.time.astimezone(self.history.home).date(), self.signs.outsider)
        return row.text

    # Time

    def _column(self, day: date) -> int:
        days = max(1, (self.history.on - self.start).days)
        at = (day - self.start).days * (self.columns - 1) // days
        return min(max(at, 0), self.columns - 1)

    def _ticks(self) -> str:
        """A tick where a month begins, a bar where a year does."""
        row = _Row(self._column, self.columns)
        for first in self._months(_TICKS_APART):
            row.put(first, "|" if first.month == 1 else "'")
        return row.text

    def _names(self) -> str:
        """The names of months, and of a year in the place of its January."""
        row = _Row(self._column, self.columns)
        for first in self._months(_NAMES_APART):
            row.write(first, f"{first:%Y}" if first.month == 1 else say.MONTHS[first.month - 1][:3])
        return row.text

    def _months(self, apart: int) -> Iterator[date]:
        """The first days of months, so many of them that they lie `apart` columns apart."""
        month = self.columns * 30 / max(1, (self.history.on - self.start).days)  # columns
        step = next((n for n in _STEPS if n * month >= apart), _STEPS[-1])
        first = self.start.replace(day=1)
        while first <= self.history.on:
            if first >= self.start and (first.month - 1) % step == 0:
                yield first
            first = (first + timedelta(days=32)).replace(day=1)


class _Row:
    """One row of characters, laid out by day."""

    def __init__(self, column: Callable[[date], int], columns: int) -> None:
        self._column = column
        self._cells = [" "] * columns

    def put(self, day: date, sign: str) -> None:
        """Set the day's character, whatever stood there."""
        self._cells[self._column(day)] = sign

    def add(self, day: date, sign: str) -> None:
        """Set the day's character; another one there makes it several."""
        there = self._cells[self._column(day)]
        self.put(day, sign if there in (" ", sign) else _SEVERAL)

    def fill(self, first: date, last: date, sign: str) -> None:
        """Set every character from one day to another."""
        for at in range(self._column(first), self._column(last) + 1):
            self._cells[at] = sign

    def write(self, day: date, text: str) -> None:
        """Write a text from the day's character on, if it fits."""
        at = self._column(day)
        if at + len(text) <= len(self._cells):
            self._cells[at : at + len(text)] = text

    @property
    def text(self) -> str:
        """The characters; empty where there are none."""
        return "".join(self._cells).rstrip()

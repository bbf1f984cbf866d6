"""Gaps between covering entries, by rule and zone (OUTPUTS § 2). Intervals are counted here only."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from itertools import pairwise

from evidence.entries import Body, Deferral, Inspection, Reading, Reseal, Rule, Treatment, Wash
from evidence.times import Pair, days_apart, parse_day
from evidence.trade import Catalogue
from evidence.upkeep.history import FROM_BELOW, History, PlaceOnRoof
from evidence.upkeep.items import Item
from evidence.upkeep.sealing import fitting
from evidence.words import ZONE_TYPE, Task

Dates = tuple[date, date]

PERIODIC = (Task.INSPECTION, Task.WASH, Task.TREATMENT, Task.RESEAL, Task.MOISTURE)
"""Tasks that come round by the days since the last time; the others follow an event."""

_DOES: Mapping[Task, type[Body]] = {
    Task.INSPECTION: Inspection,
    Task.WASH: Wash,
    Task.TREATMENT: Treatment,
    Task.MOISTURE: Reading,
}

INSIDE_TYPES = frozenset({"Z25", "Z26"})
"""Where a moisture rule that names no zones is read: below the openings and at the walls."""


class Met(StrEnum):
    """Whether a rule was kept: for certain, for certain not, or not to be told."""

    YES = "yes"
    NO = "no"
    UNCLEAR = "unclear"


@dataclass(frozen=True, slots=True)
class Gap:
    """The time from one covering entry to the next, in days as [min, max]."""

    zone: str
    from_: date
    to: date
    days: Pair
    over: Pair
    open: bool
    deferrals: tuple[int, ...]
    means: str | None
    closed_by: int | None

    def over_from(self, rule_days: int) -> date | None:
        """The day after which the gap lies beyond the rule; None where it does not."""
        return self.from_ + timedelta(days=rule_days) if self.over[1] else None


@dataclass(frozen=True, slots=True)
class ZoneGaps:
    """All gaps of one zone under one rule."""

    zone: str
    gaps: tuple[Gap, ...]
    last: date | None
    due: date

    @property
    def longest(self) -> Pair:
        """The longest gap, [0, 0] where there is none."""
        return max((gap.days for gap in self.gaps), key=lambda d: (d[1], d[0]), default=(0, 0))

    @property
    def over(self) -> Pair:
        """The most days beyond the rule."""
        return max((gap.over for gap in self.gaps), key=lambda d: (d[1], d[0]), default=(0, 0))


@dataclass(frozen=True, slots=True)
class RuleGaps:
    """One rule measured: every zone, the worst zone's gaps, and whether it was kept."""

    item: Item
    rule: Rule
    zones: tuple[ZoneGaps, ...]
    met_as_stated: Met
    met_on_time: Met

    @property
    def worst(self) -> ZoneGaps | None:
        """The zone with the longest time over the rule, then the first by id."""
        return worst_zone(self.zones)

    @property
    def longest(self) -> Pair:
        """The longest gap in any zone."""
        return max((row.longest for row in self.zones), key=lambda d: (d[1], d[0]), default=(0, 0))

    @property
    def last(self) -> date | None:
        """The oldest of the zones' last entries; None where a zone has none."""
        lasts = [row.last for row in self.zones]
        known = [last for last in lasts if last is not None]
        return min(known) if known and len(known) == len(lasts) else None

    @property
    def due(self) -> date | None:
        """The first day on which a zone falls due."""
        return min((row.due for row in self.zones), default=None)


def worst_zone(rows: Iterable[ZoneGaps]) -> ZoneGaps | None:
    """The row that goes furthest over its rule; among equals the first by id."""
    return min(rows, key=lambda row: (-row.over[1], -row.over[0], row.zone), default=None)


def measure_rules(history: History, catalogue: Catalogue) -> tuple[RuleGaps, ...]:
    """Every periodic rule of the record, in the order in which the rules were first stated."""
    return tuple(
        measure_rule(history, item, rule, catalogue)
        for item, rule in history.rules()
        if rule.task in PERIODIC
    )


def measure_rule(history: History, item: Item, rule: Rule, catalogue: Catalogue) -> RuleGaps:
    """One rule as stated and as logged on time."""
    stated = zone_rows(history, item, rule, catalogue, on_time=False)
    prompt = zone_rows(history, item, rule, catalogue, on_time=True)
    return RuleGaps(item, rule, stated, met(stated), met(prompt))


def met(rows: Iterable[ZoneGaps]) -> Met:
    """`yes` (no over), `no` (over for certain) or `unclear`."""
    overs = [gap.over for row in rows for gap in row.gaps]
    if any(shortest > 0 for shortest, _ in overs):
        return Met.NO
    return Met.UNCLEAR if any(longest > 0 for _, longest in overs) else Met.YES


def covered_places(history: History, rule: Rule) -> list[PlaceOnRoof]:
    """The zones that a rule covers: those it names by id or type, else those its task suits."""
    if rule.zones is None:
        return [place for place in history.places if _suits(rule.task, place)]
    named = set(rule.zones)
    types = {name for name in named if ZONE_TYPE.fullmatch(name)}
    return [place for place in history.places if place.id in named or place.zone.type in types]


def _suits(task: Task, place: PlaceOnRoof) -> bool:
    if task is Task.MOISTURE:
        return place.zone.type in INSIDE_TYPES
    if task in (Task.WASH, Task.TREATMENT, Task.RESEAL):
        return place.on_roof
    return True


def zone_rows(  # noqa: PLR0913 - one row a zone: whose, under which rule, counted how far and how
    history: History,
    item: Item,
    rule: Rule,
    catalogue: Catalogue,
    *,
    on_time: bool,
    up_to: date | None = None,
) -> tuple[ZoneGaps, ...]:
    """The gaps of every zone that the rule covers.

    Args:
        history: the record.
        item: the entry that states the rule.
        rule: the rule as it stands.
        catalogue: for the fit of a reseal.
        on_time: count only entries logged within 24 h of their earliest time, uncorrected in
            `when` and `zones`, and not before the rule itself was logged.
        up_to: the end of the window; the history's own date where none is given.
    """
    end = min(history.on, up_to or history.on)
    entries = list(_doing(history, rule.task, catalogue))
    if on_time:
        ruled_from = item.entry.logged.astimezone(history.home).date()
        entries = [found for found in entries if found.on_time and found.dates[1] >= ruled_from]
    rows = (
        _zone_gaps(history, rule, place, [e for e in entries if covers(e, rule, place)], end)
        for place in covered_places(history, rule)
    )
    return tuple(row for row in rows if row is not None)


def _doing(history: History, task: Task, catalogue: Catalogue) -> Iterable[Item]:
    """The entries that do what the task asks."""
    if task is Task.RESEAL:
        return [item for item, body in history.of(Reseal) if fitting(item.rig, body, catalogue)]
    return [item for item, _ in history.of(_DOES[task])]


def covers(item: Item, rule: Rule, place: PlaceOnRoof) -> bool:
    """Whether an entry covers a zone under a rule.

    `"all"` covers all, an inspection only the zones that it lists. A look from the ground or from
    inside never covers Z01-Z24 unless the rule's `means` says so; where a rule names its means,
    only those count.
    """
    body = item.body
    if isinstance(body, Reading):
        return body.zone == place.id
    if isinstance(body, Inspection):
        if rule.means is not None:
            seen_as_asked = body.means in rule.means
        else:
            seen_as_asked = not (place.on_roof and body.means in FROM_BELOW)
        return seen_as_asked and any(row.zone == place.id for row in body.zones)
    zones = getattr(body, "zones", ())
    return zones == "all" or place.id in zones


def _zone_gaps(
    history: History, rule: Rule, place: PlaceOnRoof, entries: Sequence[Item], end: date
) -> ZoneGaps | None:
    """One zone's row; None where the window has not opened."""
    start = max(filter(None, [parse_day(rule.applies_from), place.since]))
    applies_to = None if rule.applies_to is None else parse_day(rule.applies_to)
    end = min(day for day in (end, place.until, applies_to) if day is not None)
    if end < start:
        return None
    stops: list[tuple[Dates, Item | None]] = [((start, start), None)]
    for entry in sorted(entries, key=lambda found: (found.dates, found.seq)):
        first, last = entry.dates
        if last >= start and first <= end:
            stops.append(((max(first, start), min(last, end)), entry))
    counted = [dates for dates, entry in stops if entry is not None]
    last = max((dates[0] for dates in counted), default=None)
    stops.append(((end, end), None))
    gaps = tuple(
        _gap(history, rule, place, before, (after, closing))
        for (before, _), (after, closing) in pairwise(stops)
        if days_apart(before, after) != (0, 0)
    )
    return ZoneGaps(place.id, gaps, last, (last or start) + timedelta(days=rule.days))


def _gap(
    history: History,
    rule: Rule,
    place: PlaceOnRoof,
    before: Dates,
    stop: tuple[Dates, Item | None],
) -> Gap:
    after, closing = stop
    days = days_apart(before, after)
    body = None if closing is None else closing.body
    return Gap(
        zone=place.id,
        from_=before[0],
        to=after[0],
        days=days,
        over=(max(0, days[0] - rule.days), max(0, days[1] - rule.days)),
        open=closing is None,
        deferrals=_deferrals(history, rule.task, place, before[0], after[1]),
        means=body.means.value if isinstance(body, Inspection) else None,
        closed_by=None if closing is None else closing.seq,
    )


def _deferrals(
    history: History, task: Task, place: PlaceOnRoof, first: date, last: date
) -> tuple[int, ...]:
    """Deferrals of the task in a gap: listed there, closing nothing."""
    return tuple(
        item.seq
        for item, body in history.of(Deferral)
        if body.task is task
        and (body.zones is None or place.id in body.zones)
        and item.dates[0] <= last
        and item.dates[1] >= first
    )

"""Gaps between covering entries, by rule and zone (OUTPUTS § 2): intervals are counted here."""

import heapq
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from itertools import pairwise

from evidence.entries import Body, Deferral, Inspection, Reading, Reseal, Rule, Treatment, Wash
from evidence.times import Pair, days_apart
from evidence.trade import Catalogue
from evidence.upkeep.history import History, PlaceOnRoof
from evidence.upkeep.items import Dates, Item
from evidence.upkeep.ruled import RuleInTime, rules_in_time
from evidence.upkeep.sealing import fitting_zones
from evidence.words import ZONE_TYPE, Task

Stop = tuple[Dates, Item | None]
"""The dates of an end of a gap, and the entry there; None at the ends of the window."""

PERIODIC = (Task.INSPECTION, Task.WASH, Task.TREATMENT, Task.RESEAL, Task.MOISTURE)
"""Tasks that come round by the days since the last time; the others follow an event."""

_DOES: Mapping[Task, type[Body]] = {
    Task.INSPECTION: Inspection,
    Task.WASH: Wash,
    Task.TREATMENT: Treatment,
    Task.RESEAL: Reseal,
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
    """All gaps of one zone under one rule.

    Attributes:
        entries: what was counted, in order of time.
        last: the earliest date of the last covering entry; None where there is none.
        due: by when the next one must be, from the earliest and from the latest date of the last;
            None where the rule or the zone has ended.
        longest: the least and the most that the longest gap can be. With interval-dated entries
            the least can be more than each gap's own: one of them must then be that long.
        over: the same beyond the rule.
    """

    zone: str
    gaps: tuple[Gap, ...]
    entries: tuple[int, ...]
    last: date | None
    due: date | None
    due_at_latest: date | None
    longest: Pair
    over: Pair


@dataclass(frozen=True, slots=True)
class RuleGaps:
    """One rule measured: every zone, the worst zone's gaps, and whether it was kept."""

    ruled: RuleInTime
    zones: tuple[ZoneGaps, ...]
    met_as_stated: Met
    met_on_time: Met

    @property
    def item(self) -> Item:
        """The entry that states the rule."""
        return self.ruled.item

    @property
    def rule(self) -> Rule:
        """The rule as it stands."""
        return self.ruled.rule

    @property
    def counted(self) -> frozenset[int]:
        """The entries that count in any zone, at their stated time."""
        return frozenset(seq for row in self.zones for seq in row.entries)

    @property
    def worst(self) -> ZoneGaps | None:
        """The zone with the longest time over the rule, then the first by id."""
        return worst_zone(self.zones)

    @property
    def longest(self) -> Pair:
        """The longest gap in any zone."""
        return most(row.longest for row in self.zones)

    @property
    def last(self) -> date | None:
        """The oldest of the last entries of the zones still under the rule; None without one."""
        lasts = [row.last for row in self._going_on]
        known = [last for last in lasts if last is not None]
        return min(known) if known and len(known) == len(lasts) else None

    @property
    def due(self) -> date | None:
        """The first day on which a zone falls due."""
        return min((row.due for row in self.zones if row.due is not None), default=None)

    @property
    def _going_on(self) -> list[ZoneGaps]:
        return [row for row in self.zones if row.due is not None] or list(self.zones)


def worst_zone(rows: Iterable[ZoneGaps]) -> ZoneGaps | None:
    """The row that goes furthest over its rule; among equals the first by id."""
    return min(rows, key=lambda row: (-row.over[1], -row.over[0], row.zone), default=None)


def most(pairs: Iterable[Pair]) -> Pair:
    """The least and the most that the largest of several counts can be."""
    least, largest = 0, 0
    for low, high in pairs:
        least, largest = max(least, low), max(largest, high)
    return least, largest


def measure_rules(history: History, catalogue: Catalogue) -> tuple[RuleGaps, ...]:
    """Every periodic rule of the record, those that a later one replaced included."""
    return tuple(
        measure_rule(history, ruled, catalogue)
        for ruled in rules_in_time(history)
        if ruled.rule.task in PERIODIC
    )


def measure_rule(history: History, ruled: RuleInTime, catalogue: Catalogue) -> RuleGaps:
    """One rule as stated and as logged on time."""
    stated = zone_rows(history, ruled, catalogue, on_time=False)
    prompt = zone_rows(history, ruled, catalogue, on_time=True)
    return RuleGaps(ruled, stated, met(stated), met(prompt))


def met(rows: Sequence[ZoneGaps]) -> Met:
    """`yes` (no over), `no` (over for certain) or `unclear`; unclear where nothing was measured."""
    least, largest = most(row.over for row in rows)
    if least > 0:
        return Met.NO
    return Met.YES if rows and largest == 0 else Met.UNCLEAR


def together(kept: Sequence[Met]) -> Met | None:
    """The answer for several that must all be kept; None where there is none."""
    if Met.NO in kept:
        return Met.NO
    return (Met.UNCLEAR if Met.UNCLEAR in kept else Met.YES) if kept else None


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


def zone_rows(
    history: History,
    ruled: RuleInTime,
    catalogue: Catalogue,
    *,
    on_time: bool,
    before: datetime | None = None,
) -> tuple[ZoneGaps, ...]:
    """The gaps of every zone that the rule covers.

    Args:
        history: the record.
        ruled: the rule and the days of its force.
        catalogue: for the fit of a reseal.
        on_time: count only entries logged within 24 h of their earliest time, uncorrected in
            `when` and `zones`, under a rule that had been logged by then, and whose clock is not
            contradicted by an outsider's.
        before: the moment at which the count ends; only what had been logged by then counts.
    """
    end = history.on if before is None else before.astimezone(history.home).date()
    by_zone: dict[str, list[Item]] = defaultdict(list)
    for item, _ in history.of(_DOES[ruled.rule.task]):
        prompt = item.on_time and history.in_bracket(item) and item.time.latest >= ruled.known_from
        if (on_time and not prompt) or (before is not None and item.entry.logged > before):
            continue
        for zone_id in covered_by(history, item, ruled.rule, catalogue):
            by_zone[zone_id].append(item)
    rows = (
        _zone_gaps(history, ruled, place, by_zone[place.id], end)
        for place in covered_places(history, ruled.rule)
    )
    return tuple(row for row in rows if row is not None)


def covered_by(history: History, item: Item, rule: Rule, catalogue: Catalogue) -> Iterator[str]:
    """The zones that an entry covers under a rule.

    `"all"` covers all, an inspection only the zones that it lists. A look from the ground or from
    inside never covers Z01-Z24 unless the rule's `means` says so; where a rule names its means,
    only those count. A treatment against anything but sunlight is none, nor is a reseal with a
    sealant that does not suit the place.
    """
    body = item.body
    if isinstance(body, Inspection):
        for row in body.zones:
            seen = history.place(row.zone).seen_by(body.means)
            if seen if rule.means is None else body.means in rule.means:
                yield row.zone
    elif isinstance(body, Reading):
        yield body.zone
    elif isinstance(body, Reseal):
        yield from fitting_zones(item.rig, body, catalogue)
    elif isinstance(body, Wash) or (isinstance(body, Treatment) and body.treats == "uv"):
        yield from (place.id for place in history.places) if body.zones == "all" else body.zones


def _zone_gaps(
    history: History, ruled: RuleInTime, place: PlaceOnRoof, entries: Sequence[Item], end: date
) -> ZoneGaps | None:
    """One zone's row; None where the window has not opened.

    Where the rule took over from an earlier one, the gap that was under way goes on.
    """
    opens = max(filter(None, [ruled.first_day, place.since]))
    start = max(filter(None, [ruled.counted_from, place.since]))
    end = min(day for day in (end, place.until, ruled.last_day) if day is not None)
    if end < opens:
        return None
    stops: list[Stop] = [((start, start), None)]
    for entry in sorted(entries, key=lambda found: (found.bounds, found.seq)):
        first, last = entry.bounds
        if last >= start and first <= end:
            stops.append(((max(first, start), min(last, end)), entry))
    stops.append(((end, end), None))
    if opens > start:
        stops = _from_the_gap_under_way(stops, opens)
    rule, put_off = ruled.rule, _deferrals(history, ruled.rule.task, place)
    gaps = tuple(
        _gap(rule, place, before, (after, closing), put_off)
        for (before, _), (after, closing) in pairwise(stops)
        if days_apart(before, after) != (0, 0)
    )
    done = [dates for dates, entry in stops if entry is not None]
    least, largest = most(gap.days for gap in gaps)
    if any(first != last for first, last in done):
        least = _least_longest(done, stops[0][0][1], end)
    goes_on = end == history.on
    return ZoneGaps(
        zone=place.id,
        gaps=gaps,
        entries=tuple(entry.seq for _, entry in stops if entry is not None),
        last=max((dates[0] for dates in done), default=None),
        due=_next(done, 0, start, rule) if goes_on else None,
        due_at_latest=_next(done, 1, start, rule) if goes_on else None,
        longest=(least, largest),
        over=(max(0, least - rule.days), max(0, largest - rule.days)),
    )


def _from_the_gap_under_way(stops: list[Stop], opens: date) -> list[Stop]:
    """The stops from the last one ahead of the first gap that reaches into the window."""
    reaching = (at for at, (dates, _) in enumerate(stops) if at and dates[1] >= opens)
    return stops[next(reaching) - 1 :]


def _next(done: Sequence[Dates], end: int, start: date, rule: Rule) -> date:
    return max((dates[end] for dates in done), default=start) + timedelta(days=rule.days)


def _gap(
    rule: Rule,
    place: PlaceOnRoof,
    before: Dates,
    stop: Stop,
    put_off: Sequence[Item],
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
        deferrals=tuple(
            item.seq
            for item in put_off
            if item.bounds[0] <= after[1] and item.bounds[1] >= before[0]
        ),
        means=body.means.value if isinstance(body, Inspection) else None,
        closed_by=None if closing is None else closing.seq,
    )


def _deferrals(history: History, task: Task, place: PlaceOnRoof) -> list[Item]:
    """Deferrals of the task at a place: listed in their gap, closing nothing."""
    return [
        item
        for item, body in history.of(Deferral)
        if body.task is task and (body.zones is None or place.id in body.zones)
    ]


def _least_longest(done: Sequence[Dates], start: date, end: date) -> int:
    """The longest gap at its least, wherever within its interval each entry truly lay."""
    low, high = 0, (end - start).days
    while low < high:
        middle = (low + high) // 2
        if _possible(done, start, end, middle):
            high = middle
        else:
            low = middle + 1
    return low


def _possible(done: Sequence[Dates], start: date, end: date, days: int) -> bool:
    """Whether the entries can lie so that no gap is longer than `days`.

    From each stop the next is put as far on as it goes. Of the entries in reach it is the one that
    would be left behind first: it is of no use later on, and the others reach further from there.
    """
    ahead = sorted(done, reverse=True)
    in_reach: list[date] = []
    while (end - start).days > days:
        limit = start + timedelta(days=days)
        while ahead and ahead[-1][0] <= limit:
            heapq.heappush(in_reach, ahead.pop()[1])
        while in_reach and in_reach[0] <= start:
            heapq.heappop(in_reach)
        if not in_reach or limit == start:
            return False
        start = min(limit, heapq.heappop(in_reach))
    return True

"""Gaps between covering entries, by rule and zone (OUTPUTS § 2): intervals are counted here."""

import heapq
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from functools import cached_property, partial
from itertools import accumulate, pairwise
from operator import sub

from evidence.entries import Deferral, Inspection, Rule
from evidence.times import Pair, days_apart
from evidence.trade import Catalogue
from evidence.upkeep.covering import PERIODIC, Covering
from evidence.upkeep.history import History
from evidence.upkeep.items import Dates, Item
from evidence.upkeep.places import PlaceOnRoof
from evidence.upkeep.ruled import RuleInTime, rules_in_time

Stop = tuple[Dates, Item | None]
"""The dates of an end of a gap, and the entry there; None at the ends of the window."""


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


@dataclass(frozen=True)  # without slots: the gaps are listed once somebody asks for them
class ZoneGaps:
    """All gaps of one zone under one rule.

    Attributes:
        listed: lists the gaps; ask for `gaps`.
        entries: what was counted, in order of time.
        last: the earliest date of the last covering entry; None where there is none.
        due: by when the next one must be, from the earliest and from the latest date of the last;
            None where the rule or the zone has ended.
        longest: the least and the most that the longest gap can be. With interval-dated entries
            the least can be more than each gap's own: one of them must then be that long.
        over: the same beyond the rule.
    """

    zone: str
    listed: Callable[[], Iterator[Gap]]
    entries: tuple[int, ...]
    last: date | None
    due: date | None
    due_at_latest: date | None
    longest: Pair
    over: Pair

    @cached_property
    def gaps(self) -> tuple[Gap, ...]:
        """The gaps in order of time; those of no days are left out."""
        return tuple(self.listed())


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


def measure_rules(counted: Iterable[Covering]) -> tuple[RuleGaps, ...]:
    """Every periodic rule of the record, those that a later one replaced included."""
    return tuple(_measured(covering) for covering in counted)


def coverings(history: History, catalogue: Catalogue) -> list[Covering]:
    """What counts for each periodic rule."""
    return [
        Covering(history, ruled, catalogue)
        for ruled in rules_in_time(history)
        if ruled.rule.task in PERIODIC
    ]


def _measured(covering: Covering) -> RuleGaps:
    """One rule as stated and as logged on time; zones counted alike are counted once."""
    rows = {row.zone: row for group in covering.alike for row in _zone_gaps(covering, group)}
    stated = tuple(rows[place.id] for place in covering.places if place.id in rows)
    return RuleGaps(
        covering.ruled,
        stated,
        met([row.over for row in stated]),
        met(over_on_time(covering)),
    )


def over_on_time(covering: Covering, before: datetime | None = None) -> list[Pair]:
    """The most days beyond the rule, counted on time, for each group of zones counted alike.

    Args:
        covering: what counts for the rule.
        before: the moment at which the count ends; only what had been logged by then counts.
    """
    history = covering.history
    end = history.on if before is None else before.astimezone(history.home).date()
    found = []
    for place, *_ in covering.alike:
        stops = _stops(covering.ruled, place, covering.prompt(place.id, before), end)
        if stops is not None:
            found.append(_over(_longest(stops), covering.ruled.rule))
    return found


def met(overs: Sequence[Pair]) -> Met:
    """`yes` (no over), `no` (over for certain) or `unclear`; unclear where nothing was measured."""
    least, largest = most(overs)
    if least > 0:
        return Met.NO
    return Met.YES if overs and largest == 0 else Met.UNCLEAR


def together(kept: Sequence[Met]) -> Met | None:
    """The answer for several that must all be kept; None where there is none."""
    if Met.NO in kept:
        return Met.NO
    return (Met.UNCLEAR if Met.UNCLEAR in kept else Met.YES) if kept else None


def _zone_gaps(covering: Covering, alike: Sequence[PlaceOnRoof]) -> Iterator[ZoneGaps]:
    """The rows as stated of zones counted alike; none where their window has not opened."""
    history, ruled = covering.history, covering.ruled
    stops = _stops(ruled, alike[0], covering.entries(alike[0].id), history.on)
    if stops is None:
        return
    (start, _), (end, _) = stops[0][0], stops[-1][0]
    done = [dates for dates, entry in stops if entry is not None]
    entries = tuple(entry.seq for _, entry in stops if entry is not None)
    longest = _longest(stops)
    goes_on = end == history.on
    for place in alike:
        yield ZoneGaps(
            zone=place.id,
            listed=partial(_gaps, history, ruled.rule, place, stops),
            entries=entries,
            last=max((dates[0] for dates in done), default=None),
            due=_next(done, 0, start, ruled.rule) if goes_on else None,
            due_at_latest=_next(done, 1, start, ruled.rule) if goes_on else None,
            longest=longest,
            over=_over(longest, ruled.rule),
        )


def _over(longest: Pair, rule: Rule) -> Pair:
    return max(0, longest[0] - rule.days), max(0, longest[1] - rule.days)


def _stops(
    ruled: RuleInTime, place: PlaceOnRoof, entries: Iterable[Item], end: date
) -> list[Stop] | None:
    """The ends of a zone's gaps, from the window's start to its end; None where it has not opened.

    Where the rule took over from an earlier one, the gap that was under way goes on.
    """
    opens = max(filter(None, [ruled.first_day, place.since]))
    start = max(filter(None, [ruled.counted_from, place.since]))
    end = min(day for day in (end, place.until, ruled.last_day) if day is not None)
    if end < opens:
        return None
    stops: list[Stop] = [((start, start), None)]
    for entry in entries:
        first, last = entry.bounds
        if first > end:
            break  # they stand in order of their first date
        if start <= first and last <= end:
            stops.append((entry.bounds, entry))
        elif last >= start:
            stops.append(((max(first, start), min(last, end)), entry))
    stops.append(((end, end), None))
    if opens > start:
        reaching = (at for at, (dates, _) in enumerate(stops) if at and dates[1] >= opens)
        stops = stops[next(reaching) - 1 :]
    return stops


def _longest(stops: Sequence[Stop]) -> Pair:
    """The least and the most that the longest gap between the stops can be."""
    firsts, lasts = zip(*(dates for dates, _ in stops), strict=True)
    if firsts == lasts:
        longest = max(map(sub, firsts[1:], firsts)).days
        return longest, longest
    done = [dates for dates, entry in stops if entry is not None]
    _, largest = most(_days(stops))
    return _least_longest(done, stops[0][0][1], stops[-1][0][0]), largest


def _days(stops: Sequence[Stop]) -> Iterator[Pair]:
    """The days between each stop and the next: between all up to the one and all from the other on.

    They stand in order of their first date; one within a wide interval can lie before or after it.
    """
    ended = accumulate((dates[1] for dates, _ in stops), max)
    begun = list(accumulate((dates[1] for dates, _ in reversed(stops)), min))[-2::-1]
    for ((before, _), (after, _)), reach, by in zip(pairwise(stops), ended, begun, strict=False):
        yield days_apart((before[0], reach), (after[0], by))


def _next(done: Sequence[Dates], end: int, start: date, rule: Rule) -> date:
    return max((dates[end] for dates in done), default=start) + timedelta(days=rule.days)


def _gaps(history: History, rule: Rule, place: PlaceOnRoof, stops: Sequence[Stop]) -> Iterator[Gap]:
    put_off = _Deferrals(history, rule, place)
    for ((before, _), (after, closing)), days in zip(pairwise(stops), _days(stops), strict=True):
        if days == (0, 0):
            continue
        body = None if closing is None else closing.body
        yield Gap(
            zone=place.id,
            from_=before[0],
            to=after[0],
            days=days,
            over=_over(days, rule),
            open=closing is None,
            deferrals=put_off.between(before[0], before[0] + timedelta(days=days[1])),
            means=body.means.value if isinstance(body, Inspection) else None,
            closed_by=None if closing is None else closing.seq,
        )


class _Deferrals:
    """Deferrals of a rule's task at a place: listed in their gap, closing nothing."""

    def __init__(self, history: History, rule: Rule, place: PlaceOnRoof) -> None:
        self._items = sorted(
            (
                item
                for item, body in history.of(Deferral)
                if body.task is rule.task and (body.zones is None or place.id in body.zones)
            ),
            key=lambda item: (item.bounds, item.seq),
        )
        self._firsts = [item.bounds[0] for item in self._items]
        self._lasts = list(accumulate((item.bounds[1] for item in self._items), max))

    def between(self, first: date, last: date) -> tuple[int, ...]:
        """Those that may lie from `first` to `last`."""
        able = self._items[bisect_left(self._lasts, first) : bisect_right(self._firsts, last)]
        return tuple(item.seq for item in able if item.bounds[1] >= first)


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

"""Duties that follow or go before an event: a look after a trip, before storage (OUTPUTS § 2).

Every zone that the rule covers and the rig had on that day must be looked at. A trip under way
gives no duty yet.
"""

from bisect import bisect_right
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from itertools import accumulate

from evidence.entries import Inspection, Reseal, Storage, Trip
from evidence.times import Pair, Span, days_apart, parse_day, parse_when
from evidence.trade import Catalogue
from evidence.upkeep.covering import covered_by, covered_places, on_time
from evidence.upkeep.gaps import Met
from evidence.upkeep.history import History
from evidence.upkeep.incidents import IncidentFacts
from evidence.upkeep.items import Dates, Item
from evidence.upkeep.places import PlaceOnRoof
from evidence.upkeep.ruled import RuleInTime, rules_in_time
from evidence.words import Occasion, Task

Counts = Callable[[Item, Inspection], bool]


@dataclass(frozen=True, slots=True)
class Trigger:
    """What set a duty going.

    Attributes:
        seq: its entry.
        day: the day of the event; the rule must be in force on it.
        from_: the first and last date from which the duty may run.
        by: the first and last date that may be its limit.
        counts: whether a look can be the one that is asked for.
        zones: the zones that it is about; None for all that the rule covers.
        since: no look that ended before it counts; None where that is not known.
    """

    seq: int
    day: date
    from_: Dates
    by: Dates
    counts: Counts
    zones: frozenset[str] | None = None
    since: datetime | None = None


@dataclass(frozen=True, slots=True)
class Duty:
    """One duty: from when, by when, the entry that completed it, and the zones still missing.

    `met` counts every look at its stated time, `met_on_time` only those logged within 24 h and not
    corrected since.
    """

    rule: str
    task: Task
    trigger: int
    from_: date
    by: date
    by_at_latest: date
    done: int | None
    days: Pair
    met: Met
    met_on_time: Met
    missing: tuple[str, ...]


def measure_duties(
    history: History, incidents: Sequence[IncidentFacts], catalogue: Catalogue
) -> tuple[Duty, ...]:
    """Every duty that the record's rules and events give, by rule and date."""
    return tuple(
        duty
        for ruled in rules_in_time(history)
        for duty in _Asked(history, ruled, catalogue).duties(_triggers(history, incidents, ruled))
    )


def _triggers(
    history: History, incidents: Sequence[IncidentFacts], ruled: RuleInTime
) -> Iterator[Trigger]:
    match ruled.rule.task:
        case Task.AFTER_TRIP:
            yield from _after_trips(history, ruled)
        case Task.AFTER_EVENT:
            yield from _after_events(history, incidents, ruled)
        case Task.AFTER_RESEAL:
            yield from _after_reseals(history, ruled)
        case Task.BEFORE_STORAGE:
            yield from _before_storages(history, ruled)
        case Task.OUT_OF_STORAGE:
            yield from _out_of_storages(history, ruled)
        case Task.BEFORE_WARRANTY_END:
            yield from _before_the_end(ruled)
        case _:
            return


def _after(span: Span, occasion: Occasion) -> Counts:
    """Looks that began when it was over, or that say themselves that they came after it."""

    def counts(item: Item, body: Inspection) -> bool:
        earliest = item.time.earliest
        if earliest is not None and earliest >= span.latest:
            return True
        return body.occasion is occasion and item.time.latest >= _began(span)

    return counts


def _began(span: Span) -> datetime:
    return span.latest if span.earliest is None else span.earliest


def _later(days: Dates, count: int) -> Dates:
    return days[0] + timedelta(days=count), days[1] + timedelta(days=count)


class _Outs:
    """The days on which trips went out."""

    def __init__(self, history: History) -> None:
        outs = [
            (*parse_when(trip.out, item.home).days(item.home), item.seq)
            for item, trip in history.of(Trip)
        ]
        outs.sort(key=lambda out: (out[0], out[2]))
        self._firsts = [(first, seq) for first, _, seq in outs]
        # An out may be told as an interval: of those from each one on, the earliest last day.
        self._lasts = list(accumulate((last for _, last, _ in reversed(outs)), min))[::-1]

    def cut(self, seq: int, home: Dates, by: Dates) -> Dates:
        """The limit, or the next trip out where that comes first; of one day, by their order."""
        at = bisect_right(self._firsts, (home[1], seq))
        if at == len(self._firsts):
            return by
        return min(by[0], self._firsts[at][0]), min(by[1], self._lasts[at])


def _after_trips(history: History, ruled: RuleInTime) -> Iterator[Trigger]:
    outs = _Outs(history)
    for item, trip in history.of(Trip):
        back = history.closing(item, trip)
        if back is not None:
            home = back.days(item.home)
            by = outs.cut(item.seq, home, _later(home, ruled.rule.days))
            counts = _after(back, Occasion.AFTER_TRIP)
            yield Trigger(item.seq, home[1], home, by, counts, since=_began(back))


def _after_events(
    history: History, incidents: Sequence[IncidentFacts], ruled: RuleInTime
) -> Iterator[Trigger]:
    for facts in incidents:
        last = facts.window.days(facts.item.home)[1]
        by = last + timedelta(days=ruled.rule.days)
        counts = _names_or_follows(facts, history.naming(facts.id))
        since = facts.window.earliest
        yield Trigger(facts.item.seq, last, (last, last), (by, by), counts, since=since)


def _names_or_follows(facts: IncidentFacts, named: frozenset[int]) -> Counts:
    def counts(item: Item, _: Inspection) -> bool:
        earliest = item.time.earliest
        return item.seq in named or (earliest is not None and earliest >= facts.window.latest)

    return counts


def _after_reseals(history: History, ruled: RuleInTime) -> Iterator[Trigger]:
    """A look at the new bead: from `from_days` after it was laid to `days` after it."""
    for item, reseal in history.of(Reseal):
        laid = item.bounds
        opens = _later(laid, ruled.rule.from_days or 0)
        by = _later(laid, ruled.rule.days)
        counts = _begun(item, opens[0])
        yield Trigger(item.seq, laid[1], opens, by, counts, frozenset(reseal.zones))


def _begun(reseal: Item, day: date) -> Counts:
    def counts(item: Item, _: Inspection) -> bool:
        earliest = item.time.earliest
        follows = earliest is not None and earliest >= reseal.time.latest
        return follows and item.dates[0] >= day

    return counts


def _before_storages(history: History, ruled: RuleInTime) -> Iterator[Trigger]:
    for item, storage in history.of(Storage):
        away = parse_when(storage.from_, item.home).cut_at(item.told_at("from"))
        days = away.days(item.home)
        opens = _later(days, -ruled.rule.days)
        by = _later(days, -(ruled.rule.from_days or 0))
        yield Trigger(item.seq, days[1], opens, by, _ahead_of(away, opens[0], by[1]))


def _ahead_of(away: Span, first: date, last: date) -> Counts:
    """Looks within the days that ended when storage began, or that say they came before it."""

    def counts(item: Item, body: Inspection) -> bool:
        began = away.latest if away.earliest is None else away.earliest
        earliest = away.latest if item.time.earliest is None else item.time.earliest
        ahead = item.time.latest <= began
        says_so = body.occasion is Occasion.BEFORE_STORAGE and earliest <= away.latest
        return (ahead or says_so) and first <= item.dates[0] <= last

    return counts


def _out_of_storages(history: History, ruled: RuleInTime) -> Iterator[Trigger]:
    outs = _Outs(history)
    for item, storage in history.of(Storage):
        out = history.closing(item, storage)
        if out is not None:
            days = out.days(item.home)
            by = outs.cut(item.seq, days, _later(days, ruled.rule.days))
            counts = _after(out, Occasion.OUT_OF_STORAGE)
            yield Trigger(item.seq, days[1], days, by, counts, since=_began(out))


def _before_the_end(ruled: RuleInTime) -> Iterator[Trigger]:
    """The warranty's last day is the rule's own `applies_to`."""
    if ruled.rule.applies_to is None:
        return
    end = parse_day(ruled.rule.applies_to)
    opens = end - timedelta(days=ruled.rule.days)
    by = end - timedelta(days=ruled.rule.from_days or 0)

    def counts(item: Item, _: Inspection) -> bool:
        return opens <= item.dates[0] and item.dates[1] <= end

    yield Trigger(ruled.item.seq, end, (opens, opens), (by, by), counts)


@dataclass(frozen=True)  # without slots: what is asked for often is worked out once
class _Asked:
    """What one rule asks for, trigger by trigger."""

    history: History
    ruled: RuleInTime
    catalogue: Catalogue

    def duties(self, triggers: Iterable[Trigger]) -> Iterator[Duty]:
        """The duties of the triggers that came while the rule was in force."""
        able = [trigger for trigger in triggers if self.ruled.in_force_on(trigger.day)]
        for trigger in sorted(able, key=lambda found: (found.from_, found.seq)):
            zones = self._zones(trigger)
            if zones:
                yield self._duty(trigger, zones)

    @cached_property
    def _places(self) -> Sequence[PlaceOnRoof]:
        return covered_places(self.history, self.ruled.rule)

    def _zones(self, trigger: Trigger) -> tuple[str, ...]:
        """The zones that must be looked at: those the rule covers, of those that were there."""
        return tuple(
            place.id
            for place in self._places
            if place.there_on(trigger.day) and (trigger.zones is None or place.id in trigger.zones)
        )

    def _duty(self, trigger: Trigger, zones: Sequence[str]) -> Duty:
        history, rule = self.history, self.ruled.rule
        done, missing = self._done(zones, self._able(trigger))
        prompt = (item for item in self._able(trigger) if on_time(history, item, self.ruled))
        done_on_time, _ = self._done(zones, prompt)
        return Duty(
            rule=rule.id,
            task=rule.task,
            trigger=trigger.seq,
            from_=trigger.from_[0],
            by=trigger.by[0],
            by_at_latest=trigger.by[1],
            done=None if done is None else done.seq,
            days=days_apart(trigger.from_, _ended(history, done)),
            met=_met(history, trigger, done),
            met_on_time=_met(history, trigger, done_on_time),
            missing=missing,
        )

    def _able(self, trigger: Trigger) -> Iterator[Item]:
        """The looks that can be the one asked for, in the order in which they ended."""
        looks = self.history.looks
        first = 0 if trigger.since is None else looks.ended_before(trigger.since)
        for at in range(first, len(looks)):
            if trigger.counts(*looks[at]):
                yield looks[at][0]

    def _done(
        self, zones: Sequence[str], looks: Iterable[Item]
    ) -> tuple[Item | None, tuple[str, ...]]:
        """The look with which every zone had been looked at, else the zones still missing."""
        missing = dict.fromkeys(zones)
        for item in looks:
            for zone_id in covered_by(self.history, item, self.ruled.rule, self.catalogue):
                missing.pop(zone_id, None)
            if not missing:
                return item, ()
        return None, tuple(missing)


def _ended(history: History, done: Item | None) -> Dates:
    return (history.on, history.on) if done is None else done.bounds


def _met(history: History, trigger: Trigger, done: Item | None) -> Met:
    ended = _ended(history, done)
    if ended[0] > trigger.by[1]:
        return Met.NO
    return Met.YES if done is not None and ended[1] <= trigger.by[0] else Met.UNCLEAR

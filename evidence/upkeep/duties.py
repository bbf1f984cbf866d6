"""Duties that follow an event: a look after a trip, after an incident (OUTPUTS § 2).

Every zone that the rule covers must be looked at. A trip under way gives no duty yet.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from evidence.entries import Incident, Inspection, Rule
from evidence.times import Pair, days_apart, parse_day, parse_when
from evidence.upkeep.gaps import Met, covered_places, covers
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.words import Task


@dataclass(frozen=True, slots=True)
class Trigger:
    """What set a duty going: the entry, the first and last date it may count from, the limit."""

    seq: int
    from_: tuple[date, date]
    by: date


@dataclass(frozen=True, slots=True)
class Duty:
    """One duty: from when, by when, the entry that completed it, and the zones still missing."""

    rule: str
    task: Task
    trigger: int
    from_: date
    by: date
    done: int | None
    days: Pair
    met: Met
    missing: tuple[str, ...]


def measure_duties(history: History) -> tuple[Duty, ...]:
    """Every duty that the record's rules and events give, by rule and date."""
    return tuple(
        _duty(history, rule, trigger)
        for _, rule in history.rules()
        for trigger in _triggers(history, rule)
        if trigger.from_[1] >= parse_day(rule.applies_from)
    )


def _triggers(history: History, rule: Rule) -> Iterator[Trigger]:
    if rule.task is Task.AFTER_TRIP:
        yield from _trips(history, rule)
    elif rule.task is Task.AFTER_EVENT:
        for item, incident in history.of(Incident):
            window = parse_when(incident.when, item.home).cut_at(item.entry.logged)
            last = window.days(item.home)[1]
            yield Trigger(item.seq, (last, last), last + timedelta(days=rule.days))


def _trips(history: History, rule: Rule) -> Iterator[Trigger]:
    trips = history.trips()
    for item, trip, back in trips:
        if back is None:
            continue
        home = parse_when(back, history.home).days(history.home)
        by = home[0] + timedelta(days=rule.days)
        outs = [history.first_day(other.out) for _, other, _ in trips if other is not trip]
        next_out = min((out for out in outs if out >= home[1]), default=by)
        yield Trigger(item.seq, home, min(by, next_out))


def _duty(history: History, rule: Rule, trigger: Trigger) -> Duty:
    looks = sorted(
        (item for item, _ in history.of(Inspection) if item.dates[1] >= trigger.from_[0]),
        key=lambda item: (item.dates, item.seq),
    )
    missing = {place.id: place for place in covered_places(history, rule)}
    done: Item | None = None
    for item in looks:
        for zone_id in [key for key, place in missing.items() if covers(item, rule, place)]:
            del missing[zone_id]
        if not missing:
            done = item
            break
    ended = (history.on, history.on) if done is None else done.dates
    return Duty(
        rule=rule.id,
        task=rule.task,
        trigger=trigger.seq,
        from_=trigger.from_[0],
        by=trigger.by,
        done=None if done is None else done.seq,
        days=days_apart(trigger.from_, ended),
        met=_met(ended, trigger.by, done),
        missing=tuple(missing),
    )


def _met(ended: tuple[date, date], by: date, done: Item | None) -> Met:
    if ended[0] > by:
        return Met.NO
    return Met.YES if done is not None and ended[1] <= by else Met.UNCLEAR

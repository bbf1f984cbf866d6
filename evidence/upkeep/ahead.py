"""Duties that will follow once something happens whose day nobody knows yet.

A trip under way gives no duty before the return, nor storage before its end (OUTPUTS § 2); both are
named ahead, so that nobody is taken by surprise.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from evidence.entries import Rule
from evidence.upkeep.covering import covered_places
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.upkeep.ruled import RuleInTime, rules_in_time
from evidence.words import Task

_Stay = tuple[Item, date, str | None]
"""A trip or a storage: its entry, its first day, and when it ended."""


class Once(StrEnum):
    """What has to happen first."""

    BACK = "back"
    STORED = "stored"
    OUT_OF_STORAGE = "out-of-storage"


@dataclass(frozen=True, slots=True)
class Ahead:
    """A duty to come.

    Attributes:
        rule: whose it is.
        once: what has to happen first.
        zones: what is to be looked at then, as the rig is today.
        of: the trip or storage under way (its entry), None where none is.
        why: what the record says of it, and how the days will count.
    """

    rule: Rule
    once: Once
    zones: tuple[str, ...]
    of: int | None
    why: str


def what_follows(history: History) -> tuple[Ahead, ...]:
    """What a return, the start and the end of storage will bring, by the rules in force."""
    found: list[Ahead] = []
    for ruled in rules_in_time(history):
        if ruled.in_force_on(history.on):
            found += _of(history, ruled)
    return tuple(found)


def _of(history: History, ruled: RuleInTime) -> Iterator[Ahead]:
    rule = ruled.rule
    zones = tuple(place.id for place in covered_places(history, rule) if place.there_on(history.on))
    if not zones:
        return
    match rule.task:
        case Task.AFTER_TRIP:
            trips = [
                (item, history.first_day(trip.out), back) for item, trip, back in history.trips()
            ]
            for seq, since in _under_way(history, trips):
                why = f"on a trip since {since} (entry {seq + 1}); then {_within(rule)}"
                yield Ahead(rule, Once.BACK, zones, seq, why)
        case Task.OUT_OF_STORAGE:
            for seq, since in _under_way(history, _stored(history)):
                why = f"in storage since {since} (entry {seq + 1}); then {_within(rule)}"
                yield Ahead(rule, Once.OUT_OF_STORAGE, zones, seq, why)
        case Task.BEFORE_STORAGE if all(ended for _, _, ended in _stored(history)):
            until = f", at the latest {_days(rule.from_days)} before" if rule.from_days else ""
            why = f"not more than {_days(rule.days)} before storage begins{until}"
            yield Ahead(rule, Once.STORED, zones, None, why)
        case _:
            return


def _stored(history: History) -> list[_Stay]:
    return [
        (item, history.first_day(storage.from_), to) for item, storage, to in history.storages()
    ]


def _under_way(history: History, stays: list[_Stay]) -> Iterator[tuple[int, date]]:
    """The entry and the first day of those that have begun and not ended."""
    for item, since, ended in stays:
        if ended is None and since <= history.on:
            yield item.seq, since


def _within(rule: Rule) -> str:
    return f"before the next trip, at most {_days(rule.days)} later"


def _days(count: int | None) -> str:
    return "1 day" if count == 1 else f"{count} days"

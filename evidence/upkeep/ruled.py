"""Which rule was in force when, and since when the record knows it.

A rule that is stated again under its id takes over from the day from which the new one applies.
Until then the old one is counted, and a gap that runs across that day is not cut there: no rule
starts anew because it was written down again.
"""

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from itertools import groupby

from evidence.entries import Rule
from evidence.times import parse_day
from evidence.upkeep.history import History
from evidence.upkeep.items import Item

DAY = timedelta(days=1)

MEASURED = ("task", "days", "from_days", "zones", "means", "applies_from", "applies_to", "required")
"""What a rule asks for; the rest of it says on whose word."""


@dataclass(frozen=True, slots=True)
class RuleInTime:
    """A rule and the days on which it was in force.

    Attributes:
        item: the entry that states it, the last one that says so.
        last_day: the last day of its force, None while it goes on.
        counted_from: the first day of the rules of this id, from which gaps are counted.
        known_from: when the record first said what it asks for.
        superseded: whether a later rule of its id has taken its place.
    """

    item: Item
    rule: Rule
    first_day: date
    last_day: date | None
    counted_from: date
    known_from: datetime
    superseded: bool

    def in_force_on(self, day: date) -> bool:
        """Whether the rule applied on that day."""
        return self.first_day <= day and (self.last_day is None or day <= self.last_day)


def rules_in_time(history: History) -> list[RuleInTime]:
    """Every rule that was in force for a while, by id in the order of their first statement."""
    stated = [(item, rule) for item, rule in history.of(Rule)]
    ids = dict.fromkeys(rule.id for _, rule in stated)
    return [
        ruled
        for rule_id in ids
        for ruled in _versions([(item, rule) for item, rule in stated if rule.id == rule_id])
    ]


def _versions(stated: list[tuple[Item, Rule]]) -> list[RuleInTime]:
    # Said again without a change in what it asks for, it is the same rule, known all along.
    same = [list(rows) for _, rows in groupby(stated, key=lambda row: _asks(row[1]))]
    found: list[RuleInTime] = []
    taken: date | None = None
    for rows in reversed(same):
        item, rule = rows[-1]
        first = parse_day(rule.applies_from)
        last = None if rule.applies_to is None else parse_day(rule.applies_to)
        if taken is not None:
            eve = taken - DAY
            last = eve if last is None else min(last, eve)
            if last < first:
                continue  # the later one speaks of all its days
        known = rows[0][0].known_at(*MEASURED)
        found.insert(0, RuleInTime(item, rule, first, last, first, known, taken is not None))
        taken = first
    return _joined(found)


def _joined(found: list[RuleInTime]) -> list[RuleInTime]:
    """Rules that follow each other without a break are counted from the first one's first day."""
    joined: list[RuleInTime] = []
    for ruled in found:
        before = joined[-1] if joined else None
        if before is not None and before.last_day == ruled.first_day - DAY:
            joined.append(replace(ruled, counted_from=before.counted_from))
        else:
            joined.append(ruled)
    return joined


def _asks(rule: Rule) -> tuple[object, ...]:
    return tuple(getattr(rule, name) for name in MEASURED)

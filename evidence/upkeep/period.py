"""What the record holds about some stretch of days: looks, deeds, findings, the time between."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from evidence.entries import Body, Cover, Inspection, Repair, Reseal, Treatment, Wash
from evidence.times import Pair
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.gaps import Gap, RuleGaps
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.upkeep.standing import Standing

DEEDS = (Wash, Treatment, Reseal, Repair, Cover)
"""The kinds that say what was done to the roof."""


@dataclass(frozen=True, slots=True)
class Period:
    """A stretch of days, both ends in it.

    Attributes:
        looks: at the roof, in order of time.
        deeds: what was done to it, in order of time.
        opened: findings first seen in it.
        settled: findings that were settled or gone in it and are so at its end.
        standing: findings open at its end, the gravest first.
    """

    first: date
    last: date
    looks: tuple[Item, ...]
    deeds: tuple[Item, ...]
    opened: tuple[FindingFacts, ...]
    settled: tuple[FindingFacts, ...]
    standing: tuple[FindingFacts, ...]

    @property
    def prompt_looks(self) -> int:
        """How many of the looks were written down within a day."""
        return sum(item.within_24h for item in self.looks)

    def of(self, kind: type[Body]) -> Sequence[Item]:
        """The deeds of a kind, in order of time."""
        return [item for item in self.deeds if isinstance(item.body, kind)]

    def gaps(self, measured: RuleGaps) -> Sequence[Gap]:
        """The times between looks, in any zone, that reach into these days; each in full length."""
        return [
            gap
            for row in measured.zones
            for gap in row.gaps
            if (gap.to > self.first or gap.open) and gap.from_ <= self.last
        ]

    def longest(self, measured: RuleGaps) -> Pair:
        """The longest of `gaps`, in days as [min, max]."""
        gaps = self.gaps(measured)
        return (
            max((gap.days[0] for gap in gaps), default=0),
            max((gap.days[1] for gap in gaps), default=0),
        )


def year_before(on: date) -> date:
    """The first day of the year that ends with `on`."""
    try:
        return on.replace(year=on.year - 1) + timedelta(days=1)
    except ValueError:  # 29 February
        return date(on.year - 1, 3, 1)


def measure_period(standing: Standing, first: date) -> Period:
    """What the record holds from `first` to the day on which it was measured."""
    history = standing.history
    last = history.on

    def within(item: Item) -> bool:
        return item.dates[1] >= first and item.dates[0] <= last

    ends = {item.seq for item in history.items if item.span is not None and within(item)}
    return Period(
        first=first,
        last=last,
        looks=_in_time(history, (Inspection,), first),
        deeds=_in_time(history, DEEDS, first),
        opened=tuple(f for f in standing.findings if _first_day(f, history) >= first),
        settled=tuple(f for f in standing.findings if f.settled in ends),
        standing=tuple(
            sorted(
                (f for f in standing.findings if f.state == "open"),
                key=lambda finding: (-finding.grade, finding.opened),
            )
        ),
    )


def _in_time(history: History, kinds: Sequence[type], first: date) -> tuple[Item, ...]:
    found = [item for kind in kinds for item, _ in history.of(kind) if item.dates[1] >= first]
    return tuple(sorted(found, key=lambda item: (item.dates, item.seq)))


def _first_day(finding: FindingFacts, history: History) -> date:
    return finding.first_seen.span.days(history.home)[0]

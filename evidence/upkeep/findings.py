"""Findings: what was seen where, since when, and whether it stands open (OUTPUTS § 2)."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from evidence.entries import Deed, Defect, Finding, Handover, Inspection, Reseal
from evidence.times import Pair, Span, days_apart, parse_day
from evidence.trade import Catalogue
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.upkeep.sealing import fitting
from evidence.words import Grade, Recheck


@dataclass(frozen=True, slots=True)
class Seen:
    """An entry and its effective time."""

    seq: int
    span: Span


@dataclass(frozen=True, slots=True)
class FindingFacts:
    """One finding over its life.

    `onset` runs from the latest look that covered the zone without the finding (None if there was
    none) to the earliest look that had it: when it was seen, never what caused it.
    """

    id: str
    finding: Finding
    zone: str
    type: str
    grade: int
    state: str
    opened: int
    settled: int | None
    settled_on: tuple[date, date] | None
    settled_at: Span | None
    at_delivery: bool
    responsible: str | None
    promised: date | None
    last_without: Seen | None
    first_seen: Seen
    onset: tuple[datetime | None, datetime]
    days_open: Pair
    act_by: date
    attribution: tuple[str, ...]
    related: tuple[str, ...]

    def open_at(self, moment: datetime) -> bool:
        """Whether it had been seen by `moment` and was not yet settled then."""
        if self.first_seen.span.latest > moment:
            return False
        return self.settled_at is None or self.settled_at.latest > moment


@dataclass(slots=True)
class _Life:
    """A finding while the record is being read."""

    item: Item
    finding: Finding
    grade: Grade
    first: Item
    end: tuple[Item, str] | None = None


def measure_findings(history: History, catalogue: Catalogue) -> tuple[FindingFacts, ...]:
    """Every finding of the record, in the order in which they were opened."""
    lives = _lives(history, catalogue)
    defects = _defects(history)
    return tuple(_facts(history, catalogue, life, defects) for life in lives.values())


def _lives(history: History, catalogue: Catalogue) -> dict[str, _Life]:
    lives: dict[str, _Life] = {}
    for item, body in history.of(Deed):
        for finding in body.findings or ():
            lives[finding.id] = _Life(item, finding, finding.grade, item)
        if isinstance(body, Inspection):
            _recheck(lives, item, body)
        if isinstance(body, Reseal) and not fitting(item.rig, body, catalogue):
            continue  # a sealant that does not suit the place settles nothing
        for settled in body.settles or ():
            life = lives.get(settled)
            if life is not None and life.end is None:
                life.end = (item, "settled")
    return lives


def _recheck(lives: dict[str, _Life], item: Item, body: Inspection) -> None:
    for recheck in body.rechecks or ():
        life = lives.get(recheck.finding)
        if life is None:
            continue
        if recheck.state is Recheck.GONE:
            if life.end is None:
                life.end = (item, "gone")
            continue
        life.end = None  # seen again: whatever settled it did not last
        life.grade = recheck.grade
        if item.time.latest < life.first.time.latest:
            life.first = item


def _defects(history: History) -> dict[str, Defect]:
    """What a hand-over says of each finding: who answers for it, and the promised date."""
    return {
        defect.finding: defect for _, body in history.of(Handover) for defect in body.defects or ()
    }


def _facts(
    history: History,
    catalogue: Catalogue,
    life: _Life,
    defects: dict[str, Defect],
) -> FindingFacts:
    finding = life.finding
    defect = defects.get(finding.id)
    promised = None if defect is None or defect.promised is None else parse_day(defect.promised)
    without = _last_without(history, life)
    first_dates = life.first.dates
    end_item = None if life.end is None else life.end[0]
    end_dates = (history.on, history.on) if end_item is None else end_item.dates
    act_within = timedelta(days=catalogue.act_within(finding.type, life.grade))
    return FindingFacts(
        id=finding.id,
        finding=finding,
        zone=finding.zone,
        type=finding.type,
        grade=int(life.grade),
        state="open" if life.end is None else life.end[1],
        opened=life.item.seq,
        settled=None if end_item is None else end_item.seq,
        settled_on=None if end_item is None else end_item.dates,
        settled_at=None if end_item is None else end_item.time,
        at_delivery=defect is not None,
        responsible=None if defect is None else defect.responsible,
        promised=promised,
        last_without=without,
        first_seen=Seen(life.first.seq, life.first.time),
        onset=(None if without is None else without.span.earliest, life.first.time.latest),
        days_open=days_apart(first_dates, end_dates),
        act_by=promised or first_dates[0] + act_within,
        attribution=_attribution(finding),
        related=finding.related or (),
    )


def _attribution(finding: Finding) -> tuple[str, ...]:
    if finding.attribution is None:
        return ()
    return ("undetermined",) if finding.attribution == "undetermined" else finding.attribution


def _last_without(history: History, life: _Life) -> Seen | None:
    """The latest look at the zone that ended before the finding was first seen."""
    first = life.first.time
    begins = first.latest if first.earliest is None else first.earliest
    before = [
        item
        for item, _ in history.looks_at(life.finding.zone)
        if item.time.latest < begins and item.seq != life.first.seq
    ]
    if not before:
        return None
    last = max(before, key=lambda item: (item.time.latest, item.seq))
    return Seen(last.seq, last.time)


def zone_grade(history: History, findings: tuple[FindingFacts, ...], zone_id: str) -> int | None:
    """The grade of the zone's last look, never below that of its gravest open finding."""
    looks = history.looks_at(zone_id)
    graves = [f.grade for f in findings if f.zone == zone_id and f.state == "open"]
    if looks:
        graves.append(next(int(r.grade) for r in looks[-1][1].zones if r.zone == zone_id))
    return max(graves, default=None)

"""Findings: what was seen where, since when, and whether it stands open (OUTPUTS § 2)."""

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from evidence.entries import Deed, Handover, Inspection, Reseal
from evidence.shapes import Defect, Finding
from evidence.times import Pair, Span, days_apart, parse_day
from evidence.trade import Catalogue
from evidence.upkeep.history import History
from evidence.upkeep.items import Dates, Item
from evidence.upkeep.sealing import fitting_zones
from evidence.words import Recheck

_TELLS_OF_SEEING = ("when", "means", "zones", "findings", "rechecks")
_TELLS_OF_ENDING = ("when", "means", "zones", "family", "settles", "rechecks")
"""Fields in which a correction changes what an entry says of a finding."""


@dataclass(frozen=True, slots=True)
class Seen:
    """An entry and its effective time."""

    seq: int
    span: Span


@dataclass(frozen=True, slots=True)
class Sighting:
    """One time that the finding was seen, and its grade then."""

    item: Item
    grade: int

    @property
    def span(self) -> Span:
        """When it was seen."""
        return self.item.time

    @property
    def told_at(self) -> datetime:
        """When that was written down as it stands."""
        return self.item.told_at(*_TELLS_OF_SEEING)


@dataclass(frozen=True, slots=True)
class Closure:
    """What ended a finding (`settled` or `gone`), and the sighting that opened it again."""

    item: Item
    how: str
    reopened: Sighting | None

    def stood_at(self, moment: datetime) -> bool:
        """Whether it was over at `moment` and written down by then, and not yet seen again."""
        return (
            self.item.time.latest <= moment
            and self.item.told_at(*_TELLS_OF_ENDING) <= moment
            and (self.reopened is None or self.reopened.span.latest > moment)
        )


@dataclass(frozen=True, slots=True)
class FindingFacts:
    """One finding over its life.

    `onset` runs from the latest look that covered the zone without the finding (None if there was
    none) to the earliest look that had it: when it was seen, never what caused it. `sightings` are
    in order of time, `closures` in the order in which they were written.
    """

    id: str
    finding: Finding
    zone: str
    type: str
    grade: int
    state: str
    opened: int
    settled: int | None
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
    sightings: tuple[Sighting, ...]
    closures: tuple[Closure, ...]

    def open_at(self, moment: datetime) -> bool:
        """Whether it had been seen by `moment` and was not settled then.

        What settled it counts from when it was written down: nobody settles afterwards what stood
        open at the time.
        """
        if self.first_seen.span.latest > moment:
            return False
        return not any(closure.stood_at(moment) for closure in self.closures)

    def grade_at(self, moment: datetime) -> int:
        """Its grade at `moment`; what was only written down later counts where it is graver."""
        seen = [s for s in self.sightings if s.span.latest <= moment]
        known = [s.grade for s in seen if s.told_at <= moment]
        later = [s.grade for s in seen if s.told_at > moment]
        return max([*known[-1:], *later], default=0)


@dataclass(slots=True)
class _Life:
    """A finding while the record is being read."""

    item: Item
    finding: Finding
    sightings: list[Sighting]
    closures: list[Closure] = field(default_factory=list)

    @property
    def end(self) -> Closure | None:
        """What ended it, if nothing opened it again."""
        last = self.closures[-1] if self.closures else None
        return last if last is not None and last.reopened is None else None

    @property
    def in_order(self) -> list[Sighting]:
        return sorted(self.sightings, key=lambda seen: (seen.span.latest, seen.item.seq))

    def see(self, sighting: Sighting) -> None:
        """Seen again: what settled it did not last, unless this was before."""
        self.sightings.append(sighting)
        end = self.end
        if end is not None and not _before(sighting.item, end.item):
            self.closures[-1] = Closure(end.item, end.how, sighting)

    def close(self, item: Item, how: str) -> None:
        """Ended, unless it was still seen afterwards."""
        if self.end is None and not _before(item, self.in_order[-1].item):
            self.closures.append(Closure(item, how, None))


def _before(item: Item, other: Item) -> bool:
    """Whether one entry's time certainly ended before another's began."""
    return other.time.earliest is not None and item.time.latest < other.time.earliest


def measure_findings(history: History, catalogue: Catalogue) -> tuple[FindingFacts, ...]:
    """Every finding of the record, in the order in which they were opened."""
    defects = _defects(history)
    return tuple(
        _facts(history, catalogue, life, defects.get(life.finding.id))
        for life in _lives(history, catalogue).values()
    )


def _lives(history: History, catalogue: Catalogue) -> dict[str, _Life]:
    lives: dict[str, _Life] = {}
    for item, body in history.about_findings:
        for finding in body.findings or ():
            lives[finding.id] = _Life(item, finding, [Sighting(item, int(finding.grade))])
        if isinstance(body, Inspection):
            _recheck(history, lives, item, body)
        for settled in body.settles or ():
            life = lives.get(settled)
            if life is not None and _can_settle(item, body, life.finding.zone, catalogue):
                life.close(item, "settled")
    return lives


def _can_settle(item: Item, body: Deed, zone_id: str, catalogue: Catalogue) -> bool:
    """A sealant that does not suit the place settles nothing there (RECORD § 4)."""
    if not isinstance(body, Reseal):
        return True
    fitting = fitting_zones(item.rig, body, catalogue)
    return zone_id in fitting or (zone_id not in body.zones and set(body.zones) <= fitting)


def _recheck(history: History, lives: Mapping[str, _Life], item: Item, body: Inspection) -> None:
    for recheck in body.rechecks or ():
        life = lives.get(recheck.finding)
        if life is None:
            continue
        if recheck.state is not Recheck.GONE:
            life.see(Sighting(item, int(recheck.grade)))
        elif history.place(life.finding.zone).seen_by(body.means):
            life.close(item, "gone")


def _defects(history: History) -> dict[str, tuple[Defect, bool]]:
    """What a hand-over says of each finding, and whether who is to answer for it signed that."""
    return {
        defect.finding: (defect, any(s.party == defect.responsible for s in body.signatures))
        for _, body in history.of(Handover)
        for defect in body.defects or ()
    }


def _facts(
    history: History,
    catalogue: Catalogue,
    life: _Life,
    at_handover: tuple[Defect, bool] | None,
) -> FindingFacts:
    finding, seen, end = life.finding, life.in_order, life.end
    defect = at_handover[0] if at_handover is not None and at_handover[1] else None
    promised = None if defect is None or defect.promised is None else parse_day(defect.promised)
    first = seen[0].item
    without = _last_without(history, finding.zone, first)
    ended: Dates = (history.on, history.on) if end is None else end.item.bounds
    return FindingFacts(
        id=finding.id,
        finding=finding,
        zone=finding.zone,
        type=finding.type,
        grade=seen[-1].grade,
        state="open" if end is None else end.how,
        opened=life.item.seq,
        settled=None if end is None else end.item.seq,
        at_delivery=at_handover is not None,
        responsible=None if defect is None else defect.responsible,
        promised=promised,
        last_without=without,
        first_seen=Seen(first.seq, first.time),
        onset=(None if without is None else without.span.earliest, first.time.latest),
        days_open=days_apart(first.bounds, ended),
        act_by=promised or _act_by(catalogue, finding, life, seen),
        attribution=_attribution(finding),
        related=finding.related or (),
        sightings=tuple(seen),
        closures=tuple(life.closures),
    )


def _act_by(catalogue: Catalogue, finding: Finding, life: _Life, seen: Sequence[Sighting]) -> date:
    """First seen + the catalogue's days for the grade; a graver grade seen later has its own.

    A better grade seen later gives no more time. Opened again, it counts from that sighting.
    """
    opened = [closure.reopened for closure in life.closures if closure.reopened is not None]
    counted = seen[seen.index(opened[-1]) :] if opened else seen
    return min(
        sighting.item.dates[0] + timedelta(days=catalogue.act_within(finding.type, sighting.grade))
        for sighting in counted
    )


def _attribution(finding: Finding) -> tuple[str, ...]:
    if finding.attribution is None:
        return ()
    return ("undetermined",) if finding.attribution == "undetermined" else finding.attribution


def _last_without(history: History, zone_id: str, first: Item) -> Seen | None:
    """The latest look at the zone that had ended, and stood written, before it was first seen.

    A look that was written down only after the finding had been is a claim, not a look without.
    """
    begins = first.time.latest if first.time.earliest is None else first.time.earliest
    looks = history.looks_at(zone_id)
    ended = bisect_left(looks, begins, key=lambda look: look[0].time.latest)
    for at in range(ended - 1, -1, -1):
        item, _ = looks[at]
        if item.seq < first.seq and item.told_at(*_TELLS_OF_SEEING) <= first.entry.logged:
            return Seen(item.seq, item.time)
    return None


def zone_grade(history: History, findings: tuple[FindingFacts, ...], zone_id: str) -> int | None:
    """The grade of the zone's last look, never below that of its gravest open finding."""
    looks = history.looks_at(zone_id)
    graves = [f.grade for f in findings if f.zone == zone_id and f.state == "open"]
    if looks:
        graves.append(next(int(r.grade) for r in looks[-1][1].zones if r.zone == zone_id))
    return max(graves, default=None)

"""An incident: what the looks around it say, and nothing about its cause (OUTPUTS § 2)."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from functools import cached_property

from evidence.entries import Cost, Cover, Incident, Inspection, Notice, Weather
from evidence.times import Basis, Pair, Span, days_apart, minutes_apart, parse_when
from evidence.trade import Catalogue
from evidence.upkeep.around import Around, Look, Window, stated_grade
from evidence.upkeep.covering import Covering
from evidence.upkeep.findings import FindingFacts, measure_findings
from evidence.upkeep.gaps import Met, met, most, over_on_time, together
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.words import Grade, Known, NoticeType

__all__ = [
    "Counted",
    "IncidentFacts",
    "Look",
    "RuleUnder",
    "ZoneUnderIncident",
    "measure_incidents",
]


@dataclass(frozen=True, slots=True)
class ZoneUnderIncident:
    """One zone that an incident names.

    A look that straddles the window, or that was logged only afterwards, is listed and not used.
    `changed_since` are looks before that were corrected or withdrawn after the window began.
    `from_below` are the looks after from the ground or from inside, which cover no zone of the
    roof, where there is no other.
    """

    zone: str
    before_state: str
    after_state: str
    before: Look | None
    after: Look | None
    open_before: tuple[str, ...]
    found: tuple[str, ...]
    claimed_before: tuple[int, ...]
    straddling: tuple[int, ...]
    changed_since: tuple[int, ...]
    from_below: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Counted:
    """An entry and its distance from the incident's window, in the unit of its field."""

    seq: int
    amount: Pair


@dataclass(frozen=True, slots=True)
class RuleUnder:
    """A rule counted on time, up to the incident's earliest."""

    rule: str
    met: Met
    over: Pair


@dataclass(frozen=True, slots=True)
class IncidentFacts:
    """Everything that the record says about one incident."""

    id: str
    item: Item
    incident: Incident
    window: Span
    zones: tuple[ZoneUnderIncident, ...]
    covered: Counted | None
    notice: Counted | None
    last_routine_look: Counted | None
    first_look_after: Counted | None
    rules: tuple[RuleUnder, ...]
    later: tuple[tuple[str, Pair], ...]
    costs: tuple[tuple[str, str], ...]
    weather: Weather | None


def measure_incidents(
    history: History,
    findings: Sequence[FindingFacts],
    catalogue: Catalogue,
    counted: Sequence[Covering],
) -> tuple[IncidentFacts, ...]:
    """Every incident of the record that was not withdrawn."""
    by_zone: dict[str, list[FindingFacts]] = defaultdict(list)
    for finding in findings:
        by_zone[finding.zone].append(finding)
    return tuple(
        _Incident(history, findings, by_zone, catalogue, counted, item, incident).facts()
        for item, incident in history.of(Incident)
    )


@dataclass(frozen=True)  # without slots: what is asked for often is worked out once
class _Incident:
    """One incident while it is being measured."""

    history: History
    findings: Sequence[FindingFacts]
    by_zone: Mapping[str, Sequence[FindingFacts]]
    catalogue: Catalogue
    coverings: Sequence[Covering]
    item: Item
    incident: Incident

    @cached_property
    def around(self) -> Around:
        """The looks around the window."""
        return Around(self.history, self.item, self.incident, self._window())

    def _window(self) -> Window:
        """The stated window; for `found-later` cut by the onsets of what was found.

        Those are the findings that name the incident, and those that the first look after the
        stated window found in its zones. They cut it together: where they have no time in common
        one event does not explain them, and the stated window stays.
        """
        told = self.item.told_at("when")
        stated = parse_when(self.incident.when, self.item.home).cut_at(told)
        if self.incident.known is not Known.FOUND_LATER:
            return Window(stated)
        around = Around(self.history, self.item, self.incident, Window(stated))
        found = {name for zone in self.incident.zones for name in self._found(around, zone)}
        cutting = [
            finding
            for finding in self.findings
            if finding.id in found or self._named(around, finding)
        ]
        cut = stated
        for finding in cutting:
            common = cut.meet(Span(*finding.onset, Basis.STATED))
            if common is None:
                return Window(stated)
            cut = Span(*common, Basis.STATED)
        if cut.earliest == stated.earliest:
            return Window(cut)
        looks = [finding.last_without for finding in cutting if finding.last_without is not None]
        return Window(cut, frozenset(s.seq for s in looks if s.span.earliest == cut.earliest))

    def facts(self) -> IncidentFacts:
        around, incident = self.around, self.incident
        zones = tuple(self._zone(zone_id) for zone_id in incident.zones)
        after = [zone.after for zone in zones if zone.after is not None]
        first_after = min(after, key=_ended, default=None)
        return IncidentFacts(
            id=incident.id,
            item=self.item,
            incident=incident,
            window=around.window,
            zones=zones,
            covered=self._covered(),
            notice=self._notice(),
            last_routine_look=self._last_routine_look(),
            first_look_after=None
            if first_after is None
            else Counted(first_after.seq, first_after.days),
            rules=self._rules(),
            later=self._later(zones, first_after),
            costs=_costs(self.history, incident),
            weather=_weather(self.history, incident),
        )

    # One zone

    def _zone(self, zone_id: str) -> ZoneUnderIncident:
        around, looks = self.around, self.around.looks(zone_id)
        known = self.by_zone.get(zone_id, ())
        last, first = looks.last_before, looks.first_after
        before = None if last is None else around.before(last, zone_id, known)
        found = self._found(around, zone_id)
        return ZoneUnderIncident(
            zone=zone_id,
            before_state=self._before_state(zone_id, before),
            after_state="finding" if found else "not-looked-at" if first is None else "none",
            before=before,
            after=None if first is None else around.after(first, zone_id, known),
            open_before=tuple(dict.fromkeys(f for zone, f, _ in self._open if zone == zone_id)),
            found=tuple(found),
            claimed_before=tuple(item.seq for item in looks.claimed),
            straddling=tuple(item.seq for item in looks.straddling),
            changed_since=tuple(item.seq for item, _ in looks.changed),
            from_below=tuple(self._from_below(zone_id)) if first is None else (),
        )

    @cached_property
    def _open(self) -> list[tuple[str, str, int]]:
        """(zone, finding, grade) of what stood open when the window began.

        By today's record, and by the record as it stood: what was open in that is not taken out of
        it by what was corrected or withdrawn afterwards.
        """
        begins, stood = self.around.begins, self.around.stood
        if begins is None or stood is None:
            return []
        known = list(self.findings)
        if stood.retold:
            known += measure_findings(stood.history, self.catalogue)
        return [(f.zone, f.id, f.grade_at(begins)) for f in known if f.open_at(begins)]

    def _before_state(self, zone_id: str, last: Look | None) -> str:
        """`sound` (grade 0-1 and nothing of grade ≥ 2 open there), `open`, `unknown` (no look)."""
        if last is None:
            return "unknown"
        graves = [last.grade, *(grade for zone, _, grade in self._open if zone == zone_id)]
        graves += [
            stated_grade(body, zone_id)
            for then, body in self.around.looks(zone_id).changed
            if _ended(then) >= _ended(last)
        ]
        return "open" if max(graves) >= Grade.MAINTAIN else "sound"

    def _found(self, around: Around, zone_id: str) -> list[str]:
        """What was first seen at the first look after the window, or earlier in its name."""
        first = around.looks(zone_id).first_after
        return [
            finding.id
            for finding in self.by_zone.get(zone_id, ())
            if not (around.begins is not None and finding.open_at(around.begins))
            and self._seen_with(around, finding, first)
        ]

    def _seen_with(self, around: Around, finding: FindingFacts, first: Item | None) -> bool:
        opener = finding.sightings[0].item
        if first is None:
            return self._named(around, finding)
        if opener.time.latest > first.time.latest:
            return False
        return opener.seq == first.seq or self._named(around, finding) or around.is_after(opener)

    def _from_below(self, zone_id: str) -> Iterator[Item]:
        """The looks after that named the place and cannot cover it (OUTPUTS § 2, gaps)."""
        place = self.history.place(zone_id)
        for item, body in self.history.of(Inspection):
            named = {row.zone for row in body.zones} | {one.zone for one in body.findings or ()}
            if zone_id in named and not place.seen_by(body.means) and self.around.is_after(item):
                yield item

    def _named(self, around: Around, finding: FindingFacts) -> bool:
        """Whether the finding names the incident, or what opened it in one of its zones does."""
        if self.incident.id in finding.attribution:
            return True
        return finding.zone in self.incident.zones and finding.opened in around.naming

    # The whole incident

    def _first(self, items: Iterable[Item]) -> Item | None:
        """The first entry that names the incident and did not end before it."""
        around = self.around
        able = [i for i in items if i.seq in around.naming and not around.wholly_before(i)]
        return min(able, key=lambda item: (item.time.latest, item.seq), default=None)

    def _covered(self) -> Counted | None:
        first = self._first(item for item, _ in self.history.of(Cover))
        if first is None:
            return None
        return Counted(first.seq, minutes_apart(self.around.counted, first.time))

    def _notice(self) -> Counted | None:
        first = self._first(
            item
            for item, body in self.history.of(Notice)
            if body.direction == "sent" and body.type is NoticeType.LOSS
        )
        return (
            None
            if first is None
            else Counted(first.seq, days_apart(self.around.dates, first.bounds))
        )

    def _last_routine_look(self) -> Counted | None:
        looks = [self.around.looks(zone_id).last_routine for zone_id in self.incident.zones]
        last = max(filter(None, looks), key=_ended, default=None)
        return (
            None if last is None else Counted(last.seq, days_apart(last.bounds, self.around.dates))
        )

    def _rules(self) -> tuple[RuleUnder, ...]:
        """Each rule on time and up to the window; those it took the place of are counted in."""
        begins = self.around.begins or self.around.window.latest
        overs: dict[str, list[Pair]] = {}
        kept: dict[str, list[Met]] = {}
        for covering in self.coverings:
            rule = covering.ruled.rule
            if rule.required:
                measured = over_on_time(covering, begins)
                overs.setdefault(rule.id, []).extend(measured)
                kept.setdefault(rule.id, []).extend([met(measured)] if measured else [])
        return tuple(
            RuleUnder(name, together(kept[name]) or Met.UNCLEAR, most(overs[name]))
            for name in overs
        )

    def _later(
        self, zones: Sequence[ZoneUnderIncident], first_after: Look | None
    ) -> tuple[tuple[str, Pair], ...]:
        """Findings in the same zones, or related, first seen after the first look after."""
        if first_after is None:
            return ()
        found = {finding_id for zone in zones for finding_id in zone.found}
        named = {zone.zone for zone in zones}
        return tuple(
            (finding.id, days_apart(self.around.dates, finding.sightings[0].item.bounds))
            for finding in self.findings
            if finding.id not in found
            and (finding.zone in named or found & set(finding.related))
            and finding.first_seen.span.latest > first_after.item.time.latest
        )


def _ended(look: Item | Look) -> tuple[datetime, int]:
    item = look.item if isinstance(look, Look) else look
    return item.time.latest, item.seq


def _costs(history: History, incident: Incident) -> tuple[tuple[str, str], ...]:
    totals: dict[str, Decimal] = {}
    for item, body in history.of(Cost):
        if incident.id in item.incidents:
            totals[body.currency] = totals.get(body.currency, Decimal(0)) + Decimal(body.amount)
    return tuple((currency, format(total, "f")) for currency, total in sorted(totals.items()))


def _weather(history: History, incident: Incident) -> Weather | None:
    reports = [body for _, body in history.of(Weather) if body.incident == incident.id]
    return reports[-1] if reports else None

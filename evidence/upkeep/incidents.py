"""An incident: what the looks around it say, and nothing about its cause (OUTPUTS § 2)."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from evidence.entries import Cost, Cover, Incident, Inspection, Notice, Weather
from evidence.times import Basis, Pair, Span, days_apart, minutes_apart, parse_when
from evidence.trade import Catalogue
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.gaps import PERIODIC, Met, met, worst_zone, zone_rows
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.words import Grade, Known, Occasion


@dataclass(frozen=True, slots=True)
class Look:
    """One look at one zone, counted from the incident's window."""

    seq: int
    item: Item
    grade: int
    days: Pair
    support: str | None


@dataclass(frozen=True, slots=True)
class ZoneUnderIncident:
    """One zone that an incident names.

    A look that straddles the window, or that was logged only afterwards, is listed and not used.
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
    history: History, findings: Sequence[FindingFacts], catalogue: Catalogue
) -> tuple[IncidentFacts, ...]:
    """Every incident of the record; a later entry of the same id restates it."""
    latest = {body.id: (item, body) for item, body in history.of(Incident)}
    return tuple(
        _measure(history, findings, catalogue, item, body) for item, body in latest.values()
    )


def incident_window(
    history: History, item: Item, incident: Incident, findings: Sequence[FindingFacts]
) -> Span:
    """The stated window; for `found-later` cut by the onsets of what was found.

    Those are the findings that name the incident, and those first seen in its zones by a look that
    names it. An onset that shares nothing with the window does not cut it.
    """
    stated = parse_when(incident.when, item.home).cut_at(item.entry.logged)
    if incident.known is not Known.FOUND_LATER:
        return stated
    for finding in findings:
        if not _names(history, finding, incident):
            continue
        common = stated.meet(Span(*finding.onset, Basis.STATED))
        if common is not None:
            stated = replace(stated, earliest=common[0], latest=common[1])
    return stated


def _names(history: History, finding: FindingFacts, incident: Incident) -> bool:
    if incident.id in finding.attribution:
        return True
    opener = next(item for item in history.items if item.seq == finding.opened)
    return finding.zone in incident.zones and incident.id in _incidents_of(opener)


def _incidents_of(item: Item) -> Sequence[str]:
    return getattr(item.body, "incidents", None) or ()


def _measure(
    history: History,
    findings: Sequence[FindingFacts],
    catalogue: Catalogue,
    item: Item,
    incident: Incident,
) -> IncidentFacts:
    window = incident_window(history, item, incident, findings)
    around = _Around(history, window, incident)
    zones = tuple(_zone(around, findings, zone_id) for zone_id in incident.zones)
    routine = [
        look
        for look in around.all_before()
        if isinstance(look.item.body, Inspection) and look.item.body.occasion is Occasion.ROUTINE
    ]
    after = [zone.after for zone in zones if zone.after is not None]
    first_after = min(after, key=lambda look: (look.item.time.latest, look.seq), default=None)
    return IncidentFacts(
        id=incident.id,
        item=item,
        incident=incident,
        window=window,
        zones=zones,
        covered=_covered(history, incident, window),
        notice=_notice(history, incident, around),
        last_routine_look=_last(routine),
        first_look_after=None
        if first_after is None
        else Counted(first_after.seq, first_after.days),
        rules=_rules(history, catalogue, around),
        later=_later(findings, zones, around, first_after),
        costs=_costs(history, incident),
        weather=_weather(history, incident),
    )


def _last(looks: Sequence[Look]) -> Counted | None:
    last = max(looks, key=lambda look: (look.item.time.latest, look.seq), default=None)
    return None if last is None else Counted(last.seq, last.days)


class _Around:
    """The looks around one window, sorted into before, claimed before, straddling and after."""

    def __init__(self, history: History, window: Span, incident: Incident) -> None:
        self.history = history
        self.window = window
        self.incident = incident
        self.dates = window.days(history.home)

    @property
    def begins(self) -> datetime:
        """The window's earliest; where only "not after" is known, its latest."""
        return self.window.latest if self.window.earliest is None else self.window.earliest

    def looks(self, zone_id: str) -> list[tuple[Item, Inspection]]:
        return self.history.looks_at(zone_id)

    def is_after(self, item: Item) -> bool:
        """A look that names the incident, or that began when the window had ended."""
        earliest = item.time.earliest
        return self.incident.id in _incidents_of(item) or (
            earliest is not None and earliest >= self.window.latest
        )

    def ended_before(self, item: Item) -> bool:
        if self.is_after(item) or self.window.earliest is None:
            return False
        # The look that cuts a found-later window starts it: it counts as before.
        return item.time.latest <= self.begins or self._cuts(item)

    def _cuts(self, item: Item) -> bool:
        return (
            self.incident.known is Known.FOUND_LATER and item.time.earliest == self.window.earliest
        )

    def is_before(self, item: Item) -> bool:
        """Ended by the window's earliest and logged, with every correction, before it."""
        if not self.ended_before(item):
            return False
        logged_before = item.settled_at <= self.begins
        return logged_before or (self._cuts(item) and item.within_24h and not item.corrected_by)

    def look(self, item: Item, body: Inspection, zone_id: str) -> Look:
        after = self.is_after(item)
        days = days_apart(self.dates, item.dates) if after else days_apart(item.dates, self.dates)
        support = None
        if not after:
            vouched = self.history.vouched_before(item.seq, self.window.earliest)
            support = "witnessed-before" if vouched else "own-clock-before"
        grade = next(int(row.grade) for row in body.zones if row.zone == zone_id)
        return Look(item.seq, item, grade, days, support)

    def all_before(self) -> list[Look]:
        return [
            self.look(item, body, zone_id)
            for zone_id in self.incident.zones
            for item, body in self.looks(zone_id)
            if self.is_before(item)
        ]


def _zone(around: _Around, findings: Sequence[FindingFacts], zone_id: str) -> ZoneUnderIncident:
    looks = around.looks(zone_id)
    before = [pair for pair in looks if around.is_before(pair[0])]
    after = [pair for pair in looks if around.is_after(pair[0])]
    last = None if not before else around.look(*before[-1], zone_id)
    first = None if not after else around.look(*after[0], zone_id)
    here = [finding for finding in findings if finding.zone == zone_id]
    open_before = [finding for finding in here if finding.open_at(around.begins)]
    found = [
        finding.id
        for finding in here
        if first is not None and finding not in open_before and finding.first_seen.seq == first.seq
    ]
    return ZoneUnderIncident(
        zone=zone_id,
        before_state=_before_state(last, open_before),
        after_state="not-looked-at" if first is None else "finding" if found else "none",
        before=last,
        after=first,
        open_before=tuple(finding.id for finding in open_before),
        found=tuple(found),
        claimed_before=tuple(
            item.seq
            for item, _ in looks
            if around.ended_before(item) and not around.is_before(item)
        ),
        straddling=tuple(
            item.seq
            for item, _ in looks
            if not around.ended_before(item) and not around.is_after(item)
        ),
    )


def _before_state(last: Look | None, open_before: Sequence[FindingFacts]) -> str:
    if last is None:
        return "unknown"
    stood_open = any(finding.grade >= Grade.MAINTAIN for finding in open_before)
    return "open" if stood_open or last.grade >= Grade.MAINTAIN else "sound"


def _covered(history: History, incident: Incident, window: Span) -> Counted | None:
    covers = [item for item, body in history.of(Cover) if incident.id in (body.incidents or ())]
    first = min(covers, key=lambda item: (item.time.latest, item.seq), default=None)
    return None if first is None else Counted(first.seq, minutes_apart(window, first.time))


def _notice(history: History, incident: Incident, around: _Around) -> Counted | None:
    sent = [
        item
        for item, body in history.of(Notice)
        if body.direction == "sent" and incident.id in (body.incidents or ())
    ]
    first = min(sent, key=lambda item: (item.time.latest, item.seq), default=None)
    return None if first is None else Counted(first.seq, days_apart(around.dates, first.dates))


def _rules(history: History, catalogue: Catalogue, around: _Around) -> tuple[RuleUnder, ...]:
    counted = []
    for item, rule in history.rules():
        if not rule.required or rule.task not in PERIODIC:
            continue
        up_to = around.begins.astimezone(history.home).date()
        rows = zone_rows(history, item, rule, catalogue, on_time=True, up_to=up_to)
        worst = worst_zone(rows)
        counted.append(RuleUnder(rule.id, met(rows), (0, 0) if worst is None else worst.over))
    return tuple(counted)


def _later(
    findings: Sequence[FindingFacts],
    zones: Sequence[ZoneUnderIncident],
    around: _Around,
    first_after: Look | None,
) -> tuple[tuple[str, Pair], ...]:
    """Findings in the same zones, or related, first seen after the first look after."""
    if first_after is None:
        return ()
    found = {finding_id for zone in zones for finding_id in zone.found}
    named = {zone.zone for zone in zones}
    rows = []
    for finding in findings:
        seen = finding.first_seen
        tied = finding.zone in named or found & set(finding.related)
        if tied and finding.id not in found and seen.span.latest > first_after.item.time.latest:
            days = days_apart(around.dates, seen.span.days(around.history.home))
            rows.append((finding.id, days))
    return tuple(rows)


def _costs(history: History, incident: Incident) -> tuple[tuple[str, str], ...]:
    totals: dict[str, Decimal] = {}
    for _, body in history.of(Cost):
        if incident.id in (body.incidents or ()):
            totals[body.currency] = totals.get(body.currency, Decimal(0)) + Decimal(body.amount)
    return tuple((currency, str(total)) for currency, total in sorted(totals.items()))


def _weather(history: History, incident: Incident) -> Weather | None:
    reports = [body for _, body in history.of(Weather) if body.incident == incident.id]
    return reports[-1] if reports else None

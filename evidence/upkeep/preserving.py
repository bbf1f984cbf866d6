"""What an entry would take away while an incident stands open, and what is not on record yet.

A wash takes hail spatter away, or the bark and sap in a scrape; a reseal or a lasting repair the
torn edge and the old bead; throwing it away, the part (TRADE §§ 6, 7). Covering and drying out
protect and are never held up. What an earlier entry took away is gone, and not warned of again.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from evidence.entries import Body, Custody, Inspection, Notice, Photos, Repair, Reseal, Wash
from evidence.times import Span, parse_when
from evidence.trade import Catalogue
from evidence.upkeep.findings import FindingFacts, measure_findings
from evidence.upkeep.gaps import coverings
from evidence.upkeep.history import History
from evidence.upkeep.incidents import IncidentFacts, measure_incidents
from evidence.upkeep.items import Item, Picture
from evidence.words import Cause, CustodyAction, FileRole, NoticeType, RepairWork, Role

PHOTO_SET = (FileRole.WIDE, FileRole.MIDDLE, FileRole.CLOSE, FileRole.CLOSE_SCALE)
"""The pictures that show a zone (TRADE § 3)."""

_NEAR = (FileRole.CLOSE, FileRole.CLOSE_SCALE)
_SPATTER_TYPE = "D24"  # hail spatter, dents, fractures (TRADE § 4)
_SPATTER_SEEN = "hail-"
_SPATTER_SPOT = "spatter"


class Lost(StrEnum):
    """What an entry takes away."""

    SPATTER = "spatter"
    GROOVE = "groove"
    EDGE = "edge"
    PART = "part"


WARNED = "Shown before the next entry, which was written all the same."
"""How the note begins that keeps a warning; by these words the record is read, too."""

_WASHED_OFF = {Cause.HAIL: Lost.SPATTER} | dict.fromkeys(
    (Cause.BRANCH, Cause.DEBRIS, Cause.IMPACT, Cause.ICE), Lost.GROOVE
)
_WHOLE_SURFACE = (RepairWork.RECOAT, RepairWork.NEW_ROOF)


def taken_by_wash(cause: Cause) -> Lost | None:
    """What a wash takes away of an incident of that stated cause (TRADE § 6)."""
    return _WASHED_OFF.get(cause)


def is_lasting(body: Body | None) -> bool:
    """Whether it is a reseal or a repair that takes the torn edge and the old bead away."""
    dried = isinstance(body, Repair) and body.what is RepairWork.DRY_OUT
    return isinstance(body, Reseal | Repair) and not dried


def set_aside(history: History) -> Iterator[tuple[Item, str, Item]]:
    """Every warning that was shown and written down: its entry, its words, and the next entry."""
    for item, body in history.of(Photos):
        deed = history.item(item.seq + 1)
        if deed is not None and body.note is not None and body.note.startswith(WARNED):
            yield item, body.note, deed


def insurer_saw(
    history: History, findings: Sequence[FindingFacts], facts: IncidentFacts, deed: Span
) -> bool:
    """Whether an insurer had answered in the incident's name, or looked at it, by a deed."""
    return _Weighed(history, findings, facts, deed).adjuster_has_seen


@dataclass(frozen=True, slots=True)
class ZonePictures:
    """The pictures of a zone that are not on record yet."""

    zone: str
    roles: tuple[FileRole, ...]


@dataclass(frozen=True, slots=True)
class AtRisk:
    """What an entry would take away of one incident, and what is missing before it may.

    Attributes:
        incident: its id.
        lost: what the entry takes away.
        zones: pictures of the zones that it touches.
        spatter: a close picture of the spatter is missing.
        part: pictures of the part itself.
        adjuster: no insurer has answered, nor looked at it.
    """

    incident: str
    lost: Lost
    zones: tuple[ZonePictures, ...] = ()
    spatter: bool = False
    part: tuple[FileRole, ...] = ()
    adjuster: bool = False

    @property
    def missing(self) -> bool:
        """Whether anything is."""
        return bool(self.zones or self.spatter or self.part or self.adjuster)


def what_is_at_risk(history: History, catalogue: Catalogue, body: Body) -> tuple[AtRisk, ...]:
    """What would be lost with an entry before it is pictured, one row for each incident.

    An incident stands open while something found after it, or in its name, is not settled, or while
    one of its zones has not been looked at since. A part that the record ties to an incident is
    kept beyond that, until an insurer has answered. What was certainly done before an incident
    takes nothing of it away.

    Args:
        history: the record as it is.
        catalogue: the words of the trade.
        body: the body of the entry that is to be written; the pictures handed in with it do not
            count, for nothing says that they were taken before the deed.

    Returns:
        The incidents of which something is missing; empty for every kind that takes nothing away.
    """
    if not isinstance(body, Wash | Reseal | Repair | Custody):
        return ()
    findings = measure_findings(history, catalogue)
    incidents = measure_incidents(history, findings, catalogue, coverings(history, catalogue))
    done = parse_when(body.when, history.home)
    weighed = (_Weighed(history, findings, facts, done).risk(body) for facts in incidents)
    return tuple(risk for risk in weighed if risk is not None and risk.missing)


@dataclass(frozen=True)  # without slots: what is asked for often is worked out once
class _Weighed:
    """One incident against one deed."""

    history: History
    findings: Sequence[FindingFacts]
    facts: IncidentFacts
    done: Span

    def risk(self, body: Wash | Reseal | Repair | Custody) -> AtRisk | None:
        begins = self.facts.window.earliest
        if begins is not None and self.done.latest < begins:
            return None
        if isinstance(body, Custody):
            return self._part(body)
        touched = [z for z in self._zones if body.zones == "all" or z in body.zones]
        if not touched or not self._stands_open:
            return None
        if isinstance(body, Wash):
            return self._wash([zone for zone in touched if zone not in self._washed])
        touched = [zone for zone in touched if not self._mended(zone)]
        if not touched or not is_lasting(body):
            return None
        return AtRisk(
            self.facts.id,
            Lost.EDGE,
            zones=self._not_pictured(touched),
            adjuster=not self.adjuster_has_seen,
        )

    def _wash(self, touched: Sequence[str]) -> AtRisk | None:
        lost = taken_by_wash(self.facts.incident.stated_cause)
        if lost is None or not touched:
            return None
        if lost is Lost.GROOVE:
            return AtRisk(self.facts.id, lost, zones=self._not_pictured(touched))
        return self._spatter(touched)

    def _spatter(self, touched: Sequence[str]) -> AtRisk:
        pictured = any(
            picture.file.zone in touched
            and picture.file.role in _NEAR
            and self._of_spatter(picture)
            for picture in self._pictures
        )
        zones = self._not_pictured(touched)
        return AtRisk(self.facts.id, Lost.SPATTER, zones=zones, spatter=not pictured)

    def _part(self, body: Custody) -> AtRisk | None:
        if body.action is not CustodyAction.DISCARDED:
            return None
        earlier = [
            item
            for item, custody in self.history.of(Custody)
            if custody.item.casefold() == body.item.casefold()
        ]
        tied = set(body.incidents or ()).union(*(item.incidents for item in earlier))
        if self.facts.id not in tied if tied else not self._stands_open:
            return None
        shown = {
            picture.file.role
            for item in earlier
            for picture in item.pictures
            if self._seen(picture)
        }
        part = tuple(role for role in _NEAR if role not in shown)
        return AtRisk(self.facts.id, Lost.PART, part=part, adjuster=not self.adjuster_has_seen)

    # What is gone already

    def _took(self, item: Item) -> bool:
        """Whether an entry of the record was done after the incident and ahead of this deed."""
        begins, ended = self.facts.window.latest, item.time.latest
        return ended >= begins and ended <= self.done.latest

    @cached_property
    def _washed(self) -> frozenset[str]:
        """The zones of which an earlier wash, or a new surface, took everything loose."""
        gone: set[str] = set()
        for item, washed in self.history.of(Wash):
            if self._took(item):
                gone.update(self._zones if washed.zones == "all" else washed.zones)
        for item, repair in self.history.of(Repair):
            if repair.what in _WHOLE_SURFACE and self._took(item):
                gone.update(repair.zones)
        return frozenset(gone)

    def _mended(self, zone_id: str) -> bool:
        """Whether earlier work took the edge, and nothing more of it was found there since."""
        work = [(item, body.zones) for item, body in self.history.of(Reseal)]
        work += [(item, body.zones) for item, body in self.history.of(Repair) if is_lasting(body)]
        done = [i.time.latest for i, zones in work if zone_id in zones and self._took(i)]
        return bool(done) and not any(
            one.state == "open" and one.zone == zone_id and one.first_seen.span.latest > max(done)
            for one in self._left
        )

    # The incident

    @cached_property
    def _left(self) -> list[FindingFacts]:
        """What was found after it, or names it."""
        found = {name for zone in self.facts.zones for name in zone.found}
        return [f for f in self.findings if f.id in found or self.facts.id in f.attribution]

    @cached_property
    def _zones(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys((*self.facts.incident.zones, *(f.zone for f in self._left))))

    @cached_property
    def _stands_open(self) -> bool:
        today = self.history.on
        return any(finding.state == "open" for finding in self._left) or any(
            zone.after_state == "not-looked-at" and self.history.place(zone.zone).there_on(today)
            for zone in self.facts.zones
        )

    @cached_property
    def adjuster_has_seen(self) -> bool:
        """An insurer answered in its name, or looked at one of its zones after it."""
        answered = any(
            body.direction == "received"
            and body.type in (NoticeType.REPLY, NoticeType.DENIAL)
            and self.facts.id in item.incidents
            and self._between(item.time)
            for item, body in self.history.of(Notice)
        )
        return answered or any(
            self._by_insurer(item)
            and any(row.zone in self._zones for row in body.zones)
            and self._between(item.time)
            for item, body in self.history.of(Inspection)
        )

    def _by_insurer(self, item: Item) -> bool:
        party = self.history.parties().get(item.entry.by)
        return party is not None and party.role is Role.INSURER

    # Its pictures

    def _not_pictured(self, zones: Sequence[str]) -> tuple[ZonePictures, ...]:
        shown = {(picture.file.zone, picture.file.role) for picture in self._pictures}
        rows = (
            ZonePictures(zone, tuple(role for role in PHOTO_SET if (zone, role) not in shown))
            for zone in zones
        )
        return tuple(row for row in rows if row.roles)

    @cached_property
    def _pictures(self) -> tuple[Picture, ...]:
        """Those that show what the incident left: taken since it, and before the deed."""
        return tuple(self._since())

    def _since(self) -> Iterator[Picture]:
        for item, picture in self.history.pictures():
            span = picture.capture.span or item.span
            if span is not None and not self._between(span):
                continue
            named = self.facts.id in {*item.incidents, *(picture.file.incidents or ())}
            if named or (span is not None and self._began_since(span)):
                yield picture

    def _began_since(self, span: Span) -> bool:
        begins, began = self.facts.window.earliest, span.earliest
        return begins is not None and began is not None and began >= begins

    def _seen(self, picture: Picture) -> bool:
        """A picture of a part counts unless its clock puts it before the incident."""
        return picture.capture.span is None or self._between(picture.capture.span)

    def _between(self, span: Span) -> bool:
        """Neither certainly before the incident nor certainly after the deed."""
        begins = self.facts.window.earliest
        before = begins is not None and span.latest < begins
        after = span.earliest is not None and span.earliest > self.done.latest
        return not before and not after

    def _of_spatter(self, picture: Picture) -> bool:
        named = next((f for f in self.findings if f.id == picture.file.finding), None)
        if named is not None:
            seen = named.finding.seen or ()
            if named.type == _SPATTER_TYPE or any(key.startswith(_SPATTER_SEEN) for key in seen):
                return True
        return _SPATTER_SPOT in (picture.file.spot or "").casefold()

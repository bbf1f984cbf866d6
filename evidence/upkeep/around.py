"""The looks around an incident's window: before, claimed before, straddling, after (OUTPUTS § 2).

What was there before an incident is read from the record as it stood when the incident began. An
entry written, corrected or withdrawn afterwards takes nothing away from that.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from evidence.entries import Correction, Deed, Incident, Inspection
from evidence.times import Basis, Pair, Span, days_apart, local_day
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.history import History
from evidence.upkeep.items import Dates, Item, bounds, earliest_day

LookAt = tuple[Item, Inspection]


@dataclass(frozen=True, slots=True)
class Look:
    """One look at one zone, counted from the incident's window.

    `grade` is that of the zone, never below its gravest finding that stood open then; of a look
    before that was corrected afterwards, the graver of what it said then and says now.
    """

    seq: int
    item: Item
    grade: int
    days: Pair
    support: str | None


@dataclass(frozen=True, slots=True)
class Window:
    """An incident's window, and the looks that cut it (kind `found-later` alone)."""

    span: Span
    cut_by: frozenset[int] = frozenset()


def names(item: Item, incident: Incident) -> bool:
    """Whether an entry names the incident, itself or in what it says of a finding."""
    named = set(getattr(item.body, "incidents", None) or ())
    if isinstance(item.body, Deed):
        for finding in item.body.findings or ():
            named.update(finding.attribution or () if finding.attribution != "undetermined" else ())
    return incident.id in named


class Around:
    """The looks around one window."""

    def __init__(self, history: History, item: Item, incident: Incident, window: Window) -> None:
        self.history = history
        self.item = item
        self.incident = incident
        self.window = window.span
        self.cut_by = window.cut_by
        self._then: dict[str, dict[int, LookAt]] = {}

    @cached_property
    def dates(self) -> Dates:
        """The first and the last day to count from; see `Item.bounds`."""
        return bounds(self.window, self.item.rig)

    @cached_property
    def counted(self) -> Span:
        """The window with both ends, for counting minutes."""
        if self.window.earliest is not None:
            return self.window
        first = local_day(min(earliest_day(self.item.rig), self.dates[1]), self.item.home)[0]
        return Span(min(first, self.window.latest), self.window.latest, Basis.STATED)

    @property
    def begins(self) -> datetime | None:
        """The window's earliest; None where nothing is known to lie before it."""
        return self.window.earliest

    @cached_property
    def stood(self) -> History | None:
        """The record as it stood when the window began."""
        return None if self.begins is None else self.history.as_it_stood(self.begins, self.item.seq)

    @cached_property
    def retold(self) -> bool:
        """Whether anything was corrected or withdrawn since."""
        stood = self.stood
        return stood is not None and any(
            stood.item(item.seq) is None
            for item in self.history.items
            if isinstance(item.body, Correction)
        )

    def _ended(self, item: Item) -> bool:
        return self.begins is not None and item.time.latest <= self.begins

    def wholly_before(self, item: Item) -> bool:
        """Whether an entry's time had ended when the window began."""
        return self.begins is not None and item.time.latest < self.begins

    def is_after(self, item: Item) -> bool:
        """A look that names the incident, or that began when the window had ended."""
        if self.wholly_before(item):
            return False
        earliest = item.time.earliest
        return names(item, self.incident) or (
            earliest is not None and earliest >= self.window.latest
        )

    def ended_before(self, item: Item) -> bool:
        """Ended by the window's earliest, or the very look that cut it there."""
        return not self.is_after(item) and (self._ended(item) or item.seq in self.cut_by)

    def looks_then(self, zone_id: str) -> dict[int, LookAt]:
        """The looks before the window by their seq, as they stood when it began.

        The look that cut the window stands if it was logged within 24 h of itself (OUTPUTS § 5).
        """
        if zone_id not in self._then:
            stood = [] if self.stood is None else self.stood.looks_at(zone_id)
            ended = [look for look in stood if self._ended(look[0])]
            cutting = [
                look
                for look in self.history.looks_at(zone_id)
                if look[0].seq in self.cut_by and look[0].within_24h and not look[0].changes
            ]
            self._then[zone_id] = {look[0].seq: look for look in (*ended, *cutting)}
        return self._then[zone_id]

    def is_before(self, item: Item, zone_id: str) -> bool:
        """Ended by the window's earliest, and was on record then."""
        return self.ended_before(item) and item.seq in self.looks_then(zone_id)

    def changed_since(self, zone_id: str) -> list[LookAt]:
        """Looks before that were corrected or withdrawn since, as they stood."""
        changed = []
        for then, body in self.looks_then(zone_id).values():
            now = self.history.item(then.seq)
            if now is None or now.withdrawn_by is not None or now.body != body:
                changed.append((then, body))
        return changed

    def before(self, item: Item, zone_id: str, findings: Sequence[FindingFacts]) -> Look:
        """A look before, with the graver of its grades."""
        then, body = self.looks_then(zone_id)[item.seq]
        grade = max(seen_grade(item, zone_id, findings), stated_grade(body, zone_id))
        vouched = self.history.vouched_before(max([then.seq, *then.corrected_by]), self.begins)
        support = "witnessed-before" if vouched else "own-clock-before"
        return Look(item.seq, item, grade, days_apart(item.bounds, self.dates), support)

    def after(self, item: Item, zone_id: str, findings: Sequence[FindingFacts]) -> Look:
        """A look after."""
        grade = seen_grade(item, zone_id, findings)
        return Look(item.seq, item, grade, days_apart(self.dates, item.bounds), None)


def stated_grade(body: Inspection, zone_id: str) -> int:
    """The grade that a look gave the zone."""
    return max(int(row.grade) for row in body.zones if row.zone == zone_id)


def seen_grade(item: Item, zone_id: str, findings: Sequence[FindingFacts]) -> int:
    """The grade of a zone at a look, never below its gravest finding open then (RECORD § 4)."""
    moment = item.time.latest
    graves = [
        finding.grade_at(moment)
        for finding in findings
        if finding.zone == zone_id and finding.open_at(moment)
    ]
    own = [stated_grade(item.body, zone_id)] if isinstance(item.body, Inspection) else []
    return max([*own, *graves], default=0)

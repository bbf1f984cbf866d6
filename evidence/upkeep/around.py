"""The looks around an incident's window: before, claimed before, straddling, after (OUTPUTS § 2).

What was there before an incident is read from the record as it stood when the incident began. An
entry written, corrected or withdrawn afterwards takes nothing away from that.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property

from evidence.entries import Incident, Inspection
from evidence.times import Basis, Pair, Span, days_apart, local_day
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.history import History
from evidence.upkeep.items import Dates, Item, bounds, earliest_day
from evidence.upkeep.stood import AsItStood, as_it_stood

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


@dataclass(frozen=True, slots=True)
class ZoneLooks:
    """The looks at one zone, each in one of four lists, in the order in which they ended.

    `then` are the looks before as the record had them when the window began, by their seq;
    `changed` are those among them that were corrected or withdrawn since.
    """

    before: list[Item] = field(default_factory=list)
    claimed: list[Item] = field(default_factory=list)
    straddling: list[Item] = field(default_factory=list)
    after: list[Item] = field(default_factory=list)
    then: dict[int, LookAt] = field(default_factory=dict)
    changed: list[LookAt] = field(default_factory=list)


class Around:
    """The looks around one window."""

    def __init__(self, history: History, item: Item, incident: Incident, window: Window) -> None:
        self.history = history
        self.item = item
        self.window = window.span
        self.cut_by = window.cut_by
        self.naming = history.naming(incident.id)
        self._zones: dict[str, ZoneLooks] = {}

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
    def stood(self) -> AsItStood | None:
        """The record as it stood when the window began."""
        if self.begins is None:
            return None
        return as_it_stood(self.history, self.begins, self.item.seq)

    # Entries in time

    def wholly_before(self, item: Item) -> bool:
        """Whether an entry's time had ended when the window began."""
        return self.begins is not None and item.time.latest < self.begins

    def is_after(self, item: Item) -> bool:
        """An entry that names the incident, or that began when the window had ended."""
        if self.wholly_before(item):
            return False
        earliest = item.time.earliest
        began_behind = earliest is not None and earliest >= self.window.latest
        return began_behind or item.seq in self.naming

    def ended_before(self, item: Item) -> bool:
        """Ended by the window's earliest, or the very look that cut it there."""
        ended = self.begins is not None and item.time.latest <= self.begins
        return ended or item.seq in self.cut_by

    # Looks at a zone

    def looks(self, zone_id: str) -> ZoneLooks:
        """The looks at a zone, sorted into before, claimed, straddling and after."""
        if zone_id not in self._zones:
            self._zones[zone_id] = self._sorted(zone_id)
        return self._zones[zone_id]

    def _sorted(self, zone_id: str) -> ZoneLooks:
        present = self.history.looks_at(zone_id)
        then = self._then(zone_id)
        looks = ZoneLooks(then=then, changed=self._changed(then))
        ahead = 0 if self.begins is None else bisect_left(present, self.begins, key=_ended)
        for item, _ in present[:ahead]:
            (looks.before if item.seq in then else looks.claimed).append(item)
        for item, _ in present[ahead:]:
            if self.is_after(item):
                looks.after.append(item)
            elif not self.ended_before(item):
                looks.straddling.append(item)
            else:
                (looks.before if item.seq in then else looks.claimed).append(item)
        return looks

    def _then(self, zone_id: str) -> dict[int, LookAt]:
        """The look that cut the window counts if it was logged within 24 h of itself (§ 5)."""
        then: list[LookAt] = []
        if self.stood is not None and self.begins is not None:
            stood = self.stood.looks_at(zone_id)
            then += stood[: bisect_right(stood, self.begins, key=_ended)]
        if self.cut_by:
            for item, body in self.history.looks_at(zone_id):
                if item.seq in self.cut_by and item.within_24h and not item.changes:
                    then.append((item, body))
        return {item.seq: (item, body) for item, body in then}

    def _changed(self, then: dict[int, LookAt]) -> list[LookAt]:
        if self.stood is None or not self.stood.retold:
            return []
        changed = []
        for look in then.values():
            now = self.history.item(look[0].seq)
            if now is None or now.withdrawn_by is not None or now.body != look[1]:
                changed.append(look)
        return changed

    def before(self, item: Item, zone_id: str, findings: Sequence[FindingFacts]) -> Look:
        """A look before, with the graver of its grades."""
        then, body = self.looks(zone_id).then[item.seq]
        grade = max(seen_grade(item, zone_id, findings), stated_grade(body, zone_id))
        held = max([then.seq, *then.corrected_by])
        vouched = self.history.vouched_before(held, self.begins)
        support = "witnessed-before" if vouched else "own-clock-before"
        return Look(item.seq, item, grade, days_apart(item.bounds, self.dates), support)

    def after(self, item: Item, zone_id: str, findings: Sequence[FindingFacts]) -> Look:
        """A look after."""
        grade = seen_grade(item, zone_id, findings)
        return Look(item.seq, item, grade, days_apart(self.dates, item.bounds), None)


def _ended(look: LookAt) -> datetime:
    return look[0].time.latest


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

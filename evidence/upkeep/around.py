"""The looks around an incident's window: before, claimed before, straddling, after (OUTPUTS § 2).

What was there before an incident is read from the record as it stood when the incident began. An
entry written, corrected or withdrawn afterwards takes nothing away from that.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from evidence.entries import Incident, Inspection
from evidence.times import Basis, Pair, Span, days_apart, local_day
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.history import History
from evidence.upkeep.items import Dates, Item, bounds, earliest_day
from evidence.upkeep.looks import LookAt, Looks
from evidence.upkeep.stood import AsItStood, as_it_stood
from evidence.words import Occasion


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
    """The looks at one zone, in the order in which they ended.

    Attributes:
        last_before: the last one before.
        last_routine: the last routine one before.
        claimed: those that ended before and were written down only afterwards.
        straddling: those of which nobody can say whether they were before or after.
        first_after: the first one after.
        changed: those before, as the record had them when the window began, that were corrected or
            withdrawn since.
    """

    last_before: Item | None
    last_routine: Item | None
    claimed: Sequence[Item]
    straddling: Sequence[Item]
    first_after: Item | None
    changed: Sequence[LookAt]


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
        """The looks at a zone, sorted by where they stand to the window."""
        if zone_id not in self._zones:
            self._zones[zone_id] = self._sorted(zone_id)
        return self._zones[zone_id]

    def _sorted(self, zone_id: str) -> ZoneLooks:
        present = self.history.looks_at(zone_id)
        ahead = 0 if self.begins is None else present.ended_before(self.begins)
        # From here on each one began when the window had ended; the few between may straddle it.
        behind = max(ahead, present.begun_from(self.window.latest))
        between = [item for item, _ in present[ahead:behind]]
        after = [item for item in between if self.is_after(item)]
        after += [item for item, _ in present[behind : behind + 1]]
        not_after = [item for item in between if not self.is_after(item)]
        # Of the first so many it is known without asking each that they stood in the record.
        sure = min(ahead, self._told_by(present))
        doubtful = [item for item, _ in present[sure:ahead]]
        doubtful += filter(self.ended_before, not_after)
        claimed = self._claimed(doubtful, zone_id)
        told_later = {item.seq for item in claimed}
        kept = [item for item in doubtful if item.seq not in told_later]

        def before() -> Iterator[Item]:
            """Those before, the last one first."""
            yield from reversed(kept)
            yield from (present[at][0] for at in range(sure - 1, -1, -1))

        return ZoneLooks(
            last_before=next(before(), None),
            last_routine=next(filter(_is_routine, before()), None),
            claimed=claimed,
            straddling=[item for item in not_after if not self.ended_before(item)],
            first_after=after[0] if after else None,
            changed=self._changed(zone_id),
        )

    def _told_by(self, looks: Looks) -> int:
        """How many of the first looks, all of them, stood in the record as they stand today."""
        if self.stood is None or self.stood.retold:
            return 0
        return looks.told_by(self.stood.moment, self.stood.size)

    def _claimed(self, ended: Sequence[Item], zone_id: str) -> list[Item]:
        """Looks that ended before and did not stand in the record when the window began.

        The look that cut the window stood there if it was logged within 24 h of itself (§ 5).
        """
        stood, told = self.stood, self._told_then(zone_id)

        def held(item: Item) -> bool:
            if stood is not None and stood.held(item) and (item.seq in told or not stood.retold):
                return True
            return item.seq in self.cut_by and item.on_time and not item.changes

        return [item for item in ended if not held(item)]

    def _told_then(self, zone_id: str) -> dict[int, LookAt]:
        """The looks that had ended, in the words of the time; empty where none was changed."""
        if self.stood is None or self.begins is None or not self.stood.retold:
            return {}
        looks = self.stood.looks_at(zone_id)
        return {look[0].seq: look for look in looks[: bisect_right(looks, self.begins, key=_ended)]}

    def _changed(self, zone_id: str) -> list[LookAt]:
        changed = []
        for look in self._told_then(zone_id).values():
            now = self.history.item(look[0].seq)
            if now is None or now.withdrawn_by is not None or now.body != look[1]:
                changed.append(look)
        return changed

    def before(self, item: Item, zone_id: str, findings: Sequence[FindingFacts]) -> Look:
        """A look before, with the graver of its grades."""
        then = self._told_then(zone_id).get(item.seq, (item, item.body))[0]
        grade = max(seen_grade(item, zone_id, findings), seen_grade(then, zone_id, ()))
        held = max([then.seq, *then.corrected_by])
        vouched = self.history.outsiders.before(held, self.begins)
        support = "witnessed-before" if vouched else "own-clock-before"
        return Look(item.seq, item, grade, days_apart(item.bounds, self.dates), support)

    def after(self, item: Item, zone_id: str, findings: Sequence[FindingFacts]) -> Look:
        """A look after."""
        grade = seen_grade(item, zone_id, findings)
        return Look(item.seq, item, grade, days_apart(self.dates, item.bounds), None)


def _is_routine(item: Item) -> bool:
    return isinstance(item.body, Inspection) and item.body.occasion is Occasion.ROUTINE


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

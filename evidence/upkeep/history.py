"""The whole record as `upkeep` sees it on one date: items, zones, brackets.

`--on` cuts by `when` and by `logged`: a history holds what had been written by the end of that day
about times not after it.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import cached_property
from typing import TypeVar
from zoneinfo import ZoneInfo

from evidence.entries import (
    Body,
    Case,
    Correction,
    Deed,
    End,
    Inspection,
    Label,
    Ownership,
    Paper,
    Party,
    Rig,
    Rule,
    Storage,
    Trip,
)
from evidence.envelope import Entry
from evidence.errors import RefusedError
from evidence.photos.place import Atlas
from evidence.times import GRACE, Span, local_day, parse_when, zone
from evidence.upkeep.behind import Behind, read_behind
from evidence.upkeep.items import Item, Picture, build_items
from evidence.upkeep.linked import Links, read_links
from evidence.upkeep.looks import LookAt, Looks
from evidence.upkeep.places import PlaceOnRoof, read_places
from evidence.upkeep.vouched import Outsiders, Vouched, counting, read_vouched
from evidence.witness import Trust
from evidence.words import Means, PaperType

B = TypeVar("B", bound=Body)

Stay = Trip | Storage | Ownership
"""What may be written down while it is still under way, and ended by a later entry."""


@dataclass(frozen=True)  # without slots: what is asked for often is worked out once
class History:
    """What had been written by the end of `on`, in order; `size` counts all of those entries.

    `atlas` looked up the zones at pictures' positions; None where that was left undone. `behind`
    are the entries that stand behind a later clock.
    """

    on: date
    items: tuple[Item, ...]
    case: Case
    rig: Rig
    places: tuple[PlaceOnRoof, ...]
    vouched: tuple[Vouched, ...]
    size: int
    atlas: Atlas | None = None
    behind: Behind = field(default_factory=dict)

    @property
    def home(self) -> ZoneInfo:
        """The zone of civil dates in force at the end."""
        return zone(self.rig.home_zone)

    # What stands

    def of(self, kind: type[B]) -> Iterator[tuple[Item, B]]:
        """The items of a kind that were not withdrawn, with their bodies, in order."""
        for item in self._by_kind.get(kind, ()):
            if isinstance(item.body, kind):
                yield item, item.body

    @cached_property
    def _by_kind(self) -> Mapping[type, list[Item]]:
        """The items that were not withdrawn, under their kind and each wider one."""
        found: dict[type, list[Item]] = defaultdict(list)
        for item in self.items:
            if item.withdrawn_by is None:
                for kind in type(item.body).__mro__:
                    found[kind].append(item)
        return dict(found)

    def in_order(self, kind: type[B]) -> Sequence[Item]:
        """The items of a kind that were not withdrawn, in order of time: by their bounds."""
        if kind not in self._in_order:
            found = [item for item, _ in self.of(kind)]
            self._in_order[kind] = sorted(found, key=lambda item: (item.bounds, item.seq))
        return self._in_order[kind]

    @cached_property
    def _in_order(self) -> dict[type, Sequence[Item]]:
        return {}

    @cached_property
    def about_findings(self) -> Sequence[tuple[Item, Deed]]:
        """The entries that open, settle or look again at findings, in the order of the chain."""
        return [
            (item, body)
            for item, body in self.of(Deed)
            if body.findings or body.settles or (isinstance(body, Inspection) and body.rechecks)
        ]

    @cached_property
    def _by_seq(self) -> Mapping[int, Item]:
        return {item.seq: item for item in self.items}

    def naming(self, incident_id: str) -> frozenset[int]:
        """The entries that name an incident, themselves or in what they say of a finding."""
        return self._naming.get(incident_id, frozenset())

    @cached_property
    def _naming(self) -> Mapping[str, frozenset[int]]:
        named: dict[str, set[int]] = defaultdict(set)
        for item in self.items:
            for incident_id in item.incidents:
                named[incident_id].add(item.seq)
        return {incident_id: frozenset(seqs) for incident_id, seqs in named.items()}

    @cached_property
    def corrections(self) -> Sequence[tuple[Item, Correction]]:
        """Every correction as first written, those withdrawn since included."""
        return [
            (item, body) for item in self.items if isinstance(body := item.entry.body, Correction)
        ]

    def item(self, seq: int) -> Item | None:
        """The entry of that place in the chain, if it had been written."""
        return self._by_seq.get(seq)

    def rules(self) -> list[tuple[Item, Rule]]:
        """Every rule in force: a later one of the same id restates the whole."""
        latest = {body.id: (item, body) for item, body in self.of(Rule)}
        return list(latest.values())

    def parties(self) -> dict[str, Party]:
        """Every party by id, as last stated."""
        return {body.id: body for _, body in self.of(Party)}

    @cached_property
    def receipted(self) -> frozenset[int]:
        """The entries that a receipt on file is about."""
        return frozenset(
            seq
            for _, paper in self.of(Paper)
            if paper.type is PaperType.RECEIPT
            for seq in paper.about or ()
        )

    @cached_property
    def places_by(self) -> str | None:
        """What looked up zones at positions, with its version; None where no zone was found so."""
        looked = any(p.capture.place is not None for item in self.items for p in item.pictures)
        return self.atlas.source if looked and self.atlas is not None else None

    def pictures(self) -> Iterator[tuple[Item, Picture]]:
        """Every file of every entry that was not withdrawn."""
        for item, _ in self.of(Body):
            for picture in item.pictures:
                yield item, picture

    def picture(self, sha256: str) -> Picture | None:
        """The file of that sum as the first entry that was not withdrawn has it."""
        return self._by_sum.get(sha256)

    @cached_property
    def _by_sum(self) -> Mapping[str, Picture]:
        found: dict[str, Picture] = {}
        for _, picture in self.pictures():
            found.setdefault(picture.file.sha256, picture)
        return found

    @cached_property
    def links(self) -> Links:
        """Which files are the originals of which copies."""
        return read_links((item.seq, label) for item, label in self.of(Label))

    # Places and the looks at them

    @cached_property
    def _place(self) -> Mapping[str, PlaceOnRoof]:
        return {place.id: place for place in self.places}

    def place(self, zone_id: str) -> PlaceOnRoof:
        """The place of that id.

        Raises:
            RefusedError: the rig has none, with the ids that it has.
        """
        if zone_id not in self._place:
            known = ", ".join(self._place)
            raise RefusedError(f"zone {zone_id!r}", "is not a zone of this rig", f"Known: {known}.")
        return self._place[zone_id]

    def looks_at(self, zone_id: str) -> Looks:
        """The looks that covered a zone, in the order in which they certainly ended.

        A look from the ground or from inside covers no zone of the roof (OUTPUTS § 2, gaps).
        """
        self.place(zone_id)
        return self._looks.get(zone_id) or Looks()

    @cached_property
    def looks(self) -> Looks:
        """Every look, in the order in which they certainly ended."""
        return Looks(
            sorted(self.of(Inspection), key=lambda look: (look[0].time.latest, look[0].seq))
        )

    @cached_property
    def zone_ids(self) -> frozenset[str]:
        """The zones that the rig has or had."""
        return frozenset(self._place)

    def seen_at(self, seq: int) -> frozenset[str]:
        """The zones that the look of that entry covered."""
        return self._seen.get(seq, frozenset())

    @cached_property
    def _seen(self) -> Mapping[int, frozenset[str]]:
        visible = {
            means: frozenset(place.id for place in self.places if place.seen_by(means))
            for means in Means
        }
        return {
            item.seq: visible[body.means].intersection([row.zone for row in body.zones])
            for item, body in self.of(Inspection)
        }

    @cached_property
    def _looks(self) -> Mapping[str, Looks]:
        found: dict[str, list[LookAt]] = defaultdict(list)
        for look in sorted(
            self.of(Inspection), key=lambda look: (look[0].time.latest, look[0].seq)
        ):
            for zone_id in self._seen[look[0].seq]:
                found[zone_id].append(look)
        return {zone_id: Looks(looks) for zone_id, looks in found.items()}

    # What lasts: trips, storages, ownerships

    @cached_property
    def _ended(self) -> Mapping[int, tuple[Item, str]]:
        """The `end` entry and its `when`, by the seq of what it ended: the last one open."""
        under_way: dict[str, int] = {}
        ended: dict[int, tuple[Item, str]] = {}
        for item, body in self.of(Body):
            if isinstance(body, Stay) and stated_end(body) is None:
                under_way[body.id] = item.seq
            elif isinstance(body, End) and body.of in under_way:
                ended[under_way.pop(body.of)] = (item, body.when)
        return ended

    def _end_of(self, item: Item, body: Stay) -> str | None:
        ended = self._ended.get(item.seq)
        return stated_end(body) or (None if ended is None else ended[1])

    def closing(self, item: Item, body: Stay) -> Span | None:
        """When a trip, a storage or an ownership ended, as far as it is known; None under way."""
        stated = stated_end(body)
        if stated is not None:
            return parse_when(stated, item.home).cut_at(item.told_at("back", "to"))
        ended = self._ended.get(item.seq)
        return None if ended is None else ended[0].time

    def trips(self) -> list[tuple[Item, Trip, str | None]]:
        """Every trip with its return, if there is one."""
        return [(item, body, self._end_of(item, body)) for item, body in self.of(Trip)]

    def storages(self) -> list[tuple[Item, Storage, str | None]]:
        """Every storage with its end, if there is one."""
        return [(item, body, self._end_of(item, body)) for item, body in self.of(Storage)]

    def ownerships(self) -> list[tuple[Item, Ownership, date | None]]:
        """Every ownership with its last day, if it ended."""
        held = []
        for item, body in self.of(Ownership):
            ended = self._end_of(item, body)
            held.append((item, body, None if ended is None else self.last_day(ended)))
        return held

    def last_day(self, when: str) -> date:
        """The last calendar date of a stated time, at home."""
        return parse_when(when, self.home).days(self.home)[1]

    def first_day(self, when: str) -> date:
        """The first calendar date of a stated time, at home."""
        return parse_when(when, self.home).days(self.home)[0]

    # What outsiders vouch for

    @cached_property
    def outsiders(self) -> Outsiders:
        """The answers that count: no other one bounds anything."""
        return counting(self.vouched)

    @cached_property
    def prompt(self) -> frozenset[int]:
        """The entries written down as things happened: on time, in their bracket."""
        dated = (item for item in self.items if item.span is not None)
        return frozenset(item.seq for item in dated if item.on_time and self.in_bracket(item))

    def in_bracket(self, item: Item) -> bool:
        """Whether the writer's clock agrees with the outsider's answer ahead of the entry."""
        not_before = self.outsiders.not_before(item.seq)
        return not_before is None or item.entry.logged + GRACE >= not_before


def stated_end(body: Stay) -> str | None:
    """The end that a trip, a storage or an ownership states itself."""
    return body.back if isinstance(body, Trip) else body.to


def read_history(
    entries: Sequence[Entry],
    *,
    on: date,
    trust: Mapping[int, Trust] | None = None,
    ends: Mapping[int, datetime] | None = None,
    atlas: Atlas | None = None,
) -> History:
    """Cut the record at the end of `on` and read what stands.

    Args:
        entries: the whole record, in order.
        on: the day on whose end the record is read.
        trust: for each witness entry (by seq) whose answer was verified, how far it is trusted;
            an answer that is not named here bounds nothing.
        ends: when the certificate of each such answer ends, where it has one.
        atlas: looks up the zones at pictures' positions; None measures without.

    Raises:
        RefusedError: there is no `case` or no `rig` by that day.
    """
    home = next((entry.body.home_zone for entry in entries if isinstance(entry.body, Rig)), None)
    if not entries or not isinstance(entries[0].body, Case) or home is None:
        raise RefusedError("the record", "has no case and rig at its start")
    _, day_ends = local_day(on, zone(home))
    written = _written_by(entries, day_ends)
    vouched = read_vouched(written, trust or {}, ends or {})
    behind = read_behind(written, counting(vouched))
    items = tuple(
        item
        for item in build_items(written, atlas, behind)
        if item.span is None or item.span.earliest is None or item.span.earliest <= day_ends
    )
    if not items:
        raise RefusedError(f"the record on {on}", "did not exist yet", "Choose a later date.")
    rigs = [(item, body) for item in items if isinstance(body := item.body, Rig)]
    standing = [(item, rig) for item, rig in rigs if item.withdrawn_by is None] or rigs[:1]
    return History(
        on=on,
        items=items,
        case=entries[0].body,
        rig=standing[-1][1],
        places=read_places(standing),
        vouched=vouched,
        size=len(written),
        atlas=atlas,
        behind=behind,
    )


def _written_by(entries: Sequence[Entry], moment: datetime) -> Sequence[Entry]:
    """The entries up to the last one logged by `moment`: what stands before it was there too.

    The order of the chain is surer than a clock that was wrong for a while (kind `clock`).
    """
    last = max((at for at, entry in enumerate(entries) if entry.logged <= moment), default=-1)
    return entries[: last + 1]

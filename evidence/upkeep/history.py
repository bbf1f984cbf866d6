"""The whole record as `upkeep` sees it on one date: items, zones, brackets.

`--on` cuts by `when` and by `logged`: a history holds what had been written by the end of that day
about times not after it.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo

from evidence.entries import (
    Body,
    Case,
    End,
    Inspection,
    Ownership,
    Party,
    Rig,
    Rule,
    Storage,
    Trip,
    Witness,
    Zone,
)
from evidence.envelope import Entry
from evidence.errors import RefusedError
from evidence.times import local_day, parse_day, parse_utc, parse_when, zone
from evidence.upkeep.items import Item, Picture, build_items
from evidence.witness import Trust
from evidence.words import ROOF_ZONES, Means

B = TypeVar("B", bound=Body)

FROM_BELOW = frozenset({Means.GROUND, Means.INSIDE})


@dataclass(frozen=True, slots=True)
class Vouched:
    """An outsider's answer inside the chain: it held the first `size` entries at `time`."""

    seq: int
    type: str
    size: int
    time: datetime
    name: str
    trust: Trust

    @property
    def counts(self) -> bool:
        """Trusted by the reader; a sample's authority counts in a sample, shown as such."""
        return self.trust in (Trust.TRUSTED, Trust.SAMPLE)


@dataclass(frozen=True, slots=True)
class PlaceOnRoof:
    """A zone of the rig and the days on which it was there."""

    zone: Zone
    since: date | None
    until: date | None

    @property
    def id(self) -> str:
        """The zone's id."""
        return self.zone.id

    @property
    def on_roof(self) -> bool:
        """One of Z01…Z24, which a look from the ground or from inside does not cover."""
        return self.zone.type in ROOF_ZONES


@dataclass(frozen=True, slots=True)
class History:
    """What had been written by the end of `on`, in order; `size` counts all of those entries."""

    on: date
    items: tuple[Item, ...]
    case: Case
    rig: Rig
    places: tuple[PlaceOnRoof, ...]
    vouched: tuple[Vouched, ...]
    size: int

    @property
    def home(self) -> ZoneInfo:
        """The zone of civil dates in force at the end."""
        return zone(self.rig.home_zone)

    def of(self, kind: type[B]) -> Iterator[tuple[Item, B]]:
        """The items of a kind that were not withdrawn, with their bodies, in order."""
        for item in self.items:
            if isinstance(item.body, kind) and item.withdrawn_by is None:
                yield item, item.body

    def rules(self) -> list[tuple[Item, Rule]]:
        """Every rule in force: a later one of the same id restates the whole."""
        latest = {body.id: (item, body) for item, body in self.of(Rule)}
        return list(latest.values())

    def parties(self) -> dict[str, Party]:
        """Every party by id, as last stated."""
        return {body.id: body for _, body in self.of(Party)}

    def place(self, zone_id: str) -> PlaceOnRoof:
        """The place of that id.

        Raises:
            RefusedError: the rig has none, with the ids that it has.
        """
        for place in self.places:
            if place.id == zone_id:
                return place
        known = ", ".join(place.id for place in self.places)
        raise RefusedError(f"zone {zone_id!r}", "is not a zone of this rig", f"Known: {known}.")

    def looks_at(self, zone_id: str) -> list[tuple[Item, Inspection]]:
        """The looks that covered a zone, by their effective time.

        A look from the ground or from inside covers no zone of the roof (OUTPUTS § 2, gaps).
        """
        on_roof = self.place(zone_id).on_roof
        found = [
            (item, body)
            for item, body in self.of(Inspection)
            if any(row.zone == zone_id for row in body.zones)
            and not (on_roof and body.means in FROM_BELOW)
        ]
        return sorted(found, key=lambda pair: (pair[0].dates, pair[0].time.latest, pair[0].seq))

    def ends(self) -> dict[str, str]:
        """When open trips, storages and ownerships ended, by their id (kind `end`)."""
        return {body.of: body.when for _, body in self.of(End)}

    def trips(self) -> list[tuple[Item, Trip, str | None]]:
        """Every trip with its return, if there is one."""
        ends = self.ends()
        latest = {body.id: (item, body) for item, body in self.of(Trip)}
        return [(item, body, body.back or ends.get(body.id)) for item, body in latest.values()]

    def storages(self) -> list[tuple[Item, Storage, str | None]]:
        """Every storage with its end, if there is one."""
        ends = self.ends()
        latest = {body.id: (item, body) for item, body in self.of(Storage)}
        return [(item, body, body.to or ends.get(body.id)) for item, body in latest.values()]

    def ownerships(self) -> list[tuple[Item, Ownership, date | None]]:
        """Every ownership with its last day, if it ended."""
        ends = self.ends()
        latest = {body.id: (item, body) for item, body in self.of(Ownership)}
        held = []
        for item, body in latest.values():
            ended = body.to or ends.get(body.id)
            held.append((item, body, None if ended is None else self.last_day(ended)))
        return held

    def last_day(self, when: str) -> date:
        """The last calendar date of a stated time, at home."""
        return parse_when(when, self.home).days(self.home)[1]

    def first_day(self, when: str) -> date:
        """The first calendar date of a stated time, at home."""
        return parse_when(when, self.home).days(self.home)[0]

    def not_before(self, seq: int) -> datetime | None:
        """The latest outsider's answer that the chain holds ahead of entry `seq`."""
        ahead = [answer.time for answer in self.vouched if answer.seq < seq]
        return ahead[-1] if ahead else None

    def not_after(self, seq: int) -> datetime | None:
        """The first outsider's answer over a head that holds entry `seq`."""
        return next((answer.time for answer in self.vouched if answer.size > seq), None)

    def vouched_before(self, seq: int, moment: datetime | None) -> bool:
        """Whether an outsider that counts witnessed entry `seq` before `moment`."""
        return moment is not None and any(
            answer.counts and answer.size > seq and answer.time <= moment for answer in self.vouched
        )

    def pictures(self) -> Iterator[tuple[Item, Picture]]:
        """Every file of every entry that was not withdrawn."""
        for item in self.items:
            if item.withdrawn_by is None:
                for picture in item.pictures:
                    yield item, picture


def read_history(
    entries: Sequence[Entry],
    *,
    on: date,
    trust: Mapping[int, Trust] | None = None,
) -> History:
    """Cut the record at the end of `on` and read what stands.

    Args:
        entries: the whole record, in order.
        on: the day on whose end the record is read.
        trust: for each witness entry (by seq) whose answer was verified, how far it is trusted;
            an answer that is not named here bounds nothing.

    Raises:
        RefusedError: there is no `case` or no `rig` by that day.
    """
    stated_rig = next((entry.body for entry in entries if isinstance(entry.body, Rig)), None)
    if not entries or not isinstance(entries[0].body, Case) or stated_rig is None:
        raise RefusedError("the record", "has no case and rig at its start")
    _, day_ends = local_day(on, zone(stated_rig.home_zone))
    written = [entry for entry in entries if entry.logged <= day_ends]
    if not any(isinstance(entry.body, Rig) for entry in written):
        raise RefusedError(f"the record on {on}", "did not exist yet", "Choose a later date.")
    items = tuple(
        item
        for item in build_items(written)
        if item.span is None or item.span.earliest is None or item.span.earliest <= day_ends
    )
    rigs = [(item, item.body) for item in items if isinstance(item.body, Rig)]
    return History(
        on=on,
        items=items,
        case=entries[0].body,
        rig=rigs[-1][1],
        places=_places(rigs),
        vouched=_vouched(items, trust or {}),
        size=len(written),
    )


def _places(rigs: Sequence[tuple[Item, Rig]]) -> tuple[PlaceOnRoof, ...]:
    """Every zone the rig has or had; one left out of a later statement ended that day."""
    places: dict[str, PlaceOnRoof] = {}
    for item, rig in rigs:
        stated = {place.id for place in rig.zones}
        day = item.entry.logged.astimezone(zone(rig.home_zone)).date()
        for zone_id, place in places.items():
            if zone_id not in stated and place.until is None:
                places[zone_id] = PlaceOnRoof(place.zone, place.since, day)
        for stands in rig.zones:
            places[stands.id] = PlaceOnRoof(
                stands,
                None if stands.since is None else parse_day(stands.since),
                None if stands.until is None else parse_day(stands.until),
            )
    return tuple(places.values())


def _vouched(items: Sequence[Item], trust: Mapping[int, Trust]) -> tuple[Vouched, ...]:
    return tuple(
        Vouched(item.seq, body.type, body.size, parse_utc(body.time), body.name, trust[item.seq])
        for item in items
        if isinstance(body := item.body, Witness) and item.seq in trust
    )

"""One record under one incident, and what every group of challenges asks of it."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property

from evidence.entries import Paper
from evidence.photos.signals import Question
from evidence.times import Basis
from evidence.trade import Catalogue
from evidence.upkeep.contest.kinds import Answer, How
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.history import History
from evidence.upkeep.incidents import IncidentFacts
from evidence.upkeep.items import Item, Picture
from evidence.upkeep.standing import Standing

Shot = tuple[Item, Picture]
"""A picture and the entry that it is sealed in."""


@dataclass(frozen=True)  # without slots: what is asked for often is worked out once
class Contested:
    """A measured record, read by somebody who does not wish it well.

    `seen` are the questions that whoever holds the originals asked of their pixels.
    """

    standing: Standing
    facts: IncidentFacts
    catalogue: Catalogue
    seen: tuple[Question, ...] = ()

    @property
    def history(self) -> History:
        """The record behind the facts."""
        return self.standing.history

    @property
    def begins(self) -> datetime | None:
        """When the incident's window begins; None where nothing is known to lie before it."""
        return self.facts.window.earliest

    @cached_property
    def day(self) -> date:
        """The first day of the incident, as far as it is known."""
        begins = self.begins or self.facts.window.latest
        return begins.astimezone(self.history.home).date()

    @cached_property
    def named(self) -> frozenset[str]:
        """The zones that the incident names."""
        return frozenset(self.facts.incident.zones)

    @cached_property
    def left(self) -> tuple[FindingFacts, ...]:
        """What was found after the incident, or names it."""
        found = {name for zone in self.facts.zones for name in zone.found}
        return tuple(
            one
            for one in self.standing.findings
            if one.id in found or self.facts.id in one.attribution
        )

    @cached_property
    def naming(self) -> frozenset[int]:
        """The entries that name the incident."""
        return self.history.naming(self.facts.id)

    def written_before(self, item: Item) -> bool:
        """Whether an entry had been written when the window began, by all that is known."""
        answered = self.history.outsiders.not_before(item.seq)
        return (
            self.begins is not None
            and item.seq < self.facts.item.seq
            and item.known_from <= self.begins
            and (answered is None or answered <= self.begins)
        )

    def is_after(self, item: Item) -> bool:
        """Whether a deed names the incident, or began when its window had ended."""
        if item.seq in self.naming:
            return True
        earliest = item.time.earliest
        return earliest is not None and earliest >= self.facts.window.latest

    # What backs an entry

    @cached_property
    def _papers(self) -> Mapping[int, list[int]]:
        """The papers on file, by the entries that they are about."""
        found: dict[int, list[int]] = defaultdict(list)
        for item, paper in self.history.of(Paper):
            for seq in paper.about or ():
                found[seq].append(item.seq)
        return found

    def backing(self, *items: Item) -> tuple[Answer, Answer]:
        """Papers that are about the entries, and those that their pictures' clocks place."""
        papers = (seq for item in items for seq in self._papers.get(item.seq, ()))
        placed = (i.seq for i in items if i.span is not None and i.span.basis is Basis.CAMERA)
        return answer(How.PAPER, papers), answer(How.CAMERA, placed)

    # Pictures of a place

    @cached_property
    def _pictured(self) -> Mapping[str, list[Shot]]:
        """The pictures of each zone, in the order in which they were sealed."""
        found: dict[str, list[Shot]] = defaultdict(list)
        for item, picture in self.history.pictures():
            if picture.file.zone is not None and picture.of_roof:
                found[picture.file.zone].append((item, picture))
        return found

    def pictured(self, zone_id: str) -> Sequence[Shot]:
        """The pictures of a zone, each with its entry, in the order in which they were sealed."""
        return self._pictured.get(zone_id, ())

    def shows(self, item: Item, zone_id: str) -> bool:
        """Whether a picture of the zone belongs to the entry."""
        return any(other.seq == item.seq for other, _ in self.pictured(zone_id))

    def pictured_ahead_of(self, zone_id: str, deed: Item) -> tuple[int, ...]:
        """Entries with a picture of the zone from after the incident and before the deed's end."""
        return tuple(
            item.seq
            for item, picture in self.pictured(zone_id)
            if self.shot_after(item, picture)
            and (span := picture.capture.span or item.span) is not None
            and span.latest <= deed.time.latest
        )

    def shot_after(self, item: Item, picture: Picture) -> bool:
        """Whether a picture is of the incident, or was taken when its window had ended."""
        if item.seq in self.naming or self.facts.id in (picture.file.incidents or ()):
            return True
        span = picture.capture.span or item.span
        earliest = None if span is None else span.earliest
        return earliest is not None and earliest >= self.facts.window.latest


def answer_by_zone(how: How, by_zone: Mapping[str, Iterable[int]]) -> Answer:
    """An answer to a challenge about several zones; it leaves those open that no entry is about."""
    given = {zone: tuple(entries) for zone, entries in by_zone.items()}
    entries = sorted({seq for seqs in given.values() for seq in seqs})
    return Answer(how, tuple(entries), tuple(zone for zone, seqs in given.items() if not seqs))


def answer(how: How, entries: Iterable[int]) -> Answer:
    """An answer by entries, each once."""
    return Answer(how, tuple(dict.fromkeys(entries)))

"""Which entries an excerpt about one incident holds, and which of their files.

Whoever makes an excerpt must not be able to pick. What speaks of one of the incident's zones goes
with it, whenever it was written: every look there, sound or not, every deed, every reading. What
stays behind speaks of other places, other incidents, trips, storages and costs alone.
"""

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from evidence.entries import Body, Correction, Deed, Deferral, Incident, Label, Paper
from evidence.envelope import Entry
from evidence.errors import RefusedError
from evidence.shapes import Strict
from evidence.upkeep.corrections import Corrections
from evidence.upkeep.known import references

WHOLE_KINDS = ("case", "key", "party", "rig", "rule", "clock", "witness")
"""Kinds of which an excerpt holds every entry: they hold up all that is said."""


@dataclass(frozen=True, slots=True)
class Excerpt:
    """An excerpt about one incident: the entries that it holds (seq), and its files (SHA-256).

    `left_out` are files of those entries that are told to show another place.
    """

    incident: str
    entries: frozenset[int]
    files: frozenset[str]
    left_out: frozenset[str]


def excerpt(entries: Sequence[Entry], incident_id: str) -> Excerpt:
    """The excerpt about an incident.

    Raises:
        RefusedError: the record has no such incident.
    """
    about = _About(entries, incident_id)
    _ = about.zones  # an incident that is not on record is refused here
    kept = {entry.seq for entry in entries if about.speaks(entry)}
    while added := set(about.linked(kept)):  # each may bring others
        kept |= added
    files = {ref.sha256 for seq in kept for ref in entries[seq].files}
    elsewhere = frozenset(files) & about.elsewhere
    return Excerpt(incident_id, frozenset(kept), frozenset(files) - elsewhere, elsewhere)


@dataclass(frozen=True)  # without slots: what is asked of every entry is worked out once
class _About:
    """What an entry is asked."""

    entries: Sequence[Entry]
    incident_id: str
    _said: dict[int, tuple[Body, ...]] = field(default_factory=dict)

    @cached_property
    def corrections(self) -> Corrections:
        return Corrections(self.entries)

    def said(self, entry: Entry) -> tuple[Body, ...]:
        """What an entry said at first, and what it says with its corrections."""
        if entry.seq not in self._said:
            now = self.corrections.body(entry)
            self._said[entry.seq] = (entry.body,) if now is entry.body else (entry.body, now)
        return self._said[entry.seq]

    @cached_property
    def zones(self) -> frozenset[str]:
        """The incident's zones, those that a correction took away included."""
        found = [
            body
            for entry in self.entries
            for body in self.said(entry)
            if isinstance(body, Incident) and body.id == self.incident_id
        ]
        if not found:
            known = [e.body.id for e in self.entries if isinstance(e.body, Incident)]
            raise RefusedError(
                f"incident {self.incident_id!r}",
                "is not on record",
                f"On record: {', '.join(dict.fromkeys(known)) or 'none'}.",
            )
        return frozenset(zone for body in found for zone in body.zones)

    @cached_property
    def findings(self) -> frozenset[str]:
        """The findings at those zones, those that name the incident, and those related to them."""
        every = [
            finding
            for entry in self.entries
            for body in self.said(entry)
            if isinstance(body, Deed)
            for finding in body.findings or ()
        ]
        found = {one.id for one in every if one.zone in self.zones or self._names(one)}
        size = -1
        while len(found) > size:
            size = len(found)
            for one in every:
                if one.id in found or found.intersection(one.related or ()):
                    found.update((one.id, *(one.related or ())))
        return frozenset(found)

    def _names(self, value: Strict) -> bool:
        return any(
            group == "incidents" and item == self.incident_id
            for _, group, item in references(value)
        )

    def speaks(self, entry: Entry) -> bool:
        """Whether an entry belongs by what it says itself."""
        if entry.kind in WHOLE_KINDS:
            return True
        return any(map(self._touches, (*self.said(entry), *entry.files)))

    def _touches(self, value: Strict) -> bool:
        """Whether a model speaks of the incident, its zones or their findings."""
        if isinstance(value, Deferral) and value.zones is None:
            return True  # put off everywhere
        if isinstance(value, Deed) and any(one.id in self.findings for one in value.findings or ()):
            return True
        wanted: dict[str, Collection[object]] = {
            "incidents": (self.incident_id,),
            "zones": (*self.zones, "all"),
            "findings": self.findings,
        }
        return any(item in wanted.get(group, ()) for _, group, item in references(value))

    def linked(self, kept: Collection[int]) -> Iterator[int]:
        """The entries (seq) that belong by others that are kept, or they by them."""
        held = [self.entries[seq] for seq in kept]
        bodies = [body for entry in held for body in self.said(entry)]
        shown = {ref.sha256 for entry in held for ref in entry.files} - self.elsewhere
        labelled = {digest for body in bodies if isinstance(body, Label) for digest in body.of}
        papers = {
            item for body in bodies for _, group, item in references(body) if group == "papers"
        }
        for entry in self.entries:
            body = entry.body
            if entry.seq in kept:
                continue
            if isinstance(body, Correction):
                belongs = body.of in kept
            elif isinstance(body, Label):
                belongs = not shown.isdisjoint(body.of)
            elif isinstance(body, Paper):
                belongs = entry.seq in papers or not set(kept).isdisjoint(body.about or ())
            else:
                belongs = not labelled.isdisjoint(ref.sha256 for ref in entry.files)
            if belongs:
                yield entry.seq

    @cached_property
    def elsewhere(self) -> frozenset[str]:
        """Files that are told to show a place, and never one of the incident's."""
        told: dict[str, list[Strict]] = {}
        for entry in self.entries:
            for ref in entry.files:
                told.setdefault(ref.sha256, []).append(ref)
            for body in self.said(entry):
                for digest in body.of if isinstance(body, Label) else ():
                    told.setdefault(digest, []).append(body)
        return frozenset(digest for digest, said in told.items() if self._elsewhere(said))

    def _elsewhere(self, said: Iterable[Strict]) -> bool:
        placed = [one for one in said if getattr(one, "zone", None) is not None]
        return bool(placed) and not any(self._touches(one) for one in said)

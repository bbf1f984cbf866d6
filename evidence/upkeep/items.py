"""Each entry as it stands today: corrections and labels applied, its effective time computed.

Nothing here is read from a disk or a clock: entries in, items out.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from pydantic import JsonValue

from evidence.entries import Body, Correction, Label, Rig
from evidence.envelope import Entry, read_body
from evidence.errors import RefusedError
from evidence.photos.clock import Capture, capture
from evidence.shapes import Description, FileRef
from evidence.times import Basis, Pair, Span, days_apart, hull, parse_day, parse_when, zone
from evidence.words import FileRole

PROMPT = timedelta(hours=24)
"""An entry logged this soon after its earliest time counts as made at the time (OUTPUTS § 2)."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A file of an entry, its description and what its camera's clock supports."""

    file: FileRef
    capture: Capture
    seq: int


@dataclass(frozen=True, slots=True)
class Item:
    """An entry and what has become of it.

    `body` has the corrections applied; `entry.body` is what was first written. `span` is the
    effective time, None for kinds without `when`.
    """

    entry: Entry
    body: Body
    rig: Rig
    pictures: tuple[Picture, ...]
    span: Span | None
    conflict: bool
    corrected_by: tuple[int, ...]
    corrected_fields: frozenset[str]
    settled_at: datetime
    withdrawn_by: int | None

    @property
    def seq(self) -> int:
        """The entry's place in the chain, from 0."""
        return self.entry.seq

    @property
    def home(self) -> ZoneInfo:
        """The zone of civil dates in force at this entry."""
        return zone(self.rig.home_zone)

    @property
    def time(self) -> Span:
        """The effective time of an entry that has one."""
        if self.span is None:
            raise RefusedError(f"entry {self.entry.number}", "does not say when")
        return self.span

    @property
    def dates(self) -> tuple[date, date]:
        """The first and last calendar date of the effective time."""
        return self.time.days(self.home)

    @property
    def within_24h(self) -> bool:
        """Logged within a day of the earliest time that is stated."""
        earliest = None if self.span is None else self.span.earliest
        return earliest is not None and self.entry.logged - earliest <= PROMPT

    @property
    def on_time(self) -> bool:
        """Counts for `met_on_time`: prompt, and uncorrected in `when` and `zones`."""
        return self.within_24h and not self.corrected_fields & {"when", "zones"}

    @property
    def lag_days(self) -> Pair | None:
        """Days from the effective time to the writer's clock."""
        if self.span is None:
            return None
        logged = self.entry.logged.astimezone(self.home).date()
        return days_apart(self.dates, (logged, logged))


def build_items(entries: Sequence[Entry]) -> tuple[Item, ...]:
    """All entries in order, each with the rig that was in force when it was written.

    Raises:
        RefusedError: the record has no rig ahead of an entry that needs one, or a correction does
            not fit the entry that it corrects.
    """
    standing = _Corrections(entries)
    labels = _labels(standing, entries)
    first_rig = next((e.body for e in entries if isinstance(e.body, Rig)), None)
    if first_rig is None:
        return ()
    rig = first_rig
    items = []
    for entry in entries:
        body = standing.body(entry)
        if isinstance(body, Rig):
            rig = body
        items.append(_item(entry, body, rig, standing, labels))
    return tuple(items)


class _Corrections:
    """Which corrections stand, and what they make of each entry."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        self._by_target: dict[int, list[Entry]] = {}
        self._withdrawn: dict[int, int] = {}
        self._bodies: dict[int, Body] = {}
        # A correction speaks of earlier entries only: read from the end, each one is final
        # (not itself withdrawn later) by the time it is applied.
        for entry in reversed(entries):
            body = self.body(entry)
            if not isinstance(body, Correction) or entry.seq in self._withdrawn:
                continue
            if body.withdraw:
                self._withdrawn.setdefault(body.of, entry.seq)
            else:
                self._by_target.setdefault(body.of, []).insert(0, entry)

    def withdrawn_by(self, seq: int) -> int | None:
        return self._withdrawn.get(seq)

    def of(self, seq: int) -> list[Entry]:
        return self._by_target.get(seq, [])

    def changes(self, seq: int) -> dict[str, JsonValue]:
        """The fields set by the standing corrections, the last word last."""
        merged: dict[str, JsonValue] = {}
        for entry in self.of(seq):
            body = self.body(entry)
            if isinstance(body, Correction) and body.set:
                merged.update(body.set)
        return merged

    def body(self, entry: Entry) -> Body:
        if entry.seq not in self._bodies:
            changes = self.changes(entry.seq)
            self._bodies[entry.seq] = corrected(entry, changes) if changes else entry.body
        return self._bodies[entry.seq]


def corrected(entry: Entry, changes: Mapping[str, JsonValue]) -> Body:
    """The entry's body with `changes` set; a null takes the field away.

    Raises:
        RefusedError: the result is not a body of its kind.
    """
    merged = {**entry.raw, **changes}
    return read_body(
        entry.kind, {name: value for name, value in merged.items() if value is not None}
    )


def _labels(standing: _Corrections, entries: Iterable[Entry]) -> dict[str, dict[str, object]]:
    """What later labels say of each file, by its hash."""
    said: dict[str, dict[str, object]] = {}
    for entry in entries:
        body = standing.body(entry)
        if not isinstance(body, Label) or standing.withdrawn_by(entry.seq) is not None:
            continue
        fields = {name: getattr(body, name) for name in Description.model_fields}
        given = {name: value for name, value in fields.items() if value is not None}
        for digest in body.of:
            said.setdefault(digest, {}).update(given)
    return said


def _item(
    entry: Entry,
    body: Body,
    rig: Rig,
    standing: _Corrections,
    labels: Mapping[str, Mapping[str, object]],
) -> Item:
    pictures = tuple(
        _picture(file.model_copy(update=dict(labels.get(file.sha256, {}))), entry, rig)
        for file in entry.files
    )
    when = getattr(body, "when", None)
    span, conflict = (None, False)
    if when is not None:
        stated = parse_when(when, zone(rig.home_zone))
        span, conflict = effective_time(stated, pictures, entry.logged)
    corrections = standing.of(entry.seq)
    return Item(
        entry=entry,
        body=body,
        rig=rig,
        pictures=pictures,
        span=span,
        conflict=conflict,
        corrected_by=tuple(correction.seq for correction in corrections),
        corrected_fields=frozenset(standing.changes(entry.seq)),
        settled_at=max([entry.logged, *(correction.logged for correction in corrections)]),
        withdrawn_by=standing.withdrawn_by(entry.seq),
    )


def _picture(file: FileRef, entry: Entry, rig: Rig) -> Picture:
    taken = capture(
        file.camera,
        home=zone(rig.home_zone),
        travels=[zone(key) for key in rig.travels or ()],
        built=None if rig.built is None else parse_day(rig.built),
        model_year=rig.model_year,
        logged=entry.logged,
    )
    return Picture(file, taken, entry.seq)


def effective_time(
    stated: Span, pictures: Iterable[Picture], logged: datetime
) -> tuple[Span, bool]:
    """The effective time of an entry and whether its pictures contradict it (RECORD § 3).

    The stated interval ∩ the union of the relied-on capture intervals (scans aside), its latest
    end cut at `logged`. Where that is empty the stated interval counts and there is a conflict.
    """
    captures = [
        picture.capture.span
        for picture in pictures
        if picture.file.role is not FileRole.SCAN and picture.capture.span is not None
    ]
    cut = stated.cut_at(logged)
    if not captures:
        return cut, False
    common = [part for part in (cut.meet(span) for span in captures) if part is not None]
    if not common:
        return cut, True
    earliest, latest = hull(common)
    return Span(earliest, latest, Basis.CAMERA), False

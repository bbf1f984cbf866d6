"""Each entry as it stands today: corrections and labels applied, its effective time computed.

Nothing here is read from a disk or a clock: entries in, items out.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from evidence.entries import Body, Label, Rig
from evidence.envelope import Entry
from evidence.errors import RefusedError
from evidence.photos.clock import Capture, capture
from evidence.photos.place import Atlas
from evidence.shapes import Camera, Description, FileRef
from evidence.times import Basis, Pair, Span, days_apart, hull, parse_day, parse_when, zone
from evidence.upkeep.behind import NEVER_BACK, Behind
from evidence.upkeep.corrections import Change, Corrections
from evidence.words import FileRole

Dates = tuple[date, date]

PROMPT = timedelta(hours=24)
"""An entry logged this soon after its earliest time counts as made at the time (OUTPUTS § 2)."""

FIRST_DAY = date(1900, 1, 1)
"""Where nothing says when a rig was built; no day on record lies before it."""

_NOT_OF_ROOF = (FileRole.SCAN, FileRole.CARD)

_TOLD_BY_LABEL = frozenset(Description.model_fields) - {"camera"}
"""What a label may say of a file. Its camera's tags are read from the file, never told."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A file of an entry, its description and what its camera's clock supports."""

    file: FileRef
    capture: Capture
    seq: int

    @property
    def of_roof(self) -> bool:
        """Whether the file is a picture of the roof: no scan of a paper, no card."""
        return self.file.type.startswith("image/") and self.file.role not in _NOT_OF_ROOF


@dataclass(frozen=True)  # without slots: what is asked for often is worked out once
class Item:
    """An entry and what has become of it.

    `body` has the corrections applied; `entry.body` is what was first written. `span` is the
    effective time, None for kinds without `when`. `changes` are the corrections that stand.
    `known_from` is the first moment at which it can have stood in the record: its own `logged`, or
    a later one that the chain holds ahead of it.
    """

    entry: Entry
    body: Body
    rig: Rig
    pictures: tuple[Picture, ...]
    span: Span | None
    conflict: bool
    changes: tuple[Change, ...]
    withdrawn_by: int | None
    known_from: datetime

    @cached_property
    def seq(self) -> int:
        """The entry's place in the chain, from 0."""
        return self.entry.seq

    @property
    def home(self) -> ZoneInfo:
        """The zone of civil dates in force at this entry."""
        return zone(self.rig.home_zone)

    @cached_property
    def time(self) -> Span:
        """The effective time of an entry that has one."""
        if self.span is None:
            raise RefusedError(f"entry {self.entry.number}", "does not say when")
        return self.span

    @cached_property
    def dates(self) -> Dates:
        """The first and last calendar date to show; "not after" stands on its latest date."""
        return self.time.days(self.home)

    @cached_property
    def bounds(self) -> Dates:
        """The first and last calendar date to count with.

        Where only "not after" is known, nothing on a rig was done before the rig was there.
        """
        return bounds(self.time, self.rig)

    @cached_property
    def pictured(self) -> bool:
        """Whether a picture or a film belongs to it; a scan of a paper is none."""
        return any(
            picture.file.type.startswith(("image/", "video/"))
            and picture.file.role is not FileRole.SCAN
            for picture in self.pictures
        )

    @cached_property
    def incidents(self) -> frozenset[str]:
        """The incidents that the entry names, itself or in what it says of a finding."""
        named = set(getattr(self.body, "incidents", None) or ())
        for finding in getattr(self.body, "findings", None) or ():
            if finding.attribution != "undetermined":
                named.update(finding.attribution or ())
        return frozenset(named)

    @property
    def corrected_by(self) -> tuple[int, ...]:
        """The corrections that stand, in order."""
        return tuple(change.seq for change in self.changes)

    @property
    def corrected_fields(self) -> frozenset[str]:
        """The fields that corrections set."""
        return frozenset().union(*(change.fields for change in self.changes))

    def told_at(self, *fields: str) -> datetime:
        """When what stands in `fields` was last written down; without names, when anything was."""
        if not self.changes:
            return self.entry.logged
        named = frozenset(fields)
        changes = [c.logged for c in self.changes if not fields or c.fields & named]
        return max([self.entry.logged, *changes])

    def known_at(self, *fields: str) -> datetime:
        """The same as far as the chain lets it be: never ahead of what stands ahead of it."""
        if not self.changes:
            return self.known_from
        changes = [c.known_from for c in self.changes if not fields or c.fields & frozenset(fields)]
        return max([self.known_from, *changes])

    @cached_property
    def within_24h(self) -> bool:
        """The time that stands was written down within a day of its earliest end."""
        earliest = None if self.span is None else self.span.earliest
        return earliest is not None and self.told_at("when") - earliest <= PROMPT

    @cached_property
    def on_time(self) -> bool:
        """Counts for `met_on_time`: prompt, and uncorrected in `when` and `zones`.

        What stands behind a later clock was written after that, whatever its own clock says.
        """
        if not self.within_24h or self.corrected_fields & {"when", "zones"}:
            return False
        earliest = self.time.earliest
        return earliest is not None and self.known_from - earliest <= PROMPT

    @cached_property
    def lag_days(self) -> Pair | None:
        """Days from the effective time to the writer's clock."""
        if self.span is None:
            return None
        logged = self.entry.logged.astimezone(self.home).date()
        return days_apart(self.bounds, (logged, logged))


def bounds(span: Span, rig: Rig) -> Dates:
    """The first and last calendar date of `span`, in the home zone of `rig`.

    An open start is the day on which the rig was built, else 1 January of the year before its
    model year (RECORD § 5).
    """
    first, last = span.days(zone(rig.home_zone))
    return (first if span.earliest is not None else min(earliest_day(rig), last)), last


def earliest_day(rig: Rig) -> date:
    """The first day on which something can have been done to the rig."""
    if rig.built is not None:
        return parse_day(rig.built)
    return FIRST_DAY if rig.model_year is None else date(rig.model_year - 1, 1, 1)


def build_items(
    entries: Sequence[Entry], atlas: Atlas | None = None, behind: Behind = NEVER_BACK
) -> tuple[Item, ...]:
    """All entries in order, each with the rig that was in force when it was written.

    Args:
        entries: the record, or its beginning.
        atlas: looks up the zones of positions; None measures without.
        behind: the entries that stand behind a later clock, with that moment.

    Raises:
        RefusedError: a correction does not fit the entry that it corrects.
    """
    standing = Corrections(entries, behind)
    labels = _labels(standing, entries)
    rigs = {e.seq: body for e in entries if isinstance(body := standing.body(e), Rig)}
    kept = {seq: rig for seq, rig in rigs.items() if standing.withdrawn_by(seq) is None}
    in_force = kept or rigs
    if not in_force:
        return ()
    rig = next(iter(in_force.values()))
    items = []
    for entry in entries:
        rig = in_force.get(entry.seq, rig)
        known_from = behind.get(entry.seq, entry.logged)
        items.append(_item(entry, rig, standing, labels, atlas, known_from))
    return tuple(items)


def _labels(standing: Corrections, entries: Iterable[Entry]) -> dict[str, dict[str, object]]:
    """What later labels say of each file, by its hash."""
    said: dict[str, dict[str, object]] = {}
    for entry in entries:
        body = standing.body(entry)
        if not isinstance(body, Label) or standing.withdrawn_by(entry.seq) is not None:
            continue
        fields = {name: getattr(body, name) for name in _TOLD_BY_LABEL}
        given = {name: value for name, value in fields.items() if value is not None}
        for digest in body.of:
            said.setdefault(digest, {}).update(given)
    return said


def _item(
    entry: Entry,
    rig: Rig,
    standing: Corrections,
    labels: Mapping[str, Mapping[str, object]],
    atlas: Atlas | None,
    known_from: datetime,
) -> Item:
    body = standing.body(entry)
    pictures = tuple(_picture(file, entry, rig, labels, atlas) for file in entry.files)
    when = getattr(body, "when", None)
    span, conflict = (None, False)
    if when is not None:
        stated = parse_when(when, zone(rig.home_zone))
        # By the roles as sealed: no label moves an entry in time afterwards.
        captures = [
            picture.capture.span
            for sealed, picture in zip(entry.files, pictures, strict=True)
            if sealed.role is not FileRole.SCAN and picture.capture.span is not None
        ]
        span, conflict = effective_time(stated, captures, entry.logged)
    return Item(
        entry=entry,
        body=body,
        rig=rig,
        pictures=pictures,
        span=span,
        conflict=conflict,
        changes=standing.changes(entry.seq),
        withdrawn_by=standing.withdrawn_by(entry.seq),
        known_from=known_from,
    )


def _picture(
    sealed: FileRef,
    entry: Entry,
    rig: Rig,
    labels: Mapping[str, Mapping[str, object]],
    atlas: Atlas | None,
) -> Picture:
    told = labels.get(sealed.sha256)
    taken = capture_of(sealed.camera, sealed.type, rig, entry.logged, atlas)
    return Picture(sealed if told is None else sealed.model_copy(update=told), taken, entry.seq)


def capture_of(
    camera: Camera | None, kind: str, rig: Rig, logged: datetime, atlas: Atlas | None
) -> Capture:
    """What a camera's clock supports of a file of the media type `kind`, logged at that moment."""
    return capture(
        camera,
        home=zone(rig.home_zone),
        travels=[zone(key) for key in rig.travels or ()],
        built=None if rig.built is None else parse_day(rig.built),
        model_year=rig.model_year,
        logged=logged,
        atlas=atlas,
        film=kind.startswith("video/"),
    )


def effective_time(stated: Span, captures: Iterable[Span], logged: datetime) -> tuple[Span, bool]:
    """The effective time of an entry and whether its pictures contradict it (RECORD § 3).

    The stated interval ∩ the union of the relied-on capture intervals (scans aside), its latest
    end cut at `logged`. Where that is empty the stated interval counts and there is a conflict.
    """
    cut = stated.cut_at(logged)
    taken = list(captures)
    common = [part for part in (cut.meet(span) for span in taken) if part is not None]
    if not common:
        return cut, bool(taken)
    earliest, latest = hull(common)
    return Span(earliest, latest, Basis.CAMERA), False

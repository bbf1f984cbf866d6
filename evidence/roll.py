"""What is handed in, as its grouping sees it: from files and pictures to `VisitItem`."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from evidence.cards import card_texts, case_on_card
from evidence.case import Record
from evidence.errors import MissingError
from evidence.looking import Progress
from evidence.photos import Capture, CaptureRule, Crew, VisitItem, Worker, load_atlas, told
from evidence.photos.media import HEAD, media_type
from evidence.reading import FileRead, read_file
from evidence.shapes import Camera
from evidence.upkeep import Item, Picture
from evidence.upkeep.items import build_items, capture_of

NARROW = timedelta(hours=1)
"""An interval no wider than both offsets of a clock-change hour orders pictures by itself."""


@dataclass(frozen=True, slots=True)
class NewFile:
    """A file that the record does not hold yet: what was read of it, and its place in the roll."""

    path: Path
    read: FileRead
    item: VisitItem


@dataclass(frozen=True, slots=True)
class Roll:
    """All that was handed in: what is new, and how its grouping sees that and what was held."""

    new: Sequence[NewFile]
    items: Sequence[VisitItem]

    def as_sealed(self, sealed: Sequence[Picture], home: ZoneInfo) -> list[VisitItem]:
        """The same without what was left out, and what is new as the record has it now."""
        cards = {item.sha256: item.card for item in self.items}
        new = {one.item.sha256 for one in self.new}
        held = [item for item in self.items if item.sha256 not in new]
        return [*held, *(_of_picture(one, home, cards.get(one.file.sha256)) for one in sealed)]


def read_roll(
    record: Record,
    fresh: Mapping[str, Path],
    held: Collection[str],
    crew: Crew,
    logged: datetime,
    progress: Progress,
) -> Roll:
    """Read what is new, each file once; what is held the record knows, but for whose card it shows.

    Args:
        record: the case.
        fresh: the paths of what it does not hold, by their sums.
        held: the sums of what it holds.
        crew: reads the files.
        logged: the writer's clock.
        progress: counts the new files.
    """
    known = build_items(record.entries, record.atlas)

    def read_new(one: tuple[str, Path], worker: Worker) -> NewFile:
        return _new_file(record, *one, known[-1], worker, logged)

    new = []
    for done, one in enumerate(crew.each(read_new, fresh.items()), start=1):
        new.append(one)
        progress(done, len(fresh))
    first = {p.file.sha256: (i.home, p) for i in reversed(known) for p in i.pictures}

    def look_again(one: tuple[ZoneInfo, Picture], worker: Worker) -> VisitItem:
        home, picture = one
        return _of_picture(picture, home, _case_on(record, picture, worker))

    again = crew.each(look_again, [first[digest] for digest in held if digest in first])
    return Roll(new, [*(one.item for one in new), *again])


def _new_file(
    record: Record, digest: str, path: Path, newest: Item, worker: Worker, logged: datetime
) -> NewFile:
    """A file that the record does not hold yet; the rig is that of its newest entry."""
    with path.open("rb") as file:
        kind = media_type(file.read(HEAD), path.name)
    read = read_file(path, digest, kind, worker)
    camera = read.camera.camera
    atlas = load_atlas() if camera and camera.GPSLatitude else None
    taken = capture_of(camera, kind, newest.rig, logged, atlas)
    item = _item(digest, path.name, taken, camera, newest.home)
    card = case_on_card(read.cards, record.entries)
    return NewFile(path, read, replace(item, card=card, loose=_loose(kind, taken)))


def _case_on(record: Record, picture: Picture, worker: Worker) -> str | None:
    """Whose card a picture of the record shows: its case's id stands in no entry."""
    file = picture.file
    if file.card is None:
        return None
    try:
        original = record.original(file.sha256)
    except MissingError:
        return None
    return case_on_card(card_texts(original, file.type, worker), record.entries)


def _of_picture(picture: Picture, home: ZoneInfo, card: str | None) -> VisitItem:
    """A picture of the record; `card` is the case whose card it shows."""
    file, taken = picture.file, picture.capture
    name = file.name if isinstance(file.name, str) else ""
    item = _item(file.sha256, name, taken, file.camera, home)
    zone_id = None if file.card is None else file.card.zone
    return replace(item, card=card, zone=zone_id, loose=_loose(file.type, taken))


def _item(
    digest: str, name: str, taken: Capture, camera: Camera | None, home: ZoneInfo
) -> VisitItem:
    span, model = taken.span, None if camera is None else told.text(camera.Model)
    earliest, latest = (None, None) if span is None else (span.earliest, span.latest)
    at = _as_at_home(camera, home)
    if earliest is None or latest is None or latest - earliest <= NARROW or at is None:
        at = earliest
    else:
        at = min(max(at, earliest), latest)
    return VisitItem(digest, earliest, latest, model, at=at, name=name)


def _as_at_home(camera: Camera | None, home: ZoneInfo) -> datetime | None:
    """The moment that the camera's clock names if it stands at home time."""
    written = None if camera is None else told.text(camera.DateTimeOriginal)
    local = None if written is None else told.local_time(written)
    return None if local is None else local.replace(tzinfo=home).astimezone(UTC)


def _loose(kind: str, taken: Capture) -> bool:
    """Whether a film's place in the roll is unsure: its time may be UTC or local."""
    return kind.startswith("video/") and taken.rule is CaptureRule.ANYWHERE

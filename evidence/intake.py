"""Seal many files at once, and say what each camera's clock supports (OUTPUTS, `intake`)."""

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from hashlib import file_digest
from itertools import count
from pathlib import Path

from pydantic import JsonValue

from evidence.case import Clock, Draft, Record, now
from evidence.errors import RefusedError
from evidence.keeping import FileDraft
from evidence.ledger import Signer
from evidence.leftovers import clear_leftovers
from evidence.looking import Progress, look_at_pictures
from evidence.photos import Shelf, Visit, VisitItem, check_readable, group, hold, walk
from evidence.photos.crew import cores
from evidence.photos.seen import hints
from evidence.photos.signals import Question
from evidence.upkeep.asked import is_shot
from evidence.upkeep.items import Picture, build_items

MOST_FILES = 400
"""In one entry: with all their tags they stay well below what the ledger takes as one entry."""


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A file that was sealed although it, or what its camera wrote, could not be read."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class Hint:
    """Why a picture may be worth taking again, while the person is still on the roof."""

    picture: Picture
    question: Question


@dataclass(frozen=True, slots=True)
class Intake:
    """What was sealed. `seq` is the first entry's; None where every file was held already.

    `cleared` are the names of originals that a write which was cut off had left behind.
    """

    sealed: tuple[Picture, ...]
    already_held: tuple[str, ...]
    unreadable: tuple[Unreadable, ...]
    visits: tuple[Visit, ...]
    seq: int | None
    hints: tuple[Hint, ...] = ()
    cleared: tuple[str, ...] = ()


def take_in(
    record: Record,
    paths: Sequence[Path],
    by: str,
    signer: Signer,
    *,
    note: str | None = None,
    clock: Clock = now,
    progress: Progress = lambda _done, _all: None,
) -> Intake:
    """Seal files and folders; what the record already holds is left out.

    They go into one `photos` entry, very many into several under one head. Broken pictures are
    taken too, and told. `progress` counts the files sealed, then those looked at for hints.

    Raises:
        RefusedError: a path is not there or cannot be read; nothing was written.
    """
    fresh, again = _told_apart(record, paths)
    cleared = clear_leftovers(record, {*fresh, *again})
    if not fresh:
        return Intake((), tuple(again), (), (), None, cleared=cleared)
    body: dict[str, JsonValue] = {} if note is None else {"note": note}
    files = [FileDraft(path) for path in fresh.values()]
    parts = [tuple(files[at : at + MOST_FILES]) for at in range(0, len(files), MOST_FILES)]
    photos = [Draft("photos", body, by, part) for part in parts]
    unreadable: list[Unreadable] = []
    done = count(1)

    def seen(draft: FileDraft, trouble: str | None) -> None:
        if trouble is not None:
            unreadable.append(Unreadable(draft.path.name, trouble))
        progress(next(done), len(files))

    written = record.write(photos, signer, clock=clock, take_broken=True, seen=seen)
    first, last = written.entries[0].seq, written.entries[-1].seq
    items = build_items(record.entries[: last + 1], record.atlas)[first:]
    sealed = tuple(picture for item in items for picture in item.pictures)
    return Intake(
        sealed=sealed,
        already_held=tuple(again),
        unreadable=tuple(unreadable),
        visits=tuple(group([_visit_item(picture) for picture in sealed])),
        seq=first,
        hints=tuple(_hints(record, sealed, progress)),
        cleared=cleared,
    )


def _hints(record: Record, sealed: Sequence[Picture], progress: Progress) -> Iterator[Hint]:
    """What the pixels of the originals say at once; each look is kept for `photos`."""
    shown = [picture for picture in sealed if is_shot(picture)]
    looks = look_at_pictures(record, (picture.file.sha256 for picture in shown), progress)
    for picture in shown:
        look = looks.get(picture.file.sha256)
        if look is not None:
            for signal in hints(look):
                question = Question(signal, picture.file.sha256, picture.seq)
                yield Hint(picture, question)


def _told_apart(record: Record, paths: Sequence[Path]) -> tuple[dict[str, Path], dict[str, Path]]:
    """By their sums the files that are new, each once, and those that the record holds.

    Of these, one that has gone from the originals is put back.
    """
    found = walk(paths)
    if not found:
        raise RefusedError(", ".join(map(str, paths)), "holds no files", "Name files or folders.")
    held = {ref.sha256 for entry in record.entries for ref in entry.files}
    fresh: dict[str, Path] = {}
    again: dict[str, Path] = {}
    for path in found:
        check_readable(path)  # a pipe would be waited for
    with ThreadPoolExecutor(cores()) as threads:
        for path, digest in zip(found, threads.map(_digest, found), strict=True):
            (again if digest in held else fresh).setdefault(digest, path)
    shelf = Shelf(record.originals)
    for digest, path in again.items():
        hold(path, digest, shelf)
    return fresh, again


def _digest(path: Path) -> str:
    try:
        with path.open("rb") as file:
            return file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise RefusedError(str(path), f"cannot be read: {error.strerror}") from error


def _visit_item(picture: Picture) -> VisitItem:
    file, span = picture.file, picture.capture.span
    model = None if file.camera is None else file.camera.Model
    return VisitItem(
        sha256=file.sha256,
        earliest=None if span is None else span.earliest,
        latest=None if span is None else span.latest,
        camera_name=model if isinstance(model, str) else None,
        zone=None if file.card is None else file.card.zone,
    )

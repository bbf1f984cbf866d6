"""Files handed in for an entry: their bytes kept, their tags and cards read, several at once."""

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import JsonValue

from evidence.cards import read_card
from evidence.envelope import Entry
from evidence.photos import (
    CameraReading,
    Crew,
    SealedFile,
    Shelf,
    Worker,
    refuse_broken,
    why_broken,
)
from evidence.photos.crew import cores

References = Sequence[Mapping[str, JsonValue]]
"""The items of an entry's `files` (RECORD § 2)."""


@dataclass(frozen=True, slots=True)
class FileDraft:
    """A file handed in, with what is said of it (the describing fields of RECORD § 2)."""

    path: Path
    described: Mapping[str, JsonValue] = field(default_factory=dict)


_WAITING = 6
"""Threads that wait for the disk while others copy: several waits together are one to the disk."""

Sealed = tuple[SealedFile, CameraReading]
"""A sealed file and what its camera wrote."""

Seen = Callable[[FileDraft, str | None], None]
"""Told of each file that is kept, and of what is wrong with it."""


def keep(
    files: Sequence[FileDraft],
    originals: Path,
    entries: Sequence[Entry],
    crew: Crew,
    seen: Seen,
    *,
    take_broken: bool,
) -> References:
    """Keep the bytes of every file and read what its camera wrote, and the card in it.

    The files and their names are on the disk when this returns.

    Args:
        files: what was handed in.
        originals: the folder of sealed files.
        entries: the record ahead of them.
        crew: reads the files.
        seen: told of each, in order.
        take_broken: keep pictures that cannot be decoded, too.

    Returns:
        Their items of an entry's `files`, in order.

    Raises:
        RefusedError: a file cannot be read, the disk refuses, or a picture is broken.
    """
    if not files:
        return ()
    if not take_broken:
        for _ in crew.each(lambda file, worker: refuse_broken(file.path, worker), files):
            pass
    sealed = seal_all([file.path for file in files], Shelf(originals), crew)

    def looked_at(one: Sealed, worker: Worker) -> tuple[dict[str, JsonValue], str | None]:
        file, reading = one
        trouble = reading.unreadable
        if take_broken and trouble is None:
            trouble = why_broken(file.path, worker)
        return read_card(file.path, file.type, entries, worker), trouble

    refs = []
    looks = crew.each(looked_at, sealed)
    for file, one, (card, trouble) in zip(files, sealed, looks, strict=True):
        seen(file, trouble)
        refs.append({**_reference(one), **file.described, **card})
    return refs


def seal_all(sources: Sequence[Path], shelf: Shelf, crew: Crew) -> Sequence[Sealed]:
    """Seal files, several at once, and read the tags of the very bytes that were sealed.

    They and their names are on the disk when this returns: nothing that takes longer comes first.

    Raises:
        RefusedError: a file cannot be read, or the disk refuses.
    """
    with ThreadPoolExecutor(cores()) as copying, ThreadPoolExecutor(_WAITING) as waiting:

        def copied(source: Path) -> Future[SealedFile]:
            return waiting.submit(shelf.take, shelf.copy(source))

        kept = (future.result() for future in copying.map(copied, sources))
        try:
            made = list(crew.each(lambda file, worker: (file, worker.camera(file.path)), kept))
        except BaseException:
            copying.shutdown(cancel_futures=True)  # else all others are copied before it is told
            raise
    shelf.settle()
    return made


def _reference(one: Sealed) -> dict[str, JsonValue]:
    file, reading = one
    ref: dict[str, JsonValue] = {
        "sha256": file.sha256,
        "bytes": file.bytes,
        "type": file.type,
        "name": file.name if isinstance(file.name, str) else file.name.model_dump(),
    }
    if reading.camera is not None:
        ref["camera"] = reading.camera.model_dump(exclude_none=True)
    return ref

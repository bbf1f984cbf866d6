"""Files handed in for an entry: their bytes kept, their tags and cards read, several at once."""

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import JsonValue

from evidence.envelope import Entry
from evidence.photos import Crew, SealedFile, Shelf, Worker, refuse_broken, why_broken
from evidence.photos.crew import cores
from evidence.reading import FileRead, file_fields, read_file
from evidence.shapes import FileRef

References = Sequence[Mapping[str, JsonValue]]
"""The items of an entry's `files` (RECORD § 2)."""


@dataclass(frozen=True, slots=True)
class FileDraft:
    """A file handed in, with what is said of it (the describing fields of RECORD § 2).

    `read` is what was read of it already; `held` an earlier entry's word on it, whose name stands.
    """

    path: Path
    described: Mapping[str, JsonValue] = field(default_factory=dict)
    read: FileRead | None = None
    held: FileRef | None = None


_WAITING = 6
"""Threads that wait for the disk while others copy: several waits together are one to the disk."""

_LookedAt = tuple[dict[str, JsonValue], str | None]
"""The item of an entry's `files`, and what is wrong with the file."""

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
    sealed = seal_all([file.path for file in files], Shelf(originals))

    def looked_at(one: tuple[FileDraft, SealedFile], worker: Worker) -> _LookedAt:
        file, kept = one
        read = file.read  # counts only for the very bytes that were sealed
        if read is None or read.sha256 != kept.sha256:
            read = read_file(kept.path, kept.sha256, kept.type, worker)
        trouble = read.camera.unreadable
        if take_broken and trouble is None:
            trouble = why_broken(kept.path, worker)
        return file_fields(kept, read, file.described, file.held, entries), trouble

    refs = []
    looks = crew.each(looked_at, zip(files, sealed, strict=True))
    for file, (fields, trouble) in zip(files, looks, strict=True):
        seen(file, trouble)
        refs.append(fields)
    return refs


def seal_all(sources: Sequence[Path], shelf: Shelf) -> Sequence[SealedFile]:
    """Seal files, several at once: nothing that takes longer comes before they are safe.

    They and their names are on the disk when this returns.

    Raises:
        RefusedError: a file cannot be read, or the disk refuses.
    """
    with ThreadPoolExecutor(cores()) as copying, ThreadPoolExecutor(_WAITING) as waiting:

        def copied(source: Path) -> Future[SealedFile]:
            return waiting.submit(shelf.take, shelf.copy(source))

        try:
            made = [future.result() for future in copying.map(copied, sources)]
        except BaseException:
            copying.shutdown(cancel_futures=True)  # else all others are copied before it is told
            raise
    shelf.settle()
    return made

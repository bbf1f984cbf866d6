"""Files handed in for an entry: their bytes kept, their tags and cards read, several at once."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import JsonValue

from evidence.cards import read_card
from evidence.envelope import Entry
from evidence.photos import Crew, Shelf, Worker, refuse_broken, why_broken

References = Sequence[Mapping[str, JsonValue]]
"""The items of an entry's `files` (RECORD § 2)."""


@dataclass(frozen=True, slots=True)
class FileDraft:
    """A file handed in, with what is said of it (the describing fields of RECORD § 2)."""

    path: Path
    described: Mapping[str, JsonValue] = field(default_factory=dict)


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
    shelf = Shelf(originals)

    def kept(file: FileDraft, worker: Worker) -> tuple[Mapping[str, JsonValue], str | None]:
        sealed = shelf.seal(file.path)
        reading = worker.camera(sealed.path)  # of the very bytes that were sealed
        trouble = reading.unreadable
        if take_broken and trouble is None:
            trouble = why_broken(sealed.path, worker)
        ref: dict[str, JsonValue] = {
            "sha256": sealed.sha256,
            "bytes": sealed.bytes,
            "type": sealed.type,
            "name": sealed.name if isinstance(sealed.name, str) else sealed.name.model_dump(),
        }
        if reading.camera is not None:
            ref["camera"] = reading.camera.model_dump(exclude_none=True)
        card = read_card(sealed.path, sealed.type, entries, worker)
        return {**ref, **file.described, **card}, trouble

    refs = []
    for file, (ref, trouble) in zip(files, crew.each(kept, files), strict=True):
        seen(file, trouble)
        refs.append(ref)
    shelf.settle()
    return refs

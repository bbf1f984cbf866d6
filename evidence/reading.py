"""What is read of a file that is handed in: its camera's tags, and the cards in it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from pydantic import JsonValue

from evidence.cards import card_field, card_texts
from evidence.envelope import Entry
from evidence.photos import CameraReading, SealedFile, Worker
from evidence.shapes import FileRef


@dataclass(frozen=True, slots=True)
class FileRead:
    """What was read of a file; it holds for bytes of this sum alone.

    `cards` are the texts of the cards in it.
    """

    sha256: str
    camera: CameraReading
    cards: tuple[str, ...]


def read_file(path: Path, sha256: str, kind: str, worker: Worker) -> FileRead:
    """Read a file of the media type `kind`."""
    return FileRead(sha256, worker.camera(path), card_texts(path, kind, worker))


def file_fields(
    kept: SealedFile,
    read: FileRead,
    described: Mapping[str, JsonValue],
    held: FileRef | None,
    entries: Sequence[Entry],
) -> dict[str, JsonValue]:
    """The item of `files` (RECORD § 2) for a sealed file.

    Args:
        kept: the sealed file.
        read: what was read of its bytes.
        described: what is said of it.
        held: what an earlier entry says of it: the name it came with stands.
        entries: the record ahead of it.
    """
    name = kept.name if held is None else held.name
    fields: dict[str, JsonValue] = {
        "sha256": kept.sha256,
        "bytes": kept.bytes,
        "type": kept.type,
        "name": name if isinstance(name, str) else name.model_dump(),
    }
    if read.camera.camera is not None:
        fields["camera"] = read.camera.camera.model_dump(exclude_none=True)
    return {**fields, **described, **card_field(read.cards, entries)}

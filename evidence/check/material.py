"""What somebody hands over, read the same way whether it is a case or a dossier."""

import hashlib
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from pathlib import Path
from typing import Protocol

from pydantic import JsonValue

from evidence.case import Record
from evidence.errors import ChangedError, EvidenceError, MissingError, RefusedError
from evidence.ledger import parse
from evidence.shapes import FileRef

_MANIFEST = "manifest.json"


class FileState(StrEnum):
    """What became of a file that the record names: its bytes, compared with hash and size."""

    PRESENT = "present"
    MISSING = "missing"
    CHANGED = "changed"
    LEFT_OUT = "left_out"


class Material(Protocol):
    """A record and the files that came with it."""

    @property
    def lines(self) -> Sequence[bytes]:
        """The entries' bytes in order."""

    @property
    def heads(self) -> Sequence[str]:
        """The signed heads by size."""

    def read(self, ref: FileRef) -> bytes | None:
        """The bytes of a file that the record names; None where it is not at hand."""

    def state(self, ref: FileRef) -> FileState:
        """Whether the file is at hand, and unchanged."""

    def unnamed(self, named: Collection[str]) -> tuple[str, ...]:
        """The names of files kept as originals whose SHA-256 is not among `named`."""


@dataclass(frozen=True, slots=True)
class CaseMaterial:
    """A case folder."""

    record: Record

    @property
    def lines(self) -> Sequence[bytes]:
        """The entries' bytes in order."""
        return self.record.lines

    @property
    def heads(self) -> Sequence[str]:
        """The signed heads by size."""
        return self.record.heads

    def _path(self, ref: FileRef) -> Path | None:
        try:
            path = self.record.original(ref.sha256)
        except MissingError:
            return None
        return path if path.is_file() else None

    def read(self, ref: FileRef) -> bytes | None:
        """The bytes of a sealed file."""
        path = self._path(ref)
        if path is None:
            return None
        with _readable(path):
            return path.read_bytes()

    def state(self, ref: FileRef) -> FileState:
        """Whether the sealed file is there, and still what was sealed."""
        path = self._path(ref)
        if path is None:
            return FileState.MISSING
        with _readable(path), path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            size = file.tell()
        return _compared(ref, digest, size)

    def unnamed(self, named: Collection[str]) -> tuple[str, ...]:
        """The names of files kept as originals whose SHA-256 is not among `named`."""
        folder = self.record.originals
        with _readable(folder):
            names = sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []
        return tuple(name for name in names if name.partition(".")[0] not in named)


@contextmanager
def _readable(path: Path) -> Iterator[None]:
    """Turn what the disk says about `path` into an error that a person can act on."""
    try:
        yield
    except OSError as error:
        raise RefusedError(
            str(path), f"cannot be read: {error.strerror}", "Check that you may read it."
        ) from error


def _compared(ref: FileRef, digest: str, size: int) -> FileState:
    same = (digest, size) == (ref.sha256, ref.bytes)
    return FileState.PRESENT if same else FileState.CHANGED


def split_notes(text: str) -> tuple[str, ...]:
    """The notes of a `heads.txt`: one empty line stands after each.

    Raises:
        ChangedError: it does not end with an empty line.
    """
    notes = []
    while text:
        # A note is three lines, an empty line and its signatures; then comes the separator.
        end = text.find("\n\n", text.find("\n\n") + 2)
        if end < 0:
            raise ChangedError("heads.txt", "does not end with an empty line")
        notes.append(text[: end + 1])
        text = text[end + 2 :]
    return tuple(notes)


class DossierMaterial:
    """The attachments of a dossier (OUTPUTS § 4), and the names of those that are damaged.

    Raises:
        ChangedError: a part that every dossier carries is not there or not readable.
    """

    def __init__(
        self, attachments: Mapping[str, bytes], damaged: Collection[str] = frozenset()
    ) -> None:
        self.attachments = attachments
        self.damaged = damaged
        self._by_hash = {
            hashlib.sha256(data).hexdigest(): name for name, data in attachments.items()
        }

    @cached_property
    def lines(self) -> Sequence[bytes]:
        """The entries' bytes in order: `record.jsonl`, each line ended by a newline."""
        parts = self._part("record.jsonl").split(b"\n")
        if parts.pop():
            raise ChangedError("record.jsonl", "does not end with a newline")
        return tuple(parts)

    @cached_property
    def heads(self) -> Sequence[str]:
        """The signed heads by size: `heads.txt`, one empty line after each."""
        return split_notes(self._text("heads.txt"))

    @cached_property
    def manifest(self) -> Mapping[str, JsonValue]:
        """`manifest.json`; empty where it cannot be read, and then `misfiled` says so."""
        try:
            return self.document(_MANIFEST)
        except ChangedError:
            return {}

    def document(self, name: str) -> Mapping[str, JsonValue]:
        """A JSON object among the attachments."""
        data = self._part(name)
        try:
            value = parse(data)
        except EvidenceError as error:
            raise ChangedError(name, f"{error.what} {error.why}") from error
        if not isinstance(value, dict):
            raise ChangedError(name, "is not a JSON object")
        return value

    def _part(self, name: str) -> bytes:
        if name not in self.attachments:
            why = "is damaged" if name in self.damaged else "is not attached"
            raise ChangedError(f"the dossier's {name}", why)
        return self.attachments[name]

    def _text(self, name: str) -> str:
        try:
            return self._part(name).decode()
        except UnicodeDecodeError as error:
            raise ChangedError(name, "is not UTF-8") from error

    @cached_property
    def left_out(self) -> frozenset[str]:
        """SHA-256 of the files that the manifest lists as left out."""
        listed = self.manifest.get("left_out", [])
        rows = listed if isinstance(listed, list) else []
        return frozenset(
            str(row["sha256"]) for row in rows if isinstance(row, dict) and "sha256" in row
        )

    def misfiled(self) -> list[str]:
        """Attachments that are not as the manifest lists them, or that it does not list."""
        listed = self.manifest.get("files")
        if not isinstance(listed, dict):
            return [_MANIFEST]
        wrong = [name for name in self.attachments if name not in (_MANIFEST, *listed)]
        for name, row in listed.items():
            data = self.attachments.get(name)
            if data is None or row != {
                "sha256": hashlib.sha256(data).hexdigest(),
                "bytes": len(data),
            }:
                wrong.append(name)
        return wrong

    def read(self, ref: FileRef) -> bytes | None:
        """The bytes of an attached file."""
        name = self._by_hash.get(ref.sha256)
        return None if name is None else self.attachments[name]

    def state(self, ref: FileRef) -> FileState:
        """Attached with its own hash, listed as left out, or neither."""
        data = self.read(ref)
        if data is not None:
            return _compared(ref, ref.sha256, len(data))
        names = (*self.attachments, *self.damaged)
        if any(name.startswith(f"original-{ref.sha256}.") for name in names):
            return FileState.CHANGED
        return FileState.LEFT_OUT if ref.sha256 in self.left_out else FileState.MISSING

    def unnamed(self, named: Collection[str]) -> tuple[str, ...]:
        """Attached originals whose SHA-256 is not among `named`."""
        return tuple(
            name
            for digest, name in self._by_hash.items()
            if name.startswith("original-") and digest not in named
        )

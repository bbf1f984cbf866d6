"""What somebody hands over, read the same way whether it is a case or a dossier."""

import hashlib
from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from pathlib import Path
from typing import Protocol

from evidence.case import Record
from evidence.check.filed import Filed
from evidence.errors import ChangedError, RefusedError
from evidence.packed import MOST_ANSWER
from evidence.shapes import FileRef
from evidence.stored import Sum


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

    @property
    def revealed(self) -> bytes | None:
        """The values that were revealed (`revealed.json`), where any came with the record."""

    def read(self, ref: FileRef) -> bytes | None:
        """The bytes of a file that the record names; None where it is not at hand."""

    def state(self, ref: FileRef) -> FileState:
        """Whether the file is at hand, and unchanged."""

    def unnamed(self, named: Collection[str]) -> tuple[str, ...]:
        """The names of files kept as originals whose SHA-256 is not among `named`."""


@dataclass(frozen=True)  # without slots: the folder is listed once
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

    @property
    def revealed(self) -> bytes | None:
        """Nothing: what lies in a case's private folder is its holder's."""
        return None

    @cached_property
    def _names(self) -> Sequence[str]:
        """What lies among the originals, in order of name."""
        folder = self.record.originals
        with _readable(folder):
            return sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []

    @cached_property
    def _by_sum(self) -> Mapping[str, str]:
        """The name of the file that ought to have a sum: the first, where there are several."""
        return {name.partition(".")[0]: name for name in reversed(self._names) if "." in name}

    def _path(self, ref: FileRef) -> Path | None:
        name = self._by_sum.get(ref.sha256)
        path = None if name is None else self.record.originals / name
        return path if path is not None and path.is_file() else None

    def read(self, ref: FileRef) -> bytes | None:
        """The bytes of a sealed file that is small enough to be read at once."""
        path = self._path(ref)
        if path is None:
            return None
        with _readable(path):
            return path.read_bytes() if path.stat().st_size <= MOST_ANSWER else None

    def state(self, ref: FileRef) -> FileState:
        """Whether the sealed file is there, and still what was sealed."""
        path = self._path(ref)
        if path is None:
            return FileState.MISSING
        with _readable(path), path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
            size = file.tell()
        return compared(ref, digest, size)

    def unnamed(self, named: Collection[str]) -> tuple[str, ...]:
        """The names of files kept as originals whose SHA-256 is not among `named`."""
        return tuple(name for name in self._names if name.partition(".")[0] not in named)


@contextmanager
def _readable(path: Path) -> Iterator[None]:
    """Turn what the disk says about `path` into an error that a person can act on."""
    try:
        yield
    except OSError as error:
        raise RefusedError(
            str(path), f"cannot be read: {error.strerror}", "Check that you may read it."
        ) from error


def compared(ref: FileRef, digest: str, size: int) -> FileState:
    """Whether a file at hand is the one that its entry names."""
    same = (digest, size) == (ref.sha256, ref.bytes)
    return FileState.PRESENT if same else FileState.CHANGED


class DossierMaterial(Filed):
    """The attachments of a dossier (OUTPUTS § 4), and the names of those that are damaged."""

    def __init__(
        self, attachments: Mapping[str, bytes], damaged: Collection[str] = frozenset()
    ) -> None:
        self.attachments = attachments
        self.damaged = damaged
        self._by_hash = {
            hashlib.sha256(data).hexdigest(): name for name, data in attachments.items()
        }

    @property
    def names(self) -> Collection[str]:
        """The names of the attachments that can be unpacked."""
        return self.attachments.keys()

    def part(self, name: str) -> bytes:
        """An attachment."""
        if name not in self.attachments:
            why = "is damaged" if name in self.damaged else "is not attached"
            raise ChangedError(f"the dossier's {name}", why)
        return self.attachments[name]

    def sum_of(self, name: str) -> Sum:
        """An attachment's sum."""
        data = self.attachments[name]
        return Sum(hashlib.sha256(data).hexdigest(), len(data))

    def read(self, ref: FileRef) -> bytes | None:
        """The bytes of an attached file."""
        name = self._by_hash.get(ref.sha256)
        return None if name is None else self.attachments[name]

    def state(self, ref: FileRef) -> FileState:
        """Attached with its own hash, listed as left out, or neither."""
        data = self.read(ref)
        if data is not None:
            return compared(ref, ref.sha256, len(data))
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

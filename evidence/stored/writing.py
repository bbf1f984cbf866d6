"""A new container, streamed: the same members in the same order make the same bytes."""

import hashlib
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Self

from evidence.errors import RefusedError
from evidence.stored.layout import DATE, LARGEST, MODE, UNIX, is_flat

CHUNK = 1 << 20


@dataclass(frozen=True, slots=True)
class Sum:
    """A file's SHA-256 (hex) and its size in bytes."""

    sha256: str
    bytes: int


class StoredWriter:
    """A container that is being written; a context manager that finishes it where all went well.

    Attributes:
        sums: what was written so far, by name, in order.
    """

    def __init__(self, path: Path) -> None:
        # Strict times: nothing of this machine's clock, user or system goes in.
        self._zip = zipfile.ZipFile(path, "w", zipfile.ZIP_STORED)
        self._taken: set[str] = set()
        self.sums: dict[str, Sum] = {}

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._zip.close()

    def put(self, name: str, data: bytes) -> Sum:
        """Add a file from memory; errors as `add`."""
        return self._add(name, [data], len(data))

    def add(self, name: str, path: Path) -> Sum:
        """Add a file from the disk, a piece at a time.

        Raises:
            RefusedError: it cannot be read, it changed while it was read, or the name is not flat
                or is taken.
        """
        return self._add(name, _pieces(path), _size(path))

    def _add(self, name: str, pieces: Iterable[bytes], size: int) -> Sum:
        if not is_flat(name) or name.lower() in self._taken:
            raise RefusedError(f"file {name[:60]!r}", "has no plain name of its own")
        self._taken.add(name.lower())
        member = zipfile.ZipInfo(name, DATE)
        member.create_system, member.external_attr = UNIX, MODE
        digest, written = hashlib.sha256(), 0
        with self._zip.open(member, "w", force_zip64=size > LARGEST) as out:
            for piece in pieces:
                written += len(piece)
                if written > size:
                    break
                digest.update(piece)
                out.write(piece)
        if written != size:
            raise RefusedError(f"file {name}", "changed while it was read", "Try again.")
        self.sums[name] = Sum(digest.hexdigest(), size)
        return self.sums[name]


def _size(path: Path) -> int:
    with _readable(path):
        return path.stat().st_size


def _pieces(path: Path) -> Iterator[bytes]:
    with _readable(path), path.open("rb") as file:
        while piece := file.read(CHUNK):
            yield piece


@contextmanager
def _readable(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise RefusedError(str(path), f"cannot be read: {error.strerror}") from error

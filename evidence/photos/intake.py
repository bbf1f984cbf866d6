"""From a file handed in to a sealed original: its bytes untouched, named by their hash."""

import hashlib
import os
import re
import stat
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from evidence.errors import RefusedError
from evidence.photos.media import HEAD, media_type
from evidence.photos.raw import raw
from evidence.shapes import Raw

if TYPE_CHECKING:
    from io import FileIO

_BLOCK = 1 << 20
_SUFFIX = re.compile(r"\.[a-z0-9]{1,8}", re.ASCII)
_LEFT_BEHIND = frozenset({"thumbs.db", "ehthumbs.db", "desktop.ini", "__macosx", "@eadir"})
"""What systems leave in picture folders, in lower case; from memory."""


@dataclass(frozen=True, slots=True)
class SealedFile:
    """An original in the case: SHA-256 in hex, size in bytes, media type, the name it came with."""

    sha256: str
    bytes: int
    type: str
    name: Raw
    path: Path
    already_held: bool


class Shelf:
    """The folder of sealed files, its names read once: with many files a search would take long.

    Several threads may seal into one shelf.

    Args:
        folder: where the originals lie.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._names: dict[str, str] = {}
        with suppress(OSError):  # what is wrong with the folder is told when a file is sealed
            self._names = {path.name.partition(".")[0]: path.name for path in folder.iterdir()}

    def place(self, sha256: str) -> Path | None:
        """Where the file with this hash lies; None where it does not, under whatever ending."""
        name = self._names.get(sha256)
        path = None if name is None else self.folder / name
        return path if path is not None and path.exists() else None

    def seal(self, source: Path) -> SealedFile:
        """Copy `source` here as `<sha256>.<ext>`, hashing the very bytes that are written.

        The copy is on the disk before this returns; `settle` makes the folder know of it for good.
        A file that is already held under its hash is kept; one whose bytes no longer match its name
        is replaced.

        Raises:
            RefusedError: the source is not a file that can be read, or the copy cannot be written.
        """
        with _opened(source) as file:
            try:
                return self._seal(file, source)
            except OSError as error:
                raise self._full(source, error) from error

    def settle(self) -> None:
        """Make the new names last (fsync of the folder; Windows has no such call).

        Raises:
            RefusedError: the disk refuses.
        """
        if os.name == "nt":
            return
        try:
            handle = os.open(self.folder, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)
        except OSError as error:
            raise self._full(self.folder, error) from error

    def _seal(self, file: BinaryIO, source: Path) -> SealedFile:
        digest, size, head = hashlib.sha256(), 0, b""
        handle, part = tempfile.mkstemp(prefix=".incoming-", suffix=".part", dir=self.folder)
        try:
            with os.fdopen(handle, "wb", buffering=0) as copy:
                for block in _blocks(file, source):
                    head = head or block[:HEAD]
                    digest.update(block)
                    size += len(block)
                    _write_all(copy, block)
                os.fsync(copy.fileno())
            sha256 = digest.hexdigest()
            target = self.place(sha256) or self.folder / (sha256 + _suffix(source))
            held = target.exists() and _digest(target) == sha256
            if not held:
                Path(part).replace(target)
                self._names[sha256] = target.name
        finally:
            Path(part).unlink(missing_ok=True)
        name = raw(os.fsencode(source.name))
        kind = media_type(head, source.name)
        return SealedFile(sha256, size, kind, name, target, already_held=held)

    def _full(self, source: Path, error: OSError) -> RefusedError:
        return RefusedError(
            str(self.folder),
            f"cannot take a copy of {source.name!r}: {_reason(error)}",
            "Make room there, or allow writing, and hand the file in again.",
        )


def seal(source: Path, originals: Path) -> SealedFile:
    """Seal one file into a folder, and make the folder know of it for good (see `Shelf.seal`).

    Raises:
        RefusedError: the source is not a file that can be read, or the copy cannot be written.
    """
    shelf = Shelf(originals)
    sealed = shelf.seal(source)
    shelf.settle()
    return sealed


def hold(source: Path, sha256: str, shelf: Shelf) -> None:
    """See that a sealed file is still held; one that was cleared away since is sealed again.

    Raises:
        RefusedError: it was cleared away, and `source` is another file by now, or gone.
    """
    if shelf.place(sha256) is None:
        if shelf.seal(source).sha256 != sha256:
            raise RefusedError(str(source), "changed while it was sealed", "Hand it in again.")
        shelf.settle()


def check_readable(source: Path) -> None:
    """Refuse at once what `seal` would refuse of `source`; nothing is read or written.

    Raises:
        RefusedError: it is not a file that can be read.
    """
    _opened(source).close()


def walk(paths: Sequence[Path]) -> list[Path]:
    """Every file under `paths`, sorted, each once; a path that is no folder stands for itself.

    Left out inside folders: hidden files and folders, what systems leave behind (databases of
    small pictures), links to folders, and what is not a file.

    Raises:
        RefusedError: a path does not exist, or a folder cannot be read.
    """
    return sorted({file for path in paths for file in _files(path)})


def _files(path: Path) -> Iterator[Path]:
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError) as error:
        raise _unreadable(path, f"cannot be read: {_reason(error)}") from error
    return _under(path) if stat.S_ISDIR(mode) else iter((path,))


def _under(folder: Path) -> Iterator[Path]:
    for place, folders, names in os.walk(folder, onerror=_stop):
        folders[:] = [name for name in folders if _wanted(name)]
        yield from (
            Path(place, name) for name in names if _wanted(name) and Path(place, name).is_file()
        )


def _wanted(name: str) -> bool:
    return not name.startswith(".") and name.lower() not in _LEFT_BEHIND


def _stop(error: OSError) -> None:
    raise _unreadable(Path(error.filename), f"cannot be read: {_reason(error)}") from error


def _opened(source: Path) -> BinaryIO:
    """Open a regular file; a pipe or a device is refused rather than waited for."""
    try:
        mode = source.stat().st_mode
        if stat.S_ISREG(mode):
            return source.open("rb")
    except (OSError, ValueError) as error:
        raise _unreadable(source, f"cannot be read: {_reason(error)}") from error
    if stat.S_ISDIR(mode):
        raise _unreadable(source, "is a folder", "Name the files in it.")
    raise _unreadable(source, "is a pipe or a device", "Hand in a file.")


def _blocks(file: BinaryIO, source: Path) -> Iterator[bytes]:
    try:
        while block := file.read(_BLOCK):
            yield block
    except OSError as error:
        raise _unreadable(source, f"cannot be read to its end: {_reason(error)}") from error


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _suffix(source: Path) -> str:
    suffix = source.suffix.lower()
    return suffix if _SUFFIX.fullmatch(suffix) else ".bin"


def _write_all(copy: "FileIO", block: bytes) -> None:
    """A raw file may take less than it is given."""
    left = memoryview(block)
    while left:
        left = left[copy.write(left) :]


def _reason(error: OSError | ValueError) -> str:
    return (error.strerror if isinstance(error, OSError) else None) or str(error)


def _unreadable(
    path: Path,
    why: str,
    what_to_do: str = "Check how its name is written, and that you may read it.",
) -> RefusedError:
    return RefusedError(str(path), why, what_to_do)

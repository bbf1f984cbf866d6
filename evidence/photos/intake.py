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
from typing import TYPE_CHECKING

from evidence.errors import RefusedError
from evidence.photos.media import HEAD, media_type
from evidence.photos.raw import raw
from evidence.shapes import Raw

if TYPE_CHECKING:
    from io import FileIO

_BLOCK = 1 << 18
"""Bytes at a time. Four times as many took four times as long to write on ext4."""
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


@dataclass(frozen=True, slots=True)
class Copied:
    """A copy without a name: where it came from, where it lies, its sum, size and first bytes."""

    source: Path
    part: Path
    sha256: str
    size: int
    head: bytes


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
        return self.take(self.copy(source))

    def copy(self, source: Path) -> Copied:
        """The first half of `seal`: a copy that has no name yet; it may still be on its way."""
        with _opened(source) as file:
            try:
                return self._copy(file, source)
            except OSError as error:
                raise self._full(source, error) from error

    def take(self, copied: Copied) -> SealedFile:
        """The second half of `seal`: wait for the disk, then give the copy its name."""
        try:
            return self._take(copied)
        except OSError as error:
            raise self._full(copied.source, error) from error

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

    def _copy(self, file: "FileIO", source: Path) -> Copied:
        digest, size, head = hashlib.sha256(), 0, b""
        handle, part = tempfile.mkstemp(prefix=".incoming-", suffix=".part", dir=self.folder)
        try:
            with os.fdopen(handle, "wb", buffering=0) as copy:
                for block in _blocks(file, source):
                    head = head or bytes(block[:HEAD])
                    digest.update(block)
                    size += len(block)
                    _write_all(copy, block)
        except BaseException:
            Path(part).unlink(missing_ok=True)
            raise
        return Copied(source, Path(part), digest.hexdigest(), size, head)

    def _take(self, copied: Copied) -> SealedFile:
        try:
            with copied.part.open("rb+", buffering=0) as copy:
                os.fsync(copy.fileno())
            name = copied.sha256 + _suffix(copied.source)
            target = self.place(copied.sha256) or self.folder / name
            held = target.exists() and _digest(target) == copied.sha256
            if not held:
                copied.part.replace(target)
                self._names[copied.sha256] = target.name
        finally:
            copied.part.unlink(missing_ok=True)
        source = copied.source
        return SealedFile(
            sha256=copied.sha256,
            bytes=copied.size,
            type=media_type(copied.head, source.name),
            name=raw(os.fsencode(source.name)),
            path=target,
            already_held=held,
        )

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


def _opened(source: Path) -> "FileIO":
    """Open a regular file; a pipe or a device is refused rather than waited for."""
    try:
        mode = source.stat().st_mode
        if stat.S_ISREG(mode):
            return source.open("rb", buffering=0)
    except (OSError, ValueError) as error:
        raise _unreadable(source, f"cannot be read: {_reason(error)}") from error
    if stat.S_ISDIR(mode):
        raise _unreadable(source, "is a folder", "Name the files in it.")
    raise _unreadable(source, "is a pipe or a device", "Hand in a file.")


def _blocks(file: "FileIO", source: Path) -> Iterator[memoryview]:
    """The file piece by piece; each piece is gone when the next is asked for."""
    room = memoryview(bytearray(_BLOCK))
    try:
        while size := file.readinto(room):
            yield room[:size]
    except OSError as error:
        raise _unreadable(source, f"cannot be read to its end: {_reason(error)}") from error


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _suffix(source: Path) -> str:
    suffix = source.suffix.lower()
    return suffix if _SUFFIX.fullmatch(suffix) else ".bin"


def _write_all(copy: "FileIO", block: memoryview) -> None:
    """A raw file may take less than it is given."""
    while block:
        block = block[copy.write(block) :]


def _reason(error: OSError | ValueError) -> str:
    return (error.strerror if isinstance(error, OSError) else None) or str(error)


def _unreadable(
    path: Path,
    why: str,
    what_to_do: str = "Check how its name is written, and that you may read it.",
) -> RefusedError:
    return RefusedError(str(path), why, what_to_do)

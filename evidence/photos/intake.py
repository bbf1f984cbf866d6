"""From a file handed in to a sealed original: its bytes untouched, named by their hash."""

import hashlib
import os
import re
import stat
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from evidence.errors import RefusedError
from evidence.photos.media import HEAD, media_type
from evidence.photos.raw import raw
from evidence.shapes import Raw

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


def seal(source: Path, originals: Path) -> SealedFile:
    """Copy `source` into `originals` as `<sha256>.<ext>`, hashing the very bytes that are written.

    The copy is on the disk, and the folder knows of it, before this returns. A file that is
    already held under its hash is kept; one whose bytes no longer match its name is replaced.

    Raises:
        RefusedError: the source is not a file that can be read, or the copy cannot be written.
    """
    with _opened(source) as file:
        try:
            return _seal(file, source, originals)
        except OSError as error:
            raise RefusedError(
                str(originals),
                f"cannot take a copy of {source.name!r}: {_reason(error)}",
                "Make room there, or allow writing, and hand the file in again.",
            ) from error


def hold(source: Path, sha256: str, originals: Path) -> None:
    """See that a sealed file is still held; one that was cleared away since is sealed again.

    Raises:
        RefusedError: it was cleared away, and `source` is another file by now, or gone.
    """
    if _place(sha256, originals) is None and seal(source, originals).sha256 != sha256:
        raise RefusedError(str(source), "changed while it was sealed", "Hand it in again.")


def check_readable(source: Path) -> None:
    """Refuse at once what `seal` would refuse of `source`; nothing is read or written.

    Raises:
        RefusedError: it is not a file that can be read.
    """
    _opened(source).close()


def _seal(file: BinaryIO, source: Path, originals: Path) -> SealedFile:
    digest, size, head = hashlib.sha256(), 0, b""
    handle, part = tempfile.mkstemp(prefix=".incoming-", suffix=".part", dir=originals)
    try:
        with os.fdopen(handle, "wb") as copy:
            for block in _blocks(file, source):
                head = head or block[:HEAD]
                digest.update(block)
                size += copy.write(block)
            copy.flush()
            os.fsync(copy.fileno())
        sha256 = digest.hexdigest()
        target = _place(sha256, originals) or originals / (sha256 + _suffix(source))
        held = target.exists() and _digest(target) == sha256
        if not held:
            Path(part).replace(target)
            _settle(originals)
    finally:
        Path(part).unlink(missing_ok=True)
    name = raw(os.fsencode(source.name))
    kind = media_type(head, source.name)
    return SealedFile(sha256, size, kind, name, target, already_held=held)


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


def _place(sha256: str, originals: Path) -> Path | None:
    """Where this hash has its place already; the same bytes may have come under another ending."""
    with os.scandir(originals) as items:
        return next((Path(item) for item in items if item.name.startswith(f"{sha256}.")), None)


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _suffix(source: Path) -> str:
    suffix = source.suffix.lower()
    return suffix if _SUFFIX.fullmatch(suffix) else ".bin"


def _settle(folder: Path) -> None:
    """Make the rename itself last (fsync of the folder; Windows has no such call)."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _reason(error: OSError | ValueError) -> str:
    return (error.strerror if isinstance(error, OSError) else None) or str(error)


def _unreadable(
    path: Path,
    why: str,
    what_to_do: str = "Check how its name is written, and that you may read it.",
) -> RefusedError:
    return RefusedError(str(path), why, what_to_do)

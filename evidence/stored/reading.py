"""Anybody's container: walked whole before any member is used.

From the directory's rows every byte of the container but the members' own is made again, and
compared with what is there. So there is no list of tricks to refuse: packed or encrypted members,
links, folders, overlaps, two sizes for one file, bytes ahead or behind, a second directory, fields
that only some programs read: each makes another byte somewhere.
"""

import hashlib
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import BinaryIO

from evidence.errors import ChangedError, RefusedError
from evidence.stored.layout import (
    CENTRAL,
    CENTRAL_MARK,
    END,
    END_64,
    END_64_MARK,
    END_MARK,
    LOCAL_MARK,
    LOCATOR_64,
    LOCATOR_64_MARK,
    Member,
    directory,
    is_flat,
    placed,
)
from evidence.stored.writing import CHUNK, Sum

START = LOCAL_MARK
"""What a container begins with."""

_LARGEST_DIRECTORY = 64 << 20
"""Of a stranger's file, held in memory: a quarter of a million members (judgement)."""


@dataclass(frozen=True)  # without slots: the names are worked out once
class StoredZip:
    """A container that holds to the layout. Every reading opens the file anew, so threads may."""

    path: Path
    members: tuple[Member, ...]

    @classmethod
    def open(cls, path: Path) -> "StoredZip":
        """Walk a file.

        Raises:
            RefusedError: it cannot be read, or is not put together as a pack is.
        """
        try:
            with path.open("rb") as file:
                return cls(path, _walked(file, path.stat().st_size))
        except OSError as error:
            raise RefusedError(str(path), f"cannot be read: {error.strerror}") from error
        except _MisfitError as error:
            raise RefusedError(
                str(path),
                f"is not put together as a pack is: {error}",
                "Nothing of it was looked at. Ask for the file as `roof-evidence pack` made it.",
            ) from error

    @cached_property
    def by_name(self) -> Mapping[str, Member]:
        """The members by their names, in order."""
        return {member.name: member for member in self.members}

    def pieces(self, name: str) -> Iterator[bytes]:
        """A member's bytes, a piece at a time.

        Raises:
            ChangedError: they do not have the CRC that the directory states, or are gone.
            RefusedError: the file cannot be read any more.
        """
        member = self.by_name[name]
        left, crc = member.size, 0
        try:
            with self.path.open("rb") as file:
                file.seek(member.begins)
                while left and (piece := file.read(min(CHUNK, left))):
                    left -= len(piece)
                    crc = zlib.crc32(piece, crc)
                    yield piece
        except OSError as error:
            raise RefusedError(str(self.path), f"cannot be read: {error.strerror}") from error
        if left or crc != member.crc:
            raise ChangedError(name, "is not as the ZIP itself states it (CRC-32)")

    def read(self, name: str, most: int) -> bytes:
        """A member whole.

        Raises:
            RefusedError: it is larger than `most` bytes.
            ChangedError: as `pieces`.
        """
        size = self.by_name[name].size
        if size > most:
            raise RefusedError(name, f"is too large to be read at once: {size} bytes")
        return b"".join(self.pieces(name))

    def sum(self, name: str) -> Sum:
        """A member's SHA-256 and size; errors as `pieces`."""
        digest = hashlib.sha256()
        for piece in self.pieces(name):
            digest.update(piece)
        return Sum(digest.hexdigest(), self.by_name[name].size)


class _MisfitError(Exception):
    """Where a container leaves the layout, in words."""


def _walked(file: BinaryIO, size: int) -> tuple[Member, ...]:
    """The members, once every byte around them is as it has to be."""
    offset, length = _directory_place(file, size)
    if length > _LARGEST_DIRECTORY:
        raise _MisfitError(f"its directory has {length} bytes")
    members = placed(_rows(_at(file, offset, length)))
    names = {member.name.lower() for member in members}
    if len(names) != len(members):
        raise _MisfitError("two of its files have one name")
    for member in members:
        if member.ends > offset:
            raise _MisfitError(f"{member.name} does not end ahead of the directory")
        if _at(file, member.offset, len(member.local_header)) != member.local_header:
            raise _MisfitError(f"the header of {member.name} differs")
    ends = members[-1].ends if members else 0
    if ends != offset or _at(file, ends, size - ends) != directory(members, ends):
        raise _MisfitError("its directory differs from what stands there")
    return members


def _directory_place(file: BinaryIO, size: int) -> tuple[int, int]:
    """Where the directory begins and how long it is, as the end of the file says."""
    tail = _at(file, max(0, size - END.size - LOCATOR_64.size - END_64.size), size)
    if len(tail) < END.size or not tail[-END.size :].startswith(END_MARK):
        raise _MisfitError("it does not end as a ZIP does; perhaps it is cut off")
    *_, length, offset, _ = END.unpack(tail[-END.size :])
    if tail[-END.size - LOCATOR_64.size :].startswith(LOCATOR_64_MARK) and tail.startswith(
        END_64_MARK
    ):
        *_, length, offset = END_64.unpack(tail[: END_64.size])
    if offset + length > size:
        raise _MisfitError("its directory lies outside it")
    return offset, length


def _rows(data: bytes) -> Iterator[tuple[str, int, int]]:
    """Name, size and CRC of each row; whether they are true is seen by making all of it again."""
    at = 0
    while at < len(data):
        fixed = data[at : at + CENTRAL.size]
        if len(fixed) < CENTRAL.size or not fixed.startswith(CENTRAL_MARK):
            raise _MisfitError("its directory cannot be read")
        *_, crc, _packed, size, named, extra, comment, _disk, _inner, _outer, _offset = (
            CENTRAL.unpack(fixed)
        )
        at += CENTRAL.size
        name = data[at : at + named].decode("ascii", "replace")
        if not is_flat(name):
            raise _MisfitError(f"{name[:60]!r} is no plain file name")
        if size == 0xFFFFFFFF and extra >= 12:  # APPNOTE 4.5.3: the true size stands first
            size = int.from_bytes(data[at + named + 4 : at + named + 12], "little")
        yield name, size, crc
        at += named + extra + comment


def _at(file: BinaryIO, offset: int, length: int) -> bytes:
    file.seek(offset)
    return file.read(length)

"""The container's own bytes: headers of members, the directory, the end (PKWARE APPNOTE 6.3.10).

Everything follows from the members' names, sizes and CRCs. Sections cited are APPNOTE's.
"""

import re
import struct
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

LOCAL = struct.Struct("<4s5H3L2H")  # 4.3.7
CENTRAL = struct.Struct("<4s6H3L5H2L")  # 4.3.12
END = struct.Struct("<4s4H2LH")  # 4.3.16
END_64 = struct.Struct("<4sQ2H2L4Q")  # 4.3.14
LOCATOR_64 = struct.Struct("<4sLQL")  # 4.3.15

LOCAL_MARK, CENTRAL_MARK, END_MARK = b"PK\x03\x04", b"PK\x01\x02", b"PK\x05\x06"
END_64_MARK, LOCATOR_64_MARK = b"PK\x06\x06", b"PK\x06\x07"

LARGEST = 2**31 - 1
"""Above it a size or an offset is written in 64 bits: cautious, and so are Python's `zipfile` and
old programs that read 32 bits with a sign."""
MOST_MEMBERS = 65_535
"""More members than that are counted in the ZIP64 end record."""

DATE = (1980, 1, 1, 0, 0, 0)
"""Every member's time: the format's first, so that the same members make the same bytes."""
UNIX = 3  # 4.4.2.2
MODE = 0o644 << 16

_PLAIN, _ZIP64 = 20, 45  # 4.4.3.2, versions needed
_STORED, _NO_FLAGS, _NO_COMMENT = 0, 0, 0
_DOS_TIME, _DOS_DATE = 0, 1 << 5 | 1
_FLAT_NAME = re.compile(r"[A-Za-z0-9._-]{1,200}", re.ASCII)


def is_flat(name: str) -> bool:
    """True for a plain file name of ASCII letters, digits, dot, low line and hyphen."""
    return _FLAT_NAME.fullmatch(name) is not None and name.strip(".") != ""


@dataclass(frozen=True, slots=True)
class Member:
    """One file in the container: its name, size in bytes, CRC-32, and where its header stands."""

    name: str
    size: int
    crc: int
    offset: int

    @property
    def local_header(self) -> bytes:
        """What stands ahead of its bytes."""
        wide = self.size > LARGEST
        extra = struct.pack("<2H2Q", 1, 16, self.size, self.size) if wide else b""
        shown = 0xFFFFFFFF if wide else self.size
        name = self.name.encode("ascii")
        return (
            LOCAL.pack(
                LOCAL_MARK, _ZIP64 if wide else _PLAIN, _NO_FLAGS, _STORED, _DOS_TIME, _DOS_DATE,
                self.crc, shown, shown, len(name), len(extra),
            )
            + name
            + extra
        )  # fmt: skip

    @property
    def central_header(self) -> bytes:
        """Its row of the directory."""
        wide = [self.size, self.size] if self.size > LARGEST else []
        wide += [self.offset] if self.offset > LARGEST else []
        extra = struct.pack(f"<2H{len(wide)}Q", 1, 8 * len(wide), *wide) if wide else b""
        shown = 0xFFFFFFFF if self.size > LARGEST else self.size
        at = 0xFFFFFFFF if self.offset > LARGEST else self.offset
        version = _ZIP64 if wide else _PLAIN
        name = self.name.encode("ascii")
        return (
            CENTRAL.pack(
                CENTRAL_MARK, UNIX << 8 | version, version, _NO_FLAGS, _STORED, _DOS_TIME,
                _DOS_DATE, self.crc, shown, shown, len(name), len(extra), _NO_COMMENT, 0, 0, MODE,
                at,
            )
            + name
            + extra
        )  # fmt: skip

    @property
    def begins(self) -> int:
        """Where its own bytes begin."""
        return self.offset + len(self.local_header)

    @property
    def ends(self) -> int:
        """Where the next header stands."""
        return self.begins + self.size


def placed(rows: Iterable[tuple[str, int, int]]) -> tuple[Member, ...]:
    """Members of these names, sizes and CRCs, each right behind the one before."""
    members: list[Member] = []
    at = 0
    for row in rows:
        members.append(Member(*row, at))
        at = members[-1].ends
    return tuple(members)


def directory(members: Sequence[Member], offset: int) -> bytes:
    """All that stands behind the members: their rows, and the end; `offset` is where it begins."""
    rows = b"".join(member.central_header for member in members)
    count, size = len(members), len(rows)
    wide = b""
    if count > MOST_MEMBERS or max(size, offset) > LARGEST:
        wide = END_64.pack(
            END_64_MARK, END_64.size - 12, _ZIP64, _ZIP64, 0, 0, count, count, size, offset
        ) + LOCATOR_64.pack(LOCATOR_64_MARK, 0, offset + size, 1)
    shown = min(count, 0xFFFF)
    return (
        rows
        + wide
        + END.pack(END_MARK, 0, 0, shown, shown, min(size, 0xFFFFFFFF), min(offset, 0xFFFFFFFF), 0)
    )

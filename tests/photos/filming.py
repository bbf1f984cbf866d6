"""Films made box by box: ISO 14496-12 § 4.2 and § 8.2.2, QuickTime File Format (metadata keys)."""

import struct
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

EPOCH = datetime(1904, 1, 1)  # noqa: DTZ001 - the count starts there in UTC


def box(kind: bytes, *parts: bytes) -> bytes:
    body = b"".join(parts)
    return struct.pack(">I", 8 + len(body)) + kind + body


def film(path: Path, made: datetime, keys: Mapping[str, str] | None = None) -> Path:
    """A film without a picture: its header's creation time, and Apple's kind of named values."""
    brand = b"qt  " if path.suffix == ".mov" else b"mp42"
    moov = box(b"moov", _header(made), *([_named(keys)] if keys else []))
    path.write_bytes(box(b"ftyp", brand, b"\0\0\0\0", brand) + box(b"mdat", b"\0" * 64) + moov)
    return path


def _header(made: datetime) -> bytes:
    seconds = int((made - EPOCH).total_seconds())
    unity = struct.pack(">9I", 0x10000, 0, 0, 0, 0x10000, 0, 0, 0, 0x40000000)
    return box(
        b"mvhd",
        struct.pack(">IIIII", 0, seconds, seconds, 1000, 5000),
        struct.pack(">IH", 0x10000, 0x100) + b"\0" * 10 + unity + b"\0" * 24,
        struct.pack(">I", 2),
    )


def _named(keys: Mapping[str, str]) -> bytes:
    names = box(
        b"keys", struct.pack(">II", 0, len(keys)), *(box(b"mdta", key.encode()) for key in keys)
    )
    values = (
        box(struct.pack(">I", at), box(b"data", struct.pack(">II", 1, 0), value.encode()))
        for at, value in enumerate(keys.values(), start=1)
    )
    handler = box(b"hdlr", struct.pack(">II", 0, 0), b"mdta", b"\0" * 12)
    return box(b"meta", handler, names, box(b"ilst", *values))

"""Files attached to a dossier: what one is, and how a stranger's are taken out again.

Reading is strict, because the file may be anybody's: flat names only, none twice, no filter but the
one that `archive.finish` leaves, and never more unpacked than the limit.
"""

import re
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from io import BytesIO
from typing import TYPE_CHECKING

from evidence.errors import ChangedError, EvidenceError, RefusedError
from evidence.stored import is_flat

if TYPE_CHECKING:
    from pikepdf import Object, Pdf

MAX_ATTACHED_BYTES = 512 * 1024 * 1024
"""What `extract` takes from a stranger's file (judgement: ten times an ample dossier)."""
MAX_ATTACHED_FILES = 10_000

_MIME_TYPE = re.compile(r"[a-z0-9.+-]+/[a-z0-9.+-]+", re.ASCII)


class Relationship(StrEnum):
    """What an attached file is to the pages (ISO 19005-3 § 6.8, AFRelationship)."""

    SOURCE = "Source"
    DATA = "Data"
    ALTERNATIVE = "Alternative"
    SUPPLEMENT = "Supplement"
    UNSPECIFIED = "Unspecified"


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file to attach: flat name, bytes, media type, a sentence on what it is, its relation.

    Raises:
        RefusedError: the name is not flat, or the media type is none.
    """

    name: str
    data: bytes
    mime_type: str
    description: str
    relationship: Relationship

    def __post_init__(self) -> None:
        if not is_flat(self.name):
            raise RefusedError(f"attachment {self.name!r}", "has not a plain file name")
        if _MIME_TYPE.fullmatch(self.mime_type) is None:
            raise RefusedError(f"attachment {self.name}", f"has no media type: {self.mime_type!r}")


def opened(pdf: bytes) -> "Pdf":
    """The PDF, read without any mending of its faults; close it after use.

    Raises:
        RefusedError: it cannot be read as a PDF, or asks for a password.
    """
    import pikepdf

    try:
        return pikepdf.open(BytesIO(pdf), attempt_recovery=False)
    except (pikepdf.PdfError, pikepdf.PasswordError) as error:
        raise RefusedError("PDF", "cannot be read as a PDF file") from error


def extract(
    pdf: bytes, *, limit: int = MAX_ATTACHED_BYTES, damaged: set[str] | None = None
) -> dict[str, bytes]:
    """The attachments of a dossier by name. The signature is not checked here.

    Args:
        pdf: anybody's file.
        limit: how many bytes the attachments may hold together.
        damaged: takes the names of those that cannot be unpacked, and they are left out; without
            it the first of them ends the reading.

    Raises:
        RefusedError: the file cannot be read as a PDF, or its attachments exceed the limit.
        ChangedError: an attachment is not as `archive.finish` attaches it.
    """
    with opened(pdf) as document:
        try:
            return _read_all(document, limit, damaged)
        except EvidenceError:
            raise
        except Exception as error:  # a stranger's objects may be of any type, anywhere
            raise ChangedError("attachments", "cannot be read") from error


def _read_all(document: "Pdf", limit: int, damaged: set[str] | None) -> dict[str, bytes]:
    found: dict[str, bytes] = {}
    for name, stream in _embedded(document):
        if not is_flat(name):
            raise ChangedError(f"attachment {name[:60]!r}", "has not a plain file name")
        if name in found:
            raise ChangedError(f"attachment {name}", "is attached twice")
        if len(found) == MAX_ATTACHED_FILES:
            raise _too_much(f"more than {MAX_ATTACHED_FILES} files")
        try:
            found[name] = _content(name, stream, limit)
        except ChangedError:
            if damaged is None:
                raise
            damaged.add(name)
            continue
        limit -= len(found[name])
    return found


def _embedded(document: "Pdf") -> "Iterator[tuple[str, Object]]":
    """Names and streams of /EmbeddedFiles as they stand, double names and all.

    pikepdf's own mapping would hide the second of two files with one name.
    """
    root = document.Root
    waiting = [root.Names.EmbeddedFiles] if "/EmbeddedFiles" in root.get("/Names", {}) else []
    seen: set[tuple[int, int]] = set()
    while waiting:
        node = waiting.pop()
        if node.is_indirect and node.objgen in seen:
            raise ChangedError("attachments", "are listed in a circle")
        seen.add(node.objgen)
        waiting += reversed(list(node.get("/Kids", [])))
        names = list(node.get("/Names", []))
        for key, spec in zip(names[::2], names[1::2], strict=True):
            name = str(key)
            if str(spec.UF) != name or str(spec.F) != name:
                raise ChangedError(f"attachment {name[:60]!r}", "goes by two names")
            yield name, spec.EF.F


def _content(name: str, stream: "Object", limit: int) -> bytes:
    """The stream's bytes, never unpacking more than `limit` of them."""
    raw = stream.read_raw_bytes()
    packing = stream.get("/Filter")
    if packing is None or not raw:
        data = raw
    elif packing == "/FlateDecode" and "/DecodeParms" not in stream:
        unpacker = zlib.decompressobj()
        try:
            data = unpacker.decompress(raw, limit + 1)
        except zlib.error as error:
            raise ChangedError(f"attachment {name}", "is damaged") from error
        if len(data) <= limit and not unpacker.eof:
            raise ChangedError(f"attachment {name}", "is damaged")
    else:
        raise ChangedError(f"attachment {name}", "is packed in a way that no dossier uses")
    if len(data) > limit:
        raise _too_much("more bytes than may be unpacked")
    return data


def _too_much(what: str) -> RefusedError:
    return RefusedError("attachments", f"hold {what}", "Open the file with another program.")

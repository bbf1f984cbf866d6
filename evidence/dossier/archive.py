"""From drawn pages to an archival file: attachments, declarations, and a place for the signature.

PDF/A-3 (ISO 19005-3) is PDF 1.7 with everything a reader will need in thirty years inside the file:
fonts, the meaning of colours, and any attached file with its type and its relation to the pages.
The same input always gives the same bytes.
"""

import re
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum
from importlib import resources
from io import BytesIO
from typing import TYPE_CHECKING

from evidence.errors import ChangedError, RefusedError
from evidence.words import is_control

if TYPE_CHECKING:
    from pikepdf import Object, Pdf

FIELD_NAME = "roof-evidence-signature"
"""The one signature field; `dossier/signature.py` fills it, `check/` looks for it."""
PRODUCER = "roof-evidence"
"""How the producer's name begins in every dossier."""
RECORD_NAME = "record.jsonl"
"""The attachment that every dossier has (OUTPUTS § 4)."""

MAX_ATTACHED_BYTES = 512 * 1024 * 1024
"""What `extract` takes from a stranger's file (judgement: ten times an ample dossier)."""
MAX_ATTACHED_FILES = 10_000

_FLAT_NAME = re.compile(r"[A-Za-z0-9._-]{1,200}", re.ASCII)
_MIME_TYPE = re.compile(r"[a-z0-9.+-]+/[a-z0-9.+-]+", re.ASCII)
_PRINTED_AND_LOCKED = 4 + 128  # annotation flags, ISO 32000-1 table 165
_TREE_DEPTH = 8


class Relationship(StrEnum):
    """What an attached file is to the pages (ISO 19005-3 § 6.8, AFRelationship)."""

    SOURCE = "Source"
    DATA = "Data"
    ALTERNATIVE = "Alternative"
    SUPPLEMENT = "Supplement"
    UNSPECIFIED = "Unspecified"


@dataclass(frozen=True, slots=True)
class Attachment:
    """A file to attach: flat name, bytes, media type, a sentence on what it is, its relation."""

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


def is_flat(name: str) -> bool:
    """True for a plain file name of ASCII letters, digits, dot, low line and hyphen."""
    return _FLAT_NAME.fullmatch(name) is not None and name.strip(".") != ""


Box = tuple[float, float, float, float]
"""Left, bottom, right and top on the page, in points."""


def finish(
    pdf: bytes,
    attachments: Sequence[Attachment],
    *,
    title: str,
    author: str,
    subject: str,
    created: datetime,
    box: Box,
    producer: str = PRODUCER,
    language: str = "en",
    tooltip: str = "Signature of the keeper of this record",
) -> bytes:
    """Make drawn pages a PDF/A-3b file that waits for its signature.

    Args:
        pdf: the pages as ReportLab drew them, every font embedded.
        attachments: in the order in which a reader should find them.
        title: shown by readers in place of the file name.
        author: the keeper of the record.
        subject: one sentence on what the file is.
        created: stands for every date in the file.
        box: where the signature shows on page 1.
        producer: this program with its version; begins with `PRODUCER`.
        language: of the pages, as BCP 47 has it.
        tooltip: what the signature field says of itself to a screen reader.

    Raises:
        RefusedError: the pages cannot be read, two attachments share a name, or a text holds
            characters that no page can show.
    """
    from pikepdf import ObjectStreamMode

    for text in (title, author, subject, producer, language, tooltip):
        if any(is_control(char) for char in text):
            raise RefusedError(f"text {text[:60]!r}", "holds a control character")
    if not producer.startswith(PRODUCER):
        raise RefusedError(f"producer {producer!r}", f"does not begin with {PRODUCER!r}")
    with _opened(pdf) as document:
        _drop_empty_transitions(document)
        _attach(document, attachments, created)
        _add_signature_field(document, box, tooltip)
        _declare_colours(document)
        document.Root.Lang = language
        _describe(
            document,
            title=title,
            author=author,
            subject=subject,
            producer=producer,
            created=created,
        )
        finished = BytesIO()
        document.save(
            finished,
            deterministic_id=True,
            object_stream_mode=ObjectStreamMode.disable,  # every object in plain sight
            min_version="1.7",
        )
    return finished.getvalue()


def extract(pdf: bytes, *, limit: int = MAX_ATTACHED_BYTES) -> dict[str, bytes]:
    """The attachments of a dossier by name, read strictly; the signature is not checked here.

    Args:
        pdf: anybody's file.
        limit: how many bytes the attachments may hold together.

    Raises:
        RefusedError: the file cannot be read as a PDF, or its attachments exceed the limit.
        ChangedError: an attachment is not as `finish` attaches it.
    """
    from pikepdf import PdfError

    found: dict[str, bytes] = {}
    with _opened(pdf) as document:
        try:
            for name, stream in _embedded(document):
                if not is_flat(name):
                    raise ChangedError(f"attachment {name[:60]!r}", "has not a plain file name")
                if name in found:
                    raise ChangedError(f"attachment {name}", "is attached twice")
                if len(found) == MAX_ATTACHED_FILES:
                    raise _too_much(f"more than {MAX_ATTACHED_FILES} files")
                found[name] = _content(name, stream, limit)
                limit -= len(found[name])
        except (PdfError, AttributeError, KeyError, TypeError, ValueError) as error:
            raise ChangedError("attachments", "cannot be read") from error
    return found


def _opened(pdf: bytes) -> "Pdf":
    import pikepdf

    try:
        return pikepdf.open(BytesIO(pdf), attempt_recovery=False)
    except (pikepdf.PdfError, pikepdf.PasswordError) as error:
        raise RefusedError("PDF", "cannot be read as a PDF file") from error


def _drop_empty_transitions(document: "Pdf") -> None:
    for page in document.pages:
        if "/Trans" in page and not list(page.Trans.keys()):
            del page.Trans


def _attach(document: "Pdf", attachments: Sequence[Attachment], created: datetime) -> None:
    from pikepdf import AttachedFileSpec, Name

    date = pdf_date(created)
    for item in attachments:
        if item.name in document.attachments:
            raise RefusedError(f"attachment {item.name}", "is attached twice")
        document.attachments[item.name] = AttachedFileSpec(
            document,
            item.data,
            filename=item.name,
            description=item.description,
            mime_type=item.mime_type,
            relationship=Name(f"/{item.relationship}"),
            creation_date=date,
            mod_date=date,
        )


def _add_signature_field(document: "Pdf", box: Box, tooltip: str) -> None:
    """An empty field, merged with its widget on page 1 (ISO 32000-1 §§ 12.7.4.5, 12.5.6.19)."""
    from pikepdf import Array, Dictionary, Name, Stream, String

    left, bottom, right, top = box
    page = document.pages[0]
    # PDF/A asks for an appearance of every visible widget (ISO 19005-3 § 6.3.3)
    nothing = Stream(
        document,
        b"",
        Type=Name.XObject,
        Subtype=Name.Form,
        BBox=Array([0, 0, right - left, top - bottom]),
        Resources=Dictionary(),
    )
    field = document.make_indirect(
        Dictionary(
            Type=Name.Annot,
            Subtype=Name.Widget,
            FT=Name.Sig,
            T=String(FIELD_NAME),
            TU=String(tooltip),
            Rect=Array([left, bottom, right, top]),
            F=_PRINTED_AND_LOCKED,
            P=page.obj,
            AP=Dictionary(N=nothing),
        )
    )
    if "/Annots" not in page:
        page.Annots = Array([])
    page.Annots.append(field)
    document.Root.AcroForm = Dictionary(Fields=Array([field]))


def _declare_colours(document: "Pdf") -> None:
    """The output intent: RGB in this file means sRGB (ISO 19005-3 § 6.2.3)."""
    from pikepdf import Array, Dictionary, Name, Stream, String

    profile = resources.files("pikepdf").joinpath("pdfa", "data", "sRGB.icc").read_bytes()
    intent = Dictionary(
        Type=Name.OutputIntent,
        S=Name.GTS_PDFA1,
        OutputConditionIdentifier=String("sRGB"),
        Info=String("sRGB"),
        DestOutputProfile=Stream(document, profile, N=3),
    )
    document.Root.OutputIntents = Array([document.make_indirect(intent)])


def _describe(
    document: "Pdf", *, title: str, author: str, subject: str, producer: str, created: datetime
) -> None:
    """The same facts as XMP and as document information, and the claim to be PDF/A-3b."""
    del document.docinfo
    if "/Metadata" in document.Root:
        del document.Root.Metadata
    moment = created.astimezone(UTC).isoformat(timespec="seconds")
    with document.open_metadata(set_pikepdf_as_editor=False) as metadata:
        metadata["dc:title"] = title
        metadata["dc:creator"] = [author]
        metadata["dc:description"] = subject
        metadata["pdf:Producer"] = producer
        metadata["xmp:CreatorTool"] = producer
        metadata["xmp:CreateDate"] = moment
        metadata["xmp:ModifyDate"] = moment
        metadata["pdfaid:part"] = "3"
        metadata["pdfaid:conformance"] = "B"


def pdf_date(moment: datetime) -> str:
    """`D:YYYYMMDDhhmmss+00'00'`, in UTC (ISO 32000-1 § 7.9.4)."""
    return moment.astimezone(UTC).strftime("D:%Y%m%d%H%M%S+00'00'")


def _embedded(document: "Pdf") -> "Iterator[tuple[str, Object]]":
    """Names and streams of /EmbeddedFiles as they stand, double names and all.

    pikepdf's own mapping would hide the second of two files with one name.
    """
    root = document.Root
    if "/Names" in root and "/EmbeddedFiles" in root.Names:
        yield from _leaves(root.Names.EmbeddedFiles, _TREE_DEPTH)


def _leaves(node: "Object", depth: int) -> "Iterator[tuple[str, Object]]":
    if not depth:
        raise ChangedError("attachments", "are nested too deeply")
    for child in node.get("/Kids", []):
        yield from _leaves(child, depth - 1)
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
    if packing is None:
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

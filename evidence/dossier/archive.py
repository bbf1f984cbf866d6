"""From drawn pages to an archival file: attachments, declarations, and a place for the signature.

PDF/A-3 (ISO 19005-3) is PDF 1.7 with everything a reader will need in thirty years inside the file:
fonts, the meaning of colours, and any attached file with its type and its relation to the pages.
The same input always gives the same bytes.
"""

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from importlib import resources
from io import BytesIO
from typing import TYPE_CHECKING

from evidence.dossier.attachments import Attachment, Relationship, extract, opened
from evidence.errors import RefusedError
from evidence.placing import DOSSIER_PRODUCER
from evidence.tagging import FORM
from evidence.words import is_control

if TYPE_CHECKING:
    from pikepdf import Object, Pdf

__all__ = [
    "FIELD_NAME",
    "PRODUCER",
    "Attachment",
    "Box",
    "Relationship",
    "extract",
    "finish",
    "pdf_date",
]

FIELD_NAME = "roof-evidence-signature"
"""The one signature field; `dossier/signature.py` fills it, `check/` looks for it."""
PRODUCER = DOSSIER_PRODUCER
"""How the producer's name begins in every dossier, and in no other PDF of this program."""

# Pages with a structure tree claim conformance A (ISO 19005-3 § 6.7) and PDF/UA-1 beside it.
_CLAIMS = {"pdfaid:part": "3", "pdfaid:conformance": "A", "pdfuaid:part": "1"}
_UA_NAMESPACE = "http://www.aiim.org/pdfua/ns/id/"
_UA_SCHEMA = """\
<rdf:Description rdf:about=""
  xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
  xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
  xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
 <pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
  <pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>
  <pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
  <pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
  <pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
   <pdfaProperty:name>part</pdfaProperty:name>
   <pdfaProperty:valueType>Integer</pdfaProperty:valueType>
   <pdfaProperty:category>internal</pdfaProperty:category>
   <pdfaProperty:description>Part of ISO 14289 that this file follows</pdfaProperty:description>
  </rdf:li></rdf:Seq></pdfaSchema:property>
 </rdf:li></rdf:Bag></pdfaExtension:schemas>
</rdf:Description>
"""
"""PDF/A wants every property that is not its own described in the file (ISO 19005-3 § 6.6.2.3)."""
_PRINTED_AND_LOCKED = 4 + 128  # annotation flags, ISO 32000-1 table 165

Box = tuple[float, float, float, float]
"""Left, bottom, right and top on the page, in points."""


def finish(  # noqa: PLR0913 - what a file says of itself, each by its name
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
    """Make drawn pages a PDF/A-3a and PDF/UA-1 file that waits for its signature.

    Args:
        pdf: the pages as `binding.build` drew them: tagged, every font embedded.
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
    from pikepdf import Dictionary, ObjectStreamMode

    for text in (title, author, subject, producer, language, tooltip):
        if any(is_control(char) for char in text):
            raise RefusedError(f"text {text[:60]!r}", "holds a control character")
    if not producer.startswith(PRODUCER):
        raise RefusedError(f"producer {producer!r}", f"does not begin with {PRODUCER!r}")
    moment = created.astimezone(UTC).isoformat(timespec="seconds")
    with opened(pdf) as document:
        _drop_empty_transitions(document)
        _attach(document, attachments, created)
        _add_signature_field(document, box, tooltip)
        _declare_colours(document)
        _declare_extension(document)
        document.Root.Lang = language
        document.Root.ViewerPreferences = Dictionary(DisplayDocTitle=True)
        _describe(
            document,
            {
                "dc:title": title,
                "dc:creator": [author],
                "dc:description": subject,
                "pdf:Producer": producer,
                "xmp:CreatorTool": producer,
                "xmp:CreateDate": moment,
                "xmp:ModifyDate": moment,
            },
        )
        finished = BytesIO()
        document.save(
            finished,
            deterministic_id=True,
            object_stream_mode=ObjectStreamMode.disable,  # every object in plain sight
            min_version="1.7",
        )
    return finished.getvalue()


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
    _tag_field(document, field, tooltip)


def _tag_field(document: "Pdf", field: "Object", tooltip: str) -> None:
    """Give the field the place that the pages keep for it (ISO 32000-1 § 14.7.4.3)."""
    from pikepdf import Array, Dictionary, Name

    if "/StructTreeRoot" not in document.Root:
        raise RefusedError("pages", "are not tagged")
    tree = document.Root.StructTreeRoot
    places = [element for element in tree.K.K if str(element.S) == f"/{FORM}"]
    if len(places) != 1:
        raise RefusedError("pages", "keep no one place for a signature")
    (place,) = places
    place.Alt = tooltip
    place.K = Array([Dictionary(Type=Name.OBJR, Obj=field, Pg=document.pages[0].obj)])
    field.StructParent = tree.ParentTreeNextKey
    tree.ParentTree.Nums.extend([tree.ParentTreeNextKey, place])
    tree.ParentTreeNextKey += 1


def _declare_extension(document: "Pdf") -> None:
    """That the file awaits a signature of ETSI's kind (ETSI EN 319 142-1 § 5.6)."""
    from pikepdf import Dictionary, Name

    document.Root.Extensions = Dictionary(
        ESIC=Dictionary(Type=Name.DeveloperExtensions, BaseVersion=Name("/1.7"), ExtensionLevel=1)
    )


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


def _describe(document: "Pdf", facts: Mapping[str, str | list[str]]) -> None:
    """The same facts as XMP and as document information, and what the file claims to be."""
    del document.docinfo
    if "/Metadata" in document.Root:
        del document.Root.Metadata
    with document.open_metadata(set_pikepdf_as_editor=False) as metadata:
        metadata.update(facts)
        metadata.register_xml_namespace(_UA_NAMESPACE, "pdfuaid")
        metadata.update(_CLAIMS)
    written = document.Root.Metadata.read_bytes().decode()
    end = "</rdf:RDF>"
    document.Root.Metadata.write(written.replace(end, _UA_SCHEMA + end).encode())


def pdf_date(moment: datetime) -> str:
    """`D:YYYYMMDDhhmmss+00'00'`, in UTC (ISO 32000-1 § 7.9.4)."""
    return moment.astimezone(UTC).strftime("D:%Y%m%d%H%M%S+00'00'")

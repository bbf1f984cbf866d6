"""A small dossier, finished and signed, for the tests of this storey and the next."""

import json
import subprocess
from datetime import UTC, datetime
from functools import cache
from io import BytesIO

import pikepdf
import pypdf
from cryptography.hazmat.primitives.asymmetric import ec, rsa

from evidence.dossier.archive import PRODUCER, Attachment, Relationship, finish
from evidence.dossier.signature import sign, signature_box
from evidence.figures.style import FONT_NAMES, register_fonts
from evidence.ledger.certificate import self_signed
from evidence.tagging import FORM, Element, TaggedCanvas, marked
from tests.conftest import SHARED, needed

CREATED = datetime(2025, 11, 3, 18, 0, 7, tzinfo=UTC)
SIGNED_AT = datetime(2025, 11, 3, 18, 5, 9, tzinfo=UTC)
BOX = (72.0, 72.0, 300.0, 130.0)
KEY = ec.derive_private_key(0x5EA1, ec.SECP256R1())
CERTIFICATE = self_signed(KEY, "A. Keeper", datetime(2025, 1, 1, tzinfo=UTC))
RECORD = Attachment(
    "record.jsonl",
    b'{"seq":0}\n{"seq":1}\n',
    "application/jsonl",
    "The record",
    Relationship.SOURCE,
)
HEADS = Attachment("heads.txt", b"a head\n", "text/plain", "Signed heads", Relationship.DATA)


@cache
def rsa_key() -> rsa.RSAPrivateKey:
    return rsa.generate_private_key(65537, 2048)


@cache
def rsa_certificate() -> bytes:
    return self_signed(rsa_key(), "A. Keeper", datetime(2025, 1, 1, tzinfo=UTC))


def pages(*texts: str) -> bytes:
    """One page for each text, as ReportLab draws it."""
    register_fonts()
    drawn = BytesIO()
    canvas = TaggedCanvas(drawn, invariant=1, initialFontName=FONT_NAMES["text"], lang="en")
    canvas.begin(Element(FORM))
    canvas.end()
    for text in texts:
        canvas.setFont(FONT_NAMES["text"], 12)
        with marked(canvas, Element("P")):
            canvas.drawString(72, 700, text)
        canvas.showPage()
    canvas.save()
    return drawn.getvalue()


def finished(*attachments: Attachment, drawn: bytes | None = None, **said) -> bytes:
    facts = {
        "title": "Upkeep of “Wren”",
        "author": "A. Keeper",
        "subject": "What was seen, and when",
        "created": CREATED,
        "box": BOX,
        "producer": f"{PRODUCER} 0.1.0",
    }
    attached = attachments or (RECORD, HEADS)
    return finish(drawn or two_pages(), attached, **(facts | said))


@cache
def two_pages() -> bytes:
    return pages("The first page", "The second page")


def signed(pdf: bytes, **changed) -> bytes:
    facts = {
        "key": KEY,
        "certificate_der": CERTIFICATE,
        "signed_at": SIGNED_AT,
        "reason": "Issued by its keeper",
    }
    return sign(pdf, **(facts | changed))


@cache
def dossier() -> bytes:
    width, height = BOX[2] - BOX[0], BOX[3] - BOX[1]
    box = signature_box(["Signed by A. Keeper", "3 November 2025, 18:05 UTC"], width, height)
    return signed(finished(), box_pdf=box)


@cache
def rsa_dossier() -> bytes:
    return signed(finished(), key=rsa_key(), certificate_der=rsa_certificate())


def cut_to_first_revision(pdf: bytes) -> bytes:
    return pdf[: pdf.index(b"%%EOF") + len(b"%%EOF\n")]


def faults_by_verapdf(pdf: bytes, folder) -> dict[str, object]:
    """Rule and count of what the veraPDF engine objects to in PDF/A-3a and PDF/UA-1."""
    tool = SHARED / "tools" / "vera" / "vera"
    needed(tool.is_file(), "the veraPDF engine")
    file = folder / "file.pdf"
    file.write_bytes(pdf)
    done = subprocess.run([tool, "3a,ua1", file], capture_output=True, text=True, check=False)
    needed(done.returncode != 2, "what the veraPDF engine needs")
    told = [json.loads(line) for line in done.stdout.splitlines()]
    assert [one["flavour"] for one in told] == ["3a", "ua1"]
    return {rule: count for one in told for rule, count in one["failed"].items()}


def flipped(pdf: bytes, place: int, bit: int) -> bytes:
    """The file with one bit changed."""
    changed = bytearray(pdf)
    changed[place] ^= 1 << bit
    return bytes(changed)


def added_by_pypdf(change, pdf: bytes) -> bytes:
    """The file with a change added behind its end."""
    writer = pypdf.PdfWriter(BytesIO(pdf), incremental=True)
    change(writer)
    out = BytesIO()
    writer.write(out)
    assert out.getvalue().startswith(pdf)
    return out.getvalue()


def saved_anew(change, pdf: bytes, **how) -> bytes:
    """The file changed and written from the beginning."""
    with pikepdf.open(BytesIO(pdf)) as document:
        change(document)
        out = BytesIO()
        document.save(out, **how)
    return out.getvalue()

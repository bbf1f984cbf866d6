"""Whether a dossier is still the file that was signed (step 9 of `check`).

Four looks, each able to refuse alone:

1. the signed bytes: exactly one range, from the first byte of the file to its last;
2. the gap: rebuilt to the last bit from digest, certificate and signature (`dossier/seal.py`);
3. the digest, the certificate's digest and the signature (ECDSA P-256 or RSA);
4. pyHanko's own judgement, as a second opinion by other hands.

Who signed is for the caller to compare with the record: here a certificate vouches for itself.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256
from io import BytesIO
from typing import TYPE_CHECKING

from evidence.carried import RECORD_NAME
from evidence.check.pdf_changes import later_changes
from evidence.dossier.archive import FIELD_NAME, PRODUCER
from evidence.dossier.seal import ByteRange, Seal, byte_ranges
from evidence.errors import ChangedError
from evidence.words import is_control

if TYPE_CHECKING:
    from pikepdf import Pdf

LEVEL = "B-B"
"""The baseline level of ETSI EN 319 142-1 that a signature without document timestamp has."""

# Any one makes a file a dossier, so that no single change can make it pass for something else.
_MARKS = (
    f"({FIELD_NAME})".encode(),
    f"/Producer ({PRODUCER}".encode(),
    f"({RECORD_NAME})".encode(),
)

_UNSIGNED = (
    "it bears the marks of a dossier but no signature that fits it: "
    "that was removed or cut off, or the file was written anew"
)


@dataclass(frozen=True, slots=True)
class SignatureReport:
    """What a PDF's signature shows.

    Attributes:
        is_dossier: the file bears a mark of a dossier. If not, nothing else is said of it.
        signed: a signature was found.
        intact: what it covers is what was signed.
        covers_whole_file: it covers the file from its first byte to its last.
        signer: the name in the certificate; nobody vouches for it here.
        certificate_sha256: of the certificate in DER, in hex; empty where none could be read.
        level: "B-B", or empty where the signature does not hold.
        time: what the signature says of its own time.
        later_changes: what was added after signing, in sentences without a full stop.
        faults: everything else that speaks against it, likewise.
    """

    is_dossier: bool
    signed: bool = False
    intact: bool = False
    covers_whole_file: bool = False
    signer: str = ""
    certificate_sha256: str = ""
    level: str = ""
    time: datetime | None = None
    later_changes: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()

    @property
    def unchanged(self) -> bool:
        """True if the file is, to the last bit, what was signed."""
        told = self.later_changes or self.faults
        return self.signed and self.intact and self.covers_whole_file and not told


def read_signature(pdf: bytes) -> SignatureReport:
    """Read the signature of a PDF that may be a dossier. Never raises for what the file holds.

    Args:
        pdf: anybody's file. Without any mark of a dossier it is reported as none.
    """
    if not _bears_a_mark(pdf):
        return SignatureReport(is_dossier=False)
    spans = byte_ranges(pdf)
    if not spans:
        return SignatureReport(is_dossier=True, faults=(_UNSIGNED,))
    span = spans[0]
    faults = []
    if len(spans) > 1:
        faults.append(f"it states {len(spans)} signatures where a dossier has one")
    if span.end > len(pdf):
        faults.append("it ends before what was signed ends: it was cut off")
    try:
        seal = Seal.read(span.contents(pdf), span.digest(pdf))
    except ChangedError as error:
        faults.append(f"the {error.what} {error.why}")
        return SignatureReport(is_dossier=True, signed=True, faults=tuple(faults))
    holds = seal.holds()
    if not holds:
        faults.append("the signature was not made with the key of its certificate")
    opinion = _second_opinion(pdf[: span.end], span, seal)
    return SignatureReport(
        is_dossier=True,
        signed=True,
        intact=holds and opinion.accepts,
        covers_whole_file=span.end == len(pdf),
        signer=_signer(seal.certificate_der),
        certificate_sha256=sha256(seal.certificate_der).hexdigest(),
        level=LEVEL if holds and opinion.accepts else "",
        time=opinion.time,
        later_changes=later_changes(pdf[: span.end], pdf),
        faults=(*faults, *opinion.faults),
    )


def _bears_a_mark(pdf: bytes) -> bool:
    """In plain sight, or in a file that another program has packed anew."""
    import pikepdf

    if any(mark in pdf for mark in _MARKS):
        return True
    try:
        with pikepdf.open(BytesIO(pdf)) as document:
            return _is_marked(document)
    except Exception:  # noqa: BLE001 - what cannot be read bears no mark beyond those in sight
        return False


def _is_marked(document: "Pdf") -> bool:
    form = document.Root.get("/AcroForm")
    fields = [] if form is None else list(form.get("/Fields", []))
    return (
        str(document.docinfo.get("/Producer", "")).startswith(PRODUCER)
        or RECORD_NAME in document.attachments
        or any(str(entry.get("/T", "")) == FIELD_NAME for entry in fields)
    )


@dataclass(frozen=True, slots=True)
class _Opinion:
    accepts: bool
    time: datetime | None = None
    faults: tuple[str, ...] = ()


def _second_opinion(pdf: bytes, span: ByteRange, seal: Seal) -> _Opinion:
    from evidence.dossier.pyhanko_parts import quiet

    try:
        with quiet():
            return _judged(pdf, span, seal)
    except Exception as error:  # noqa: BLE001 - the reader may trip over a stranger's file anywhere
        return _Opinion(False, None, (f"a second reader cannot read it ({type(error).__name__})",))


def _judged(pdf: bytes, span: ByteRange, seal: Seal) -> _Opinion:
    """What pyHanko makes of it, with the signer's own certificate as the anchor."""
    from asn1crypto import x509
    from pyhanko.pdf_utils.reader import PdfFileReader
    from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko.sign.validation.status import SignatureCoverageLevel
    from pyhanko_certvalidator import ValidationContext

    found = PdfFileReader(BytesIO(pdf)).embedded_signatures
    if len(found) != 1:
        return _Opinion(False, None, (f"a second reader sees {len(found)} signatures, not one",))
    (signature,) = found
    time = signature.self_reported_timestamp
    certificate = x509.Certificate.load(seal.certificate_der)
    if time is None or not certificate.not_valid_before <= time <= certificate.not_valid_after:
        return _Opinion(False, time, ("its stated time lies outside its certificate's life",))
    status = validate_pdf_signature(
        signature,
        ValidationContext(trust_roots=[certificate], moment=time, allow_fetching=False),
    )
    wanted = {
        "the signature is not in the field made for it": signature.field_name == FIELD_NAME,
        "the signature is not of the kind a dossier has": signature.sig_object["/SubFilter"]
        == SigSeedSubFilter.PADES.value,
        "the signature allows later changes": signature.docmdp_level == MDPPerm.NO_CHANGES,
        "a second reader sees other signed bytes": [int(n) for n in signature.byte_range]
        == [0, span.start, span.stop, span.end - span.stop],
        "a second reader sees bytes that are not signed": status.coverage
        == SignatureCoverageLevel.ENTIRE_FILE,
        "a second reader does not accept the signature": status.bottom_line,
    }
    faults = tuple(why for why, holds in wanted.items() if not holds)
    return _Opinion(not faults, time.astimezone(UTC), faults)


def _signer(certificate_der: bytes) -> str:
    """The certificate's common name, fit for one line of a terminal."""
    from asn1crypto import x509

    try:
        name = x509.Certificate.load(certificate_der).subject.native.get("common_name", "")
    except ValueError:  # a name in an encoding that it does not have
        return ""
    text = name if isinstance(name, str) else ""
    return "".join(" " if is_control(char) or char == "\n" else char for char in text).strip()

"""Signing a dossier: PAdES B-B, certified, no change allowed afterwards (ISO 32000-1 § 12.8.2.2).

The signature says who issued the file and that not a bit changed since. Its time is the signer's
own word; outsiders' clocks stand in the attached record.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from io import BytesIO
from typing import TYPE_CHECKING

from evidence.dossier.archive import FIELD_NAME
from evidence.dossier.seal import Seal, byte_ranges
from evidence.errors import EvidenceError, RefusedError
from evidence.figures.style import FONT_NAMES, HAIRLINE, INK, Role, register_fonts, runs, text_width
from evidence.ledger.certificate import KINDS, certifies
from evidence.times import utc_text

if TYPE_CHECKING:
    from evidence.ledger.certificate import SigningKey

_TYPE = 8.0
_LINE = 10.5
_EDGE = 6.0
_RULE = 0.5


def sign(
    pdf: bytes,
    *,
    key: "SigningKey",
    certificate_der: bytes,
    signed_at: datetime,
    reason: str,
    location: str = "",
    box_pdf: bytes | None = None,
) -> bytes:
    """Sign what `archive.finish` made, in the field that it left for this.

    Args:
        pdf: the finished file, not yet signed.
        key: of a kind that dossiers are signed with (`ledger/certificate.py`).
        certificate_der: its certificate.
        signed_at: the time that the signature states, within the certificate's life.
        reason: why it is signed, as readers show it.
        location: where, if that is to be said.
        box_pdf: what `signature_box` drew, as large as the field; None leaves the box empty.

    Raises:
        RefusedError: key, certificate and time do not go together, or the file has no empty field.
    """
    from pyhanko.pdf_utils.misc import PdfError
    from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
    from pyhanko.sign.general import SigningError
    from pyhanko.sign.signers import PdfSignatureMetadata

    from evidence.dossier.pyhanko_parts import Key, SignerAt, Update, quiet, stamp_of

    _refuse_unfit(key, certificate_der, signed_at)
    metadata = PdfSignatureMetadata(
        field_name=FIELD_NAME,
        md_algorithm="sha256",
        subfilter=SigSeedSubFilter.PADES,
        certify=True,
        docmdp_permissions=MDPPerm.NO_CHANGES,
        reason=reason,
        location=location or None,
    )
    moment = signed_at.astimezone(UTC).replace(microsecond=0)
    signer = SignerAt(metadata, Key(key, certificate_der), stamp_of(box_pdf), moment)
    signed = BytesIO()
    try:
        with quiet():
            signer.sign_pdf(Update(BytesIO(pdf)), existing_fields_only=True, output=signed)
    except (PdfError, SigningError, ValueError) as error:
        raise RefusedError("dossier", f"cannot be signed: {error}") from error
    return _in_strict_form(signed.getvalue())


def _refuse_unfit(key: "SigningKey", certificate_der: bytes, signed_at: datetime) -> None:
    from cryptography.x509 import load_der_x509_certificate

    if not certifies(certificate_der, key):
        why = f"is not the key that the certificate names, or not {KINDS}"
        raise RefusedError("signing key", why)
    certificate = load_der_x509_certificate(certificate_der)
    if not certificate.not_valid_before_utc <= signed_at <= certificate.not_valid_after_utc:
        raise RefusedError(
            f"signing at {utc_text(signed_at)}", "lies outside the life of the certificate"
        )


def _in_strict_form(pdf: bytes) -> bytes:
    """The gap in lower case, and proof that `check` will take what is handed out."""
    *_, span = byte_ranges(pdf)
    gap = pdf[span.start : span.stop].lower()
    strict = pdf[: span.start] + gap + pdf[span.stop :]
    seal = Seal.read(span.contents(strict), span.digest(strict))
    if not seal.holds() or span.end != len(strict):
        raise EvidenceError(
            "dossier", "its new signature does not hold", "Sign again; nothing was handed out."
        )
    return strict


def signature_box(lines: Sequence[str], width: float, height: float) -> bytes:
    """Draw what the signature shows of itself: a hairline, the lines, the first of them bold.

    Args:
        lines: from the top; one that is too long for the box ends in "…".
        width: of the box, in points.
        height: of the box, in points.

    Returns:
        A PDF of one page, as large as the box, its fonts embedded.

    Raises:
        RefusedError: the box is too low for its lines.
    """
    from reportlab.pdfgen.canvas import Canvas

    if 2 * _EDGE + len(lines) * _LINE > height:
        raise RefusedError("signature box", f"is too low for {len(lines)} lines")
    register_fonts()
    drawn = BytesIO()
    canvas = Canvas(
        drawn, pagesize=(width, height), invariant=1, initialFontName=FONT_NAMES["text"]
    )
    canvas.setStrokeColor(HAIRLINE)
    canvas.setLineWidth(_RULE)
    canvas.rect(_RULE / 2, _RULE / 2, width - _RULE, height - _RULE)
    canvas.setFillColor(INK)
    for row, line in enumerate(lines):
        role: Role = "bold" if row == 0 else "text"
        left = _EDGE
        for font, piece in runs(_fitting(line, role, width - 2 * _EDGE), role):
            canvas.setFont(font, _TYPE)
            canvas.drawString(left, height - _EDGE - (row + 1) * _LINE + 2, piece)
            left += canvas.stringWidth(piece, font, _TYPE)
    canvas.save()
    return drawn.getvalue()


def _fitting(line: str, role: Role, width: float) -> str:
    if text_width(line, role, _TYPE) <= width:
        return line
    while line and text_width(f"{line}…", role, _TYPE) > width:
        line = line[:-1]
    return f"{line.rstrip()}…"

"""Where pyHanko's defaults are not a dossier's: its clock, its key handling, its metadata.

pyHanko is imported at the top, so this module is imported only by the function that signs.
"""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from io import BytesIO
from typing import TYPE_CHECKING

from asn1crypto import x509
from pyhanko.pdf_utils.content import PdfContent
from pyhanko.pdf_utils.generic import pdf_name
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.layout import AxisAlignment, BoxConstraints, Margins, SimpleBoxLayoutRule
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.pdf_utils.writer import BasePdfFileWriter
from pyhanko.sign.signers import PdfSignatureMetadata, PdfSigner, Signer
from pyhanko.sign.signers.pdf_signer import PdfSigningSession
from pyhanko.stamp import BaseStampStyle, NoOpStampStyle, StaticStampStyle

from evidence.witness.cms import sign_attributes

if TYPE_CHECKING:
    from evidence.ledger.certificate import SigningKey

_SOURCES_OF_NOISE = ("pyhanko", "pyhanko_certvalidator")


@contextmanager
def quiet() -> Iterator[None]:
    """Keep pyHanko's log off the user's terminal: what matters is told in the report."""
    loggers = [logging.getLogger(name) for name in _SOURCES_OF_NOISE]
    levels = [logger.level for logger in loggers]
    for logger in loggers:
        logger.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for logger, level in zip(loggers, levels, strict=True):
            logger.setLevel(level)


class Key(Signer):
    """Signs with a key held by `cryptography`, in the one form of `witness/cms.py`."""

    def __init__(self, key: "SigningKey", certificate_der: bytes) -> None:
        super().__init__(signing_cert=x509.Certificate.load(certificate_der))
        self._key = key

    async def async_sign_raw(  # the digest is SHA-256: `sign` asks for nothing else
        self,
        data: bytes,
        digest_algorithm: str,  # noqa: ARG002 - pyHanko's signature
        dry_run: bool = False,  # noqa: ARG002, FBT001, FBT002 - the same
    ) -> bytes:
        """The signature over the attributes."""
        return sign_attributes(self._key, data)


class Update(IncrementalPdfFileWriter):
    """An update that leaves the document's description as it was.

    pyHanko would set the modification date to this computer's clock and add itself to the
    producer; the signature's own time is the one that counts.
    """

    def _update_meta(self) -> None:
        pass


class SignerAt(PdfSigner):
    """A signer whose clock stands at a given time."""

    def __init__(
        self,
        metadata: PdfSignatureMetadata,
        key: Key,
        stamp_style: BaseStampStyle,
        signed_at: datetime,
    ) -> None:
        super().__init__(metadata, key, stamp_style=stamp_style)
        self._signed_at = signed_at

    def init_signing_session(
        self,
        pdf_out: BasePdfFileWriter,
        existing_fields_only: bool = False,  # noqa: FBT001, FBT002 - pyHanko's signature
    ) -> PdfSigningSession:
        """As pyHanko does, but for the time that is written to /M."""
        session = super().init_signing_session(pdf_out, existing_fields_only)
        session.system_time = self._signed_at
        return session

    def register_extensions(self, pdf_out: BasePdfFileWriter, *, md_algorithm: str) -> None:
        """Nothing: pyHanko would declare PDF 2.0 for the curve, and PDF/A-3 is PDF 1.7."""


class Drawing(PdfContent):
    """The first page of a PDF in memory, to be drawn into the signature's box."""

    def __init__(self, pdf: bytes) -> None:
        super().__init__()
        self._pdf = pdf

    def render(self) -> bytes:
        """Take the page into the file as a form, and the operators that draw it."""
        reader = PdfFileReader(BytesIO(self._pdf))
        form = self._ensure_writer.import_page_as_xobject(reader)
        self.resources.xobject[pdf_name("/Drawing")] = form
        left, bottom, right, top = form.get_object()["/BBox"]
        self.box = BoxConstraints(width=abs(right - left), height=abs(top - bottom))
        return b"/Drawing Do"


def stamp_of(box_pdf: bytes | None) -> BaseStampStyle:
    """The drawing from edge to edge of the field, or the field's own empty appearance."""
    if box_pdf is None:
        return NoOpStampStyle()
    return StaticStampStyle(
        background=Drawing(box_pdf),
        background_layout=SimpleBoxLayoutRule(
            x_align=AxisAlignment.ALIGN_MID,
            y_align=AxisAlignment.ALIGN_MID,
            margins=Margins(0, 0, 0, 0),
        ),
        background_opacity=1.0,
        border_width=0,
    )

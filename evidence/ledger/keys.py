"""A case's private keys, on disk but outside the case (RECORD § 1).

    <folder>/<case id>/log.pem          Ed25519, signs heads       PKCS#8, encrypted
    <folder>/<case id>/pdf.pem          P-256, signs dossiers      PKCS#8, encrypted
    <folder>/<case id>/pdf.cer          its self-signed certificate, DER

Files are made with mode 0600 in folders of mode 0700. A case's folder is written under another name
and renamed when complete, so it holds all three files or does not exist.
"""

import re
import secrets
import shutil
import tempfile
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from evidence.errors import ChangedError, MissingError, RefusedError
from evidence.ledger.disk import PRIVATE_FOLDER, plain_words, sync_folder, write_private
from evidence.ledger.heads import origin_of
from evidence.ledger.notes import Signer
from evidence.ledger.strict import shown

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    PrivateKey = Ed25519PrivateKey | EllipticCurvePrivateKey

_LOG_KEY, _PDF_KEY, _PDF_CERTIFICATE = "log.pem", "pdf.pem", "pdf.cer"
_CASE_ID = re.compile(r"[0-9a-f]{32}")
_MAX_NAME = 64  # ub-common-name, RFC 5280 appendix A.1

CERTIFICATE_LIFE = timedelta(days=30 * 365)
"""Longer than a coach and its disputes last (judgement). Nobody vouches for a self-signed
certificate, so its end protects nobody; a short life would only make old dossiers look spoilt."""


@dataclass(frozen=True, slots=True)
class KeyPair:
    """What a case signs with: `signer` its heads, `signing_key` its PDFs (P-256)."""

    signer: Signer
    signing_key: "EllipticCurvePrivateKey" = field(repr=False)
    certificate_der: bytes = field(repr=False)


class KeyStore:
    """The keys of many cases in one folder of the user's own."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def holds(self, case_id: str) -> bool:
        """True if there are keys for this case."""
        return self._case_folder(case_id).is_dir()

    def create(
        self,
        case_id: str,
        *,
        common_name: str,
        passphrase: str | None,
        valid_from: datetime | None = None,
    ) -> KeyPair:
        """Make and keep the keys of a new case.

        Args:
            case_id: 32 hex digits.
            common_name: whom the certificate names, 1 to 64 characters.
            passphrase: encrypts both private keys; None leaves them open (sample cases).
            valid_from: the certificate's first moment; a day ago if None, for clocks that differ.

        Raises:
            RefusedError: the case has keys already, a value is unusable, or the disk refuses.
        """
        folder = self._case_folder(case_id)
        if passphrase == "":
            raise RefusedError("passphrase", "is empty", "Choose at least a few words.")
        if not 1 <= len(common_name) <= _MAX_NAME:
            raise RefusedError(
                f"name {shown(common_name)}", f"does not have 1 to {_MAX_NAME} characters"
            )
        if folder.exists():
            raise RefusedError(f"case {case_id}", "has keys already", "They were left untouched.")
        pair = _new_pair(case_id, common_name, valid_from or datetime.now(UTC) - timedelta(days=1))
        with plain_words(self._folder):
            self._keep(folder, pair, passphrase)
        return pair

    def load(self, case_id: str, passphrase: str | None) -> KeyPair:
        """Open the keys of a case. Open keys take any passphrase.

        Raises:
            MissingError: there are none.
            RefusedError: the passphrase is wrong, or needed and not given.
            ChangedError: a file is not the key that it should be.
        """
        from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        folder = self._case_folder(case_id)
        if not folder.is_dir():
            raise MissingError(
                f"keys of case {case_id}",
                f"are not in {self._folder}",
                "Bring the key folder from the device that wrote the case, or use the recovery key.",
            )
        with plain_words(folder):
            log_pem, pdf_pem, certificate = (
                (folder / name).read_bytes() for name in (_LOG_KEY, _PDF_KEY, _PDF_CERTIFICATE)
            )
        log_key, pdf_key = (_unlock(pem, case_id, passphrase) for pem in (log_pem, pdf_pem))
        if not isinstance(log_key, Ed25519PrivateKey) or not _certifies(certificate, pdf_key):
            raise ChangedError(f"keys of case {case_id}", "are not the ones made for it")
        if not isinstance(pdf_key, EllipticCurvePrivateKey):
            raise ChangedError(f"keys of case {case_id}", "are not the ones made for it")
        return KeyPair(Signer(origin_of(case_id), log_key), pdf_key, certificate)

    def _case_folder(self, case_id: str) -> Path:
        if _CASE_ID.fullmatch(case_id) is None:  # also keeps a path from leaving the folder
            raise RefusedError(f"case id {shown(case_id)}", "is not 32 hex digits")
        return self._folder / case_id

    def _keep(self, folder: Path, pair: KeyPair, passphrase: str | None) -> None:
        self._folder.mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)
        self._folder.chmod(PRIVATE_FOLDER)
        making = Path(tempfile.mkdtemp(prefix=".making-", dir=self._folder))  # mode 0700
        try:
            write_private(making / _LOG_KEY, _lock(pair.signer.private_key, passphrase))
            write_private(making / _PDF_KEY, _lock(pair.signing_key, passphrase))
            write_private(making / _PDF_CERTIFICATE, pair.certificate_der)
            sync_folder(making)
            making.rename(folder)
        except BaseException:
            shutil.rmtree(making, ignore_errors=True)
            raise
        sync_folder(self._folder)


def _new_pair(case_id: str, common_name: str, valid_from: datetime) -> KeyPair:
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import Encoding

    key = ec.generate_private_key(ec.SECP256R1())
    certificate = _self_signed(key, common_name, valid_from).public_bytes(Encoding.DER)
    return KeyPair(Signer.generate(origin_of(case_id)), key, certificate)

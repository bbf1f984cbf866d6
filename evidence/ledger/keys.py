"""A case's private keys, on disk but outside the case (RECORD § 1).

    <folder>/<case id>/log.pem          Ed25519, signs heads           PKCS#8, encrypted
    <folder>/<case id>/pdf.pem          P-256 or RSA, signs dossiers   PKCS#8, encrypted
    <folder>/<case id>/pdf.cer          its certificate, DER: self-signed, or the user's own

Files are made with mode 0600 in folders of mode 0700. A case's folder is written under another name
and renamed when complete, so it holds all three files or does not exist.

    <folder>/<case id>.next-<key ID>/   keys that wait until the record names them
    <folder>/<case id>.until-<key ID>/  keys that were put aside for those of that ID

New keys are on the disk before the record speaks of them, and take their place only once it does:
whenever the machine stops, those that may sign are there.
"""

import re
import shutil
import tempfile
import unicodedata
from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from evidence.errors import ChangedError, MissingError, RefusedError
from evidence.ledger.certificate import OwnCertificate, certifies, self_signed
from evidence.ledger.disk import PRIVATE_FOLDER, plain_words, sync_folder, write_private
from evidence.ledger.heads import origin_of
from evidence.ledger.notes import Signer
from evidence.ledger.pkcs8 import locked_pem
from evidence.ledger.strict import is_unicode, shown

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.asymmetric.types import PrivateKeyTypes

    from evidence.ledger.certificate import SigningKey

_LOG_KEY, _PDF_KEY, _PDF_CERTIFICATE = "log.pem", "pdf.pem", "pdf.cer"
_MAX_SECRET = 1023  # what OpenSSL, and so `cryptography`, takes
_CASE_ID = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class KeyPair:
    """What a case signs with: `signer` its heads, `signing_key` its PDFs."""

    signer: Signer
    signing_key: "SigningKey" = field(repr=False)
    certificate_der: bytes = field(repr=False)


class KeyStore:
    """The keys of many cases in one folder of the user's own."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def holds(self, case_id: str) -> bool:
        """True if there are keys for this case."""
        return self._case_folder(case_id).is_dir()

    def certificate_sum(self, case_id: str) -> str | None:
        """SHA-256 (hex) of the certificate on this device: tells whose keys lie here, unopened."""
        path = self._case_folder(case_id) / _PDF_CERTIFICATE
        return sha256(_bytes_of(path)).hexdigest() if path.is_file() else None

    def create(
        self,
        case_id: str,
        *,
        common_name: str,
        passphrase: str | None,
        valid_from: datetime | None = None,
        own: OwnCertificate | None = None,
    ) -> KeyPair:
        """Make and keep the keys of a new case.

        Args:
            case_id: 32 hex digits.
            common_name: whom the certificate names, 1 to 64 characters.
            passphrase: encrypts both private keys; None leaves them open (sample cases).
            valid_from: the certificate's first moment; a day ago if None, for clocks that differ.
            own: a certificate of the user's own and its key, in place of a self-signed one.

        Raises:
            RefusedError: the case has keys already, a value is unusable, or the disk refuses.
        """
        folder = self._case_folder(case_id)
        if folder.exists():
            raise RefusedError(f"case {case_id}", "has keys already", "They were left untouched.")
        pair = _new_pair(case_id, common_name, valid_from, own)
        self._keep(folder, pair, passphrase)
        return pair

    def make_next(
        self,
        case_id: str,
        *,
        common_name: str,
        passphrase: str | None,
        own: OwnCertificate | None = None,
    ) -> KeyPair:
        """Make keys that wait beside the present ones; arguments and errors as for `create`."""
        pair = _new_pair(case_id, common_name, None, own)
        self._keep(self._next_folder(case_id, _id_of(pair)), pair, passphrase)
        return pair

    def drop_next(self, case_id: str, pair: KeyPair) -> None:
        """Throw away waiting keys that the record did not take."""
        shutil.rmtree(self._next_folder(case_id, _id_of(pair)), ignore_errors=True)

    def settle(self, case_id: str, standing: Collection[str]) -> None:
        """Put waiting keys in their place, if they may sign now.

        Args:
            case_id: 32 hex digits.
            standing: the IDs (hex) of the log keys that stand in the record.

        Raises:
            RefusedError: the disk refuses.
        """
        folder = self._case_folder(case_id)
        with plain_words(self._folder):
            for key_id in sorted(standing):
                waiting = self._next_folder(case_id, key_id)
                if not waiting.is_dir():
                    continue
                if folder.is_dir():
                    folder.rename(self._folder / f"{case_id}.until-{key_id}")
                waiting.rename(folder)
                sync_folder(self._folder)

    def load(self, case_id: str, passphrase: str | None) -> KeyPair:
        """Open the keys of a case. Open keys take any passphrase.

        Raises:
            MissingError: there are none.
            RefusedError: the passphrase is wrong, or needed and not given.
            ChangedError: a file is not the key that it should be.
        """
        folder = self._case_folder(case_id)
        if not folder.is_dir():
            raise MissingError(
                f"keys of case {case_id}",
                f"are not in {self._folder}",
                "Bring them from the device that wrote the case, or sign with the recovery key.",
            )
        secret = passphrase_bytes(passphrase)
        return _pair_of(
            case_id,
            unlock(_bytes_of(folder / _LOG_KEY), f"keys of case {case_id}", secret),
            unlock(_bytes_of(folder / _PDF_KEY), f"keys of case {case_id}", secret),
            _bytes_of(folder / _PDF_CERTIFICATE),
        )

    def discard(self, case_id: str) -> None:
        """Throw away the keys of a case that did not come to be."""
        shutil.rmtree(self._case_folder(case_id), ignore_errors=True)

    def _case_folder(self, case_id: str) -> Path:
        if _CASE_ID.fullmatch(case_id) is None:  # also keeps a path from leaving the folder
            raise RefusedError(f"case id {shown(case_id)}", "is not 32 hex digits")
        return self._folder / case_id

    def _next_folder(self, case_id: str, key_id: str) -> Path:
        return self._case_folder(case_id).with_name(f"{case_id}.next-{key_id}")

    def _keep(self, folder: Path, pair: KeyPair, passphrase: str | None) -> None:
        secret = passphrase_bytes(passphrase)
        with plain_words(self._folder):
            self._write(folder, pair, secret)

    def _write(self, folder: Path, pair: KeyPair, secret: bytes | None) -> None:
        if not self._folder.is_dir():
            self._folder.mkdir(mode=PRIVATE_FOLDER, parents=True)
        making = Path(tempfile.mkdtemp(prefix=".making-", dir=self._folder))  # mode 0700
        try:
            write_private(making / _LOG_KEY, lock(pair.signer.private_key, secret))
            write_private(making / _PDF_KEY, lock(pair.signing_key, secret))
            write_private(making / _PDF_CERTIFICATE, pair.certificate_der)
            sync_folder(making)
            making.rename(folder)
        except BaseException:
            shutil.rmtree(making, ignore_errors=True)
            raise
        sync_folder(self._folder)


def _new_pair(
    case_id: str, common_name: str, valid_from: datetime | None, own: OwnCertificate | None
) -> KeyPair:
    from cryptography.hazmat.primitives.asymmetric import ec

    signer = Signer.generate(origin_of(case_id))
    if own is not None:
        return KeyPair(signer, own.key, own.certificate_der)
    key = ec.generate_private_key(ec.SECP256R1())
    since = valid_from or datetime.now(UTC) - timedelta(days=1)
    return KeyPair(signer, key, self_signed(key, common_name, since))


def _id_of(pair: KeyPair) -> str:
    return pair.signer.verifier.key_id.hex()


def _pair_of(
    case_id: str, log_key: "PrivateKeyTypes", pdf_key: "PrivateKeyTypes", certificate: bytes
) -> KeyPair:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey

    if (
        isinstance(log_key, Ed25519PrivateKey)
        and isinstance(pdf_key, EllipticCurvePrivateKey | RSAPrivateKey)
        and certifies(certificate, pdf_key)
    ):
        return KeyPair(Signer(origin_of(case_id), log_key), pdf_key, certificate)
    raise ChangedError(f"keys of case {case_id}", "are not the ones made for it")


def _bytes_of(path: Path) -> bytes:
    with plain_words(path, MissingError):
        return path.read_bytes()


def passphrase_bytes(passphrase: str | None) -> bytes | None:
    """The passphrase as bytes: NFC, so that every keyboard spells an accented letter alike."""
    if passphrase is None:
        return None
    if not passphrase or not is_unicode(passphrase):
        raise RefusedError("passphrase", "is empty or not text", "Choose at least a few words.")
    secret = unicodedata.normalize("NFC", passphrase).encode()
    if len(secret) > _MAX_SECRET:
        raise RefusedError(
            "passphrase", f"is longer than {_MAX_SECRET} bytes", "Choose fewer words."
        )
    return secret


def lock(key: "Ed25519PrivateKey | SigningKey", secret: bytes | None) -> bytes:
    """The key as PKCS#8 in PEM; without a passphrase it stays open."""
    if secret is not None:
        return locked_pem(key, secret)
    from cryptography.hazmat.primitives import serialization as form

    return key.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, form.NoEncryption())


def unlock(
    pem: bytes,
    what: str,
    secret: bytes | None,
    if_lost: str = "sign with the printed recovery key",
) -> "PrivateKeyTypes":
    """Read a private key; an open one takes any passphrase.

    Args:
        pem: PKCS#8 in PEM.
        what: how a person knows the key.
        secret: the passphrase in bytes.
        if_lost: what whoever lost it does.

    Raises:
        RefusedError: the passphrase is wrong, or needed and not given.
        ChangedError: it is not a key.
    """
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    locked = b"ENCRYPTED" in pem.partition(b"\n")[0]
    if locked and secret is None:
        raise RefusedError(what, "are locked", "Give the passphrase.")
    try:
        return load_pem_private_key(pem, secret if locked else None)
    except (ValueError, UnsupportedAlgorithm):
        if locked:
            raise RefusedError(
                what,
                "are not opened by this passphrase",
                f"Type it again; if it is lost, {if_lost}.",
            ) from None
        raise ChangedError(what, "cannot be read as keys") from None

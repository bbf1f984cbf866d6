"""The X.509 certificate that a PDF signature carries (RFC 5280).

It says which key signed and what name its owner goes by. Self-signed, nobody vouches for that name;
a certificate of the user's own is read from a PKCS#12 file (RFC 7292).

Dossiers are signed over SHA-256, with a key of one of two kinds:

    ECDSA on P-256            FIPS 186-5 § 6; made here, or the user's own
    RSA, 2048 to 4096 bits    PKCS#1 v1.5, RFC 8017 § 8.2; the user's own
"""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, TypeAlias

from evidence.errors import RefusedError
from evidence.ledger.strict import shown

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import (
        EllipticCurvePrivateKey,
        EllipticCurvePublicKey,
    )
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey, RSAPublicKey
    from cryptography.x509 import Certificate

    SigningKey: TypeAlias = EllipticCurvePrivateKey | RSAPrivateKey
    VerifyingKey: TypeAlias = EllipticCurvePublicKey | RSAPublicKey

FEWEST_BITS, MOST_BITS = 2048, 4096
"""Of an RSA key: below, it no longer binds (NIST SP 800-131A rev. 2 § 3); above, none is sold."""

KINDS = f"ECDSA on P-256 or RSA of {FEWEST_BITS} to {MOST_BITS} bits"

LIFE = timedelta(days=30 * 365)
"""Longer than a vehicle and its disputes last (judgement). Nobody vouches for the certificate, so
an early end would protect nobody; it would only make old signatures look spoilt."""


@dataclass(frozen=True, slots=True)
class OwnCertificate:
    """A certificate that somebody issued to the user, in DER, and its private key."""

    key: "SigningKey" = field(repr=False)
    certificate_der: bytes = field(repr=False)


_MAX_NAME = 64  # ub-common-name, RFC 5280 appendix A.1


def self_signed(key: "SigningKey", common_name: str, valid_from: datetime) -> bytes:
    """Make a certificate for signing documents, in DER.

    Key usage is digitalSignature and nonRepudiation (RFC 5280 § 4.2.1.3), both needed by readers of
    signed PDFs; it is no authority (§ 4.2.1.9) and its serial number is random (§ 4.1.2.2).

    Args:
        key: the key it is for, and that signs it.
        common_name: the subject's and issuer's name, 1 to 64 characters.
        valid_from: its first moment; it holds for `LIFE`.

    Raises:
        RefusedError: the name is empty or too long.
    """
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.serialization import Encoding

    if not 1 <= len(common_name) <= _MAX_NAME:
        raise RefusedError(
            f"name {shown(common_name)}", f"has not between 1 and {_MAX_NAME} characters"
        )
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, common_name)])
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=True,  # the standard's newer name for nonRepudiation
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(valid_from)
        .not_valid_after(valid_from + LIFE)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    return certificate.public_bytes(Encoding.DER)


def certifies(certificate_der: bytes, key: "SigningKey") -> bool:
    """True if the certificate names `key`'s public half, and dossiers are signed with such a key.

    A certificate for RSA-PSS alone is none of them (RFC 4055 § 1.2).
    """
    named = verifying_key(certificate_der)
    return named is not None and named == key.public_key()


def verifying_key(certificate_der: bytes) -> "VerifyingKey | None":
    """The key that the certificate names; None if dossiers are not signed with such a key."""
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePublicKey
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicKey

    try:
        certificate = x509.load_der_x509_certificate(certificate_der)
        key = certificate.public_key()
    except Exception:  # noqa: BLE001 - a stranger's certificate may trip the reader anywhere
        return None
    if isinstance(key, EllipticCurvePublicKey) and key.curve.name == "secp256r1":
        return key
    plain = certificate.public_key_algorithm_oid == x509.PublicKeyAlgorithmOID.RSAES_PKCS1_v1_5
    if isinstance(key, RSAPublicKey) and plain and FEWEST_BITS <= key.key_size <= MOST_BITS:
        return key
    return None


def from_pkcs12(data: bytes, passphrase: str | None, name: str) -> OwnCertificate:
    """Read a certificate and its key from a PKCS#12 file (.p12, .pfx).

    Args:
        data: the file.
        passphrase: what locks it; None where nothing does.
        name: the file's name, for errors.

    Raises:
        RefusedError: the passphrase is wrong, or the file holds no key for dossiers (`KINDS`) with
            a certificate for signing that is in force.
    """
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPrivateKey
    from cryptography.hazmat.primitives.serialization import Encoding
    from cryptography.hazmat.primitives.serialization.pkcs12 import load_key_and_certificates

    secret = None if passphrase is None else passphrase.encode("utf-8", "surrogatepass")
    try:
        key, certificate, _ = load_key_and_certificates(data, secret)
    except (ValueError, TypeError):  # a stranger's file, or another passphrase: it cannot be told
        raise RefusedError(
            name,
            "is not opened by this passphrase, or is no PKCS#12 file",
            "Type the passphrase again, or export the certificate with its key once more.",
        ) from None
    if key is None or certificate is None:
        raise RefusedError(name, "does not hold both a key and its certificate")
    if certificate.public_key() != key.public_key():
        raise RefusedError(name, "holds a certificate of another key")
    der = certificate.public_bytes(Encoding.DER)
    if not isinstance(key, EllipticCurvePrivateKey | RSAPrivateKey) or not certifies(der, key):
        raise RefusedError(
            name,
            f"holds {_kind(certificate)}; dossiers are signed with {KINDS}",
            "Ask its issuer for a certificate on such a key, or do without one.",
        )
    _refuse_unfit(certificate, name)
    return OwnCertificate(key, der)


def _kind(certificate: "Certificate") -> str:
    """What key it names, in words."""
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePublicKey
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicKey

    key = certificate.public_key()
    if isinstance(key, EllipticCurvePublicKey):
        return f"a key on the curve {key.curve.name}"
    if not isinstance(key, RSAPublicKey):
        return "a key that is neither"
    if certificate.public_key_algorithm_oid == x509.PublicKeyAlgorithmOID.RSASSA_PSS:
        return "a key for RSA-PSS alone"
    return f"an RSA key of {key.key_size} bits"


def _refuse_unfit(certificate: "Certificate", name: str) -> None:
    """PDF readers ask for both usages (RFC 5280 § 4.2.1.3), and for the day of signing."""
    from cryptography import x509

    if not certificate.not_valid_before_utc <= datetime.now(UTC) <= certificate.not_valid_after_utc:
        raise RefusedError(name, "holds a certificate that is not in force today")
    try:
        usage = certificate.extensions.get_extension_for_class(x509.KeyUsage).value
    except x509.ExtensionNotFound:
        return
    except ValueError as error:
        raise RefusedError(name, "holds a certificate that cannot be read") from error
    if not (usage.digital_signature and usage.content_commitment):
        raise RefusedError(
            name,
            "holds a certificate that is not for signing documents",
            "Ask its issuer for one with digitalSignature and nonRepudiation.",
        )

"""The self-signed X.509 certificate that a PDF signature carries (RFC 5280).

It says which key signed and what name its owner goes by. Nobody vouches for that name.
"""

from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from evidence.errors import RefusedError
from evidence.ledger.strict import shown

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

LIFE = timedelta(days=30 * 365)
"""Longer than a vehicle and its disputes last (judgement). Nobody vouches for the certificate, so
an early end would protect nobody; it would only make old signatures look spoilt."""

_MAX_NAME = 64  # ub-common-name, RFC 5280 appendix A.1


def self_signed(key: "EllipticCurvePrivateKey", common_name: str, valid_from: datetime) -> bytes:
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


def certifies(certificate_der: bytes, key: "EllipticCurvePrivateKey") -> bool:
    """True if the certificate names `key`'s public half."""
    from cryptography import x509

    try:
        certificate = x509.load_der_x509_certificate(certificate_der)
    except ValueError:
        return False
    return certificate.public_key() == key.public_key()

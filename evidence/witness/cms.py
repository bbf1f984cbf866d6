"""CMS SignedData in one strict form (RFC 5652): one signer, SHA-256 with ECDSA P-256 or RSA.

The signed attributes are three: content type, message digest, and the digest of the signer's own
certificate (ESSCertIDv2, RFC 5035). There are no unsigned attributes. So the whole structure
follows from the digest, the certificates and the signature, and whoever rebuilds it finds any byte
that nobody signed for.
"""

from collections.abc import Sequence
from hashlib import sha256
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from evidence.ledger.certificate import SigningKey, VerifyingKey

_ALGORITHMS = {"ec": "sha256_ecdsa", "rsa": "sha256_rsa"}  # RFC 5754 § 3; RSA as PKCS#1 v1.5
_ORDER = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551  # P-256, SEC 2 § 2.4.2


def signed_attributes(content_type: str, digest: bytes, certificate_der: bytes) -> bytes:
    """The attributes as they are signed: a SET OF in DER (RFC 5652 § 5.4).

    Args:
        content_type: "data" or "tst_info".
        digest: SHA-256 of the content.
        certificate_der: the signer's.
    """
    from asn1crypto import cms, tsp, x509

    certificate = x509.Certificate.load(certificate_der)
    issuer = x509.GeneralName(name="directory_name", value=certificate.issuer)
    certificate_id = tsp.ESSCertIDv2(
        {
            "cert_hash": sha256(certificate_der).digest(),
            "issuer_serial": {"issuer": [issuer], "serial_number": certificate.serial_number},
        }
    )
    values = {
        "content_type": content_type,
        "message_digest": digest,
        "signing_certificate_v2": tsp.SigningCertificateV2({"certs": [certificate_id]}),
    }
    attributes = [{"type": kind, "values": [value]} for kind, value in values.items()]
    return bytes(cms.CMSAttributes(attributes).dump())


def signed_data(
    attributes: bytes,
    signature: bytes,
    certificates: Sequence[bytes],
    *,
    stated: bytes | None = None,
) -> bytes:
    """The ContentInfo in DER.

    Args:
        attributes: as `signed_attributes` gives them.
        signature: over the attributes: PKCS#1 v1.5, or an ECDSA-Sig-Value in DER (RFC 3279
            § 2.2.3), which is written in the lower of its two forms.
        certificates: in DER, the signer's first.
        stated: the TSTInfo that is signed; None leaves the content outside (a PDF's bytes).

    Raises:
        ValueError: the first certificate's key is of neither kind, or the signature not of its.
    """
    from asn1crypto import cms, core, x509

    held = [x509.Certificate.load(der) for der in certificates]
    kind = held[0].public_key.algorithm
    if kind not in _ALGORITHMS:
        raise ValueError(kind)
    content = {"content_type": "data"}
    if stated is not None:
        content = {"content_type": "tst_info", "content": core.ParsableOctetString(stated)}
    signer = {
        "version": "v1",
        "sid": cms.SignerIdentifier(
            name="issuer_and_serial_number",
            value={"issuer": held[0].issuer, "serial_number": held[0].serial_number},
        ),
        "digest_algorithm": {"algorithm": "sha256"},
        "signed_attrs": cms.CMSAttributes.load(attributes),
        "signature_algorithm": {"algorithm": _ALGORITHMS[kind]},
        "signature": lower_form(signature) if kind == "ec" else signature,
    }
    signed = {
        "version": "v1" if stated is None else "v3",  # RFC 5652 § 5.1
        "digest_algorithms": [{"algorithm": "sha256"}],
        "encap_content_info": content,
        "certificates": [cms.CertificateChoices(name="certificate", value=cert) for cert in held],
        "signer_infos": [signer],
    }
    content_info = {"content_type": "signed_data", "content": cms.SignedData(signed)}
    return bytes(cms.ContentInfo(content_info).dump())


def sign_attributes(key: "SigningKey", attributes: bytes) -> bytes:
    """A signature over the attributes; of ECDSA's two forms the lower, of RSA's the only one."""
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec, padding, rsa

    if isinstance(key, rsa.RSAPrivateKey):
        return key.sign(attributes, padding.PKCS1v15(), hashes.SHA256())
    return lower_form(key.sign(attributes, ec.ECDSA(hashes.SHA256())))


def made_by(key: "VerifyingKey", signature: bytes, attributes: bytes) -> bool:
    """True if the key's private half made the signature over the attributes."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec, padding, rsa

    try:
        if isinstance(key, rsa.RSAPublicKey):
            key.verify(signature, attributes, padding.PKCS1v15(), hashes.SHA256())
        else:
            key.verify(signature, attributes, ec.ECDSA(hashes.SHA256()))
    except InvalidSignature:
        return False
    return True


def lower_form(signature: bytes) -> bytes:
    """The same signature with the lower s, in DER.

    (r, s) and (r, order - s) hold for the same bytes (SEC 1 § 4.1.4); taking only one of them
    leaves nobody a choice.

    Raises:
        ValueError: the bytes are not an ECDSA-Sig-Value.
    """
    from cryptography.hazmat.primitives.asymmetric.utils import (
        decode_dss_signature,
        encode_dss_signature,
    )

    r, s = decode_dss_signature(signature)
    return encode_dss_signature(r, min(s, _ORDER - s))

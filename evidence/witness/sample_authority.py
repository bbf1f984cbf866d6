"""A time-stamping authority made on the spot, for sample cases and tests (RECORD § 8).

Its answers are as well formed as anybody's (RFC 3161, RFC 5816), but its certificate says that it
vouches for nothing, and `read_timestamp` never takes it for more.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from itertools import count
from typing import TYPE_CHECKING

from evidence.errors import RefusedError
from evidence.times import utc_text
from evidence.witness.cms import sign_attributes, signed_attributes, signed_data
from evidence.witness.timestamp import SAMPLE_ORGANIZATION

if TYPE_CHECKING:
    from asn1crypto.x509 import Certificate as Asn1Certificate
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.x509 import CertificateBuilder, KeyUsage

LIFE = timedelta(days=30 * 365)
_HEAD_START = timedelta(days=1)

# Organization and common name have 64 characters each (RFC 5280 appendix A.1), so the sentence
# "Sample time-stamping authority (made on the spot, vouches for nothing)" is put in two.
_TSA_NAME = "made on the spot, vouches for nothing"
_ROOT_NAME = "root made on the spot, vouches for nothing"
SAMPLE_NAME = f"{SAMPLE_ORGANIZATION} ({_TSA_NAME})"
"""The name under which `read_timestamp` reports it."""

_POLICY = "2.999.3161"  # below the arc set aside for examples (ITU-T X.660, joint-iso-itu-t 999)


@dataclass(frozen=True, slots=True)
class SampleAuthority:
    """A self-signed root and a certificate for time stamps below it, both P-256.

    Attributes:
        root_der: the root's certificate.
        certificate_der: the certificate that signs.
    """

    root_der: bytes
    certificate_der: bytes
    _key: "EllipticCurvePrivateKey" = field(repr=False)
    _serials: Iterator[int] = field(repr=False, default_factory=lambda: count(1))

    @classmethod
    def create(cls, at: datetime) -> "SampleAuthority":
        """A new authority whose certificates hold from a day before `at`, for 30 years."""
        from cryptography import x509
        from cryptography.hazmat.primitives import hashes
        from cryptography.hazmat.primitives.asymmetric import ec
        from cryptography.hazmat.primitives.serialization import Encoding
        from cryptography.x509.oid import ExtendedKeyUsageOID

        root_key, key = (ec.generate_private_key(ec.SECP256R1()) for _ in range(2))
        root_builder = _certificate(_ROOT_NAME, _ROOT_NAME, root_key, at)
        root = (
            root_builder.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
            .add_extension(_usage(authority=True), critical=True)
            .sign(root_key, hashes.SHA256())
        )
        purpose = x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING])
        issuer_id = x509.AuthorityKeyIdentifier.from_issuer_public_key(root_key.public_key())
        certificate = (
            _certificate(_TSA_NAME, _ROOT_NAME, key, at)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(_usage(authority=False), critical=True)
            .add_extension(purpose, critical=True)
            .add_extension(issuer_id, critical=False)
            .sign(root_key, hashes.SHA256())
        )
        return cls(root.public_bytes(Encoding.DER), certificate.public_bytes(Encoding.DER), key)

    def answer(self, message: bytes, at: datetime) -> bytes:
        """Stamp the SHA-256 of `message` at `at`.

        Returns:
            A granted TimeStampResp in DER, with both certificates, good to a second.

        Raises:
            RefusedError: the authority's certificate does not hold at `at`.
        """
        return self._stamp(sha256(message).digest(), None, at)

    def reply(self, query: bytes, at: datetime) -> bytes:
        """Answer a TimeStampReq (RFC 3161 § 2.4.1) over a SHA-256 at `at`.

        Raises:
            RefusedError: the request cannot be read, or asks for another digest.
        """
        from asn1crypto import tsp

        try:
            asked = tsp.TimeStampReq.load(query, strict=True)
            imprint, nonce = asked["message_imprint"], asked["nonce"].native
            algorithm = imprint["hash_algorithm"]["algorithm"].native
            digest = bytes(imprint["hashed_message"].native)
        except (ValueError, TypeError) as error:
            raise RefusedError("time-stamp request", "cannot be read") from error
        if algorithm != "sha256" or len(digest) != sha256().digest_size:
            raise RefusedError("time-stamp request", "asks for another digest than SHA-256")
        return self._stamp(digest, nonce, at)

    def _stamp(self, digest: bytes, nonce: int | None, at: datetime) -> bytes:
        from asn1crypto import cms, tsp, x509

        time = at.astimezone(UTC).replace(microsecond=0)
        certificate = x509.Certificate.load(self.certificate_der)
        _refuse_dead(certificate, time)
        stated = tsp.TSTInfo(
            {
                "version": "v1",
                "policy": _POLICY,
                "message_imprint": {
                    "hash_algorithm": {"algorithm": "sha256"},
                    "hashed_message": digest,
                },
                "serial_number": next(self._serials),
                "gen_time": time,
                "accuracy": {"seconds": 1},
                **({} if nonce is None else {"nonce": nonce}),
                "tsa": x509.GeneralName(name="directory_name", value=certificate.subject),
            }
        ).dump()
        attributes = signed_attributes("tst_info", sha256(stated).digest(), self.certificate_der)
        signature = sign_attributes(self._key, attributes)
        certificates = (self.certificate_der, self.root_der)
        token = cms.ContentInfo.load(
            signed_data(attributes, signature, certificates, stated=stated)
        )
        response = {"status": {"status": "granted"}, "time_stamp_token": token}
        return bytes(tsp.TimeStampResp(response).dump())


def _refuse_dead(certificate: "Asn1Certificate", time: datetime) -> None:
    if not certificate.not_valid_before <= time <= certificate.not_valid_after:
        raise RefusedError(
            "sample time-stamping authority",
            f"its certificate does not hold at {utc_text(time)}",
            "Make one for that time.",
        )


def _certificate(
    name: str, issuer: str, key: "EllipticCurvePrivateKey", at: datetime
) -> "CertificateBuilder":
    from cryptography import x509

    def of(common_name: str) -> x509.Name:
        return x509.Name(
            [
                x509.NameAttribute(x509.NameOID.ORGANIZATION_NAME, SAMPLE_ORGANIZATION),
                x509.NameAttribute(x509.NameOID.COMMON_NAME, common_name),
            ]
        )

    start = at.astimezone(UTC).replace(microsecond=0) - _HEAD_START
    key_id = x509.SubjectKeyIdentifier.from_public_key(key.public_key())
    return (
        x509.CertificateBuilder()
        .subject_name(of(name))
        .issuer_name(of(issuer))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(start)
        .not_valid_after(start + LIFE)
        .add_extension(key_id, critical=False)
    )


def _usage(*, authority: bool) -> "KeyUsage":
    from cryptography.x509 import KeyUsage

    return KeyUsage(
        digital_signature=not authority,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=authority,
        crl_sign=authority,
        encipher_only=False,
        decipher_only=False,
    )

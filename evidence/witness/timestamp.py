"""A time-stamping authority's answer over bytes (RFC 3161): what it says, and on whose word.

Knows bytes only. An answer is taken apart by `rfc3161-client`, whose reader is strict DER, and an
anchored chain is checked by it too. Without an anchor that library has nothing to say, so the
token's signature is then checked by pyHanko with the certificate that the token carries. Both must
hold before anything is believed; trust is decided last.
"""

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha256, sha384, sha512
from typing import TYPE_CHECKING

from evidence.errors import ChangedError, EvidenceError, RefusedError
from evidence.witness.trust import Trust
from evidence.words import is_control

if TYPE_CHECKING:
    from cryptography.x509 import Certificate, Name, ObjectIdentifier
    from rfc3161_client import TimeStampResponse

SAMPLE_ORGANIZATION = "Sample time-stamping authority"
"""The subject organization by which a certificate owns up to being a sample."""

MAX_BYTES = 1_000_000
"""Honest answers take a few thousand bytes; a cap bounds what a stranger's file can cost."""

_WHAT = "time stamp"
_DIGESTS = {"sha256": sha256, "sha384": sha384, "sha512": sha512}
_IMPRINTS = {  # RFC 5754 § 2
    "2.16.840.1.101.3.4.2.1": sha256,
    "2.16.840.1.101.3.4.2.2": sha384,
    "2.16.840.1.101.3.4.2.3": sha512,
}
_GRANTED, _WITH_MODS = 0, 1  # PKIStatus; with either a token is there (RFC 3161 § 2.4.2)


@dataclass(frozen=True, slots=True)
class Timestamp:
    """What an authority said of some bytes.

    Attributes:
        time: the moment at which the bytes existed, UTC.
        name: the authority as its certificate names it.
        trust: on whose word that rests.
        certificate_ends: when the authority's certificate ends, UTC; renew before.
    """

    time: datetime
    name: str
    trust: Trust
    certificate_ends: datetime


def read_timestamp(
    answer: bytes,
    message: bytes,
    *,
    anchors: Sequence[bytes] = (),
    sample: bool = False,
    nonce: int | None = None,
) -> Timestamp:
    """Check an answer over `message`, and say on whose word it rests.

    Args:
        answer: a TimeStampResp in DER (RFC 3161 § 2.4.2), with the authority's certificate in it.
        message: the bytes whose SHA-256, SHA-384 or SHA-512 was stamped.
        anchors: certificates (DER) that the reader trusts; a root, and where the token lacks them
            the certificates between.
        sample: whether the case is a sample. A sample authority counts nowhere else.
        nonce: the number that was sent with the request, which the answer must repeat.

    Raises:
        ChangedError: the answer is not whole, not granted, not about these bytes, or not to the
            request with this number.
        RefusedError: an anchor is not a certificate.
    """
    roots = [_anchor(der) for der in anchors]
    with _in_plain_words():
        return _read(answer, message, roots, sample=sample, nonce=nonce)


def find_stamped(answer: bytes, messages: Iterable[bytes]) -> bytes | None:
    """The one of `messages` that an answer is about; None where it is about none of them.

    Nothing else of the answer is checked.

    Raises:
        ChangedError: it cannot be read, or was not granted.
    """
    with _in_plain_words():
        imprint = _granted(answer).tst_info.message_imprint
        digest = _IMPRINTS.get(imprint.hash_algorithm.dotted_string)
        if digest is None:
            return None
        return next((one for one in messages if digest(one).digest() == imprint.message), None)


@contextmanager
def _in_plain_words() -> Iterator[None]:
    try:
        yield
    except EvidenceError:
        raise
    except Exception as error:  # a stranger's bytes may trip the readers in any way
        raise _changed("it cannot be read as an answer, or bytes were added to it") from error


def _granted(answer: bytes) -> "TimeStampResponse":
    from rfc3161_client import decode_timestamp_response

    if len(answer) > MAX_BYTES:
        raise _changed(f"it is larger than {MAX_BYTES} bytes")
    try:
        response = decode_timestamp_response(answer)
    except ValueError:
        answer = _certificates_in_order(answer)
        response = decode_timestamp_response(answer)
    if response.status == _WITH_MODS:
        response = decode_timestamp_response(_as_granted(answer))
    if response.status != _GRANTED:
        said = "; ".join(response.status_string) or f"status {response.status}"
        raise _changed(f"the authority did not grant it ({_clean(said)[:200]})")
    return response


def _as_granted(answer: bytes) -> bytes:
    """The same token under the status `granted`, which alone the library's verifier takes.

    Nobody signs the status. What was modified is for the token to say, and is looked at there: the
    bytes that it is about, and the number of the request.
    """
    from asn1crypto import tsp

    response = tsp.TimeStampResp.load(answer, strict=True)
    response["status"] = {"status": "granted"}
    return bytes(response.dump())


def _certificates_in_order(answer: bytes) -> bytes:
    """The same answer with its certificates in the order of DER.

    OpenSSL, with which many authorities answer, writes them in the order of the chain. They are a
    set for which nobody signs; everything else stays as it was, to the byte.
    """
    from asn1crypto import tsp

    response = tsp.TimeStampResp.load(answer, strict=True)
    content = response["time_stamp_token"]["content"]
    held = sorted(content["certificates"], key=lambda one: bytes(one.dump()))
    content["certificates"] = held
    ordered = bytes(response.dump())
    if len(ordered) != len(answer):  # another encoding than DER, elsewhere
        raise _changed("it is not written in DER")
    return ordered


def _read(
    answer: bytes,
    message: bytes,
    roots: "list[Certificate]",
    *,
    sample: bool,
    nonce: int | None,
) -> Timestamp:
    response = _granted(answer)
    certificate = _signer(response)
    _refuse_other_bytes(response, message)
    if nonce is not None and response.tst_info.nonce != nonce:
        raise _changed("it answers another request than this one", "Ask again.")
    _refuse_bad_signature(answer, certificate)
    time = response.tst_info.gen_time.astimezone(UTC)
    _refuse_unfit(certificate, time)
    return Timestamp(
        time=time,
        name=_name(certificate.subject),
        trust=_trust(response, message, certificate, roots, sample=sample),
        certificate_ends=certificate.not_valid_after_utc,
    )


def _signer(response: "TimeStampResponse") -> "Certificate":
    """The certificate in the token that the signer's own identifier names (RFC 5652 § 5.3)."""
    from cryptography.x509 import load_der_x509_certificate

    signers = response.signed_data.signer_infos
    held = [load_der_x509_certificate(der) for der in response.signed_data.certificates]
    named = [(signer.issuer, signer.serial_number) for signer in signers]
    matching = [cert for cert in held if (cert.issuer, cert.serial_number) in named]
    if len(named) != 1:
        raise _changed(f"it is signed by {len(named)} signers instead of one")
    if len(matching) != 1:
        raise _changed(
            "it does not hold its authority's certificate",
            "Ask the authority again, with the certificate (openssl ts -query -cert).",
        )
    return matching[0]


def _refuse_other_bytes(response: "TimeStampResponse", message: bytes) -> None:
    imprint = response.tst_info.message_imprint
    digest = _IMPRINTS.get(imprint.hash_algorithm.dotted_string)
    if digest is None:
        raise _changed("it uses a digest that is not SHA-256, SHA-384 or SHA-512")
    if digest(message).digest() != imprint.message:
        raise _changed("it is about other bytes than these")


def _refuse_bad_signature(answer: bytes, certificate: "Certificate") -> None:
    """The token's signature, and that it names this very certificate (RFC 3161 § 2.4.2)."""
    from asn1crypto import tsp, x509
    from cryptography.hazmat.primitives.serialization import Encoding
    from pyhanko.sign.validation.errors import SignatureValidationError
    from pyhanko.sign.validation.generic_cms import get_signing_cert_attr, validate_sig_integrity

    signed = tsp.TimeStampResp.load(answer)["time_stamp_token"]["content"]
    signer = signed["signer_infos"][0]
    algorithm = signer["digest_algorithm"]["algorithm"].native
    stated = signed["encap_content_info"]["content"].contents
    try:
        whole = (
            get_signing_cert_attr(signer["signed_attrs"]) is not None
            and algorithm in _DIGESTS
            and validate_sig_integrity(
                signer,
                x509.Certificate.load(certificate.public_bytes(Encoding.DER)),
                expected_content_type="tst_info",
                actual_digest=_DIGESTS[algorithm](stated).digest(),
            )
            == (True, True)
        )
    except SignatureValidationError:  # another content, or another certificate than was stamped
        whole = False
    if not whole:
        raise _changed("its signature does not belong to what it says")


def _refuse_unfit(certificate: "Certificate", time: datetime) -> None:
    """A certificate for time stamps alone, marked critical (RFC 3161 § 2.3), valid at `time`."""
    from cryptography.x509 import ExtendedKeyUsage, ExtensionNotFound
    from cryptography.x509.oid import ExtendedKeyUsageOID

    try:
        usage = certificate.extensions.get_extension_for_class(ExtendedKeyUsage)
    except ExtensionNotFound as error:
        raise _changed("its certificate is not one for time stamps") from error
    if not usage.critical or list(usage.value) != [ExtendedKeyUsageOID.TIME_STAMPING]:
        raise _changed("its certificate is not one for time stamps alone")
    if not certificate.not_valid_before_utc <= time <= certificate.not_valid_after_utc:
        raise _changed("its certificate did not hold at that time")


def _trust(
    response: "TimeStampResponse",
    message: bytes,
    certificate: "Certificate",
    roots: "list[Certificate]",
    *,
    sample: bool,
) -> Trust:
    from rfc3161_client import VerificationError, VerifierBuilder

    if _is_sample(certificate.subject):
        return Trust.SAMPLE if sample else Trust.UNTRUSTED
    if not roots:
        return Trust.UNTRUSTED
    try:
        VerifierBuilder(roots=roots).build().verify_message(response, message)
    except VerificationError:
        return Trust.UNTRUSTED
    return Trust.TRUSTED


def _is_sample(subject: "Name") -> bool:
    from cryptography.x509.oid import NameOID

    organizations = subject.get_attributes_for_oid(NameOID.ORGANIZATION_NAME)
    return SAMPLE_ORGANIZATION in [attribute.value for attribute in organizations]


def _anchor(der: bytes) -> "Certificate":
    from cryptography.x509 import load_der_x509_certificate

    try:
        return load_der_x509_certificate(der)
    except ValueError as error:
        raise RefusedError("trust anchor", "is not an X.509 certificate in DER") from error


def _name(subject: "Name") -> str:
    """`organization (common name)`, or whichever there is."""
    from cryptography.x509.oid import NameOID

    def first(oid: "ObjectIdentifier") -> str:
        values = [attribute.value for attribute in subject.get_attributes_for_oid(oid)]
        return _clean(values[0]) if values and isinstance(values[0], str) else ""

    organization, common = first(NameOID.ORGANIZATION_NAME), first(NameOID.COMMON_NAME)
    if organization and common:
        return f"{organization} ({common})"
    return organization or common or _clean(subject.rfc4514_string()) or "an authority without name"


def _clean(text: str) -> str:
    """A stranger's text made fit for one line of a terminal, and for the record (NFC)."""
    plain = "".join(" " if is_control(char) or char == "\n" else char for char in text)
    return unicodedata.normalize("NFC", plain).strip()


def _changed(why: str, what_to_do: str = "") -> ChangedError:
    return ChangedError(_WHAT, why, what_to_do)

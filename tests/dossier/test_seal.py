from datetime import UTC, datetime

import pytest
from asn1crypto import cms
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec, padding
from cryptography.hazmat.primitives.asymmetric.utils import (
    decode_dss_signature,
    encode_dss_signature,
)

from evidence.dossier.seal import ByteRange, Seal, byte_ranges
from evidence.errors import ChangedError
from evidence.ledger.certificate import self_signed
from tests.dossier.making import CERTIFICATE, KEY, dossier, rsa_certificate, rsa_dossier, rsa_key

EARLIER = datetime(2024, 1, 1, tzinfo=UTC)


def span() -> ByteRange:
    (only,) = byte_ranges(dossier())
    return only


def contents() -> bytes:
    return span().contents(dossier())


def read(der: bytes) -> Seal:
    return Seal.read(der, span().digest(dossier()))


def changed(change) -> bytes:
    """The dossier's structure with one part changed, in as much room as it had."""
    content = cms.ContentInfo.load(contents())
    change(content["content"], content["content"]["signer_infos"][0])
    return content.dump(force=True).ljust(len(contents()), b"\0")


def test_the_structure_of_a_dossier_is_read_with_its_zeros_and_without():
    seal = read(contents())

    assert seal == read(contents().rstrip(b"\0"))
    assert seal.certificate_der == CERTIFICATE
    assert seal.holds()
    assert changed(lambda *_: None) == contents()


def test_the_structure_cut_short_is_refused():
    with pytest.raises(ChangedError, match="signature"):
        read(contents().rstrip(b"\0")[:-1])


def test_another_value_in_the_padding_is_refused():
    with pytest.raises(ChangedError, match="bytes that nobody signed"):
        read(contents()[:-1] + b"\1")


def test_a_structure_over_other_bytes_is_refused():
    with pytest.raises(ChangedError, match="other bytes than these"):
        Seal.read(contents(), b"\7" * 32)


def add_an_unsigned_attribute(_signed, signer):
    signer["unsigned_attrs"] = [{"type": "counter_signature", "values": []}]


def add_a_second_certificate(signed, _signer):
    key = ec.generate_private_key(ec.SECP256R1())
    signed["certificates"].append(
        held(self_signed(key, "B. Stranger", datetime(2024, 1, 1, tzinfo=UTC)))
    )


def state_another_version(signed, _signer):
    signed["version"] = "v3"


def put_another_certificate_of_the_same_key(signed, _signer):
    signed["certificates"] = [held(self_signed(KEY, "A. Keeper", EARLIER))]


def put_the_other_form_of_the_same_signature(_signed, signer):
    order = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551  # SEC 2 § 2.4.2
    r, s = decode_dss_signature(signer["signature"].native)
    signer["signature"] = encode_dss_signature(r, order - s)


def held(certificate: bytes) -> cms.CertificateChoices:
    return cms.CertificateChoices(name="certificate", value=cms.Certificate.load(certificate))


@pytest.mark.parametrize(
    "change",
    [
        add_an_unsigned_attribute,
        add_a_second_certificate,
        state_another_version,
        put_another_certificate_of_the_same_key,
        put_the_other_form_of_the_same_signature,
    ],
)
def test_a_structure_with_other_parts_is_refused(change):
    with pytest.raises(ChangedError, match="bytes that nobody signed"):
        read(changed(change))


def test_a_signature_by_nobody_does_not_hold():
    def sign_with_nothing(_signed, signer):
        signer["signature"] = encode_dss_signature(7, 9)

    assert not read(changed(sign_with_nothing)).holds()


@pytest.mark.parametrize(
    "der", [b"", b"\x30\x00", b"\x30\x80", b"\x30" * 600, bytes(600), bytes(range(256))]
)
def test_what_is_no_structure_is_refused(der):
    with pytest.raises(ChangedError, match="cannot be read"):
        read(der)


@pytest.mark.parametrize("gap", [b"<0A>", b"<0>", b"<>", b"0a>", b"<0a", b"< 0a>", b"<0a\n>"])
def test_a_gap_in_any_other_spelling_is_refused(gap):
    with pytest.raises(ChangedError, match="one form"):
        ByteRange(0, len(gap), len(gap)).contents(gap)


def test_only_ranges_that_frame_a_gap_in_this_file_are_found():
    text = (
        b"<0a> /ByteRange [0 0 4 30] /ByteRange [0 1 5 9] /ByteRange [4 0 4 1] /ByteRange[0 4 0 1]"
    )

    assert byte_ranges(text) == (ByteRange(0, 4, 34),)


def test_the_digest_leaves_out_the_gap_alone():
    assert ByteRange(1, 3, 5).digest(b"a<>bc") == ByteRange(1, 5, 7).digest(b"a<00>bc")
    assert ByteRange(1, 3, 5).digest(b"a<>bc") != ByteRange(1, 3, 4).digest(b"a<>bc")


# A seal by RSA


def rsa_seal() -> tuple[cms.ContentInfo, bytes]:
    (only,) = byte_ranges(rsa_dossier())
    return cms.ContentInfo.load(only.contents(rsa_dossier())), only.digest(rsa_dossier())


def test_a_seal_by_rsa_is_read_and_holds():
    content, digest = rsa_seal()
    seal = Seal.read(content.dump(), digest)

    assert seal.certificate_der == rsa_certificate()
    assert len(seal.signature) == 256
    assert seal.holds()


def test_a_seal_by_rsa_states_its_algorithm_as_the_standard_says():
    signer = rsa_seal()[0]["content"]["signer_infos"][0]

    # sha256WithRSAEncryption with NULL beside it, RFC 5754 § 3.2
    assert signer["signature_algorithm"].dump().hex() == "300d06092a864886f70d01010b0500"


def test_a_seal_by_rsa_with_one_bit_turned_does_not_hold():
    content, digest = rsa_seal()
    signer = content["content"]["signer_infos"][0]
    other = bytearray(signer["signature"].native)
    other[100] ^= 4
    signer["signature"] = bytes(other)

    assert not Seal.read(content.dump(force=True), digest).holds()


def test_a_signature_by_the_same_rsa_key_in_another_scheme_does_not_hold():
    content, digest = rsa_seal()
    signer = content["content"]["signer_infos"][0]
    attributes = Seal.read(content.dump(), digest).attributes
    for scheme, hashed in (
        (padding.PSS(padding.MGF1(hashes.SHA256()), 32), hashes.SHA256()),
        (padding.PKCS1v15(), hashes.SHA512()),
    ):
        signer["signature"] = rsa_key().sign(attributes, scheme, hashed)
        assert not Seal.read(content.dump(force=True), digest).holds()


def test_a_seal_that_states_ecdsa_over_an_rsa_key_is_refused():
    content, digest = rsa_seal()
    signer = content["content"]["signer_infos"][0]
    signer["signature_algorithm"] = {"algorithm": "sha256_ecdsa"}

    with pytest.raises(ChangedError, match="bytes that nobody signed"):
        Seal.read(content.dump(force=True), digest)

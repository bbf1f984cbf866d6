"""The self-signed certificate of a PDF signature."""

from datetime import UTC, datetime

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import dsa, ec, ed25519, rsa
from cryptography.hazmat.primitives.serialization import Encoding

from evidence.errors import RefusedError
from evidence.ledger.certificate import LIFE, certifies, self_signed, verifying_key

START = datetime(2025, 5, 30, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def key():
    return ec.generate_private_key(ec.SECP256R1())


@pytest.fixture(scope="module")
def certificate(key):
    return x509.load_der_x509_certificate(self_signed(key, "Ada Ünal", START))


def test_it_names_its_owner_and_is_signed_by_itself(certificate):
    assert certificate.subject.rfc4514_string() == "CN=Ada Ünal"
    certificate.verify_directly_issued_by(certificate)


def test_it_is_for_signing_documents_and_nothing_else(certificate):
    usage = certificate.extensions.get_extension_for_class(x509.KeyUsage)
    assert usage.critical
    assert usage.value.digital_signature
    assert usage.value.content_commitment
    assert not usage.value.key_cert_sign
    constraints = certificate.extensions.get_extension_for_class(x509.BasicConstraints)
    assert not constraints.value.ca


def test_it_holds_for_thirty_years_from_its_first_moment(certificate):
    assert certificate.not_valid_before_utc == START
    assert certificate.not_valid_after_utc == START + LIFE
    assert certificate.not_valid_after_utc.year == 2055


def test_no_two_have_the_same_serial_number(key, certificate):
    other = x509.load_der_x509_certificate(self_signed(key, "Ada Ünal", START))
    assert certificate.serial_number != other.serial_number
    assert certificate.serial_number > 2**100


def test_it_certifies_its_own_key_only(key):
    der = self_signed(key, "name", START)
    assert certifies(der, key)
    assert not certifies(der, ec.generate_private_key(ec.SECP256R1()))
    assert not certifies(der[:-1], key)


@pytest.mark.parametrize("name", ["", "x" * 65])
def test_a_name_that_does_not_fit_is_refused(key, name):
    with pytest.raises(RefusedError, match="between 1 and 64"):
        self_signed(key, name, START)


# Which keys sign dossiers


def naming(public, issuer) -> bytes:
    """A certificate of any public key, by an invented issuer."""
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "Invented Authority")])
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(public)
        .serial_number(7)
        .not_valid_before(START)
        .not_valid_after(START + LIFE)
        .sign(issuer, hashes.SHA256())
    )
    return certificate.public_bytes(Encoding.DER)


def rsa_of(bits: int) -> rsa.RSAPublicKey:
    """A public key of that many bits; nobody holds its other half."""
    return rsa.RSAPublicNumbers(65537, (1 << (bits - 1)) + 1).public_key()


@pytest.mark.parametrize("bits", [2048, 2049, 3072, 4095, 4096])
def test_rsa_from_2048_to_4096_bits_signs_dossiers(key, bits):
    named = verifying_key(naming(rsa_of(bits), key))
    assert named == rsa_of(bits)


@pytest.mark.parametrize("bits", [1024, 2047, 4097, 8192])
def test_rsa_of_fewer_or_more_bits_does_not(key, bits):
    assert verifying_key(naming(rsa_of(bits), key)) is None


def test_neither_do_other_curves_and_other_kinds(key):
    others = [
        ec.generate_private_key(ec.SECP384R1()).public_key(),
        ec.generate_private_key(ec.SECP256K1()).public_key(),
        ed25519.Ed25519PrivateKey.generate().public_key(),
        dsa.generate_private_key(2048).public_key(),
    ]
    for other in others:
        assert verifying_key(naming(other, key)) is None
    assert verifying_key(naming(key.public_key(), key)) == key.public_key()


@pytest.mark.parametrize("data", [b"", b"\x30\x00", b"no certificate", bytes(300)])
def test_what_is_no_certificate_names_no_key(data):
    assert verifying_key(data) is None

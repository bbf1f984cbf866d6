"""The self-signed certificate of a PDF signature."""

from datetime import UTC, datetime

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec

from evidence.errors import RefusedError
from evidence.ledger.certificate import LIFE, certifies, self_signed

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

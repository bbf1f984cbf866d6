import shutil
import subprocess
from datetime import UTC, datetime, timedelta

import pytest
from asn1crypto import tsp
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding
from rfc3161_client import VerifierBuilder, decode_timestamp_response

from evidence.errors import RefusedError
from evidence.witness.sample_authority import SampleAuthority
from tests.conftest import needed

HELLO = b"hello"
AT = datetime(2025, 6, 8, 14, 5, 9, tzinfo=UTC)


@pytest.fixture(scope="module")
def authority() -> SampleAuthority:
    return SampleAuthority.create(AT)


@pytest.fixture(scope="module")
def answer(authority) -> bytes:
    return authority.answer(HELLO, AT)


def test_both_certificates_say_that_they_vouch_for_nothing(authority):
    for der in (authority.root_der, authority.certificate_der):
        name = x509.load_der_x509_certificate(der).subject.rfc4514_string()
        assert "Sample time-stamping authority" in name
        assert "vouches for nothing" in name


def test_its_certificates_hold_from_before_it_was_made_for_thirty_years(authority):
    for der in (authority.root_der, authority.certificate_der):
        certificate = x509.load_der_x509_certificate(der)
        assert certificate.not_valid_before_utc == AT - timedelta(days=1)
        assert certificate.not_valid_after_utc == AT + timedelta(days=30 * 365 - 1)


def test_an_answers_time_is_in_whole_seconds(authority):
    answer = authority.answer(HELLO, AT.replace(microsecond=999_999))

    assert decode_timestamp_response(answer).tst_info.gen_time == AT


def test_no_two_authorities_share_a_key(authority):
    other = SampleAuthority.create(AT)

    assert authority.root_der != other.root_der
    assert authority.certificate_der != other.certificate_der
    assert "PrivateKey" not in repr(authority)


def test_no_two_answers_share_a_serial_number(authority):
    answers = [authority.answer(HELLO, AT) for _ in range(3)]

    def serial(answer):
        token = tsp.TimeStampResp.load(answer)["time_stamp_token"]["content"]
        return token["encap_content_info"]["content"].parsed["serial_number"].native

    assert len({serial(answer) for answer in answers}) == len(answers)


def test_a_sample_authority_does_not_stamp_outside_its_certificates_life(authority):
    for at in (AT - timedelta(days=2), AT + timedelta(days=31 * 365)):
        with pytest.raises(RefusedError, match="does not hold"):
            authority.answer(HELLO, at)


def test_another_client_accepts_the_sample_authoritys_answers(authority, answer):
    root = x509.load_der_x509_certificate(authority.root_der)
    response = decode_timestamp_response(answer)

    assert VerifierBuilder(roots=[root]).build().verify_message(response, HELLO)
    assert response.tst_info.accuracy.seconds == 1


def test_openssl_accepts_the_sample_authoritys_answers(authority, answer, tmp_path):
    openssl = shutil.which("openssl")
    needed(openssl is not None, "openssl")
    root = x509.load_der_x509_certificate(authority.root_der).public_bytes(Encoding.PEM)
    (tmp_path / "root.pem").write_bytes(root)
    (tmp_path / "answer.tsr").write_bytes(answer)

    def verify(message: bytes) -> str:
        (tmp_path / "message").write_bytes(message)
        command = [openssl, "ts", "-verify", "-data", "message", "-in", "answer.tsr"]
        command += ["-CAfile", "root.pem", "-attime", str(int(AT.timestamp()))]
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
        return done.stdout

    assert "Verification: OK" in verify(HELLO)
    assert "Verification: OK" not in verify(b"hello ")


def test_it_answers_another_clients_request_and_repeats_its_number(authority):
    from rfc3161_client import TimestampRequestBuilder
    from rfc3161_client.base import HashAlgorithm

    query = TimestampRequestBuilder().data(HELLO).hash_algorithm(HashAlgorithm.SHA256).build()
    response = decode_timestamp_response(authority.reply(query.as_bytes(), AT))

    assert response.tst_info.nonce == query.nonce
    root = x509.load_der_x509_certificate(authority.root_der)
    assert VerifierBuilder(roots=[root], nonce=query.nonce).build().verify_message(response, HELLO)


def test_it_answers_no_request_over_another_digest_and_nothing_that_is_none(authority):
    from rfc3161_client import TimestampRequestBuilder

    longer = TimestampRequestBuilder().data(HELLO).build().as_bytes()  # SHA-512
    for query in (longer, b"", b"hello", longer[:-1]):
        with pytest.raises(RefusedError, match="time-stamp request"):
            authority.reply(query, AT)

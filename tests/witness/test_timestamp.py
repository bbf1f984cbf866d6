from datetime import UTC, datetime, timedelta

import pytest
from asn1crypto import cms, tsp
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import ExtendedKeyUsageOID
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evidence.errors import ChangedError, EvidenceError, RefusedError
from evidence.witness.sample_authority import SAMPLE_NAME, SampleAuthority
from evidence.witness.timestamp import Timestamp, find_stamped, read_timestamp
from evidence.witness.trust import Trust

HELLO = b"hello"
AT = datetime(2025, 6, 8, 14, 5, 9, tzinfo=UTC)


@pytest.fixture(scope="module")
def authority() -> SampleAuthority:
    return SampleAuthority.create(AT)


@pytest.fixture(scope="module")
def answer(authority) -> bytes:
    return authority.answer(HELLO, AT)


@pytest.fixture
def outside(shared_vectors):
    """Fixtures of trailofbits/rfc3161-client, see SOURCES.tsv; all are over b"hello"."""
    return shared_vectors / "rfc3161"


def chain(path) -> list[bytes]:
    data = path.read_bytes()
    if b"-----BEGIN" not in data:  # identrust's file is DER for all its name
        return [data]
    return [cert.public_bytes(Encoding.DER) for cert in x509.load_pem_x509_certificates(data)]


GENUINE = [
    ("sigstage/response-sha256.tsr", "2025-05-09T11:58:55", "sigstore.dev (sigstore-tsa)"),
    ("sigstage/response-sha384.tsr", "2025-05-09T11:58:55", "sigstore.dev (sigstore-tsa)"),
    ("sigstage/response-sha512.tsr", "2025-05-09T11:58:56", "sigstore.dev (sigstore-tsa)"),
    ("test_tsa/response.tsr", "2024-10-08T15:40:32", "local (Test TSA Timestamping)"),
    (
        "test_tsa/response-injected-certs.tsr",
        "2024-10-08T15:40:32",
        "local (Test TSA Timestamping)",
    ),
    ("identrust/issue-104.tsr", "2025-03-11T08:52:08", "IdenTrust (TrustID Timestamp Authority)"),
]


BAD = [
    ("sigstage/response-invalid-signature.tsr", "does not belong"),
    ("sigstage/response-no-embedded-cert.tsr", "does not hold its authority's certificate"),
    ("sigstore.mock/response-expired.tsr", "does not hold its authority's certificate"),
]


@pytest.mark.parametrize(("name", "time", "authority_name"), GENUINE)
def test_a_genuine_answer_is_trusted_where_it_chains_to_the_readers_anchor(
    outside, name, time, authority_name
):
    path = outside / name

    stamp = read_timestamp(path.read_bytes(), HELLO, anchors=chain(path.parent / "ts_chain.pem"))

    assert stamp.time == datetime.fromisoformat(time).replace(tzinfo=UTC)
    assert stamp.name == authority_name
    assert stamp.trust is Trust.TRUSTED


def test_no_answer_of_the_fixtures_is_left_out(outside):
    told = [name for name, *_ in (*GENUINE, *BAD)] + ["test_tsa/other_response.tsr"]

    assert sorted(told) == sorted(
        path.relative_to(outside).as_posix() for path in outside.glob("*/*.tsr")
    )


@pytest.mark.parametrize(
    ("request_name", "answer_name"),
    [
        ("test_tsa/request.der", "test_tsa/response.tsr"),
        ("test_tsa/request.der", "test_tsa/response-injected-certs.tsr"),
    ],
)
def test_an_answer_repeats_the_number_of_its_request(outside, request_name, answer_name):
    nonce = tsp.TimeStampReq.load((outside / request_name).read_bytes())["nonce"].native
    answer = (outside / answer_name).read_bytes()

    assert read_timestamp(answer, HELLO, nonce=nonce)
    for other in (nonce + 1, 0):
        with pytest.raises(ChangedError, match="another request"):
            read_timestamp(answer, HELLO, nonce=other)


def in_chain_order(answer: bytes, *, forward: bool) -> bytes:
    """The same answer with its certificates in ascending or descending order of their bytes."""
    response = tsp.TimeStampResp.load(answer)
    content = response["time_stamp_token"]["content"]
    held = sorted(content["certificates"], key=lambda one: one.dump(), reverse=not forward)
    content["certificates"] = held
    return response.dump()


def test_certificates_may_stand_in_any_order(answer):
    said = read_timestamp(answer, HELLO, sample=True)

    for forward in (True, False):
        other = in_chain_order(answer, forward=forward)
        assert len(other) == len(answer)
        assert read_timestamp(other, HELLO, sample=True) == said


def test_the_outermost_length_in_a_longer_form_is_refused(answer):
    assert answer[:2] == b"\x30\x82"
    longer = b"\x30\x83\x00" + answer[2:]

    with pytest.raises(ChangedError):
        read_timestamp(longer, HELLO)


def test_the_bytes_that_an_answer_is_about_are_found_among_others(outside):
    for name in ("sha256", "sha384", "sha512"):
        answer = (outside / f"sigstage/response-{name}.tsr").read_bytes()
        assert find_stamped(answer, [b"other", HELLO, b"hello "]) == HELLO
        assert find_stamped(answer, [b"other"]) is None


@settings(deadline=None)
@given(st.binary(max_size=300))
def test_whatever_is_read_as_an_answer_ends_in_an_error_of_ours(data):
    for reader in (lambda: read_timestamp(data, HELLO), lambda: find_stamped(data, [HELLO])):
        with pytest.raises(EvidenceError):
            reader()


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_a_mangled_answer_ends_in_an_error_of_ours_or_says_the_same(answer, data):
    whole = answer
    for _ in range(data.draw(st.integers(1, 3))):
        at, length = data.draw(st.integers(0, len(whole) - 1)), data.draw(st.integers(0, 8))
        whole = whole[:at] + data.draw(st.binary(max_size=8)) + whole[at + length :]
    try:
        said = read_timestamp(whole, HELLO, sample=True)
    except EvidenceError:
        return
    assert (said.time, said.name) == (AT, SAMPLE_NAME)


@pytest.mark.parametrize("name", [row[0] for row in GENUINE])
def test_without_an_anchor_or_with_a_strangers_one_a_genuine_answer_is_untrusted(
    outside, authority, name
):
    answer = (outside / name).read_bytes()

    assert read_timestamp(answer, HELLO).trust is Trust.UNTRUSTED
    assert read_timestamp(answer, HELLO, anchors=[authority.root_der]).trust is Trust.UNTRUSTED


def test_an_anchor_does_not_reach_over_a_missing_link(outside):
    root = chain(outside / "test_tsa/ts_chain.pem")[-1:]

    stamp = read_timestamp((outside / "test_tsa/response.tsr").read_bytes(), HELLO, anchors=root)

    assert stamp.trust is Trust.UNTRUSTED


def test_an_authority_of_the_same_name_with_another_key_is_untrusted(outside):
    # other_response.tsr comes from a second make of the authority, SOURCES.tsv
    anchors = chain(outside / "test_tsa/ts_chain.pem")

    stamp = read_timestamp(
        (outside / "test_tsa/other_response.tsr").read_bytes(), HELLO, anchors=anchors
    )

    assert stamp.trust is Trust.UNTRUSTED


def test_it_says_when_the_authoritys_own_certificate_ends(outside):
    stamp = read_timestamp((outside / "identrust/issue-104.tsr").read_bytes(), HELLO)

    assert stamp.certificate_ends == datetime(2026, 1, 17, 19, 48, 39, tzinfo=UTC)


@pytest.mark.parametrize(("name", "why"), BAD)
def test_a_known_bad_answer_is_refused_even_with_its_chain(outside, name, why):
    path = outside / name
    payload = path.parent / "payload"
    message = payload.read_bytes() if payload.exists() else HELLO

    with pytest.raises(ChangedError, match=why):
        read_timestamp(path.read_bytes(), message, anchors=chain(path.parent / "ts_chain.pem"))


def test_a_sample_authority_says_so_in_a_sample_case(authority, answer):
    assert read_timestamp(answer, HELLO, sample=True) == Timestamp(
        time=AT,
        name=SAMPLE_NAME,
        trust=Trust.SAMPLE,
        certificate_ends=AT + timedelta(days=30 * 365 - 1),
    )
    assert "vouches for nothing" in SAMPLE_NAME


def test_a_sample_authority_is_untrusted_in_any_other_case_even_as_an_anchor(authority, answer):
    stamp = read_timestamp(answer, HELLO, anchors=[authority.root_der])

    assert stamp.trust is Trust.UNTRUSTED


def test_an_anchor_does_not_make_a_sample_more_than_a_sample(authority, answer):
    stamp = read_timestamp(answer, HELLO, anchors=[authority.root_der], sample=True)

    assert stamp.trust is Trust.SAMPLE


def test_a_genuine_answer_stays_genuine_in_a_sample_case(outside):
    answer = (outside / "sigstage/response-sha256.tsr").read_bytes()

    assert read_timestamp(answer, HELLO, sample=True).trust is Trust.UNTRUSTED


def test_an_answer_about_other_bytes_is_refused(answer):
    with pytest.raises(ChangedError, match="other bytes"):
        read_timestamp(answer, b"hello ")


def test_bytes_after_the_answer_are_refused(answer):
    for added in (b"\0", b"\n", answer):
        with pytest.raises(ChangedError, match="bytes were added"):
            read_timestamp(answer + added, HELLO)


@pytest.mark.parametrize(
    "data",
    [b"", b"0", b"%PDF-1.7", bytes(1_000_001)],
    ids=["nothing", "a byte", "a PDF", "too much"],
)
def test_what_is_no_answer_is_refused(data):
    with pytest.raises(ChangedError):
        read_timestamp(data, HELLO)


def test_a_flipped_bit_is_refused_or_changes_nothing_that_is_said(answer):
    said = read_timestamp(answer, HELLO, sample=True)
    refused = 0
    for place in range(len(answer)):
        flipped = bytearray(answer)
        flipped[place] ^= 1 << place % 8
        try:
            assert read_timestamp(bytes(flipped), HELLO, sample=True) == said
        except ChangedError:
            refused += 1

    # what may differ is the root beside the authority's certificate, which nobody signed for here
    root = len(SampleAuthority.create(AT).root_der)
    assert refused > len(answer) - root - 10


def test_an_authority_that_did_not_grant_is_quoted():
    status = tsp.PKIStatusInfo(
        {
            "status": "rejection",
            "status_string": ["try again\x1b[2J later"],
            "fail_info": {"bad_request"},
        }
    ).dump()
    answer = bytes([0x30, len(status)]) + status  # a SEQUENCE without its optional token

    with pytest.raises(ChangedError, match=r"did not grant it \(try again \[2J later\)"):
        read_timestamp(answer, HELLO)


def under(answer: bytes, status: str) -> bytes:
    response = tsp.TimeStampResp.load(answer)
    response["status"] = {"status": status, "status_string": ["as you see"]}
    return response.dump()


@pytest.mark.parametrize("status", ["rejection", "waiting", "revocation_warning"])
def test_a_status_other_than_granted_is_refused_whatever_the_token_says(answer, status):
    with pytest.raises(ChangedError, match="did not grant"):
        read_timestamp(under(answer, status), HELLO)


def test_what_was_granted_with_modifications_is_taken_if_its_token_verifies(answer, outside):
    """An authority changes what was asked for and says so (RFC 3161 § 2.4.2, status 1)."""
    modified = under(answer, "granted_with_mods")
    assert read_timestamp(modified, HELLO) == read_timestamp(answer, HELLO)
    assert find_stamped(modified, [b"other", HELLO]) == HELLO
    with pytest.raises(ChangedError, match="other bytes"):
        read_timestamp(modified, b"other bytes")
    broken = modified[:-1] + bytes([modified[-1] ^ 1])
    with pytest.raises(ChangedError):
        read_timestamp(broken, HELLO)


def test_what_was_granted_with_modifications_chains_to_an_anchor_as_well(outside):
    path = next(outside.glob("*/response.tsr"))
    anchors = chain(path.parent / "ts_chain.pem")
    modified = under(path.read_bytes(), "granted_with_mods")
    assert read_timestamp(modified, HELLO, anchors=anchors).trust is Trust.TRUSTED


def test_a_certificate_of_the_same_name_serial_and_key_does_not_pass_for_the_stamped_one(
    authority, answer
):
    old = x509.load_der_x509_certificate(authority.certificate_der)
    builder = (
        x509.CertificateBuilder()
        .subject_name(old.subject)
        .issuer_name(old.issuer)
        .serial_number(old.serial_number)
        .public_key(old.public_key())
        .not_valid_before(old.not_valid_before_utc)
        .not_valid_after(old.not_valid_after_utc + timedelta(days=3650))
    )
    for extension in old.extensions:
        builder = builder.add_extension(extension.value, critical=extension.critical)
    longer = builder.sign(ec.generate_private_key(ec.SECP256R1()), hashes.SHA256())

    response = tsp.TimeStampResp.load(answer)
    content = response["time_stamp_token"]["content"]
    certificate = cms.Certificate.load(longer.public_bytes(Encoding.DER))
    content["certificates"] = [cms.CertificateChoices(name="certificate", value=certificate)]

    with pytest.raises(ChangedError, match="signature"):
        read_timestamp(response.dump(), HELLO)


def test_a_token_with_two_signers_is_refused(answer):
    response = tsp.TimeStampResp.load(answer)
    content = response["time_stamp_token"]["content"]
    other = content["signer_infos"][0].copy()
    other["signature"] = b"\x01"
    content["signer_infos"] = [content["signer_infos"][0], other]

    with pytest.raises(ChangedError):
        read_timestamp(response.dump(force=True), HELLO)


def with_purpose(*purposes, critical=True) -> SampleAuthority:
    """An authority whose certificate is for other things than time stamps."""
    made = SampleAuthority.create(AT)
    old = x509.load_der_x509_certificate(made.certificate_der)
    builder = (
        x509.CertificateBuilder()
        .subject_name(old.subject)
        .issuer_name(old.issuer)
        .serial_number(old.serial_number)
        .public_key(old.public_key())
        .not_valid_before(old.not_valid_before_utc)
        .not_valid_after(old.not_valid_after_utc)
    )
    if purposes:
        builder = builder.add_extension(x509.ExtendedKeyUsage(purposes), critical=critical)
    certificate = builder.sign(made._key, hashes.SHA256()).public_bytes(Encoding.DER)
    return SampleAuthority(made.root_der, certificate, made._key)


@pytest.mark.parametrize(
    ("purposes", "critical"),
    [
        ((), True),
        ((ExtendedKeyUsageOID.CODE_SIGNING,), True),
        ((ExtendedKeyUsageOID.TIME_STAMPING, ExtendedKeyUsageOID.CODE_SIGNING), True),
        ((ExtendedKeyUsageOID.TIME_STAMPING,), False),
    ],
)
def test_a_certificate_that_is_not_for_time_stamps_alone_is_refused(purposes, critical):
    answer = with_purpose(*purposes, critical=critical).answer(HELLO, AT)

    with pytest.raises(ChangedError, match="not one for time stamps"):
        read_timestamp(answer, HELLO, sample=True)


def test_a_stamp_outside_its_certificates_life_is_refused(monkeypatch):
    made = SampleAuthority.create(AT)
    stretched = SampleAuthority(made.root_der, made.certificate_der, made._key, made._serials)
    monkeypatch.setattr("evidence.witness.sample_authority._refuse_dead", lambda *_: None)
    answer = stretched.answer(HELLO, AT + timedelta(days=31 * 365))

    with pytest.raises(ChangedError, match="did not hold at that time"):
        read_timestamp(answer, HELLO, sample=True)


def test_an_anchor_that_is_no_certificate_is_wrong_use(answer):
    with pytest.raises(RefusedError, match="trust anchor"):
        read_timestamp(answer, HELLO, anchors=[b"-----BEGIN CERTIFICATE-----"])

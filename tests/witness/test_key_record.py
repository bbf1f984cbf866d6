import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evidence.errors import EvidenceError, RefusedError
from evidence.witness.key_record import read_key_record
from tests.mailing import der_of, domain_key, key_record


def test_a_record_gives_the_domains_key():
    record = read_key_record(key_record())

    assert record.der == der_of(domain_key())
    assert record.name == ""


def test_a_record_without_version_and_type_is_one_of_an_rsa_key():
    plain = key_record().partition(b"p=")[2]  # RFC 6376 § 3.6.1: v and k have defaults

    assert read_key_record(b"p=" + plain).der == der_of(domain_key())


@pytest.mark.parametrize(
    "form",
    [
        '"{first}" "{rest}"',
        '"{first}"\n"{rest}"\n',
        'Spring._domainkey.Post.Example. 300 IN TXT "{first}" "{rest}"',
        'spring._domainkey.post.example descriptive text "{first}" "{rest}"',
    ],
)
def test_a_record_is_taken_as_tools_print_it(form):
    text = key_record().decode()
    record = read_key_record(form.format(first=text[:200], rest=text[200:]).encode())

    assert record.der == der_of(domain_key())
    assert record.text == key_record()
    assert record.name == ("spring._domainkey.post.example" if "_domainkey" in form else "")


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"", "is not the key record"),
        (b"v=spf1 -all", "is not the key record"),
        (b"v=DKIM2; p=AA==", "is not the key record"),
        (b"v=DKIM1; k=rsa", "is not the key record"),
        (b"v=DKIM1; p=", "was revoked"),
        (b"v=DKIM1; k=ed25519; p=11qYAYKxCrfVS/7TyWQHOg7hcvPapiMlrwIaaPcHURo=", "than RSA"),
        (key_record(tags="h=sha1; "), "does not allow SHA-256"),
        (key_record(tags="t=s : y; "), "only testing"),
        (key_record(tags="s=other; "), "is not for e-mail"),
        (b"v=DKIM1; p=AAAA", "cannot be read"),
        (b"v=DKIM1; p=%%%%", "cannot be read"),
        (b"v=DKIM1; v=DKIM1; p=", "cannot be read"),
        (b"\xff\xfe", "cannot be read"),
        (bytes(10_001), "is larger than"),
    ],
)
def test_a_record_that_proves_nothing_is_refused(data, why):
    with pytest.raises(RefusedError, match=why):
        read_key_record(data)


def test_a_record_may_allow_more_than_is_asked_of_it():
    assert read_key_record(key_record(tags="h=sha1:sha256; s=*:email; t=s; n=a note; ")).der


def test_a_key_of_another_kind_under_the_name_of_rsa_is_refused():
    from base64 import b64encode

    from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, generate_private_key

    encoded = b64encode(der_of(generate_private_key(SECP256R1())))
    with pytest.raises(RefusedError, match="holds no RSA key"):
        read_key_record(b"v=DKIM1; k=rsa; p=" + encoded)


@settings(deadline=None)
@given(st.binary(max_size=300) | st.binary(max_size=200).map(lambda data: b"v=DKIM1; p=" + data))
def test_whatever_is_read_as_a_key_record_ends_in_an_error_of_ours(data):
    with pytest.raises(EvidenceError):
        read_key_record(data)

"""Letters: RFC 8463's example, our own signed by hand, and everything that does not hold."""

import quopri
from base64 import b64encode
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evidence.errors import ChangedError, EvidenceError
from evidence.ledger import Head
from evidence.witness import Trust
from evidence.witness.letter import MAX_BYTES, read_letter
from tests.mailing import (
    DOMAIN,
    KEY_NAME,
    SELECTOR,
    SIGNED,
    Draft,
    der_of,
    domain_key,
    key_record,
)

HEAD = Head("roof-evidence/" + "0f" * 16, 41, bytes(range(32)))
BODY = f"Good morning,\nthis is the state of my record:\n\n{HEAD.text()}\nA. Holder\n"
AT = datetime(2025, 9, 1, 12, tzinfo=UTC)

# RFC 8463 appendix A.3: one message, signed with Ed25519 and with RSA; A.2: the key of the latter.
RFC_8463 = """\
DKIM-Signature: v=1; a=ed25519-sha256; c=relaxed/relaxed;
 d=football.example.com; i=@football.example.com;
 q=dns/txt; s=brisbane; t=1528637909; h=from : to :
 subject : date : message-id : from : subject : date;
 bh=2jUSOH9NhtVGCQWNr9BrIAPreKQjO6Sn7XIkfJVOzv8=;
 b=/gCrinpcQOoIfuHNQIbq4pgh9kyIK3AQUdt9OdqQehSwhEIug4D11Bus
 Fa3bT3FY5OsU7ZbnKELq+eXdp1Q1Dw==
DKIM-Signature: v=1; a=rsa-sha256; c=relaxed/relaxed;
 d=football.example.com; i=@football.example.com;
 q=dns/txt; s=test; t=1528637909; h=from : to : subject :
 date : message-id : from : subject : date;
 bh=2jUSOH9NhtVGCQWNr9BrIAPreKQjO6Sn7XIkfJVOzv8=;
 b=F45dVWDfMbQDGHJFlXUNB2HKfbCeLRyhDXgFpEL8GwpsRe0IeIixNTe3
 DhCVlUrSjV4BwcVcOF6+FF3Zo9Rpo1tFOeS9mPYQTnGdaSGsgeefOsk2Jz
 dA+L10TeYt9BgDfQNZtKdN1WO//KgIqXP7OdEFE4LjFYNcUxZQ4FADY+8=
From: Joe SixPack <joe@football.example.com>
To: Suzie Q <suzie@shopping.example.net>
Subject: Is dinner ready?
Date: Fri, 11 Jul 2003 21:00:37 -0700 (PDT)
Message-ID: <20030712040037.46341.5F8J@football.example.com>

Hi.

We lost the game.  Are you hungry yet?

Joe.

"""
RFC_8463_RECORD = (
    b"v=DKIM1; k=rsa; p=MIGfMA0GCSqGSIb3DQEBAQUAA4GNADCBiQKBgQDkHlOQoBTzWRiGs5V6NpP3idY6Wk08a5"
    b"qhdR6wy5bdOKb2jLQiY/J16JYi0Qvx/byYzCNb3W91y3FutACDfzwQ/BC/e/8uBsCR+yz1Lxj+PL6lHvqMKrM3rG"
    b"4hstT5QjvHO9PzoxZyVYLzBfO2EeC3Ip3G+2kryOTIKT+l/K4w3QIDAQAB"
)


def read(letter: Draft | bytes, record: bytes | None = None, at: datetime = AT, **more):
    message = letter if isinstance(letter, bytes) else letter.message()
    return read_letter(message, record or key_record(), at=at, **more)


@pytest.fixture
def letter() -> Draft:
    return Draft(BODY)


def test_the_example_of_rfc_8463_holds_by_its_second_signature():
    for message in (RFC_8463, RFC_8463.replace("\n", "\r\n")):
        said = read(message.encode(), RFC_8463_RECORD)

        assert said.domain == "football.example.com"
        assert said.time == datetime(2018, 6, 10, 13, 38, 29, tzinfo=UTC)
        assert "We lost the game.  Are you hungry yet?" in said.lines
        assert said.heads("football.example.com") == []


def test_a_letter_says_when_by_whom_and_over_which_head(letter):
    said = read(letter)

    assert said.time == datetime(2025, 8, 31, 12, tzinfo=UTC)
    assert said.domain == DOMAIN
    assert said.heads(HEAD.origin) == [HEAD]
    assert said.heads("roof-evidence/" + "0e" * 16) == []


def test_a_letter_signed_by_the_library_holds(letter):
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
    from dkim import DKIM

    pem = domain_key().private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    message = letter.message().partition(b"\r\n")[2]
    line = DKIM(message).sign(SELECTOR.encode(), DOMAIN.encode(), pem)

    said = read(line + message, at=datetime.now(UTC))
    assert said.heads(HEAD.origin) == [HEAD]


def test_a_date_that_the_sender_wrote_is_no_outsiders_time(letter):
    """The owner sets Date a year back and has the mail signed today. His provider signs what he
    wrote; where it does not say itself when (t=), nobody else does."""
    fields = tuple(
        (name, "Sat, 31 Aug 2024 07:00:00 -0500" if name == "Date" else value)
        for name, value in letter.fields
    )
    back_dated = letter.but(fields=fields)
    with pytest.raises(ChangedError, match="its Date is the sender's own") as refused:
        read(back_dated.but(tags=()))
    assert "another mail provider" in refused.value.what_to_do

    assert read(back_dated).time == datetime(2025, 8, 31, 12, tzinfo=UTC)


def test_nobody_vouches_for_the_key_unless_the_reader_looked_it_up(letter):
    assert read(letter).trust is Trust.UNTRUSTED
    other = (KEY_NAME, der_of(domain_key("other")))
    assert read(letter, mail_keys=[other]).trust is Trust.UNTRUSTED
    assert read(letter, mail_keys=[(KEY_NAME, der_of(domain_key()))]).trust is Trust.TRUSTED


def test_a_key_speaks_for_the_domain_under_whose_name_it_was_looked_up(letter):
    """The owner signs a letter "of the insurer's domain" with the key of a domain of his own, and
    the reader did look that key up, under the owner's domain."""
    for name in ("spring._domainkey.own.example", f"winter._domainkey.{DOMAIN}", ""):
        said = read(letter, mail_keys=[(name, der_of(domain_key()))])
        assert (said.domain, said.trust) == (DOMAIN, Trust.UNTRUSTED)


# How mail programs write the head


def written(body: str, *fields: tuple[str, str]) -> Draft:
    draft = Draft(body)
    for name, value in fields:
        draft = draft.with_field(name, value)
    return draft


QUOTED = quopri.encodestring(BODY.encode()).decode()
BASE64 = b64encode(BODY.encode()).decode()
PARTS = (
    "--part\nContent-Type: text/html\n\n<p>see the other part</p>\n"
    f"--part\nContent-Type: text/plain; charset=utf-8\n\n{BODY}\n--part--\n"
)


@pytest.mark.parametrize(
    "draft",
    [
        written(BODY, ("Content-Type", "text/plain; charset=utf-8; format=flowed")),
        written(QUOTED, ("Content-Transfer-Encoding", "quoted-printable")),
        written(BASE64, ("Content-Transfer-Encoding", "BASE64")),
        written(PARTS, ("Content-Type", 'multipart/alternative; boundary="part"')),
        written("".join(f"> {line}\n" for line in BODY.split("\n"))),
        written(BODY.replace("\n", "  \n")),
    ],
    ids=["plain", "quoted-printable", "base64", "parts", "a reply", "spaces at the ends"],
)
def test_a_head_is_found_as_mail_programs_write_it(draft):
    assert read(draft).heads(HEAD.origin) == [HEAD]


@pytest.mark.parametrize(
    "draft",
    [
        written("Good morning.\n"),
        written(BODY.replace("\n41\n", "\n041\n")),
        written(BODY.replace("\n41\n", "\n")),
        written(BODY, ("Content-Type", "text/html")),
        written(BODY, ("Content-Transfer-Encoding", "x-uuencode")),
    ],
    ids=["none", "another spelling", "a line less", "not plain text", "an unknown encoding"],
)
def test_what_is_no_head_in_plain_text_is_none(draft):
    assert read(draft).heads(HEAD.origin) == []


# What does not hold


def test_a_changed_body_does_not_hold(letter):
    changed = letter.message().replace(b"\r\n41\r\n", b"\r\n42\r\n")

    with pytest.raises(ChangedError, match="does not hold"):
        read(changed)


@pytest.mark.parametrize("name", ["From", "Subject", "Date"])
def test_a_changed_line_of_the_head_does_not_hold(letter, name):
    changed = letter.message().replace(f"\r\n{name}: ".encode(), f"\r\n{name}: x".encode())

    with pytest.raises(ChangedError, match="does not hold"):
        read(changed)


def test_a_changed_time_of_signing_does_not_hold(letter):
    with pytest.raises(ChangedError, match="does not hold"):
        read(letter.message().replace(b"t=1756641600", b"t=1746641600"))


def test_a_wrong_key_does_not_hold(letter):
    with pytest.raises(ChangedError, match="does not hold under this key record"):
        read(letter, key_record(domain_key("other")))


def test_a_signature_that_expired_before_the_letter_was_handed_in_is_refused(letter):
    expiring = letter.but(tags=(("t", "1756641600"), ("x", str(int(AT.timestamp()) - 1))))

    with pytest.raises(ChangedError, match="expired on 2025-09-01, before it was handed in"):
        read(expiring)
    assert read(expiring, at=AT - timedelta(hours=1)).heads(HEAD.origin) == [HEAD]


def test_a_letter_handed_in_before_its_signature_expired_holds_on_any_later_day(letter):
    """It is read as of the day on which it was handed in, by whatever clock."""
    lasting = letter.but(tags=(("t", "1000000000"), ("x", "1000000600")))

    assert read(lasting, at=datetime(2001, 9, 9, 1, 50, tzinfo=UTC)).domain == DOMAIN


def test_a_signature_that_expires_before_it_was_made_is_refused(letter):
    odd = letter.but(tags=(("t", "1900000001"), ("x", "1900000000")))

    with pytest.raises(ChangedError, match="before it was made"):
        read(odd)


@pytest.mark.parametrize("value", ["soon", "-1", "9" * 18, "0x10"])
def test_an_end_that_is_no_moment_is_refused(letter, value):
    with pytest.raises(ChangedError, match="no moment"):
        read(letter.but(tags=(("t", "1756641600"), ("x", value))))


def test_a_signature_over_the_beginning_of_the_text_alone_is_refused(letter):
    length = len(BODY.replace("\n", "\r\n"))

    with pytest.raises(ChangedError, match="covers the beginning of the text only"):
        read(letter.but(tags=(("l", str(length)),)))


@pytest.mark.parametrize("name", ["from", "subject", "date"])
def test_a_line_that_is_not_signed_is_named(letter, name):
    signed = [other for other in SIGNED if other != name]

    with pytest.raises(ChangedError, match=f"its {name.capitalize()} is not signed"):
        read(letter.but(signed=signed))


@pytest.mark.parametrize("name", ["From", "Subject", "Date"])
def test_a_second_line_of_a_name_is_refused(letter, name):
    message = letter.message()
    at = message.index(b"\r\nFrom: ") + 2

    with pytest.raises(ChangedError, match=f"2 lines named {name}"):
        read(message[:at] + f"{name}: somebody else\r\n".encode() + message[at:])


def test_a_line_that_is_signed_but_absent_is_refused(letter):
    fields = tuple(pair for pair in letter.fields if pair[0] != "Subject")

    with pytest.raises(ChangedError, match="0 lines named Subject"):
        read(letter.but(fields=fields))


@pytest.mark.parametrize("algorithm", ["rsa-sha1", "ed25519-sha256", "none"])
def test_another_way_of_signing_is_refused(letter, algorithm):
    with pytest.raises(ChangedError):
        read(letter.but(algorithm=algorithm))


def test_an_unsigned_letter_is_refused(letter):
    with pytest.raises(ChangedError, match="0 signatures"):
        read(letter.message().partition(b"\r\n")[2])


def test_a_letter_with_too_many_signatures_is_refused(letter):
    line = letter.message().partition(b"\r\n")[0] + b"\r\n"

    with pytest.raises(ChangedError, match="11 signatures"):
        read(line * 10 + letter.message())


def test_a_record_that_stood_under_another_name_is_not_the_letters(letter):
    record = key_record().decode()
    own = f'{SELECTOR}._domainkey.{DOMAIN}. 300 IN TXT "{record[:90]}" "{record[90:]}"'

    assert read(letter, own.encode()).domain == DOMAIN
    with pytest.raises(ChangedError, match="another key than that of spring"):
        read(letter, own.replace(DOMAIN, "other.example").encode())


def test_a_line_that_no_mail_server_passes_on_is_refused(letter):
    with pytest.raises(ChangedError, match="a line of more than 998 bytes"):
        read(letter.message() + b"x" * 999)


def test_a_letter_larger_than_any_with_a_head_in_it_is_refused(letter):
    with pytest.raises(ChangedError, match="larger than"):
        read(letter.message() + b"x\r\n" * (MAX_BYTES // 3))


def test_a_signature_full_of_blanks_takes_no_time(letter):
    padded = letter.message().replace(b"; b=", b"; b=" + b"\r\n " * 300 + b"x" + b"\r\n " * 300)

    with pytest.raises(ChangedError, match="longer than any mail server writes"):
        read(padded)


# Anybody's bytes


@settings(deadline=None)
@given(st.binary(max_size=600))
def test_whatever_is_read_as_a_letter_ends_in_an_error_of_ours(data):
    with pytest.raises(EvidenceError):
        read(data)


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_mangled_letter_ends_in_an_error_of_ours_or_says_the_same(data):
    whole = Draft(BODY).message()
    for _ in range(data.draw(st.integers(1, 3))):
        at, length = data.draw(st.integers(0, len(whole) - 1)), data.draw(st.integers(0, 12))
        whole = whole[:at] + data.draw(st.binary(max_size=12)) + whole[at + length :]
    try:
        said = read(whole)
    except EvidenceError:
        return
    assert (said.domain, said.time) == (DOMAIN, datetime(2025, 8, 31, 12, tzinfo=UTC))
    assert said.heads(HEAD.origin) == [HEAD]

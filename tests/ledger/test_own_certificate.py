"""A certificate of the user's own, from a PKCS#12 file; each refusal of one in full."""

from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import dsa, ec, ed25519, rsa
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    NoEncryption,
    pkcs12,
)

from evidence.errors import RefusedError
from evidence.ledger.certificate import certifies, from_pkcs12, self_signed
from evidence.ledger.strict import shown

KEY = ec.derive_private_key(0xC0FFEE, ec.SECP256R1())
TODAY = datetime.now(UTC).replace(microsecond=0)


def refused(do, *given) -> tuple[str, str, str]:
    with pytest.raises(RefusedError) as caught:
        do(*given)
    return caught.value.what, caught.value.why, caught.value.what_to_do


def certificate(
    key=KEY,
    *,
    starts: timedelta = timedelta(days=-1),
    ends: timedelta = timedelta(days=1),
    usage: tuple[bool, bool] | bytes | None = (True, True),
):
    name = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, "A. Keeper")])
    builder = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(7)
        .not_valid_before(TODAY + starts)
        .not_valid_after(TODAY + ends)
    )
    if isinstance(usage, bytes):
        unread = x509.UnrecognizedExtension(x509.ExtensionOID.KEY_USAGE, usage)
        builder = builder.add_extension(unread, True)
    elif usage is not None:
        signs, commits = usage
        kinds = dict.fromkeys(
            ("key_encipherment", "data_encipherment", "key_agreement", "key_cert_sign",
             "crl_sign", "encipher_only", "decipher_only"), False)  # fmt: skip
        builder = builder.add_extension(
            x509.KeyUsage(digital_signature=signs, content_commitment=commits, **kinds), True
        )
    by_edwards = isinstance(key, ed25519.Ed25519PrivateKey)
    return builder.sign(key, None if by_edwards else hashes.SHA256())


def packed(key=KEY, given=None, secret: bytes | None = b"secret") -> bytes:
    lock = NoEncryption() if secret is None else BestAvailableEncryption(secret)
    return pkcs12.serialize_key_and_certificates(b"own", key, given or certificate(), None, lock)


def test_a_certificate_and_its_key_are_read_locked_or_open():
    locked = from_pkcs12(packed(), "secret", "own.p12")
    open_ = from_pkcs12(packed(secret=None), None, "own.p12")
    for own in (locked, open_):
        assert certifies(own.certificate_der, KEY)
        assert own.key.private_numbers() == KEY.private_numbers()
        assert "secret" not in repr(own)


@pytest.mark.parametrize(
    ("data", "secret"),
    [(packed(), "other"), (packed(), None), (b"", "secret"), (packed()[:-9], "secret")],
    ids=["other", "none", "empty", "cut"],
)
def test_a_file_that_is_not_opened_is_refused(data, secret):
    assert refused(from_pkcs12, data, secret, "own.p12") == (
        "own.p12",
        "is not opened by this passphrase, or is no PKCS#12 file",
        "Type the passphrase again, or export the certificate with its key once more.",
    )


def test_a_key_alone_or_a_certificate_alone_is_refused():
    lock = BestAvailableEncryption(b"secret")
    without = pkcs12.serialize_key_and_certificates(b"own", KEY, None, None, lock)
    alone = pkcs12.serialize_key_and_certificates(b"own", None, certificate(), None, lock)
    for data in (without, alone):
        assert refused(from_pkcs12, data, "secret", "own.p12") == (
            "own.p12",
            "does not hold both a key and its certificate",
            "",
        )


@pytest.mark.parametrize(
    ("key", "kind"),
    [
        (rsa.generate_private_key(65537, 1024), "an RSA key of 1024 bits"),
        (ec.generate_private_key(ec.SECP384R1()), "a key on the curve secp384r1"),
        (ed25519.Ed25519PrivateKey.generate(), "a key that is neither"),
        (dsa.generate_private_key(1024), "a key that is neither"),
    ],
    ids=["RSA 1024", "P-384", "Ed25519", "DSA"],
)
def test_a_key_of_another_kind_is_refused_and_told(key, kind):
    assert refused(from_pkcs12, packed(key, certificate(key)), "secret", "own.p12") == (
        "own.p12",
        f"holds {kind}; dossiers are signed with ECDSA on P-256 or RSA of 2048 to 4096 bits",
        "Ask its issuer for a certificate on such a key, or do without one.",
    )


def test_an_rsa_key_and_its_certificate_are_read():
    key = rsa.generate_private_key(65537, 2048)
    own = from_pkcs12(packed(key, certificate(key)), "secret", "own.p12")
    assert own.key.private_numbers() == key.private_numbers()
    assert certifies(own.certificate_der, key)


@pytest.mark.parametrize(
    "more",
    [{"starts": timedelta(days=1), "ends": timedelta(days=2)}, {"ends": timedelta(hours=-1)}],
    ids=["not yet", "no more"],
)
def test_a_certificate_not_in_force_is_refused(more):
    data = packed(given=certificate(**more))
    assert refused(from_pkcs12, data, "secret", "own.p12") == (
        "own.p12",
        "holds a certificate that is not in force today",
        "",
    )


@pytest.mark.parametrize("second", [-1, 0, 60, 61])
def test_a_certificate_is_in_force_from_its_first_second_to_its_last(monkeypatch, second):
    class At(datetime):
        @classmethod
        def now(cls, tz=None):
            assert tz is UTC
            return TODAY + timedelta(seconds=second)

    data = packed(given=certificate(starts=timedelta(0), ends=timedelta(seconds=60)))
    monkeypatch.setattr("evidence.ledger.certificate.datetime", At)
    if 0 <= second <= 60:
        assert certifies(from_pkcs12(data, "secret", "own.p12").certificate_der, KEY)
    else:
        why = "holds a certificate that is not in force today"
        assert refused(from_pkcs12, data, "secret", "own.p12")[1] == why


def test_a_certificate_whose_use_cannot_be_read_is_refused():
    data = packed(given=certificate(usage=b"no bits"))
    assert refused(from_pkcs12, data, "secret", "own.p12") == (
        "own.p12",
        "holds a certificate that cannot be read",
        "",
    )


def test_a_certificate_of_another_key_is_refused(monkeypatch):
    other = certificate(ec.derive_private_key(0xBEEF, ec.SECP256R1()))
    monkeypatch.setattr(  # no honest program packs these two together
        pkcs12, "load_key_and_certificates", lambda *_: (KEY, other, [])
    )
    assert refused(from_pkcs12, b"", "secret", "own.p12") == (
        "own.p12",
        "holds a certificate of another key",
        "",
    )


def test_a_passphrase_that_is_no_text_opens_nothing():
    assert refused(from_pkcs12, packed(), "\udcff", "own.p12")[1].startswith("is not opened")


@pytest.mark.parametrize("usage", [(True, False), (False, True), (False, False)])
def test_a_certificate_that_is_not_for_documents_is_refused(usage):
    data = packed(given=certificate(usage=usage))
    assert refused(from_pkcs12, data, "secret", "own.p12") == (
        "own.p12",
        "holds a certificate that is not for signing documents",
        "Ask its issuer for one with digitalSignature and nonRepudiation.",
    )


def test_a_certificate_that_says_nothing_of_its_use_is_taken():
    assert from_pkcs12(packed(given=certificate(usage=None)), "secret", "own.p12").key is not None


def test_a_certificate_of_one_s_own_names_signing_and_nothing_else():
    since = datetime(2025, 1, 1, tzinfo=UTC)
    read = x509.load_der_x509_certificate(self_signed(KEY, "A. Keeper", since))
    usage = read.extensions.get_extension_for_class(x509.KeyUsage)
    basics = read.extensions.get_extension_for_class(x509.BasicConstraints)
    assert usage.critical
    assert (usage.value.digital_signature, usage.value.content_commitment) == (True, True)
    others = ("key_encipherment", "data_encipherment", "key_agreement", "key_cert_sign", "crl_sign")
    assert not any(getattr(usage.value, name) for name in others)
    assert (basics.critical, basics.value.ca, basics.value.path_length) == (True, False, None)
    assert (read.not_valid_after_utc - read.not_valid_before_utc).days == 30 * 365
    assert read.subject == read.issuer
    key_id = read.extensions.get_extension_for_class(x509.SubjectKeyIdentifier)
    assert not key_id.critical  # RFC 5280 § 4.2.1.2


@pytest.mark.parametrize("name", ["", "x" * 65])
def test_a_name_no_certificate_can_bear_is_refused(name):
    said = refused(self_signed, KEY, name, TODAY)
    assert said == (f"name {shown(name)}", "has not between 1 and 64 characters", "")


@pytest.mark.parametrize("name", ["x", "x" * 64])
def test_a_name_of_the_least_and_of_the_greatest_length_is_borne(name):
    assert certifies(self_signed(KEY, name, TODAY), KEY)


def test_what_is_no_certificate_certifies_nothing():
    assert certifies(b"no certificate", KEY) is False

"""Text with exactly one spelling."""

import base64

import pytest

from evidence.errors import RefusedError
from evidence.ledger.strict import b64decode_strict, b64encode, decimal_strict, is_unicode, shown


# RFC 4648 section 10.
@pytest.mark.parametrize(
    ("data", "text"),
    [(b"", ""), (b"f", "Zg=="), (b"fo", "Zm8="), (b"foo", "Zm9v"), (b"foobar", "Zm9vYmFy")],
)
def test_base64_is_that_of_rfc_4648(data, text):
    assert b64encode(data) == text
    assert b64decode_strict(text) == data


def test_python_alone_takes_two_spellings_of_one_byte():
    assert base64.b64decode("AB==", validate=True) == base64.b64decode("AA==", validate=True)


@pytest.mark.parametrize(
    "text", ["AB==", "AA=", "AA", "A", "AA==\n", " AA==", "AA==AA==", "AA-_", "ÄA==", "===="]
)
def test_another_spelling_of_base64_is_refused(text):
    with pytest.raises(RefusedError, match="is not base64"):
        b64decode_strict(text)


@pytest.mark.parametrize(
    ("text", "number"), [("0", 0), ("7", 7), ("10", 10), ("9" * 18, 10**18 - 1)]
)
def test_plain_decimal_numbers_are_read(text, number):
    assert decimal_strict(text) == number


@pytest.mark.parametrize(
    "text", ["", "00", "01", "+5", "-1", " 7", "7 ", "7\n", "1_0", "٣", "²", "1e3", "0x1", "1" * 19]
)
def test_another_spelling_of_a_number_is_refused(text):
    with pytest.raises(RefusedError, match="plain decimal"):
        decimal_strict(text)


def test_a_lone_surrogate_is_no_unicode_text():
    assert is_unicode("roof \U0001f600")
    assert not is_unicode("roof \ud83d")


def test_a_strangers_text_is_shown_short():
    assert shown("short") == "'short'"
    assert len(shown("x" * 10_000)) < 100

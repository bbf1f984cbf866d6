"""The log key on paper: typed back as people type."""

import base64
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.errors import RefusedError
from evidence.ledger.recovery import RecoveryKey

SEEDS = st.binary(min_size=32, max_size=32)
# Crockford's alphabet, from memory: no I, L, O, U.
ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


@given(SEEDS)
def test_what_was_printed_is_read_back(seed):
    key = RecoveryKey(seed)
    assert RecoveryKey.parse(key.text()) == key
    assert RecoveryKey.parse(" ".join(key.words()).lower()) == key


@given(SEEDS)
def test_the_letters_are_the_seed_and_its_checksum_five_bits_each(seed):
    letters = "".join(RecoveryKey(seed).words())
    number = 0
    for letter in letters:
        number = number * 32 + ALPHABET.index(letter)
    assert number == int.from_bytes(seed + sha256(seed).digest()[:2]) << 3


def test_it_is_printed_in_eleven_groups_of_five():
    words = RecoveryKey.generate().words()
    assert [len(word) for word in words] == [5] * 11
    assert RecoveryKey.generate().words() != words


def test_letters_that_look_alike_are_taken_for_each_other():
    key = RecoveryKey(bytes(31) + b"\x21")
    typed = key.text().replace("0", "o").replace("1", "l")
    assert "o" in typed
    assert "l" in typed
    assert RecoveryKey.parse(typed) == key
    assert RecoveryKey.parse(typed.replace("l", "I").replace("o", "O")) == key


def test_spaces_hyphens_and_line_ends_do_not_matter():
    key = RecoveryKey(bytes(range(32)))
    assert RecoveryKey.parse("\n".join(key.words()) + " \r\n") == key
    assert RecoveryKey.parse(" - ".join(key.words())) == key


def test_every_single_wrong_letter_is_noticed():
    text = "".join(RecoveryKey(bytes(range(32))).words())
    for place, letter in enumerate(text):
        for other in set(ALPHABET) - {letter}:
            with pytest.raises(RefusedError, match="checksum is wrong"):
                RecoveryKey.parse(text[:place] + other + text[place + 1 :])


def test_a_letter_that_is_never_used_is_named():
    with pytest.raises(RefusedError, match="holds 'U'"):
        RecoveryKey.parse("u" + RecoveryKey(bytes(32)).text()[1:])


@pytest.mark.parametrize("count", [0, 54, 56])
def test_too_few_or_too_many_letters_are_counted(count):
    with pytest.raises(RefusedError, match=f"has {count} letters"):
        RecoveryKey.parse("0" * count)


@pytest.mark.parametrize("strange", ["é", "٣", "ß", "İ"])
def test_letters_of_other_scripts_are_refused(strange):
    with pytest.raises(RefusedError):
        RecoveryKey.parse(strange + RecoveryKey(bytes(32)).text()[1:])


def test_it_signs_as_an_ordinary_key_of_the_same_name(signer):
    recovery = RecoveryKey(bytes(32)).signer(signer.name)
    assert recovery.name == signer.name
    assert recovery.verifier.vkey != signer.verifier.vkey
    line = recovery.sign("text\n")
    assert recovery.verifier.verify("text\n", line.signature)


def test_the_secret_does_not_show():
    key = RecoveryKey.generate()
    assert key.text()[:5] not in repr(key)
    assert base64.b64encode(key.seed).decode()[:8] not in repr(key)
    with pytest.raises(RefusedError):
        RecoveryKey(bytes(31))

import shutil
import subprocess
from hashlib import sha256

import pytest
import segno
from hypothesis import given
from hypothesis import strategies as st

from evidence.errors import RefusedError
from evidence.witness.card import MAX_TEXT, START, Card, letters_of
from tests.conftest import needed

ABC = sha256(b"abc").hexdigest()
CASE = "000102030405060708090a0b0c0d0e0f"

cards = st.builds(
    Card,
    answer=st.binary(min_size=32, max_size=32).map(bytes.hex),
    case_id=st.binary(min_size=16, max_size=16).map(bytes.hex),
    zone=st.none() | st.from_regex(r"[a-z0-9-]{1,40}", fullmatch=True),
)


def test_the_worked_example_of_the_layout():
    card = Card(ABC, CASE, "vent-1")
    assert card.text == (
        "CARD1/XJ4BNP4PAHH6UQKBIDPF3LRCEOYAGYNDSYLXVHFUCD7WD4QACWWQ/AAAQEAYEAUDAOCAJBIFQYDIOB4/VENT-1"
    )
    assert card.letters == "PNKL CJPV LVBC"


@given(cards)
def test_every_card_is_read_back_from_its_text(card):
    assert Card.parse(card.text) == card
    assert card.text.startswith(START)
    assert len(card.text) <= MAX_TEXT


@given(cards, st.data())
def test_a_text_with_one_character_changed_is_another_card_or_none(card, data):
    at = data.draw(st.integers(0, len(card.text) - 1))
    char = data.draw(st.characters(codec="utf-8").filter(lambda c: c != card.text[at]))
    changed = card.text[:at] + char + card.text[at + 1 :]
    try:
        other = Card.parse(changed)
    except RefusedError:
        return
    assert other != card
    assert other.text == changed


@given(st.text())
def test_no_other_text_is_a_card_or_raises_anything_else(text):
    with pytest.raises(RefusedError):
        Card.parse(text)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "CARD1/",
        "CARD2/" + Card(ABC, CASE).text[6:],
        Card(ABC, CASE).text.lower(),
        Card(ABC, CASE).text + "/",
        Card(ABC, CASE).text + "\n",
        Card(ABC, CASE).text + "/" + "A" * 41,
        Card(ABC, CASE).text + "/vent-1",
        Card(ABC, CASE).text + "/VENT_1",
        Card(ABC, CASE, "a").text + "/B",
        Card(ABC, CASE).text.replace("ACWWQ/", "ACWWR/"),
        Card(ABC, CASE).text[:-1] + "5",
    ],
)
def test_another_layout_or_loose_bits_are_refused(text):
    with pytest.raises(RefusedError, match="not that of a card"):
        Card.parse(text)


@pytest.mark.parametrize(
    ("zone", "version"), [(None, 4), ("skylight-1", 5), ("a" * 36, 5), ("a" * 40, 6)]
)
def test_a_card_fits_a_small_code_in_alphanumeric_mode(zone, version):
    """ISO/IEC 18004, table 7: at level M versions 4, 5 and 6 hold 90, 122 and 154 characters."""
    made = segno.make(Card(ABC, CASE, zone).text, error="m", micro=False)
    assert (made.version, made.mode) == (version, "alphanumeric")


def test_the_letters_are_what_the_documented_command_makes(tmp_path):
    needed(shutil.which("sha256sum") is not None, "sha256sum")
    (tmp_path / "answer.tsr").write_bytes(b"abc")
    command = "sha256sum answer.tsr | cut -c1-12 | tr 0-9a-f BCDFGHJKLMNPRSTV"
    done = subprocess.run(
        ["sh", "-c", command], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == letters_of(ABC).replace(" ", "")


@given(st.binary(min_size=32, max_size=32))
def test_the_letters_are_twelve_without_vowels_and_tell_the_digits(digest):
    letters = letters_of(digest.hex()).replace(" ", "")
    assert len(letters) == 12
    back = letters.translate(str.maketrans("BCDFGHJKLMNPRSTV", "0123456789abcdef"))
    assert back == digest.hex()[:12]

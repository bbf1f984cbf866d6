"""Which pictures of a roll are left out: a person with two rigs and one telephone."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.photos import VisitItem
from evidence.photos.whose import Whose, left_out
from evidence.times import parse_utc

NOON = parse_utc("2025-05-30T12:00:00Z")
MINE, OTHER = "a" * 32, "b" * 32
CARDS = {"M": MINE, "O": OTHER, "p": None}
WORDS = {
    "c": Whose.ITS_CARD, "o": Whose.OTHERS, "b": Whose.BETWEEN, "n": Whose.NO_ORDER, ".": None,
}  # fmt: skip


def item(name, minutes, card=None, *, camera="phone", wide=0, loose=False):
    if minutes is None:
        return VisitItem(name, None, None, camera, card=card, name=name)
    at, half = NOON + timedelta(minutes=minutes), timedelta(minutes=wide)
    return VisitItem(name, at - half, at + half, camera, at=at, card=card, name=name, loose=loose)


def roll(cards):
    """One picture a minute: M my card, O another record's, p a picture without a card."""
    return [item(f"{n:03}", n, CARDS[one]) for n, one in enumerate(cards)]


@pytest.mark.parametrize(
    ("cards", "found"),
    [
        ("pppp", "...."),
        ("MppM", "...."),
        ("pMppMp", "......"),
        ("OppO", "cooc"),
        ("pOp", "oco"),
        ("MppMOppO", "....cooc"),
        ("MppMpOppO", "....bcooc"),
        ("MppOp", ".bbco"),
        ("OppOpMppMp", "coocb....."),
        ("MpOOpM", ".bccb."),
    ],
)
def test_the_cards_before_and_after_a_picture_tell_whose_it_is(cards, found):
    told = left_out(roll(cards), MINE)
    assert [told.get(f"{n:03}") for n in range(len(cards))] == [WORDS[one] for one in found]


def test_what_each_of_two_records_takes_of_one_roll_is_never_the_same():
    taken = roll("MppMpOppO")
    mine = {one.sha256 for one in taken} - left_out(taken, MINE).keys()
    others = {one.sha256 for one in taken} - left_out(taken, OTHER).keys()
    assert (len(mine), len(others), mine & others) == (4, 4, set())


def test_a_long_pause_ends_what_a_card_says():
    later = item("z", 500)
    assert "z" not in left_out([*roll("Op"), later], MINE)


def test_a_camera_that_saw_no_card_is_taken_only_where_no_other_record_was_pictured():
    compact = item("z", 2, camera="compact")
    assert "z" not in left_out([*roll("MppM"), compact], MINE)
    assert left_out([*roll("MppMOppO"), compact], MINE)["z"] is Whose.NO_ORDER


def test_what_has_no_time_is_not_taken_beside_another_records_card():
    note = item("z", None)
    assert "z" not in left_out([*roll("MppM"), note], MINE)
    assert left_out([*roll("OpO"), note], MINE)["z"] is Whose.NO_ORDER
    assert left_out([item("y", None, OTHER), note], MINE) == {
        "y": Whose.ITS_CARD, "z": Whose.NO_ORDER,
    }  # fmt: skip
    assert "z" not in left_out([item("y", None, OTHER), item("z", None, MINE)], MINE)


def test_a_film_whose_clock_reads_two_ways_is_left_out_wherever_it_may_be_of_the_other_rig():
    film = item("z", 10, wide=14 * 60, loose=True)
    assert left_out([*roll("MppMOppO"), film], MINE)["z"] is Whose.NO_ORDER
    far = item("z", 5000, wide=14 * 60, loose=True)
    assert "z" not in left_out([*roll("MppMOppO"), far], MINE)


@given(
    st.lists(
        st.builds(
            lambda name, minutes, card: item(str(name), minutes, card),
            st.integers(0, 10**6),
            st.one_of(st.none(), st.integers(0, 900)),
            st.sampled_from([None, None, MINE, OTHER]),
        ),
        max_size=25,
        unique_by=lambda each: each.sha256,
    ),
    st.randoms(),
)
def test_nothing_is_of_both_and_the_order_given_does_not_matter(items, random):
    told = left_out(items, MINE)
    shuffled = [*items]
    random.shuffle(shuffled)
    assert left_out(shuffled, MINE) == told
    cards = {one.sha256: one.card for one in items}
    assert {name for name, card in cards.items() if card == OTHER} <= told.keys()
    assert not any(cards[name] == MINE for name in told)
    if OTHER in cards.values() and MINE in cards.values():
        both = cards.keys() - told.keys() - left_out(items, OTHER).keys()
        near = {one.sha256 for one in items if one.moment is None}
        assert not both & near

"""The sentence in a finding's note: from it alone the very same length comes out again."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evidence.errors import RefusedError
from evidence.lengths import MM_PER_INCH, Coin, Scene, Sheet, Way, four, kept_in, sentence, told
from evidence.lengths.measured import figure

CORNERS = ((1012.0, 804.0), (1427.0, 828.0), (1398.0, 1097.0), (978.0, 1064.0))
PICTURE = "4cbac1af4851" + "0" * 52
CARD = Sheet("a card of size ID-1", (85.6, 53.98), 0.05, CORNERS, 1.0)
SCENE = Scene(PICTURE, (4000, 3000), (640.0, 1210.0), (1585.0, 742.0), 1.0, CARD, "ISO/IEC 7810")
COIN = Coin(
    "a US cent",
    19.05,
    0.1,
    ((400, 250), (250, 400), (100, 250), (250, 100), (370, 340), (130, 160)),
    0.5,
)


def test_the_worked_example_as_it_stands_in_a_note():
    """The figures of SUMS § 4; the sentence of the module's own docstring."""
    assert sentence(SCENE, SCENE.length(), Way.LENGTH) == (
        "Length 212.4 ± 2.0 mm (k = 2) by the four corners of a card of size ID-1, 85.6 × 53.98 mm"
        " known to 0.05 mm (ISO/IEC 7810), at (1012, 804) (1427, 828) (1398, 1097) (978, 1064)"
        " read to 1 px; from (640, 1210) to (1585, 742) read to 1 px, from the upper left of the"
        " upright picture 4cbac1af4851, 4000 × 3000 px."
    )


@pytest.mark.parametrize("by", [CARD, COIN], ids=["card", "coin"])
def test_a_length_comes_out_of_its_sentence_again(by):
    ends = ((640.0, 1210.0), (1585.0, 742.0)) if by is CARD else ((310.25, 220.5), (420.0, 330.75))
    scene = Scene(PICTURE, (4000, 3000), *ends, 0.5, by, 'calipers, "0 to 150 mm" (own)')
    found = scene.length()
    text = sentence(scene, found, Way.WIDTH)
    (kept,) = kept_in(f"A tear. {text} It runs to the seam.")
    assert (kept.way, kept.text) == (Way.WIDTH, text)
    assert kept.scene.length() == found
    assert told(found) == (kept.mm, kept.sure)
    assert kept.scene.basis == scene.basis
    assert kept.scene.picture == PICTURE[:12]


PLACE = st.decimals(0, 4000, places=2).map(float)


@settings(max_examples=100, deadline=None)
@given(
    st.tuples(PLACE, PLACE), st.tuples(PLACE, PLACE), st.sampled_from([0.25, 1.0, 2.5]),
    st.text(st.characters(codec="utf-8", exclude_categories=["C"]), min_size=1, max_size=30),
)  # fmt: skip
def test_what_is_written_is_read_back_whatever_it_says(start, end, sure, basis):
    scene = Scene(PICTURE, (4000, 4000), start, end, sure, CARD, basis)
    (kept,) = kept_in(sentence(scene, SCENE.length(), Way.LENGTH))
    assert (kept.scene.start, kept.scene.end) == (start, end)
    assert (kept.scene.points_sure, kept.scene.by.corners) == (sure, CORNERS)


def test_two_sentences_in_one_note_are_two():
    both = [sentence(SCENE, SCENE.length(), way) for way in Way]
    assert [kept.text for kept in kept_in(" ".join(both))] == both


def test_a_note_of_a_persons_own_holds_none():
    assert list(kept_in("Length 212.4 mm by the ruler, from the vent to the edge.")) == []


def test_a_place_outside_the_picture_is_refused():
    scene = Scene(PICTURE, (1500, 3000), SCENE.start, SCENE.end, 1.0, CARD, "ISO/IEC 7810")
    with pytest.raises(RefusedError, match=r"\(1585, 742\).*outside the upright picture"):
        scene.length()


def test_a_short_length_is_told_with_one_more_decimal_and_inches_with_one_more_yet():
    found = SCENE.length()
    assert told(found) == ("212.4", "2.0")
    assert told(found, MM_PER_INCH) == ("8.36", "0.08")
    near = Scene(PICTURE, (4000, 3000), (1100.0, 900.0), (1150.0, 905.0), 0.2, CARD, "x").length()
    assert told(near)[0] == f"{near.mm:.2f}"


def test_figures_bear_no_needless_zeros():
    assert [figure(value) for value in (640.0, 0.05, 85.725, 53.98)] == [
        "640", "0.05", "85.725", "53.98",
    ]  # fmt: skip


def test_four_corners_are_four():
    assert four(CORNERS) == CORNERS
    with pytest.raises(RefusedError, match="are 3 points"):
        four(CORNERS[:3])

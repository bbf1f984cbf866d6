import pytest

from evidence.check.figures import _trusted, _unsaid

PAGE = """Branch strike on
8 June 2025
9 days before  Field, right was looked at.
84 of 90 days  Longest time between looks.
Later: 9 days before the second storm."""


def test_a_page_that_says_everything_leaves_nothing_unsaid():
    said = ["Branch strike on 8 June 2025", "9 days before", "84 of 90 days", ""]

    assert _unsaid(said, PAGE) == []


@pytest.mark.parametrize("page", ["", "Something else"])
def test_a_page_that_says_nothing_leaves_all_unsaid(page):
    assert _unsaid(["9 days before", "84 of 90 days"], page) == ["9 days before", "84 of 90 days"]


def test_what_is_said_with_another_figure_is_unsaid():
    assert _unsaid(["8 days before", "84 of 90 days"], PAGE) == ["8 days before"]


def test_what_stands_only_further_down_does_not_take_the_place_of_what_is_missing():
    """Of the ways to find the sentences in their order, the one that finds most counts."""
    page = PAGE.replace("9 days before", "2 days before", 1)
    said = ["9 days before", "Field, right was looked at.", "84 of 90 days"]

    assert _unsaid(said, page) == ["9 days before"]


def test_sentences_in_another_order_are_not_what_the_page_states():
    assert len(_unsaid(["84 of 90 days", "9 days before  Field"], PAGE)) == 1


def test_a_page_may_break_its_lines_anywhere():
    assert _unsaid(["Branch strike on 8 June 2025"], "Bran\nch str ike on 8\u00a0June 2025") == []


def test_a_character_that_no_face_has_is_drawn_as_a_question_mark():
    assert _unsaid(["Travel trailer 日本"], "Travel trailer ??") == []
    assert _unsaid(["Travel trailer 日本"], "Travel trailer 日?") == []
    assert _unsaid(["Travel trailer 日本"], "Travel trailer xx") != []
    assert _unsaid(["Travel trailer 9"], "Travel trailer ?") != [], "every face has ASCII"


def test_signs_that_mean_something_to_a_pattern_mean_themselves():
    assert _unsaid(["(a+b) [c] 1.5|2"], "(a+b) [c] 1.5|2") == []
    assert _unsaid(["1.5"], "1x5") == ["1.5"]


@pytest.mark.parametrize(
    ("case", "seqs"),
    [
        ({"witnesses": [{"seq": 3, "trust": "trusted"}, {"seq": 5, "trust": "sample"}]}, {3}),
        ({"witnesses": [{"seq": "3", "trust": "trusted"}, {"trust": "trusted"}, 7, None]}, set()),
        ({"witnesses": [{"seq": [], "trust": "trusted"}]}, set()),
        ({"witnesses": 7}, set()),
        ({}, set()),
        (None, set()),
    ],
)
def test_whom_the_issuer_trusted_is_read_from_any_document(case, seqs):
    assert _trusted({"case": case}) == seqs

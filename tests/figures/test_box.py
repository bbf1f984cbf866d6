import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.figures.box import Box, elided, interrupted, one_line, text_box, wrapped
from evidence.figures.scene import Line, Text
from evidence.figures.style import text_width

LINE = Line(5.0, 0.0, 5.0, 100.0)


def test_boxes_that_share_only_an_edge_do_not_meet():
    assert not Box(0, 0, 10, 10).meets(Box(10, 0, 20, 10))
    assert Box(0, 0, 10, 10).meets(Box(9, 9, 20, 20))


def test_cutting_keeps_the_common_part():
    assert Box(0, 0, 10, 10).cut_to(Box(5, -5, 20, 5)) == Box(5, 0, 10, 5)
    assert Box(0, 0, 10, 10).cut_to(Box(10, 0, 20, 10)) is None


def test_moving_into_a_box_shifts_no_further_than_needed():
    page = Box(0, 0, 100, 100)
    assert Box(-3, 50, 7, 60).moved_into(page) == Box(0, 50, 10, 60)
    assert Box(95, 98, 105, 108).moved_into(page) == Box(90, 90, 100, 100)
    assert Box(5, 5, 6, 6).moved_into(page) == Box(5, 5, 6, 6)


@pytest.mark.parametrize(("anchor", "start"), [("start", 0.0), ("middle", -0.5), ("end", -1.0)])
def test_a_text_takes_its_width_on_the_side_of_its_anchor(anchor, start):
    width = text_width("vent 2", "text", 8.6)
    box = text_box(Text(50.0, 20.0, "vent 2", anchor=anchor))
    assert box.x0 == pytest.approx(50.0 + start * width)
    assert box.width == pytest.approx(width)
    assert box.y0 < 20.0 < box.y1


def test_a_text_that_reads_upward_stands_left_of_its_baseline():
    box = text_box(Text(50.0, 20.0, "front strip", rotation=-90.0))
    assert box.height == pytest.approx(text_width("front strip", "text", 8.6))
    assert box.y1 == pytest.approx(20.0)
    assert box.x0 < 50.0 < box.x1
    assert 50.0 - box.x0 > box.x1 - 50.0


def test_a_line_leaves_out_what_stands_on_it():
    pieces = interrupted(LINE, [Box(0, 60, 10, 70), Box(0, 20, 10, 30), Box(6, 40, 10, 50)])
    assert [(piece.y1, piece.y2) for piece in pieces] == [(0, 20), (30, 60), (70, 100)]


def test_boxes_over_each_other_interrupt_a_line_once():
    pieces = interrupted(LINE, [Box(0, 20, 10, 60), Box(0, 30, 10, 40), Box(0, 90, 10, 120)])
    assert [(piece.y1, piece.y2) for piece in pieces] == [(0, 20), (60, 90)]


def test_a_level_line_is_interrupted_along_x():
    pieces = interrupted(Line(0.0, 5.0, 50.0, 5.0), [Box(10, 0, 20, 10)])
    assert [(piece.x1, piece.x2) for piece in pieces] == [(0, 10), (20, 50)]


def test_a_text_that_fits_is_not_cut():
    assert elided("vent 2", 100.0, "text", 8.6) == "vent 2"


@given(st.text(st.characters(codec="utf-8"), max_size=80), st.floats(20, 200))
def test_lines_never_pass_the_width(text, width):
    for line in wrapped(text, width, "text", 8.6):
        assert text_width(line, "text", 8.6) <= width


@given(st.lists(st.text("abcdefg", min_size=1, max_size=5), min_size=1, max_size=12))
def test_wrapping_loses_no_word(words):
    assert " ".join(wrapped(" ".join(words), 60.0, "text", 8.6)).split() == words


def test_past_the_last_line_the_rest_is_cut():
    lines = wrapped("right rail with a name that goes on and on", 60.0, "text", 8.6, most=2)
    assert len(lines) == 2
    assert lines[1].endswith("…")


def test_line_breaks_in_a_name_become_spaces():
    assert one_line("front\n  strip ") == "front strip"

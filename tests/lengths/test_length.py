"""A length by four corners: the uncertainty holds what it says, and what it cannot is refused."""

import math

import numpy as np
import pytest

from evidence.errors import RefusedError
from evidence.lengths.length import MOST_BY_CORNERS, Sheet, length_on
from evidence.lengths.plane import apart
from tests.viewing import View

ID1 = (85.6, 53.98)


def sheet(view=None, *, size=ID1, corners=None, corners_sure=1.0, size_sure=0.05, **more):
    """A card at the plane's zero as `view` sees it."""
    wide, high = size
    places = ((0, 0), (wide, 0), (wide, high), (0, high))
    seen = corners or tuple(view.pixel(place) for place in places)
    return Sheet("the card", size, size_sure, seen, corners_sure, **more)


def looking(**how):
    return View(around=(ID1[0] / 2, ID1[1] / 2), size=(4000, 3000), **how)


def test_the_worked_example_is_not_refused_and_says_where_it_is_unsure():
    """SUMS § 4."""
    card = sheet(corners=((1012, 804), (1427, 828), (1398, 1097), (978, 1064)))
    found = length_on(card, (640, 1210), (1585, 742), 1.0)
    assert found.mm == pytest.approx(212.36782, abs=1e-5)
    parts = (found.by_reference, found.by_points, found.by_size, found.sure)
    assert [f"{part:.3f}" for part in parts] == ["0.963", "0.286", "0.105", "1.010"]
    assert found.by_tilt == 0
    assert found.tilt == pytest.approx(18, abs=1)
    assert found.px_per_mm == pytest.approx(5.0, abs=0.2)
    assert found.reach == pytest.approx(1.26, abs=0.02)


@pytest.mark.parametrize("tilted", [0, 20, 40, 55])
def test_a_true_picture_gives_the_true_length_at_any_tilt(tilted):
    view = looking(tilted=tilted, turned=33)
    start, end = (-60.0, 20.0), (100.0, 130.0)
    found = length_on(sheet(view), view.pixel(start), view.pixel(end), 1.0)
    assert found.mm == pytest.approx(apart(start, end), rel=1e-9)
    assert found.tilt == pytest.approx(tilted, abs=3)


@pytest.mark.parametrize("tilted", [0, 30, 50])
@pytest.mark.parametrize("far", [0.5, 1.5, 3.0])
def test_twice_the_uncertainty_holds_the_truth_at_its_rate(tilted, far):
    """95 in 100 for errors that are drawn as they are stated: 500 trials each, at 93 or more."""
    view = looking(tilted=tilted, turned=20)
    rng = np.random.default_rng(int(tilted + 10 * far))
    diagonal = math.hypot(*ID1)
    start = (ID1[0] / 2 + far * diagonal * 0.6, ID1[1] / 2 + far * diagonal * 0.6)
    end = (start[0] - 90, start[1] + 70)
    true, held, scatter = apart(start, end), 0, []
    for _ in range(500):
        corners = tuple(
            tuple(np.array(point) + rng.normal(size=2)) for point in sheet(view).corners
        )
        size = tuple(np.array(ID1) + rng.normal(0, 0.05, 2))
        ends = [tuple(np.array(view.pixel(point)) + rng.normal(size=2)) for point in (start, end)]
        found = length_on(sheet(corners=corners, size=size, sides_known=True), *ends, 1.0)
        held += abs(found.mm - true) <= 2 * found.sure
        scatter.append((found.mm - true) / found.sure)
    assert held / 500 >= 0.93
    assert 0.85 < np.std(scatter) < 1.15


def refusal(card, start, end, read=1.0):
    with pytest.raises(RefusedError) as caught:
        length_on(card, start, end, read)
    return str(caught.value)


def test_a_card_that_is_too_small_is_refused():
    view = looking(px_per_mm=0.7)
    said = refusal(sheet(view), view.pixel((0, 80)), view.pixel((90, 80)))
    assert "too small in this picture: its shortest side has 38 pixels" in said


def test_a_card_seen_too_obliquely_is_refused():
    view = looking(tilted=65, turned=90)
    said = refusal(sheet(view, sides_known=True), view.pixel((0, 80)), view.pixel((90, 80)))
    assert "too obliquely: 65° off the straight look" in said


@pytest.mark.parametrize("tilted", [0, 20, 40, 50])
@pytest.mark.parametrize("turned", [0, 45, 90])
def test_corners_that_begin_on_the_wrong_side_are_refused_at_any_tilt(tilted, turned):
    view = looking(tilted=tilted, turned=turned)
    right = sheet(view)
    wrong = sheet(corners=(*right.corners[1:], right.corners[0]))
    said = refusal(wrong, view.pixel((0, 80)), view.pixel((90, 80)))
    assert "which side is which cannot be told" in said or "begin on the wrong side" in said


def test_corners_may_run_round_either_way():
    view = looking(tilted=25, turned=10)
    right = sheet(view)
    a, b, c, d = right.corners
    start, end = view.pixel((0, 80)), view.pixel((90, 110))
    mirrored = length_on(sheet(corners=(b, a, d, c)), start, end, 1.0)
    assert mirrored.mm == pytest.approx(length_on(right, start, end, 1.0).mm)


def test_points_far_outside_are_refused():
    view = looking(px_per_mm=4)
    said = refusal(sheet(view), view.pixel((540, 50)), view.pixel((560, 80)))
    assert "of its diagonals, and 5 are the most" in said


def test_a_point_beyond_the_horizon_is_refused():
    view = View(
        tilted=58, turned=0, px_per_mm=4, size=(4000, 3000), around=(ID1[0] / 2, ID1[1] / 2)
    )
    card = sheet(view, sides_known=True)
    said = refusal(card, view.pixel((0, 80)), (2000, 9000))
    assert "beyond the horizon" in said


def test_a_length_that_rests_on_a_small_card_far_away_is_refused():
    view = looking(px_per_mm=1.3, tilted=45)
    said = refusal(sheet(view), view.pixel((330, 150)), view.pixel((360, 160)))
    assert "at that distance the card is too small or too oblique" in said


def test_points_too_near_each_other_for_their_pixels_are_refused():
    view = looking(px_per_mm=2)
    said = refusal(sheet(view), view.pixel((90, 50)), view.pixel((92, 50)))
    assert "too near each other" in said
    assert "are one" in refusal(sheet(view), (1900, 1500), (1900, 1500))


def test_corners_out_of_order_are_refused():
    view = looking()
    a, b, c, d = sheet(view).corners
    assert "in order around it" in refusal(sheet(corners=(a, c, b, d)), (0, 0), (9, 9))


def test_within_the_limits_the_corners_never_give_more_than_the_sum_of_squares_bears():
    assert MOST_BY_CORNERS <= 1 / 8

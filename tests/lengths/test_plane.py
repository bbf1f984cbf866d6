"""The map from pixels to millimetres: against published figures, and against numpy's own."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evidence.lengths.plane import apart, convex, onto, plane_of, propagated

# SUMS § 4: a card of size ID-1, solved there with numpy and with cv2.findHomography
CARD = ((1012, 804), (1427, 828), (1398, 1097), (978, 1064))
ID1 = (85.6, 53.98)
START, END = (640, 1210), (1585, 742)
H = (
    (0.2425238833, 0.0317146617, -270.9327579),
    (-0.0138648132, 0.2397457291, -178.7243752),
    (8.627222341e-5, 7.435871604e-5, 1.0),
)
# SUMS § 4: a sheet of Letter
LETTER = ((820, 610), (1834, 652), (1790, 1436), (772, 1390))


def length(values):
    corners = tuple((values[at], values[at + 1]) for at in range(0, 8, 2))
    plane = plane_of(corners, (values[12], values[13]))
    return apart(plane.at((values[8], values[9])), plane.at((values[10], values[11])))


def flat(*points):
    return [float(figure) for point in points for figure in point]


def test_the_map_of_the_worked_example_comes_out_to_all_its_digits():
    rows = plane_of(CARD, ID1).rows
    for mine, theirs in zip(rows, H, strict=True):
        for one, other in zip(mine, theirs, strict=True):
            assert one / rows[2][2] == pytest.approx(other, rel=1e-8)


def test_the_points_and_the_length_of_the_worked_example_come_out_to_all_their_digits():
    plane = plane_of(CARD, ID1)
    assert [f"{figure:.5f}" for figure in plane.at(START)] == ["-67.53713", "89.50011"]
    assert f"{plane.at(END)[0]:.5f}" in ("114.94092", "114.94091")  # 114.940916…: printed as …92
    assert f"{plane.at(END)[1]:.5f}" in ("-19.13623", "-19.13624")
    assert apart(plane.at(START), plane.at(END)) == pytest.approx(212.367822, abs=5e-6)


def test_the_uncertainty_of_the_worked_example_comes_out_part_by_part():
    parts = propagated(length, flat(*CARD, START, END, ID1), [1.0] * 12 + [0.05] * 2)
    told = [f"{math.hypot(*parts[a:b]):.3f}" for a, b in ((0, 8), (8, 12), (12, 14), (0, 14))]
    assert told == ["0.963", "0.286", "0.105", "1.010"]


def test_the_second_worked_example_comes_out_too():
    values = flat(*LETTER, (805, 1502), (1821, 548), (279.4, 215.9))
    parts = propagated(length, values, [1.0] * 12 + [0.5] * 2)
    assert f"{length(values):.4f}" == "380.5789"
    assert f"{math.hypot(*parts):.3f}" == "0.809"


def test_drawn_errors_scatter_as_far_as_the_uncertainty_of_the_worked_example_says():
    """SUMS § 4: 20,000 trials there gave a standard deviation of 1.007."""
    rng = np.random.default_rng(20)
    values = np.array(flat(*CARD, START, END, ID1))
    sure = np.array([1.0] * 12 + [0.05] * 2)
    lengths = [length(values + rng.normal(size=14) * sure) for _ in range(20_000)]
    assert np.std(lengths) == pytest.approx(1.010, rel=0.02)


def by_least_squares(corners, size):
    """The homography as the null vector of eight equations (direct linear transformation)."""
    wide, high = size
    rows = []
    for (x, y), (u, v) in zip(corners, [(0, 0), (wide, 0), (wide, high), (0, high)], strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y, -v])
    return np.linalg.svd(np.array(rows, float))[2][-1].reshape(3, 3)


def hand(matrix, point):
    x, y, depth = matrix @ np.array([*point, 1.0])
    return x / depth, y / depth


MOVED = st.floats(-250, 250, allow_nan=False)


@settings(max_examples=200, deadline=None)
@given(st.tuples(*[st.tuples(MOVED, MOVED)] * 4), st.floats(20, 500), st.floats(20, 500))
def test_numpys_least_squares_and_the_closed_form_map_alike(moved, wide, high):
    square = ((1000, 1000), (2000, 1000), (2000, 2000), (1000, 2000))
    corners = tuple((x + dx, y + dy) for (x, y), (dx, dy) in zip(square, moved, strict=True))
    assert convex(corners)
    heart = (sum(x for x, _ in corners) / 4, sum(y for _, y in corners) / 4)
    plane = plane_of(corners, (wide, high))
    theirs = hand(by_least_squares(corners, (wide, high)), heart)
    assert plane.at(heart) == pytest.approx(theirs, rel=1e-4, abs=1e-3)


def test_into_the_picture_and_back_is_where_it_began():
    plane, back = plane_of(CARD, ID1), onto(CARD, ID1)
    for point in (START, END, *CARD):
        assert back.at(plane.at(point)) == pytest.approx(point)


def test_a_rectangle_that_begins_elsewhere_in_the_plane_shows_at_the_same_corners():
    there = onto(CARD, ID1, (7, -3))
    assert there.at((7, -3)) == pytest.approx(CARD[0])
    assert there.at((7 + ID1[0], -3 + ID1[1])) == pytest.approx(CARD[2])


def test_the_scales_are_the_singular_values_of_the_derivative():
    plane, step = plane_of(CARD, ID1), 1e-4
    here = np.array(plane.at(START))
    columns = [
        (np.array(plane.at((START[0] + dx, START[1] + dy))) - here) / step
        for dx, dy in ((step, 0), (0, step))
    ]
    singular = np.linalg.svd(np.column_stack(columns))[1]
    assert plane.scales(START) == pytest.approx(tuple(singular), rel=1e-4)


@pytest.mark.parametrize(
    "corners",
    [
        ((0, 0), (10, 10), (10, 0), (0, 10)),  # crossing
        ((0, 0), (10, 0), (2, 2), (0, 10)),  # hollow
        ((0, 0), (5, 0), (10, 0), (0, 10)),  # three in a line
        ((3, 3), (3, 3), (3, 3), (3, 3)),
    ],
)
def test_corners_around_no_card_make_no_plane(corners):
    assert not convex(corners)
    with pytest.raises(ValueError, match="four sides"):
        plane_of(corners, ID1)

from math import isclose

import pytest

from evidence.figures.scene import Hatch, Stroke

SQUARE = ((10.0, 20.0), (50.0, 20.0), (50.0, 60.0), (10.0, 60.0))


def test_level_hatching_hangs_on_the_grid_of_the_whole_scene():
    lines = Hatch(SQUARE, spacing=8.0, angle=0.0).lines()
    assert [line.y1 for line in lines] == [24.0, 32.0, 40.0, 48.0, 56.0]
    assert all(line.x1 <= 10.0 and line.x2 >= 50.0 for line in lines)


@pytest.mark.parametrize("angle", [0.0, -45.0, 30.0, 90.0])
def test_hatch_lines_are_one_spacing_apart_and_leave_no_corner_bare(angle):
    lines = Hatch(SQUARE, spacing=5.0, angle=angle).lines()
    first, second = lines[0], lines[1]
    dx, dy = first.x2 - first.x1, first.y2 - first.y1
    length = (dx**2 + dy**2) ** 0.5
    apart = abs(dx * (second.y1 - first.y1) - dy * (second.x1 - first.x1)) / length
    assert isclose(apart, 5.0, abs_tol=1e-9)
    for x, y in SQUARE:
        nearest = min(abs(dx * (y - line.y1) - dy * (x - line.x1)) / length for line in lines)
        assert nearest <= 5.0


def test_dots_of_neighbouring_shapes_stand_in_one_grid():
    dots = Stroke(dash=(0.0, 4.0), round_ends=True)
    left = Hatch(SQUARE, dots, 4.0, 0.0).lines()
    right = Hatch(tuple((x + 41.7, y) for x, y in SQUARE), dots, 4.0, 0.0).lines()
    assert [line.y1 for line in left] == [line.y1 for line in right]
    assert (right[0].x1 - left[0].x1) % 4.0 == 0

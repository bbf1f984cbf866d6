import pytest

from evidence.figures.marks import (
    BEAD_SHAPE,
    bead_mark,
    deed_mark,
    grade_words,
    incident_mark,
    legend,
    outsider_mark,
    who_mark,
    who_span,
)
from evidence.figures.scene import Circle, CurveTo, LineTo, MoveTo, Path, Polygon, Rect
from evidence.figures.style import COPPER, INK, PAPER

from .samples import words_of


def corners(path: Path) -> list[tuple[float, float]]:
    return [(step.x, step.y) for step in path.steps if isinstance(step, MoveTo | LineTo | CurveTo)]


@pytest.mark.parametrize(("grade", "pieces"), [(0, 1), (1, 1), (2, 1), (3, 2), (4, 3)])
def test_a_bead_is_whole_to_grade_two_then_broken_then_dripping(grade, pieces):
    assert len(bead_mark(grade, 0, 0)) == pieces


@pytest.mark.parametrize(("grade", "nicks"), [(0, 0), (1, 1), (2, 2)])
def test_a_whole_bead_has_as_many_nicks_as_its_grade(grade, nicks):
    (bead,) = bead_mark(grade, 50, 20, 30)
    top = 20 - 30 * BEAD_SHAPE / 2
    tips = [step for step in bead.steps if isinstance(step, LineTo) and top < step.y < 20 + 30 / 8]
    assert len(tips) == nicks


@pytest.mark.parametrize("grade", range(5))
@pytest.mark.parametrize("length", [12.0, 30.0])
def test_a_bead_keeps_its_length_about_its_centre(grade, length):
    points = [point for path in bead_mark(grade, 50, 20, length) for point in corners(path)]
    assert min(x for x, _ in points) == pytest.approx(50 - length / 2)
    assert max(x for x, _ in points) == pytest.approx(50 + length / 2)
    assert min(y for _, y in points) == pytest.approx(20 - length * BEAD_SHAPE / 2)


def test_only_a_leaking_bead_hangs_below_itself():
    def lowest(grade):
        return max(y for path in bead_mark(grade, 0, 0, 30) for _, y in corners(path))

    assert [lowest(grade) for grade in range(4)] == [pytest.approx(30 * BEAD_SHAPE / 2)] * 4
    assert lowest(4) > 30 * BEAD_SHAPE / 2 + 4


def test_the_halves_of_a_broken_bead_do_not_touch():
    left, right = bead_mark(3, 0, 0, 30)
    for share in (0.0, 0.5, 1.0):
        # the two slanting edges, walked from the top to the bottom of the bead
        near = corners(left)[0][0] + share * (corners(left)[1][0] - corners(left)[0][0])
        far = corners(right)[0][0] + share * (corners(right)[-1][0] - corners(right)[0][0])
        assert far - near > 4


def test_a_grade_outside_the_list_is_refused():
    with pytest.raises(ValueError, match="5 is not a valid Grade"):
        bead_mark(5, 0, 0)


def test_the_words_are_those_of_the_grades():
    assert [grade_words(n) for n in range(5)] == [
        "0 sound",
        "1 watch",
        "2 maintain",
        "3 open path",
        "4 urgent",
    ]


def test_the_owners_clock_is_hollow_and_a_witnessed_one_filled():
    (hollow,) = who_mark(5, 5, 3, witnessed=False)
    (filled,) = who_mark(5, 5, 3, witnessed=True)
    assert isinstance(hollow, Circle)
    assert (hollow.fill, filled.fill) == (PAPER, INK)
    assert hollow.stroke == filled.stroke


def test_a_ring_over_a_span_reaches_over_both_its_days():
    (ring,) = who_span(10, 30, 5, 3, witnessed=False)
    assert (ring.x, ring.x + ring.width, ring.radius) == (7, 33, 3)


def test_an_outsiders_answer_is_a_filled_square_and_copper_is_for_the_incident_alone():
    (square,) = outsider_mark(10, 10, 4)
    assert square == Rect(8, 8, 4, 4, INK)
    (triangle,) = incident_mark(10, 10)
    assert isinstance(triangle, Polygon)
    assert triangle.fill == COPPER
    for kind in ("wash", "treatment", "reseal", "repair", "cover", "other"):
        assert COPPER not in repr(deed_mark(kind, 0, 0))


@pytest.mark.parametrize("width", [180, 330])
def test_the_legend_names_every_mark(width):
    drawn = {text.text for text in words_of(legend(width))}
    assert {grade_words(n) for n in range(4)} < drawn
    assert drawn & {"4 urgent", "4 urgent: leaking, structural or unsafe"}
    assert "owner’s clock only" in drawn
    assert {"witnessed before", "outsider’s answer", "incident"} < drawn

from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.errors import RefusedError
from evidence.figures.axis import TimeAxis, calendar, day_text
from evidence.figures.box import text_box

TWO_YEARS = TimeAxis(date(2024, 1, 1), date(2025, 12, 31), 90.0, 529.0)
TEN_YEARS = TimeAxis(date(2016, 1, 1), date(2025, 12, 31), 90.0, 529.0)


def test_a_date_is_written_the_same_in_every_country():
    assert day_text(date(2025, 6, 8)) == "8 June 2025"


def test_days_lie_evenly_from_end_to_end():
    axis = TimeAxis(date(2025, 1, 1), date(2025, 1, 11), 100.0, 200.0)
    assert [axis.at(date(2025, 1, 1 + n)) for n in (0, 5, 10)] == [100.0, 150.0, 200.0]
    assert axis.inside(date(2024, 12, 1)) == 100.0
    assert axis.inside(date(2026, 12, 1)) == 200.0
    assert not axis.reaches(date(2025, 1, 12))


def test_two_years_are_told_in_quarters_with_a_line_every_month():
    assert [tick.text for tick in TWO_YEARS.labels()] == [
        *("Jan 2024", "Apr", "Jul", "Oct", "Jan 2025", "Apr", "Jul", "Oct"),
    ]
    assert len(TWO_YEARS.lines()) == 24


def test_ten_years_fold_into_years_with_a_line_every_quarter():
    assert [tick.text for tick in TEN_YEARS.labels()] == [str(year) for year in range(2016, 2026)]
    assert len(TEN_YEARS.lines()) == 40


def test_a_first_label_that_is_not_january_still_names_its_year():
    axis = TimeAxis(date(2024, 2, 10), date(2025, 2, 10), 0.0, 400.0)
    assert axis.labels()[0].text.endswith("2024")


def test_a_stretch_without_the_first_of_a_month_is_told_by_its_two_ends():
    axis = TimeAxis(date(2025, 6, 3), date(2025, 6, 20), 90.0, 529.0)
    assert [text.text for text in calendar(axis, 10.0, 534.0)] == ["3 June 2025", "20 June 2025"]


def test_time_that_does_not_run_forward_is_refused():
    with pytest.raises(RefusedError, match="no stretch of time"):
        TimeAxis(date(2025, 1, 2), date(2025, 1, 1), 0.0, 100.0)


def test_a_day_is_a_stretch_that_ends_where_the_next_begins():
    day = date(2025, 6, 3)
    axis = TimeAxis(day, day, 90.0, 529.0)
    assert (axis.at(day), axis.at(day + timedelta(days=1)), axis.reaches(day)) == (
        90.0,
        529.0,
        True,
    )
    assert [text.text for text in calendar(axis, 10.0, 534.0)] == ["3 June 2025"]


@given(
    st.dates(date(1990, 1, 1), date(2060, 1, 1)),
    st.integers(1, 20_000),
    st.floats(120.0, 500.0),
)
def test_words_under_the_axis_never_meet_and_stand_on_their_own_line(start, days, length):
    axis = TimeAxis(start, start + timedelta(days=days), 80.0, 80.0 + length)
    words = calendar(axis, 20.0, 85.0 + length)
    assert words
    boxes = [text_box(word) for word in words]
    assert not any(before.meets(after) for before, after in pairwise(boxes))
    assert all(box.x1 <= 85.0 + length for box in boxes)
    places = {tick.x for tick in axis.labels()} | {axis.x0, axis.x1}
    assert all(word.x in places for word in words)

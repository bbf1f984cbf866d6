"""Moisture readings (TRADE § 5: 0-15 normal, 15-20 re-test, 20-30 investigate, over 30)."""

from datetime import date

from tests.scenarios.build import measured, tell
from tests.upkeep.telling import reading


def test_a_series_is_one_spot_in_order_of_time():
    told = [
        reading("2025-03-01", 115, reference_pct10=110),
        reading("2025-03-01", 205, spot="right"),
        reading("2025-05-01", 240),
        reading("2025-04-01", 180, "2025-05-02T12:00:00Z"),
    ]
    left, right = measured(told, "2025-06-01").readings
    assert [(point.seq, point.value, point.reference) for point in left.points] == [
        (6, "11.5", "11.0"),
        (9, "18.0", None),
        (8, "24.0", None),
    ]
    assert (right.spot, [point.band for point in right.points]) == ("right", ["investigate"])


def test_the_meters_own_scale_has_no_band():
    ((series),) = measured([reading("2025-03-01", 240, scale="relative")], "2025-06-01").readings
    assert series.points[0].band is None


def test_a_withdrawn_reading_is_not_in_the_series():
    gone = tell("correction", {"of": 6, "withdraw": True, "why": "x"}, "2025-03-02T12:00:00Z")
    assert measured([reading("2025-03-01", 240), gone], "2025-06-01").readings == ()


def test_a_reading_of_some_day_stands_on_the_first_of_them():
    told = [reading("2025-03-01/2025-03-03", 110, "2025-03-03T22:00:00Z")]
    ((point,),) = (series.points for series in measured(told, "2025-04-01").readings)
    assert point.date == date(2025, 3, 1)

"""Each spot beside the air and a dry place, and its trend."""

import pytest

from evidence.errors import EvidenceError
from evidence.trade import load_catalogue
from evidence.upkeep.spots import measure_spots
from tests.scenarios.build import Told, measured
from tests.upkeep.telling import reading


def spots(*told: Told, **which: str):
    return measure_spots(measured(list(told), "2026-06-01").history, load_catalogue(), **which)


def test_rot_later_goes_by_what_stands_above_the_dry_place():
    """TRADE § 10, case 12: 24 % against 11 % 286 days after the strike."""
    (spot,) = spots(
        reading("2025-06-08", 110, reference_pct10=108, temp_dC=200, humidity_pct=65),
        reading("2026-03-21", 240, reference_pct10=110, temp_dC=125, humidity_pct=58),
    )
    first, last = spot.readings
    assert first.beside.emc == pytest.approx(12.0, abs=0.05)
    assert last.beside.over_reference == pytest.approx(13.0)
    trend = spot.trend
    assert (trend.first, trend.last, trend.days) == (first.seq, last.seq, (286, 286))
    assert (trend.change, trend.over_reference, trend.way) == (13.0, 12.8, "rising")


def test_a_change_below_one_per_cent_is_none_that_a_meter_can_tell():
    (spot,) = spots(reading("2025-03-01", 110), reading("2025-04-01", 119))
    assert spot.trend.way == "no change that a meter can tell"
    (spot,) = spots(reading("2025-03-01", 120), reading("2025-04-01", 110))
    assert spot.trend.way == "falling"


def test_the_weather_is_left_out_where_a_dry_place_was_read_both_times():
    (spot,) = spots(
        reading("2025-03-01", 110, reference_pct10=100),
        reading("2025-08-01", 150, reference_pct10=140),
    )
    assert (spot.trend.change, spot.trend.over_reference) == (4.0, 0.0)
    assert spot.trend.way == "no change that a meter can tell"


def test_only_readings_taken_alike_make_a_trend():
    (spot,) = spots(
        reading("2025-03-01", 110, setting="wood 1"),
        reading("2025-04-01", 200, setting="wood 2"),
        reading("2025-05-01", 130, setting="wood 1"),
    )
    assert [row.like_last for row in spot.readings] == [True, False, True]
    assert spot.trend.change == 2.0
    (spot,) = spots(reading("2025-03-01", 110), reading("2025-04-01", 300, scale="relative"))
    assert spot.trend is None


def test_one_zone_or_one_spot_can_be_asked_for():
    told = [reading("2025-03-01", 110), reading("2025-03-01", 120, spot="right")]
    assert [spot.spot for spot in spots(*told, spot="right")] == ["right"]
    assert len(spots(*told, zone="ceiling")) == 2
    assert spots(*told, zone="skylight") == ()
    with pytest.raises(EvidenceError, match="is not a zone of this rig"):
        spots(*told, zone="nowhere")

"""The sun against NREL's published example; exposure against tables of photography."""

from datetime import datetime, timedelta, timezone

import pytest

from evidence.photos.light import exposure_value, night_throughout, sun_elevation
from evidence.shapes import Camera
from evidence.times import Basis, Span, parse_utc

CHICAGO = {"GPSLatitude": "41.9000000", "GPSLongitude": "-87.6000000"}


def test_the_sun_stands_where_nrel_has_it():
    """Reda and Andreas, "Solar Position Algorithm", NREL/TP-560-34302, appendix A.5.

    2003-10-17 12:30:30 UTC-7, 39.742476 N 105.1786 W, 1,830.14 m: zenith 50.11162 degrees with
    refraction at 820 mbar and 11 °C; without it the elevation is 39.872046 degrees.
    """
    moment = datetime(2003, 10, 17, 12, 30, 30, tzinfo=timezone(timedelta(hours=-7)))
    assert sun_elevation(moment, 39.742476, -105.1786) == pytest.approx(39.872046, abs=0.0145)


@pytest.mark.parametrize(
    ("stop", "seconds", "iso", "value"),
    [
        ("1", "1", "100", 0),  # by definition
        ("16", "1/100", "100", 14.64),  # "sunny 16": log2(256 * 100)
        ("2.8", "1/50", "400", 6.61),  # log2(7.84 * 50) - 2
        ("28/10", "1/50", "400", 6.61),
    ],
)
def test_exposure_is_that_of_the_definition(stop, seconds, iso, value):
    camera = Camera(FNumber=stop, ExposureTime=seconds, ISOSpeedRatings=iso)
    assert exposure_value(camera) == pytest.approx(value, abs=0.01)


@pytest.mark.parametrize("iso", ["0", "", "soon", "1/0", "-100", "1e999999"])
def test_without_a_number_above_nought_there_is_no_exposure(iso):
    tags = {"ISOSpeedRatings": iso} if iso else {}
    assert exposure_value(Camera(FNumber="2.8", ExposureTime="1/50", **tags)) is None


def between(earliest, latest):
    return Span(parse_utc(earliest), parse_utc(latest), Basis.CAMERA)


@pytest.mark.parametrize(
    ("earliest", "latest", "night"),
    [
        # Chicago, 30 May 2025: civil twilight ends about 20:50 and begins about 04:45 (UTC-5)
        ("2025-05-30T05:00:00Z", "2025-05-30T05:00:00Z", True),
        ("2025-05-30T17:10:00Z", "2025-05-30T17:10:00Z", False),
        ("2025-05-30T02:30:00Z", "2025-05-30T09:00:00Z", True),
        ("2025-05-30T02:30:00Z", "2025-05-30T11:00:00Z", False),  # the sun rises in between
        ("2025-05-30T03:00:00Z", "2025-05-31T05:00:00Z", False),
    ],
)
def test_night_is_night_over_the_whole_interval(earliest, latest, night):
    assert night_throughout(between(earliest, latest), Camera(**CHICAGO)) is night


def test_without_a_position_or_a_start_no_night_is_known():
    span = between("2025-05-30T05:00:00Z", "2025-05-30T05:00:00Z")
    assert not night_throughout(span, Camera())
    assert not night_throughout(Span(None, span.latest, Basis.CAMERA), Camera(**CHICAGO))

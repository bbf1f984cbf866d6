"""The rule `place`, and what contradicts what. Offsets of zones: tzdata."""

import pytest

from evidence.photos import Atlas, CaptureRule, capture
from evidence.photos.place import INSTALL
from evidence.shapes import Camera
from evidence.times import parse_utc, utc_text, zone

CHICAGO = {"GPSLatitude": "41.9000000", "GPSLongitude": "-87.6000000"}
DENVER = {"GPSLatitude": "39.7400000", "GPSLongitude": "-104.9900000"}
AT_SEA = {"GPSLatitude": "30.0000000", "GPSLongitude": "-40.0000000"}

KEYS = {(41.9, -87.6): "America/Chicago", (39.74, -104.99): "America/Denver"}
ATLAS = Atlas("two towns 1", lambda latitude, longitude: KEYS.get((latitude, longitude)))


def captured(local, *, atlas=ATLAS, home="America/Chicago", film=False, **tags):
    return capture(
        Camera(DateTimeOriginal=local, **tags),
        home=zone(home),
        travels=(),
        built=None,
        model_year=None,
        logged=parse_utc("2026-01-01T00:00:00Z"),
        atlas=atlas,
        film=film,
    )


def ends(found):
    return utc_text(found.span.earliest), utc_text(found.span.latest)


def test_the_zone_at_the_position_tells_the_offset():
    found = captured("2025:05:30 12:10:05", **DENVER)
    assert (found.rule, found.place) == (CaptureRule.PLACE, "America/Denver")
    assert ends(found) == ("2025-05-30T18:10:05Z",) * 2
    assert found.contradiction is None
    assert "America/Denver, which had -06:00 then." in found.why


def test_in_an_hour_that_comes_twice_both_offsets_are_allowed_for():
    found = captured("2025:11:02 01:30:00", **CHICAGO)  # SUMS § 7
    assert ends(found) == ("2025-11-02T06:30:00Z", "2025-11-02T07:30:00Z")
    assert "-05:00 or -06:00" in found.why


def test_in_an_hour_that_is_skipped_both_offsets_are_allowed_for():
    found = captured("2025:03:09 02:30:00", **CHICAGO)  # SUMS § 7
    assert ends(found) == ("2025-03-09T07:30:00Z", "2025-03-09T08:30:00Z")


def test_an_offset_within_the_hour_that_comes_twice_is_no_contradiction():
    found = captured("2025:11:02 01:30:00", OffsetTimeOriginal="-06:00", **CHICAGO)
    assert (found.rule, found.contradiction) == (CaptureRule.OFFSET, None)
    assert ends(found) == ("2025-11-02T07:30:00Z",) * 2


def test_an_offset_and_a_place_that_disagree_are_both_allowed_for_and_named():
    found = captured("2025:05:30 12:10:05", OffsetTimeOriginal="-05:00", **DENVER)
    assert found.rule == CaptureRule.OFFSET
    assert ends(found) == ("2025-05-30T17:10:05Z", "2025-05-30T18:10:05Z")
    assert found.contradiction == (
        "What tells the zone contradicts itself: the camera wrote -05:00;"
        " its position lies in America/Denver, -06:00."
    )
    assert found.why.startswith(found.contradiction)


def test_an_offset_and_satellites_that_disagree_are_both_allowed_for_without_an_atlas_too():
    found = captured(
        "2025:05:30 12:10:05",
        atlas=None,
        OffsetTimeOriginal="-04:00",
        GPSDateStamp="2025:05:30",
        GPSTimeStamp="17:10:00",
    )
    assert ends(found) == ("2025-05-30T16:10:05Z", "2025-05-30T17:10:05Z")
    assert "its satellite time comes to -05:00" in found.contradiction


def test_satellites_may_use_the_offset_of_the_place():
    found = captured(
        "2025:05:30 12:10:05", GPSDateStamp="2025:05:30", GPSTimeStamp="18:10:00", **DENVER
    )
    assert (found.rule, found.contradiction) == (CaptureRule.GPS, None)
    assert ends(found) == ("2025-05-30T18:10:05Z",) * 2


def test_satellites_of_home_and_a_place_elsewhere_are_both_allowed_for():
    found = captured(
        "2025:05:30 12:10:05", GPSDateStamp="2025:05:30", GPSTimeStamp="17:10:00", **DENVER
    )
    assert found.rule == CaptureRule.GPS
    assert ends(found) == ("2025-05-30T17:10:05Z", "2025-05-30T18:10:05Z")
    assert found.contradiction


def test_satellites_with_an_offset_of_nowhere_near_doubt_a_place_and_do_not_replace_it():
    found = captured(
        "2025:05:30 12:10:05", GPSDateStamp="2025:05:30", GPSTimeStamp="16:10:00", **CHICAGO
    )
    assert found.rule == CaptureRule.PLACE
    assert ends(found) == ("2025-05-30T16:10:05Z", "2025-05-30T17:10:05Z")
    assert "its satellite time comes to -04:00" in found.contradiction


def test_a_clock_a_day_off_is_said_not_to_fit_and_is_never_folded():
    found = captured(
        "2025:05:31 12:10:05", GPSDateStamp="2025:05:30", GPSTimeStamp="17:10:00", **CHICAGO
    )
    assert ends(found) == ("2025-05-31T17:10:05Z",) * 2
    assert "its satellite time does not fit its clock" in found.why


@pytest.mark.parametrize("position", [AT_SEA, {"GPSLatitude": "0", "GPSLongitude": "0.0000000"}])
def test_at_sea_and_at_nought_nought_no_zone_is_found(position):
    atlas = Atlas("all the sea", lambda latitude, longitude: "UTC" if latitude == 0 else None)
    found = captured("2025:05:30 12:10:05", atlas=atlas, **position)
    assert (found.rule, found.place) == (CaptureRule.ANYWHERE, None)


@pytest.mark.parametrize("written", ["nan", "1e3", "91.0", "", "12.5 N", "\u0664\u0661"])
def test_a_position_that_is_none_is_not_looked_up(written):
    found = captured(
        "2025:05:30 12:10:05",
        atlas=Atlas("none", lambda *_: pytest.fail("was asked")),
        **{**CHICAGO, **({"GPSLatitude": written} if written else {"GPSLongitude": None})},
    )
    assert found.rule == CaptureRule.ANYWHERE


def test_without_an_atlas_the_rule_says_what_to_install():
    found = captured("2025:05:30 12:10:05", atlas=None, **DENVER)
    assert (found.rule, found.place) == (CaptureRule.ANYWHERE, None)
    assert INSTALL in found.why


def test_a_film_without_an_offset_may_be_utc_or_local():
    found = captured("2025:05:30 12:10:05", film=True, **DENVER)
    assert found.rule == CaptureRule.ANYWHERE
    assert ends(found) == ("2025-05-29T22:10:05Z", "2025-05-31T00:10:05Z")
    assert "UTC by the standard" in found.why


def test_a_film_with_its_offset_is_that_second():
    found = captured("2025:05:30 12:10:05", film=True, OffsetTimeOriginal="-05:00")
    assert (found.rule, ends(found)) == (CaptureRule.OFFSET, ("2025-05-30T17:10:05Z",) * 2)


def test_a_film_that_says_only_when_its_file_was_made_supports_nothing_and_says_why():
    found = capture(
        Camera(DateTimeDigitized="2025:05:30 12:10:05"),
        home=zone("America/Chicago"),
        travels=(),
        built=None,
        model_year=None,
        logged=parse_utc("2026-01-01T00:00:00Z"),
        film=True,
    )
    assert (found.rule, found.span) == (CaptureRule.NONE, None)
    assert "2025:05:30 12:10:05" in found.why
    assert "a copy bears the time of copying" in found.why

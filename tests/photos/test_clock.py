from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from evidence.photos import CaptureRule, capture
from evidence.shapes import Camera, Hex
from evidence.times import Basis, parse_utc, utc_text, zone

CHICAGO = zone("America/Chicago")
CONTINENT = tuple(
    zone(f"America/{name}") for name in ("New_York", "Denver", "Phoenix", "Los_Angeles")
)
LOGGED = parse_utc("2026-01-01T00:00:00Z")


def captured(tags, **given_):
    facts = {
        "home": CHICAGO,
        "travels": (),
        "built": None,
        "model_year": None,
        "logged": LOGGED,
    } | given_
    return capture(Camera(**tags), **facts)


def ends(found):
    return utc_text(found.span.earliest), utc_text(found.span.latest)


def taken(local, **more):
    return {"DateTimeOriginal": local} | more


def satellite(local, day, clock):
    return taken(local, GPSDateStamp=day, GPSTimeStamp=clock)


# offset


def test_a_time_with_its_offset_is_that_second():
    found = captured(taken("2025:05:30 12:10:05", OffsetTimeOriginal="-05:00"))
    assert ends(found) == ("2025-05-30T17:10:05Z",) * 2
    assert (found.rule, found.span.basis) == (CaptureRule.OFFSET, Basis.CAMERA)
    assert (found.relied_on, found.subsec) == (True, "")
    assert found.why == "The camera wrote its time zone, -05:00, beside the time."


@pytest.mark.parametrize(
    ("offset", "utc"),
    [
        ("+14:00", "2025-05-29T22:10:05Z"),
        ("+05:45", "2025-05-30T06:25:05Z"),
        ("-00:30", "2025-05-30T12:40:05Z"),
        ("-12:00", "2025-05-31T00:10:05Z"),
    ],
)
def test_every_offset_in_use_on_earth_is_taken(offset, utc):
    assert ends(captured(taken("2025:05:30 12:10:05", OffsetTimeOriginal=offset)))[0] == utc


@pytest.mark.parametrize(
    "offset", ["+14:15", "-12:15", "   :  ", "-5:00", "CDT", "+05:60", "\u0660\u0661"]
)
def test_an_offset_that_is_none_is_as_if_it_were_not_there(offset):
    found = captured(taken("2025:05:30 12:10:05", OffsetTimeOriginal=offset))
    assert found.rule == CaptureRule.ANYWHERE


def test_the_offset_of_the_last_change_is_not_that_of_the_capture():
    tags = taken("2011:07:30 15:41:25", DateTime="2022:05:24 10:51:58", OffsetTime="-07:00")
    assert captured(tags).rule == CaptureRule.ANYWHERE


def test_the_fraction_is_kept_as_written():
    tags = taken("2025:05:30 12:10:05", OffsetTimeOriginal="-05:00", SubSecTimeOriginal="023460")
    assert captured(tags).subsec == "023460"


@pytest.mark.parametrize("written", ["soon", "-1", "²"])
def test_a_fraction_that_is_no_number_is_left_out(written):
    assert captured(taken("2025:05:30 12:10:05", SubSecTimeOriginal=written)).subsec == ""


# gps


def test_satellite_time_gives_the_offset_where_home_uses_it_that_day():
    tags = satellite("2018:08:27 12:20:23", "2018:08:27", "19:20:20")
    found = captured(tags, home=zone("America/Los_Angeles"))
    assert found.rule == CaptureRule.GPS
    assert ends(found) == ("2018-08-27T19:20:23Z",) * 2  # the camera's own second
    assert "-07:00" in found.why


def test_satellite_time_gives_the_offset_where_the_rig_travels():
    tags = satellite("2018:08:27 12:20:23", "2018:08:27", "19:20:20")
    assert captured(tags, travels=CONTINENT).rule == CaptureRule.GPS


def test_an_offset_that_the_rig_never_uses_is_a_stale_fix():
    tags = satellite("2018:08:27 12:20:23", "2018:08:27", "19:20:20")
    found = captured(tags)
    assert found.rule == CaptureRule.ANYWHERE
    assert "its satellite time does not fit its clock" in found.why


@pytest.mark.parametrize(
    ("clock", "rule"),
    [
        ("17:11:59", CaptureRule.GPS),  # 1 min 59 s behind
        ("17:12:00", CaptureRule.ANYWHERE),
        ("17:08:01.990", CaptureRule.GPS),
        ("17:08:00", CaptureRule.ANYWHERE),
        ("25:08:00", CaptureRule.ANYWHERE),
        ("99 0 0", CaptureRule.ANYWHERE),
    ],
)
def test_satellite_and_camera_may_differ_by_less_than_two_minutes(clock, rule):
    assert captured(satellite("2025:05:30 12:10:00", "2025:05:30", clock)).rule == rule


def test_a_clock_one_day_off_is_never_folded_back():
    tags = satellite("2025:05:31 12:10:00", "2025:05:30", "17:10:00")
    assert captured(tags).rule == CaptureRule.ANYWHERE


@pytest.mark.parametrize(
    ("local", "clock", "rule"),
    [
        ("2025:03:09 01:30:00", "07:30:00", CaptureRule.GPS),  # -6, before the change
        ("2025:03:09 12:00:00", "17:00:00", CaptureRule.GPS),  # -5, after it
        ("2025:03:09 12:00:00", "18:00:00", CaptureRule.GPS),  # -6: a clock not yet set forward
        ("2025:03:10 12:00:00", "18:00:00", CaptureRule.ANYWHERE),  # -6 is no longer in use
        ("2025:11:02 01:30:00", "06:30:00", CaptureRule.GPS),
        ("2025:11:02 01:30:00", "07:30:00", CaptureRule.GPS),
    ],
)
def test_on_a_clock_change_day_both_offsets_are_in_use(local, clock, rule):
    assert captured(satellite(local, local[:10], clock)).rule == rule


def test_satellite_time_without_its_date_says_nothing():
    tags = taken("2025:05:30 12:10:00", GPSTimeStamp="17:10:00")
    found = captured(tags)
    assert found.rule == CaptureRule.ANYWHERE
    assert "satellite" not in found.why


# travels


def test_a_local_time_across_the_continent_is_three_hours_wide():
    # TRADE § 10 case 2: -4 … -7
    found = captured(taken("2025:10:12 14:03:22"), travels=CONTINENT)
    assert found.rule == CaptureRule.TRAVELS
    assert ends(found) == ("2025-10-12T18:03:22Z", "2025-10-12T21:03:22Z")


@pytest.mark.parametrize(
    ("key", "local", "expected"),
    [
        # SUMS § 7; a time that the clocks skipped may stand in either offset
        ("America/Chicago", "2025:03:09 01:59:59", ("2025-03-09T07:59:59Z",) * 2),
        (
            "America/Chicago",
            "2025:03:09 02:30:00",
            ("2025-03-09T07:30:00Z", "2025-03-09T08:30:00Z"),
        ),
        ("America/Chicago", "2025:03:09 03:00:00", ("2025-03-09T08:00:00Z",) * 2),
        (
            "America/Chicago",
            "2025:11:02 01:30:00",
            ("2025-11-02T06:30:00Z", "2025-11-02T07:30:00Z"),
        ),
        (
            "Australia/Lord_Howe",
            "2025:04:06 01:45:00",
            ("2025-04-05T14:45:00Z", "2025-04-05T15:15:00Z"),
        ),
        (
            "Australia/Lord_Howe",
            "2025:10:05 02:15:00",
            ("2025-10-04T15:15:00Z", "2025-10-04T15:45:00Z"),
        ),
        ("America/Phoenix", "2025:03:09 02:30:00", ("2025-03-09T09:30:00Z",) * 2),
    ],
)
def test_an_hour_skipped_or_repeated_has_both_answers(key, local, expected):
    found = captured(taken(local), home=zone(key), travels=(zone(key),))
    assert ends(found) == expected


# anywhere


def test_a_local_time_alone_is_twenty_six_hours_wide():
    found = captured(taken("2025:10:12 14:03:22"))
    assert found.rule == CaptureRule.ANYWHERE
    assert ends(found) == ("2025-10-12T00:03:22Z", "2025-10-13T02:03:22Z")


def test_the_latest_end_is_cut_when_it_was_logged():
    found = captured(taken("2025:10:12 14:03:22"), logged=parse_utc("2025-10-12T20:00:00Z"))
    assert ends(found) == ("2025-10-12T00:03:22Z", "2025-10-12T20:00:00Z")


# none and not relied on


@pytest.mark.parametrize(
    ("tags", "said"),
    [
        ({}, "nothing readable"),
        ({"DateTime": "2025:05:30 12:10:05"}, "nothing readable"),  # the last change
        ({"DateTimeDigitized": "2025:05:30 12:10:05"}, "nothing readable"),  # a scanner's
        (taken(Hex(hex="ff")), "nothing readable"),
        (taken("0000:00:00 00:00:00"), "never set"),
        (taken("    :  :     :  :"), "never set"),
        (taken("2025:02:29 12:00:00"), "not a date"),
        (taken("2025:05:30 24:00:00"), "not a date"),
        (taken("9999:12:31 23:59:59"), "not a date"),
        (taken("0001:01:01 00:00:00"), "not a date"),
        (taken("yesterday 1"), "not a date"),
        (taken("\u0662\u0660\u0662\u0665:05:30 12:10:05"), "not a date"),
    ],
)
def test_a_file_without_a_usable_time_has_no_interval(tags, said):
    found = captured(tags)
    assert (found.rule, found.span, found.relied_on) == (CaptureRule.NONE, None, False)
    assert said in found.why


def test_a_file_without_tags_has_no_interval():
    found = capture(None, home=CHICAGO, travels=(), built=None, model_year=None, logged=LOGGED)
    assert (found.rule, found.relied_on) == (CaptureRule.NONE, False)


def test_a_date_before_the_rig_was_built_is_not_relied_on():
    # TRADE § 10 case 2
    found = captured(taken("2016:01:01 12:00:00"), built=date(2023, 4, 17))
    assert (found.rule, found.span, found.relied_on) == (CaptureRule.NONE, None, False)
    assert found.why == (
        "The camera's date 2016:01:01 12:00:00 is not relied on: it lies before the rig was built."
    )


@pytest.mark.parametrize(
    ("local", "facts", "relied_on"),
    [
        # 2023-04-17 begins in Chicago at 05:00 UTC; +02:00 puts the second before at 06:59:59
        ("2023:04:17 06:59:59", {"built": date(2023, 4, 17)}, False),
        ("2023:04:17 07:00:00", {"built": date(2023, 4, 17)}, True),
        # 2022-01-01 begins there at 06:00 UTC
        ("2022:01:01 07:59:59", {"model_year": 2023}, False),
        ("2022:01:01 08:00:00", {"model_year": 2023}, True),
        ("2022:06:01 12:00:00", {"built": date(2021, 1, 1), "model_year": 2026}, True),
        ("1997:02:02 00:50:30", {}, True),
    ],
)
def test_built_is_the_first_day_else_the_year_before_the_model_year(local, facts, relied_on):
    assert captured(taken(local, OffsetTimeOriginal="+02:00"), **facts).relied_on == relied_on


def test_a_date_that_only_may_lie_before_built_is_relied_on():
    # the widest reading ends at 2023-04-17 05:00 UTC, the first second of that day in Chicago
    tags = taken("2023:04:16 17:00:00")
    assert captured(tags, built=date(2023, 4, 17)).relied_on
    assert not captured(taken("2023:04:16 16:59:59"), built=date(2023, 4, 17)).relied_on


@pytest.mark.parametrize(
    ("local", "relied_on", "latest"),
    [
        ("2025:05:30 12:10:00", True, "2025-05-30T12:10:00Z"),  # 10 minutes ahead: a fast clock
        ("2025:05:30 12:10:01", False, None),
    ],
)
def test_a_camera_may_run_ten_minutes_ahead_of_the_writer(local, relied_on, latest):
    logged = parse_utc("2025-05-30T12:00:00Z")
    found = captured(taken(local, OffsetTimeOriginal="+00:00"), logged=logged)
    assert found.relied_on == relied_on
    assert (ends(found)[1] if found.span else None) == latest


@pytest.mark.parametrize(
    ("local", "relied_on"),
    [
        ("1970:01:01 19:00:00", False),
        ("1980:01:01 12:00:00", False),
        ("2000:01:01 12:00:00", False),
        ("2016:01:01 00:00:12", False),
        ("2016:01:01 00:59:59", False),
        ("2016:01:01 01:00:00", True),
        ("2016:01:02 00:00:12", True),
        ("2016:02:01 00:00:12", True),
    ],
)
def test_where_an_unset_clock_starts_is_not_relied_on(local, relied_on):
    found = captured(taken(local))
    assert found.relied_on == relied_on
    assert relied_on or "a clock starts" in found.why


@pytest.mark.parametrize("written", ["2025-10-12 14:03:22", "2025-10-12T14:03:22"])
def test_hyphens_in_a_date_are_read_too(written):
    assert captured(taken(written)).rule == CaptureRule.ANYWHERE


# The truth is always inside

moments = st.integers(
    int(parse_utc("2001-02-01T00:00:00Z").timestamp()),
    int(parse_utc("2040-01-01T00:00:00Z").timestamp()),
).map(lambda second: datetime.fromtimestamp(second, UTC))


def as_written(moment, where):
    return moment.astimezone(where).strftime("%Y:%m:%d %H:%M:%S")


@given(moments, st.integers(-12 * 60, 14 * 60))
def test_the_true_moment_lies_inside_whatever_the_offset(moment, minutes):
    where = timezone(timedelta(minutes=minutes))
    found = captured(taken(as_written(moment, where)), logged=moment + timedelta(days=2))
    assume(found.relied_on)
    assert found.span.earliest <= moment <= found.span.latest


@given(moments, st.sampled_from(CONTINENT), st.timedeltas(timedelta(0), timedelta(days=9)))
def test_the_true_moment_lies_inside_wherever_the_rig_goes(moment, where, later):
    found = captured(taken(as_written(moment, where)), travels=CONTINENT, logged=moment + later)
    assume(found.relied_on)
    assert found.rule == CaptureRule.TRAVELS
    assert found.span.earliest <= moment <= found.span.latest


@given(
    st.one_of(
        st.none(), st.text(max_size=30), st.from_regex(r"\A\d{4}:\d\d:\d\d \d\d:\d\d:\d\d\Z")
    ),
    st.one_of(st.none(), st.text(max_size=9), st.from_regex(r"\A[+-]\d\d:\d\d\Z")),
)
def test_no_tag_whatever_is_in_it_stops_the_reading(written, offset):
    camera = Camera.model_construct(DateTimeOriginal=written, OffsetTimeOriginal=offset)
    found = capture(
        camera, home=CHICAGO, travels=CONTINENT, built=None, model_year=2023, logged=LOGGED
    )
    assert found.relied_on == (found.span is not None) == (found.rule != CaptureRule.NONE)

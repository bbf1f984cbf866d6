"""Times against SUMS § 7 (days, hours of clock changes), RECORD § 3 (forms) and RFC 3339."""

import time
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.errors import RefusedError
from evidence.times import (
    Basis,
    Span,
    days_apart,
    hull,
    local_day,
    minutes_apart,
    parse_day,
    parse_utc,
    parse_when,
    tzdata_version,
    utc_text,
    zone,
)

CHICAGO = zone("America/Chicago")

moments = st.datetimes(
    min_value=datetime(1900, 1, 2),  # noqa: DTZ001 - hypothesis adds the zone
    max_value=datetime(2199, 12, 30),  # noqa: DTZ001
    timezones=st.just(UTC),
).map(lambda moment: moment.replace(microsecond=0))
days = st.dates(min_value=date(1900, 1, 2), max_value=date(2199, 12, 30))
zones = st.sampled_from(["America/Chicago", "Australia/Lord_Howe", "America/Phoenix", "UTC"])


def span(earliest: datetime | None, latest: datetime) -> Span:
    return Span(earliest, latest, Basis.STATED)


def at(text: str) -> Span:
    return parse_when(text, CHICAGO)


# Forms


@pytest.mark.parametrize(
    ("text", "earliest", "latest"),
    [
        # A whole local day, in summer and in winter (RECORD § 3).
        ("2025-05-30", "2025-05-30T05:00:00Z", "2025-05-31T04:59:59Z"),
        ("2025-01-05", "2025-01-05T06:00:00Z", "2025-01-06T05:59:59Z"),
        # A minute, an instant.
        ("2025-05-30T12:10-05:00", "2025-05-30T17:10:00Z", "2025-05-30T17:10:59Z"),
        ("2025-05-30T12:10:05Z", "2025-05-30T12:10:05Z", "2025-05-30T12:10:05Z"),
        # A month: SUMS § 7 has 2019-06 end on the 30th.
        ("2019-06", "2019-06-01T05:00:00Z", "2019-07-01T04:59:59Z"),
        ("2024-02", "2024-02-01T06:00:00Z", "2024-03-01T05:59:59Z"),
        ("2025-12", "2025-12-01T06:00:00Z", "2026-01-01T05:59:59Z"),
        # An interval, ends included.
        ("2025-05-30/2025-06-02", "2025-05-30T05:00:00Z", "2025-06-03T04:59:59Z"),
        # SUMS § 7 [P, LoC 2019]: 2004-02-01/2005-02
        ("2004-02-01/2005-02", "2004-02-01T06:00:00Z", "2005-03-01T05:59:59Z"),
    ],
)
def test_a_stated_time_is_an_interval(text: str, earliest: str, latest: str):
    assert at(text).as_json() == {"earliest": earliest, "latest": latest}


def test_not_after_has_no_earliest_end():
    assert at("../2025-06-02").as_json() == {"earliest": None, "latest": "2025-06-03T04:59:59Z"}


@pytest.mark.parametrize(
    "text",
    [
        "2023-02-29",  # SUMS § 7: a trap that a library takes
        "2019-13",
        "2025-02-30",
        "2100-02-29",
        "2025-04-31/2025-05-02",
        "1985-04/..",
        "../..",
        "2025-05-30/",
        "/2025-05-30",
        "2025",
        "201X",
        "2001-21",
        "1984?",
        "2019-06~",
        "2018/",
        "2025-05-30T12:10",  # a time of day without its offset
        "2025-05-30 12:10Z",
        "2025-05-30T12:10:05.5Z",
        "2025-05-30T24:00Z",
        "2025-05-30T12:60Z",
        "2016-12-31T23:59:60Z",
        "2025-05-30T12:10-00:00",  # RFC 3339 § 4.3: no offset is known
        "2025-05-30T12:10+14:01",
        "2025-05-30T12:10-12:01",
        "2025-05-30T12:10+05:60",
        "1899-12-31",
        "2200-01-01",
        "２０２５-05-30",
        "2025-05-30\n",
        "",
    ],
)
def test_other_forms_are_refused(text: str):
    with pytest.raises(RefusedError):
        at(text)


def test_a_reversed_interval_is_refused():
    with pytest.raises(RefusedError, match="ends before it starts"):
        at("2025-06-02/2025-05-30")


def test_an_interval_may_start_and_end_within_one_day():
    found = at("2025-05-30T12:10-05:00/2025-05-30")
    assert found.as_json() == {
        "earliest": "2025-05-30T17:10:00Z",
        "latest": "2025-05-31T04:59:59Z",
    }


@given(moments)
def test_an_instant_is_read_back_from_its_text(moment: datetime):
    assert parse_utc(utc_text(moment)) == moment
    assert at(utc_text(moment)) == span(moment, moment)


@given(days, zones)
def test_a_day_begins_where_the_one_before_ends(day: date, key: str):
    _, ends = local_day(day - timedelta(days=1), zone(key))
    begins, _ = local_day(day, zone(key))
    assert begins - ends == timedelta(seconds=1)


@given(days, zones)
def test_a_stated_day_covers_that_day_alone(day: date, key: str):
    assert parse_when(day.isoformat(), zone(key)).days(zone(key)) == (day, day)


@pytest.mark.parametrize("text", ["2025-5-30", "2025-05-30T00:00:00Z", "", "2025-02-29"])
def test_a_day_is_read_strictly(text: str):
    with pytest.raises(RefusedError):
        parse_day(text)


@pytest.mark.parametrize(
    "text", ["2025-05-30T12:10:05+00:00", "2025-05-30T12:10Z", "2025-05-30T24:00:00Z", "now"]
)
def test_a_logged_time_is_read_strictly(text: str):
    with pytest.raises(RefusedError):
        parse_utc(text)


FORMS = "Write 2025-05-30, 2025-05-30T12:10-05:00, 2025-05, A/B for an interval, or ../B."
NOT_ON_CALENDAR = "does not exist on the calendar"


@pytest.mark.parametrize(
    ("read", "text", "what", "why", "what_to_do"),
    [
        (
            parse_utc,
            "2025-05-30",
            "'2025-05-30'",
            "is not a UTC time in whole seconds",
            "Write …T12:10:05Z.",
        ),
        (
            parse_utc,
            "2025-02-30T12:10:05Z",
            "time '2025-02-30T12:10:05Z'",
            NOT_ON_CALENDAR,
            FORMS,
        ),
        (parse_day, "30 May", "'30 May'", "is not a date", "Write 2025-05-30."),
        (parse_day, "2025-02-29", "time '2025-02-29'", NOT_ON_CALENDAR, FORMS),
        (at, "May", "time 'May'", "is not in a form that the record knows", FORMS),
        (at, "2025-13-01T12:10Z", "time '2025-13-01T12:10Z'", NOT_ON_CALENDAR, FORMS),
        (
            at,
            "2025-05-01/2025-05-02/2025-05-03",
            "time '2025-05-02/2025-05-03'",
            "is not in a form that the record knows",
            FORMS,
        ),
        (
            at,
            "2025-06-02T00:00:00Z/2025-05-30T00:00:00Z",
            "2025-06-02T00:00:00Z/2025-05-30T00:00:00Z",
            "the interval ends before it starts",
            "Give the earlier time first.",
        ),
    ],
)
def test_what_is_refused_is_named_with_what_to_write(read, text, what, why, what_to_do):
    with pytest.raises(RefusedError) as caught:
        read(text)
    error = caught.value
    assert (error.what, error.why, error.what_to_do) == (what, why, what_to_do)


@pytest.mark.parametrize("text", ["2025-05-30", "2025-05", "../2025-05", "2025-05-01/2025-05-30"])
def test_what_is_stated_rests_on_a_statement(text: str):
    assert at(text).basis is Basis.STATED


@pytest.mark.skipif(
    not hasattr(time, "tzset"), reason="this system sets no zone by its environment"
)
def test_the_machines_own_zone_changes_nothing(monkeypatch: pytest.MonkeyPatch):
    texts = ("2025-05-30", "2025-05-30T12:10-05:00", "2025-05")
    here = [at(text) for text in texts]
    try:
        monkeypatch.setenv("TZ", "Asia/Kolkata")
        time.tzset()
        assert [at(text) for text in texts] == here
        ends = [end for found in here for end in (found.earliest, found.latest)]
        assert {end.tzinfo for found in map(at, texts) for end in (found.latest,)} == {UTC}
        assert [utc_text(end.astimezone(CHICAGO)) for end in ends] == [
            utc_text(end) for end in ends
        ]
    finally:
        monkeypatch.undo()
        time.tzset()


# Zones


def test_a_zone_is_read_from_the_pinned_package():
    read = zone.__wrapped__("Australia/Lord_Howe")  # past the cache
    assert (read.key, read.utcoffset(datetime(2025, 7, 1))) == (  # noqa: DTZ001 - a local time
        "Australia/Lord_Howe",
        timedelta(hours=10, minutes=30),
    )


@pytest.mark.parametrize(
    "key", ["", "america/chicago", "../zoneinfo/UTC", "/etc/localtime", "zone.tab", "CST6", "Mars"]
)
def test_what_is_no_zone_is_refused(key: str):
    with pytest.raises(RefusedError, match="IANA"):
        zone(key)


def test_the_rules_of_the_zones_have_a_version():
    assert tzdata_version()[:4].isdigit()


# Days and hours, SUMS § 7


@pytest.mark.parametrize(
    ("before", "after", "count"),
    [
        ("2024-02-28", "2024-03-01", 2),
        ("2025-02-28", "2025-03-01", 1),
        ("2000-02-28", "2000-03-01", 2),
        ("2100-02-28", "2100-03-01", 1),
        ("2025-03-09", "2025-11-02", 238),
    ],
)
def test_days_are_differences_of_calendar_dates(before: str, after: str, count: int):
    """SUMS § 7, "Days"; the last one runs from one clock change to the other."""
    first, last = at(before).days(CHICAGO), at(after).days(CHICAGO)
    assert days_apart(first, last) == (count, count)


@pytest.mark.parametrize(
    ("key", "day", "hours"),
    [
        ("America/Chicago", "2025-03-09", 23),
        ("America/Chicago", "2025-11-02", 25),
        ("America/Phoenix", "2025-03-09", 24),
        ("America/Phoenix", "2025-11-02", 24),
        ("Australia/Lord_Howe", "2025-04-06", 24.5),
        ("Australia/Lord_Howe", "2025-10-05", 23.5),
    ],
)
def test_a_local_day_has_the_hours_that_its_clocks_give_it(key: str, day: str, hours: float):
    """SUMS § 7, "Local-day hours"."""
    first, last = local_day(parse_day(day), zone(key))
    assert (last - first + timedelta(seconds=1)) / timedelta(hours=1) == hours


def test_a_day_without_a_midnight_begins_at_the_change():
    """Sao Paulo, 4 November 2018: 00:00 was skipped to 01:00 −02:00 (tzdata, from memory)."""
    first, _ = local_day(date(2018, 11, 4), zone("America/Sao_Paulo"))
    assert utc_text(first) == "2018-11-04T03:00:00Z"


# Counts


def test_intervals_give_the_least_and_the_most_days():
    """30 May … 2 June, then 10 June: at least 10 − 2 = 8, at most 31 − 30 + 10 = 11."""
    stay = at("2025-05-30/2025-06-02").days(CHICAGO)
    assert days_apart(stay, at("2025-06-10").days(CHICAGO)) == (8, 11)


def test_counts_do_not_go_below_zero():
    late, early = at("2025-06-10").days(CHICAGO), at("2025-06-01").days(CHICAGO)
    assert days_apart(late, early) == (0, 0)


def test_minutes_are_differences_of_whole_minutes():
    struck, covered = at("2025-06-08T16:40-05:00"), at("2025-06-08T17:30-05:00")
    assert minutes_apart(struck, covered) == (50, 50)
    assert minutes_apart(at("2025-06-08T16:40:59-05:00"), covered) == (50, 50)
    assert minutes_apart(at("2025-06-08"), covered) == (0, 17 * 60 + 30)
    assert minutes_apart(covered, struck) == (0, 0)
    # Ten seconds over the full minute count, and what is not after a time may have been at it.
    assert minutes_apart(at("2025-06-08T21:40:59Z"), at("2025-06-08T21:41:09Z")) == (1, 1)
    assert minutes_apart(at("2025-06-08T21:40:00Z"), at("2025-06-08T21:40:59Z")) == (0, 0)
    assert minutes_apart(at("../2025-06-08T21:40:00Z"), at("2025-06-08T21:50:00Z")) == (10, 10)
    assert minutes_apart(at("2025-06-08T21:40:00Z"), at("../2025-06-08T21:50:00Z")) == (10, 10)


@given(moments, moments, moments, moments)
def test_the_least_is_never_more_than_the_most(a, b, c, d):
    (first, second), (third, fourth) = sorted((a, b)), sorted((c, d))
    before, after = span(first, second), span(third, fourth)
    low, high = days_apart(before.days(CHICAGO), after.days(CHICAGO))
    assert 0 <= low <= high
    low, high = minutes_apart(before, after)
    assert 0 <= low <= high


# Intervals


@given(moments, moments, moments, moments)
def test_what_two_intervals_have_in_common_lies_in_both(a, b, c, d):
    one, other = span(*sorted((a, b))), span(*sorted((c, d)))
    common = one.meet(other)
    assert common == other.meet(one)
    if common is None:
        assert one.latest < other.earliest or other.latest < one.earliest
    else:
        assert max(one.earliest, other.earliest) == common[0] <= common[1]


def test_not_after_meets_with_its_open_end():
    open_ended = at("../2025-06-02")
    assert open_ended.meet(at("../2025-05-30")) == (None, at("2025-05-30").latest)
    assert open_ended.meet(at("2025-06-02")) == (at("2025-06-02").earliest, open_ended.latest)
    assert open_ended.meet(at("2025-06-03")) is None


@given(moments, moments, moments)
def test_a_cut_interval_keeps_its_earliest_end(a, b, cut):
    given_span = span(*sorted((a, b)))
    found = given_span.cut_at(cut)
    assert found.earliest == given_span.earliest
    assert found.latest == max(given_span.earliest, min(given_span.latest, cut))


def test_the_hull_holds_every_part_and_an_open_end_stays_open():
    one, other = at("2025-05-30"), at("2025-06-02")
    parts = [(one.earliest, one.latest), (other.earliest, other.latest)]
    assert hull(parts) == (one.earliest, other.latest)
    assert hull([*parts, (None, one.latest)]) == (None, other.latest)


def test_an_interval_knows_its_order_only_in_time():
    with pytest.raises(RefusedError, match="ends before it starts"):
        span(datetime(2025, 1, 2, tzinfo=UTC), datetime(2025, 1, 1, tzinfo=UTC))


def test_not_after_stands_on_its_latest_date():
    assert at("../2025-06-02").days(zone("UTC")) == (date(2025, 6, 3), date(2025, 6, 3))
    assert at("../2025-06-02").days(CHICAGO) == (date(2025, 6, 2), date(2025, 6, 2))

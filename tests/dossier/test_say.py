"""Figures in words."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from evidence.dossier import say
from evidence.times import Basis, Span, parse_when

CHICAGO = ZoneInfo("America/Chicago")
MINUS = "\N{MINUS SIGN}"


def span(when: str) -> Span:
    return parse_when(when, CHICAGO)


def test_days_are_written_out_and_short_in_tables():
    assert say.day(date(2025, 6, 8)) == "8 June 2025"
    assert say.short_day(date(2025, 9, 8)) == "8 Sep 2025"


@pytest.mark.parametrize(
    ("zone", "said"),
    [
        ("America/Chicago", f"UTC{MINUS}5"),
        ("Asia/Kolkata", "UTC+5:30"),
        ("America/St_Johns", f"UTC{MINUS}2:30"),
        ("Asia/Kathmandu", "UTC+5:45"),
        ("UTC", "UTC+0"),
    ],
)
def test_an_offset_has_a_true_minus_sign_and_minutes_only_where_there_are_some(zone, said):
    assert say.offset(datetime(2025, 6, 8, tzinfo=UTC), ZoneInfo(zone)) == said


@pytest.mark.parametrize(
    ("when", "said"),
    [
        ("2025-05-30T12:10-05:00", "30 May 2025, 12:10"),
        ("2025-05-30T12:10:05-05:00", "30 May 2025, 12:10"),
        ("2025-05-30", "30 May 2025"),
        ("2025-05", "1 May 2025 to 31 May 2025"),
        ("2025-05-30/2025-06-02", "30 May 2025 to 2 June 2025"),
        ("2025-05-30T11:40-05:00/2025-05-30T12:35-05:00", "30 May 2025, 11:40 to 12:35"),
        (
            "2025-05-30T23:40-05:00/2025-05-31T00:20-05:00",
            "30 May 2025, 23:40 to 31 May 2025, 00:20",
        ),
        ("../2025-06-02", "not after 2 June 2025, 23:59"),
        # clocks go back at 02:00: half past one exists twice, an hour apart
        (
            "2025-11-02T01:30-05:00/2025-11-02T01:30-06:00",
            f"2 November 2025, 01:30 (UTC{MINUS}5) to 01:30 (UTC{MINUS}6)",
        ),
    ],
)
def test_an_interval_is_said_as_short_as_it_honestly_can(when, said):
    assert say.span(span(when), CHICAGO) == said


def test_a_table_has_the_same_interval_with_short_months_and_no_comma():
    assert say.short_span(span("2025-11-30/2025-12-02"), CHICAGO) == "30 Nov 2025 to 2 Dec 2025"
    assert say.short_span(span("2025-05-30T12:10-05:00"), CHICAGO) == "30 May 2025 12:10"


@pytest.mark.parametrize(
    ("when", "heading", "place"),
    [
        ("2025-06-08T16:40-05:00", "on 8 June 2025", f"at 16:40 (UTC{MINUS}5)"),
        ("2025-06-08", "on 8 June 2025", "on 8 June 2025"),
        (
            "2025-06-08T16:00-05:00/2025-06-08T17:30-05:00",
            "on 8 June 2025",
            f"between 16:00 and 17:30 (UTC{MINUS}5)",
        ),
        (
            "2025-06-01/2025-06-08",
            "between 1 June 2025 and 8 June 2025",
            "between 1 June 2025 and 8 June 2025",
        ),
        ("../2025-06-08", "not after 8 June 2025", "not after 8 June 2025"),
        (
            "2025-11-02T01:30-05:00/2025-11-02T01:30-06:00",
            "on 2 November 2025",
            f"between 01:30 (UTC{MINUS}5) and 01:30 (UTC{MINUS}6)",
        ),
    ],
)
def test_a_window_is_said_by_its_days_in_a_heading_and_to_the_minute_in_a_sentence(
    when, heading, place
):
    assert say.on_or_between(span(when), CHICAGO) == heading
    assert say.at(span(when), CHICAGO) == place


def test_a_day_is_counted_at_home_not_in_utc():
    late = Span(
        datetime(2025, 6, 9, 3, tzinfo=UTC),
        datetime(2025, 6, 9, 3, 0, 59, tzinfo=UTC),
        Basis.STATED,
    )
    assert say.on_or_between(late, CHICAGO) == "on 8 June 2025"


def test_the_start_of_a_window_at_midnight_is_its_day():
    midnight, afternoon = span("2025-06-08").earliest, span("2025-06-08T16:40-05:00").earliest
    assert midnight is not None
    assert afternoon is not None
    assert say.start(midnight, CHICAGO) == "8 June 2025"
    assert say.start(afternoon, CHICAGO) == "8 June 2025, 16:40"
    assert say.short_moment(afternoon, CHICAGO) == "8 Jun 2025 16:40"


@pytest.mark.parametrize(
    ("pair", "said"),
    [((0, 0), "0 days"), ((1, 1), "1 day"), ((9, 9), "9 days"), ((8, 10), "8–10 days"),
     ((0, 1), "0–1 days")],
)  # fmt: skip
def test_a_count_is_one_number_where_it_is_exact_and_both_ends_where_not(pair, said):
    assert say.counted(pair, "day") == said


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        ((0, 0), ("0", "minutes")),
        ((1, 1), ("1", "minute")),
        ((50, 50), ("50", "minutes")),
        ((180, 180), ("180", "minutes")),
        ((181, 181), ("3.1", "hours")),
        ((240, 240), ("4", "hours")),
        ((270, 270), ("4.5", "hours")),
        ((0, 1439), ("0–24", "hours")),
        ((130, 190), ("2–4", "hours")),
        ((4320, 4320), ("72", "hours")),
        ((6480, 6480), ("4.5", "days")),
        ((10_080, 10_080), ("7", "days")),
        ((1500, 6000), ("1–5", "days")),
    ],
)
def test_minutes_are_said_in_the_unit_of_a_person_and_never_shorter_than_they_were(minutes, said):
    assert say.duration(minutes) == said


def test_entries_are_counted_from_one_and_named_once():
    assert say.entries([]) == ""
    assert say.entries([17]) == "entry 18"
    assert say.entries([17, 19, 17]) == "entries 18, 20"


def test_lists_end_with_and():
    assert [say.listed(words) for words in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == [
        "", "a", "a and b", "a, b and c",
    ]  # fmt: skip


def test_a_free_text_is_cut_to_one_line():
    assert say.clipped("two\nlines,  one\tgap") == "two lines, one gap"
    assert say.clipped("x" * 240) == "x" * 240
    cut = say.clipped("word " * 900)
    assert len(cut) <= 240
    assert cut.endswith("word\N{HORIZONTAL ELLIPSIS}")


def test_a_name_has_the_room_of_a_name():
    assert say.name("Field, middle right") == "Field, middle right"
    assert len(say.name("x" * 200)) == 80


def test_a_text_is_cut_between_words_where_it_has_some():
    assert say.clipped("one two three", 12) == "one two\N{HORIZONTAL ELLIPSIS}"
    assert say.clipped("one two three", 8) == "one two\N{HORIZONTAL ELLIPSIS}"
    assert say.clipped("a longestwordofall", 12) == "a longestwo\N{HORIZONTAL ELLIPSIS}"


def test_a_wide_character_takes_the_room_of_two():
    assert say.clipped("屋根の天窓", 10) == "屋根の天窓"
    assert say.clipped("屋根の天窓です", 10) == "屋根の天\N{HORIZONTAL ELLIPSIS}"
    assert say.clipped("", 10) == ""


def test_a_sentence_starts_with_a_capital_and_is_else_as_it_was():
    assert say.sentence("field, middle right was seen by A. Holder") == (
        "Field, middle right was seen by A. Holder"
    )
    assert say.sentence("") == ""


def test_metres_and_hashes_are_set_for_the_eye():
    assert (say.metres(7400), say.metres(2440)) == ("7.4", "2.4")
    assert say.grouped("abcdef012345") == "abcd ef01 2345"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("since 2025-06-08 (entry 9)", "since 8 June 2025 (entry 9)"),
        ("2025-06-08 to 2025-07-01", "8 June 2025 to 1 July 2025"),
        ("lot 2025-13-40, no 12025-06-08", "lot 2025-13-40, no 12025-06-08"),
        ("no date", "no date"),
    ],
)
def test_dates_in_a_text_are_said_as_people_write_them(text, said):
    assert say.dated(text) == said

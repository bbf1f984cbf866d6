"""Bands of custody without holes (OUTPUTS §§ 2 and 5)."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from tests.scenarios.build import START, Told, measured, starter, tell

Row = tuple[str | None, str, str | None, int]


def held(name: str, first: str, last: str | None = None, party: str = "owner") -> Told:
    body = {"id": name, "party": party, "from": first, "known_by": "own-record"}
    return tell("ownership", body | ({} if last is None else {"to": last}), START)


def bands(*told: Told, on: str = "2025-11-03") -> list[Row]:
    return [
        (band.party, band.from_.isoformat(), band.to and band.to.isoformat(), band.days)
        for band in measured([*starter(), *told], on).custody
    ]


def test_a_closed_band_counts_both_end_days():
    """TRADE § 10, case 8: 819 and 777 days (OUTPUTS § 5)."""
    rows = bands(
        held("a", "2021-04-03", "2023-06-30", "dealer"), held("b", "2023-07-01", "2025-01-04")
    )
    assert rows[:2] == [
        ("dealer", "2021-04-03", "2023-06-30", 819),
        ("owner", "2023-07-01", "2025-01-04", 554),  # 777 less 15 August − 4 January = 223
    ]


def test_an_open_band_counts_to_the_day_exclusive():
    assert bands(held("a", "2025-01-05"), on="2025-01-05") == [("owner", "2025-01-05", None, 0)]
    assert bands(held("a", "2025-01-05"), on="2025-01-12") == [("owner", "2025-01-05", None, 7)]


def test_an_uncovered_span_is_in_nobodys_hand():
    rows = bands(held("a", "2024-01-01", "2024-01-10"), held("b", "2024-01-21"), on="2025-01-20")
    assert rows == [
        ("owner", "2024-01-01", "2024-01-10", 10),
        (None, "2024-01-11", "2024-01-20", 10),
        ("owner", "2024-01-21", None, 365),
    ]


def test_a_last_day_ends_a_hand_on_that_day_and_from_the_next_on_there_is_nobody():
    told = held("a", "2025-01-05", "2025-01-12")
    holder = ("owner", "2025-01-05", "2025-01-12", 8)
    assert bands(told, on="2025-01-11") == [("owner", "2025-01-05", None, 6)]
    assert bands(told, on="2025-01-12") == [holder]
    assert bands(told, on="2025-01-13") == [holder, (None, "2025-01-13", None, 0)]
    last = measured([*starter(), told], "2025-01-13").custody[-1]
    assert last.record == "nobody on record"


def test_while_one_of_two_hands_that_began_together_holds_it_there_is_somebody():
    rows = bands(held("a", "2025-01-05"), held("b", "2025-01-05", "2025-01-12", "dealer"))
    assert {party for party, *_ in rows} == {"owner", "dealer"}


def test_behind_the_last_hand_there_is_nobody():
    assert bands(held("a", "2024-01-01", "2024-12-31"), on="2025-01-11") == [
        ("owner", "2024-01-01", "2024-12-31", 366),
        (None, "2025-01-01", None, 10),
    ]


def test_a_hand_left_open_ends_where_the_next_begins():
    told = [held(name, f"2024-0{month}-01") for month, name in enumerate("abc", start=1)]
    assert bands(*told, on="2025-01-30") == [
        ("owner", "2024-01-01", "2024-01-31", 31),
        ("owner", "2024-02-01", "2024-02-29", 29),
        ("owner", "2024-03-01", None, 335),
    ]


def test_two_who_hold_it_together_have_a_band_each():
    rows = bands(held("a", "2025-01-01"), held("b", "2025-01-01", party="dealer"), on="2025-01-11")
    assert rows == [("owner", "2025-01-01", None, 10), ("dealer", "2025-01-01", None, 10)]


def test_a_hand_within_another_leaves_no_hole_behind_it():
    rows = bands(
        held("a", "2024-01-01", "2024-12-31"),
        held("b", "2024-03-01", "2024-03-31", "dealer"),
        held("c", "2025-01-01"),
        on="2025-01-06",
    )
    assert [row[0] for row in rows] == ["owner", "dealer", "owner"]


def test_a_last_day_that_lies_ahead_has_not_ended_it():
    assert bands(held("a", "2025-01-01", "2025-12-31"), on="2025-01-11") == [
        ("owner", "2025-01-01", None, 10)
    ]


def test_an_end_entry_ends_it():
    end = tell("end", {"of": "a", "when": "2025-03-01"}, "2025-03-01T20:00:00Z")
    rows = bands(held("a", "2025-01-01"), end, on="2025-03-11")
    assert rows == [("owner", "2025-01-01", "2025-03-01", 60), (None, "2025-03-02", None, 9)]


@given(st.lists(st.tuples(st.integers(0, 700), st.integers(0, 300)), min_size=1, max_size=5))
def test_no_day_from_the_first_hand_on_is_left_out(spans: list[tuple[int, int]]):
    start, on = date(2021, 1, 1), date(2025, 6, 1)
    told = [
        held(
            f"o{at}",
            (start + timedelta(first)).isoformat(),
            (start + timedelta(first + length)).isoformat(),
        )
        for at, (first, length) in enumerate(spans)
    ]
    rows = measured([*starter(), *told], on.isoformat()).custody
    days = {
        row.from_ + timedelta(n)
        for row in rows
        for n in range(((row.to or on - timedelta(1)) - row.from_).days + 1)
    }
    begun = min(row.from_ for row in rows)
    assert days == {begun + timedelta(n) for n in range((on - begun).days)}

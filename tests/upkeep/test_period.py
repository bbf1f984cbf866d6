from datetime import date

import pytest

from evidence.upkeep.period import Period, measure_period, year_before
from tests.scenarios.build import LOOK_90, RIG, finding, look, measured, starter, tell

FIRST = date(2025, 1, 5)
RULE = LOOK_90 | {"zones": ["skylight", "vent"]}
BOTH = {"skylight": 0, "vent": 0}


def wash(when: str) -> dict:
    return tell("wash", {"when": when, "zones": "all"}, f"{when}T23:59:00Z")


def period(*entries: dict, on: str = "2026-01-04", first: date = FIRST) -> Period:
    standing = measured([*starter(rules=[RULE], rig=RIG), *entries], on)
    return measure_period(standing, first)


@pytest.mark.parametrize(
    ("on", "first"),
    [
        (date(2025, 11, 3), date(2024, 11, 4)),
        (date(2024, 2, 29), date(2023, 3, 1)),
        (date(2025, 3, 1), date(2024, 3, 2)),
        (date(2025, 12, 31), date(2025, 1, 1)),
    ],
)
def test_a_year_ends_with_the_day_and_has_every_day_once(on, first):
    assert year_before(on) == first
    assert (on - first).days in {364, 365}


def test_looks_and_deeds_of_its_days_count_both_ends_included():
    told = (look("2025-03-01", BOTH), wash("2025-04-10"), look("2025-06-01", BOTH))

    inside = period(*told, first=date(2025, 4, 10))
    assert [item.dates[0] for item in inside.looks] == [date(2025, 6, 1)]
    assert [item.entry.kind for item in inside.deeds] == ["wash"]
    assert period(*told, first=date(2025, 4, 11)).deeds == ()


def test_a_look_that_may_have_been_in_its_days_counts():
    told = look("2025-03-01/2025-03-20", BOTH, logged="2025-03-20T23:00:00Z")

    assert len(period(told, first=date(2025, 3, 20)).looks) == 1
    assert len(period(told, first=date(2025, 3, 21)).looks) == 0


def test_findings_first_seen_settled_and_open_are_told_apart():
    opened = look("2025-02-01", {"skylight": 3}, body={"findings": [finding("f1")]})
    later = look(
        "2025-06-01",
        {"skylight": 2, "vent": 3},
        body={"findings": [finding("f2", "vent"), finding("f3", grade=2, type="D06")]},
    )
    gone = look(
        "2025-07-01",
        {"vent": 0},
        body={"rechecks": [{"finding": "f2", "state": "gone", "grade": 0}]},
    )
    found = period(opened, later, gone, first=date(2025, 3, 1))

    assert [facts.id for facts in found.opened] == ["f2", "f3"]
    assert [facts.id for facts in found.settled] == ["f2"]
    assert [facts.id for facts in found.standing] == ["f1", "f3"]  # the gravest first


def test_a_gap_that_reaches_into_its_days_counts_in_full():
    told = (look("2025-03-01", BOTH), look("2025-07-19", BOTH), look("2025-08-01", BOTH))
    standing = measured([*starter(rules=[RULE], rig=RIG), *told], "2025-08-10")
    (rule,) = standing.rules

    whole = measure_period(standing, date(2025, 7, 1))
    assert whole.longest(rule) == (140, 140)  # acceptance case 5: 1 March to 19 July
    assert measure_period(standing, date(2025, 7, 19)).longest(rule) == (13, 13)
    assert measure_period(standing, date(2025, 8, 10)).longest(rule) == (9, 9)  # still open

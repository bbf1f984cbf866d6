"""A finding at the very second at which it was seen, settled, or seen again; what was told when."""

from datetime import datetime

import pytest

from evidence.times import SECOND, parse_utc
from evidence.upkeep.findings import FindingFacts, zone_grade
from tests.scenarios.build import Told, finding, look, measured
from tests.upkeep.telling import correct, found, recheck, reseal

SEEN, GONE, AGAIN = (f"2025-06-{day}T10:00:00-05:00" for day in (10, 12, 14))
AT_10 = "T15:00:00Z"
"""10:00 in Chicago."""


def fact(told: list[Told], name: str = "f1", on: str = "2025-12-31") -> FindingFacts:
    facts = measured(told, on).finding(name)
    assert facts is not None
    return facts


def at(day: int) -> datetime:
    return parse_utc(f"2025-06-{day}{AT_10}")


LIFE = [
    found(SEEN, logged=f"2025-06-10{AT_10}"),
    reseal(GONE, f"2025-06-12{AT_10}"),
    recheck(AGAIN, "same", 4, logged=f"2025-06-14{AT_10}"),
]


@pytest.mark.parametrize(
    ("moment", "stands_open", "grade"),
    [
        (at(10) - SECOND, False, 0),
        (at(10), True, 3),
        (at(12) - SECOND, True, 3),
        (at(12), False, 3),
        (at(14) - SECOND, False, 3),
        (at(14), True, 4),
    ],
)
def test_it_stands_open_from_the_second_it_is_seen_to_the_second_it_is_settled(
    moment, stands_open, grade
):
    facts = fact(LIFE)
    assert (facts.open_at(moment), facts.grade_at(moment)) == (stands_open, grade)


def test_what_settled_it_for_a_while_stays_on_record_as_settled():
    ((item, how, reopened),) = (
        (closure.item.seq, closure.how, closure.reopened) for closure in fact(LIFE).closures
    )
    assert (item, how) == (7, "settled")
    assert reopened is not None
    assert reopened.item.seq == 8


def test_seen_in_the_second_in_which_it_was_settled_it_stands_open():
    told = [found(SEEN), reseal(GONE), recheck(GONE, "same")]
    assert fact(told).state == "open"


def test_of_what_was_told_in_one_second_the_last_grade_counts():
    """Both looks were written down at 20:00 UTC on 11 June."""
    told = [
        found("2025-06-10", grade=4, logged="2025-06-11T20:00:00Z"),
        recheck("2025-06-11T09:00-05:00", "better", 2, logged="2025-06-11T20:00:00Z"),
    ]
    assert fact(told).grade_at(parse_utc("2025-06-11T20:00:00Z")) == 2


def test_a_recheck_of_what_is_no_finding_any_more_leaves_the_others_as_they_were_seen():
    opened = look("2025-06-01", body={"findings": [finding("f0")]})
    both = {"rechecks": [{"finding": name, "state": "gone", "grade": 0} for name in ("f0", "f1")]}
    told = [opened, found(), look("2025-06-24", body=both)]
    away = correct(6, "2025-06-25T12:00:00Z", withdraw=True)
    assert fact([*told, away]).state == "gone"


def test_a_look_from_the_ground_finds_nothing_on_the_roof_gone():
    away = recheck("2025-06-24", "gone", 0, body={"means": "ground"})
    facts = fact([found(), away])
    assert (facts.state, facts.closures) == ("open", ())


# Since when


def without(told: list[Told]) -> int | None:
    seen = fact(told).last_without
    return None if seen is None else seen.seq


def test_of_a_finding_that_was_first_seen_not_after_a_day_a_look_before_that_end_is_without_it():
    told = [look("2025-06-01"), found("../2025-06-10", logged="2025-06-10T23:59:00Z")]
    assert without(told) == 6


def test_a_look_behind_the_first_sight_is_never_one_without_it():
    """Entry 7 tells on 21 June of 10 June, which lies ahead of the look of 20 June."""
    told = [look("2025-06-20"), found("2025-06-10", logged="2025-06-21T12:00:00Z")]
    assert without(told) is None


def test_two_looks_written_down_in_one_second_are_told_in_their_order():
    logged = "2025-06-10T23:00:00Z"
    told = [look("2025-06-10T09:00-05:00", logged=logged),
            found("2025-06-10T12:00-05:00", logged=logged)]  # fmt: skip
    assert without(told) == 6


def test_a_zones_grade_is_that_of_its_last_look():
    told = [look(f"2025-06-0{day}", {"skylight": grade}) for day, grade in ((1, 2), (2, 4), (3, 1))]
    standing = measured(told, "2025-07-01")
    assert zone_grade(standing.history, standing.findings, "skylight") == 1

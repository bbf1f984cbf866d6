"""Duties at their limits: intervals, the very second, and evenings that are the next day in UTC."""

from datetime import date
from typing import Any

import pytest

from evidence.upkeep.duties import Duty
from tests.scenarios.build import Told, look, measured, starter, tell
from tests.upkeep.telling import correct, incident, reseal, rule, trip

AFTER_TRIP = rule("after-trip", 7)
AFTER_EVENT = rule("after-event", 7)
BEFORE_STORAGE = rule("before-storage", 14)
OUT_OF_STORAGE = rule("out-of-storage", 7)
EVENING = "2025-06-01T20:00-05:00"
"""1 June in Chicago, 2 June in UTC."""


def duties(told: list[Told], on: str, *rules: Told) -> tuple[Duty, ...]:
    return measured([*starter(rules=rules), *told], on).duties


def done(told: list[Told], *rules: Told) -> int | None:
    (duty,) = duties(told, "2025-12-31", *rules)
    return duty.done


def seen(when: str, occasion: str = "follow-up", **more: Any) -> Told:
    return look(when, None, body={"occasion": occasion}, **more)


def written(one: Told, logged: str) -> Told:
    return one | {"logged": logged}


# After a trip


def test_a_return_in_the_evening_is_of_that_day():
    (duty,) = duties([trip("t1", "2025-05-25", EVENING) | {"logged": "2025-06-02T12:00:00Z"}],
                     "2025-06-03", AFTER_TRIP)  # fmt: skip
    assert (duty.trigger, duty.from_, duty.by) == (6, date(2025, 6, 1), date(2025, 6, 8))


def test_of_a_return_within_days_the_next_trip_out_bounds_only_what_it_comes_before():
    """Back from 1 to 3 June: by 8 June, by 10 June at the latest. Out again on 9 June."""
    told = [written(trip("t1", "2025-05-25", "2025-06-01/2025-06-03"), "2025-06-04T12:00:00Z"),
            trip("t2", "2025-06-09")]  # fmt: skip
    (duty,) = duties(told, "2025-07-01", AFTER_TRIP)
    assert (duty.from_, duty.by, duty.by_at_latest) == (
        date(2025, 6, 1), date(2025, 6, 8), date(2025, 6, 9),
    )  # fmt: skip


def test_the_next_trip_out_is_the_one_that_may_have_gone_out_first():
    """One went out between the 5th and the 20th, one on the 10th."""
    told = [
        trip("t1", "2025-05-25", "2025-06-01"),
        written(trip("t2", "2025-06-05/2025-06-20"), "2025-06-20T12:00:00Z"),
        written(trip("t3", "2025-06-10"), "2025-06-20T13:00:00Z"),
    ]
    (duty,) = duties(told, "2025-07-01", rule("after-trip", 30))
    assert (duty.by, duty.by_at_latest) == (date(2025, 6, 5), date(2025, 6, 10))


@pytest.mark.parametrize(
    ("back", "when", "occasion", "counts"),
    [
        ("2025-06-01T15:00:00-05:00", "2025-06-01T15:00:00-05:00", "routine", True),
        ("2025-06-01", "2025-06-01T12:00-05:00", "after-trip", True),
        ("2025-06-01", "2025-06-01T12:00-05:00", "routine", False),
        ("2025-06-01T15:00-05:00", "../2025-06-01T15:00:00-05:00", "after-trip", True),
        ("../2025-06-01T15:00:00-05:00", "2025-06-01T15:00:00-05:00", "after-trip", True),
        ("../2025-06-01T15:00:00-05:00", "2025-06-01T14:59:59-05:00", "after-trip", False),
        ("../2025-06-01T15:00:00-05:00", "../2025-06-01T15:00:00-05:00", "after-trip", True),
    ],
)
def test_a_look_comes_after_a_trip_from_the_second_of_the_return_on(back, when, occasion, counts):
    """Or, if it says so itself, if it may have ended after the return began."""
    told = [
        written(trip("t1", "2025-05-25", back), "2025-06-01T22:00:00Z"),
        seen(when, occasion, logged="2025-06-01T22:30:00Z"),
    ]
    assert done(told, AFTER_TRIP) == (7 if counts else None)


@pytest.mark.parametrize(
    ("when", "met"), [("2025-06-08/2025-06-12", "unclear"), ("2025-06-09/2025-06-12", "no")]
)
def test_a_look_within_days_was_too_late_only_if_all_of_them_were(when, met):
    told = [trip("t1", "2025-05-25", "2025-06-01"), seen(when, logged="2025-06-12T23:59:00Z")]
    (duty,) = duties(told, "2025-07-01", AFTER_TRIP)
    assert (duty.done, duty.met) == (7, met)


def test_a_rule_asks_from_its_first_day_on():
    new = rule("after-trip", 7, applies_from="2025-06-01")
    told = [trip("t1", "2025-05-25", "2025-06-01")]
    assert [duty.trigger for duty in duties(told, "2025-07-01", new)] == [6]
    assert duties(told, "2025-07-01", new | {"applies_from": "2025-06-02"}) == ()


# After an event


def test_an_event_in_the_evening_is_of_that_day():
    struck = incident(EVENING, "2025-06-02T12:00:00Z")
    (duty,) = duties([struck], "2025-06-03", AFTER_EVENT)
    assert (duty.from_, duty.by) == (date(2025, 6, 1), date(2025, 6, 8))


@pytest.mark.parametrize(
    ("when", "counts"),
    [
        ("2025-06-08", False),
        ("../2025-06-09", False),
        ("2025-06-08T16:40:58-05:00", False),
        ("2025-06-08T16:40:59-05:00", True),
    ],
)
def test_a_look_that_does_not_name_an_event_is_after_it_if_it_began_when_it_was_over(when, counts):
    told = [incident(), seen(when, logged="2025-06-09T23:59:00Z")]
    assert done(told, AFTER_EVENT) == (7 if counts else None)


# After a reseal


def laid(when: str, logged: str) -> Told:
    return reseal(when, logged, settles=[])


def test_of_a_bead_laid_within_days_the_look_may_count_from_the_earliest():
    """Laid from 1 to 3 June, to be looked at 2 days after: from the 3rd, or from the 5th."""
    told = [laid("2025-06-01/2025-06-03", "2025-06-03T23:00:00Z"), seen("2025-06-04")]
    (duty,) = duties(told, "2025-07-01", rule("after-reseal", 5, from_days=2))
    assert (duty.trigger, duty.from_, duty.by, duty.by_at_latest, duty.done) == (
        6, date(2025, 6, 3), date(2025, 6, 6), date(2025, 6, 8), 7,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("when", "from_days", "counts"),
    [
        ("2025-06-02/2025-06-04", 2, False),
        ("2025-06-03/2025-06-04", 2, True),
        ("2025-06-01T12:00:00-05:00", 0, True),
        ("2025-06-01T11:59:59-05:00", 0, False),
        ("../2025-06-03", 0, False),
    ],
)
def test_a_look_at_a_new_bead_began_behind_it_and_on_a_day_that_counts(when, from_days, counts):
    told = [laid("2025-06-01T12:00:00-05:00", "2025-06-01T18:00:00Z"),
            seen(when, logged="2025-06-05T12:00:00Z")]  # fmt: skip
    assert done(told, rule("after-reseal", 3, from_days=from_days)) == (7 if counts else None)


# Storage


def stored(first: str, last: str | None = None, logged: str = "2025-06-20T12:00:00Z") -> Told:
    body = {"id": "s1", "from": first} | ({} if last is None else {"to": last})
    return tell("storage", body, logged)


def test_a_storage_that_began_in_the_evening_began_on_that_day():
    """A look is due some days ahead of it: at the latest 3 days before 1 June."""
    (duty,) = duties([stored(EVENING)], "2025-07-01", BEFORE_STORAGE | {"from_days": 3})
    assert (duty.trigger, duty.from_, duty.by) == (6, date(2025, 5, 18), date(2025, 5, 29))


def test_a_storage_cannot_have_begun_after_its_day_was_last_written_down():
    """From 1 to 10 June, it was said on 5 June; another word changed later moves nothing."""
    told = [
        stored("2025-06-01", logged="2025-06-01T22:00:00Z"),
        correct(6, "2025-06-05T12:00:00Z", set={"from": "2025-06-01/2025-06-10"}),
        correct(6, "2025-06-08T12:00:00Z", set={"where": "the barn"}),
    ]
    (duty,) = duties(told, "2025-07-01", BEFORE_STORAGE)
    assert (duty.by, duty.by_at_latest) == (date(2025, 6, 1), date(2025, 6, 5))


@pytest.mark.parametrize(
    ("away", "when", "occasion", "counts"),
    [
        ("2025-06-01/2025-06-03", "2025-05-18", "routine", True),
        ("2025-06-01/2025-06-03", "2025-05-17", "routine", False),
        ("2025-06-01", "2025-06-01T09:00-05:00", "routine", False),
        ("2025-06-01T10:00:00-05:00", "2025-06-01T10:00:00-05:00", "routine", True),
        ("2025-06-01T10:00:00-05:00", "2025-06-01T10:00:01-05:00", "routine", False),
        ("2025-06-01T10:00-05:00", "2025-06-01T10:00:59-05:00", "before-storage", True),
        ("2025-06-01T10:00-05:00", "2025-06-01T12:00-05:00", "before-storage", False),
        ("../2025-06-01T10:00-05:00", "2025-06-01T09:00-05:00", "routine", True),
        ("2025-06-01", "../2025-05-30", "before-storage", True),
        ("2025-06-01", "../2025-06-01", "before-storage", True),
        ("2025-06-01", "2025-05-10/2025-05-25", "routine", False),
    ],
)
def test_a_look_before_storage_ended_as_it_began_or_says_so_itself(away, when, occasion, counts):
    told = [stored(away), seen(when, occasion, logged="2025-06-20T13:00:00Z")]
    assert done(told, BEFORE_STORAGE) == (7 if counts else None)


def test_out_of_storage_a_trip_on_that_day_is_the_limit():
    told = [stored("2025-05-01", "2025-06-01"), trip("t1", "2025-06-01")]
    (duty,) = duties(told, "2025-07-01", OUT_OF_STORAGE)
    assert (duty.trigger, duty.by) == (6, date(2025, 6, 1))


def test_out_of_storage_in_the_evening_the_look_of_that_day_counts_if_it_says_so():
    told = [stored("2025-05-01", "2025-06-01T10:00-05:00/2025-06-01T20:00-05:00"),
            seen("2025-06-01T12:00-05:00", "out-of-storage",
                 logged="2025-06-20T13:00:00Z")]  # fmt: skip
    (duty,) = duties(told, "2025-07-01", OUT_OF_STORAGE)
    assert (duty.from_, duty.by, duty.done) == (date(2025, 6, 1), date(2025, 6, 8), 7)


# Before a warranty ends


def test_a_look_before_a_warranty_ends_began_within_its_last_days():
    warranty = rule("before-warranty-end", 30, applies_to="2025-06-30")
    early = seen("2025-05-30/2025-06-02", logged="2025-06-02T23:00:00Z")
    (duty,) = duties([early], "2025-07-01", warranty)
    assert (duty.trigger, duty.done) == (5, None)
    assert done([seen("2025-05-31/2025-06-02", logged="2025-06-02T23:00:00Z")], warranty) == 6

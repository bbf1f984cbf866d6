"""Duties that follow or go before an event (OUTPUTS § 2; TRADE § 5)."""

from datetime import date
from typing import Any

import pytest

from evidence.upkeep.duties import Duty
from tests.scenarios.build import RIG, ZONES, Told, look, measured, starter, tell
from tests.upkeep.telling import incident, reseal, rule, trip


def duties(told: list[Told], on: str, *rules: Told) -> tuple[Duty, ...]:
    return measured([*starter(rules=rules), *told], on).duties


def seen(when: str, occasion: str = "follow-up", **more: Any) -> Told:
    return look(when, more.pop("grades", None), body={"occasion": occasion}, **more)


# After a trip

AFTER_TRIP = rule("after-trip", 7)


def test_a_look_within_seven_days_of_the_return():
    """Back on 1 June, looked at on 3 June: 2 days, by 8 June."""
    told = [trip("t1", "2025-05-25", "2025-06-01"), seen("2025-06-03")]
    (duty,) = duties(told, "2025-07-01", AFTER_TRIP)
    assert (duty.trigger, duty.from_, duty.by) == (6, date(2025, 6, 1), date(2025, 6, 8))
    assert (duty.done, duty.days, duty.met, duty.met_on_time) == (7, (2, 2), "yes", "yes")


def test_a_trip_under_way_gives_no_duty_yet():
    assert duties([trip("t1", "2025-05-25")], "2025-07-01", AFTER_TRIP) == ()


def test_the_next_trip_out_is_the_limit_where_it_comes_first():
    told = [
        trip("t1", "2025-05-25", "2025-06-01"),
        trip("t2", "2025-06-04", "2025-06-10"),
        seen("2025-06-05"),
    ]
    first, second = duties(told, "2025-07-01", AFTER_TRIP)
    assert (first.by, first.days, first.met) == (date(2025, 6, 4), (4, 4), "no")
    assert (second.by, second.done, second.met) == (date(2025, 6, 17), None, "no")


def test_a_day_trip_does_not_end_with_its_own_way_out():
    (duty,) = duties([trip("t1", "2025-06-01", "2025-06-01")], "2025-06-03", AFTER_TRIP)
    assert (duty.by, duty.met, duty.days) == (date(2025, 6, 8), "unclear", (2, 2))


def test_a_trip_out_on_the_day_of_the_return_is_the_next_one_if_it_was_written_behind_it():
    told = [trip("t1", "2025-05-25", "2025-06-01"), trip("t2", "2025-06-01", "2025-06-02")]
    first, second = duties(told, "2025-06-20", AFTER_TRIP)
    assert (first.by, second.by) == (date(2025, 6, 1), date(2025, 6, 9))
    day_trips = [trip("t1", "2025-06-01", "2025-06-01"), trip("t2", "2025-06-01", "2025-06-01")]
    first, second = duties(day_trips, "2025-06-20", AFTER_TRIP)
    assert (first.by, second.by) == (date(2025, 6, 1), date(2025, 6, 8))


def test_an_open_duty_is_unclear_until_its_day_has_gone_by():
    told = [trip("t1", "2025-05-25", "2025-06-01")]
    mets = [duties(told, on, AFTER_TRIP)[0].met for on in ("2025-06-08", "2025-06-09")]
    assert mets == ["unclear", "no"]


def test_a_look_on_the_morning_before_the_return_does_not_count():
    told = [
        trip("t1", "2025-05-25", "2025-06-01T15:00-05:00"),
        seen("2025-06-01T09:00-05:00", "after-trip", logged="2025-06-01T22:01:00Z"),
    ]
    (duty,) = duties(told, "2025-07-01", AFTER_TRIP)
    assert duty.done is None


@pytest.mark.parametrize(("occasion", "done"), [("after-trip", 7), ("routine", None)])
def test_on_the_day_of_the_return_the_look_that_says_so_counts(occasion: str, done: int | None):
    """Both are told by the day alone; the look's own occasion says that it came after."""
    told = [
        trip("t1", "2025-05-25", "2025-06-01"),
        seen("2025-06-01", occasion, logged="2025-06-01T23:00:00Z"),
    ]
    assert duties(told, "2025-06-05", AFTER_TRIP)[0].done == done


def test_all_zones_that_the_rule_covers_must_be_looked_at():
    both = rule("after-trip", 7, zones=["skylight", "vent"])
    told = [
        trip("t1", "2025-05-25", "2025-06-01"),
        seen("2025-06-02"),
        seen("2025-06-05", grades={"vent": 0}),
    ]
    half, whole = (duties(told, on, both)[0] for on in ("2025-06-04", "2025-06-06"))
    assert (half.done, half.missing) == (None, ("vent",))
    assert (whole.done, whole.missing, whole.days) == (8, (), (4, 4))


def test_a_zone_dropped_before_or_added_after_needs_no_look():
    fan = {"id": "fan", "type": "Z12", "label": "fan", "since": "2025-06-20"}
    kept = [zone for zone in ZONES if zone["id"] == "skylight"]
    every = rule("after-trip", 7)
    del every["zones"]
    told = [
        tell("rig", RIG | {"zones": kept}, "2025-05-01T12:00:00Z"),
        trip("t1", "2025-05-25", "2025-06-01"),
        seen("2025-06-02"),
        tell("rig", RIG | {"zones": [*kept, fan]}, "2025-06-21T12:00:00Z"),
    ]
    assert duties(told, "2025-07-01", every)[0].done == 8


def test_a_look_logged_late_does_the_duty_as_stated_but_not_on_time():
    told = [
        trip("t1", "2025-05-25", "2025-06-01"),
        seen("2025-06-03", logged="2025-08-01T12:00:00Z"),
    ]
    (duty,) = duties(told, "2025-09-01", AFTER_TRIP)
    assert (duty.met, duty.met_on_time) == ("yes", "no")


def test_a_return_within_an_interval_leaves_the_answer_open():
    """Back between 1 and 5 June, by 8 to 12 June; looked at on 10 June: 5 to 9 days."""
    told = [trip("t1", "2025-05-25", "2025-06-01/2025-06-05"), seen("2025-06-10")]
    told[0]["logged"] = "2025-06-05T23:59:00Z"
    (duty,) = duties(told, "2025-07-01", AFTER_TRIP)
    assert (duty.by, duty.by_at_latest) == (date(2025, 6, 8), date(2025, 6, 12))
    assert (duty.days, duty.met) == ((5, 9), "unclear")


def test_what_came_before_the_rule_or_after_it_gives_no_duty():
    told = [trip("t1", "2025-05-25", "2025-06-01")]
    later = rule("after-trip", 7, applies_from="2025-06-02")
    ended = rule("after-trip", 7, applies_to="2025-05-31")
    assert duties(told, "2025-07-01", later) == duties(told, "2025-07-01", ended) == ()


def test_an_end_entry_is_a_return():
    told = [
        trip("t1", "2025-05-25"),
        tell("end", {"of": "t1", "when": "2025-06-01"}, "2025-06-01T22:00:00Z"),
        seen("2025-06-03"),
    ]
    assert duties(told, "2025-07-01", AFTER_TRIP)[0].done == 8


# After an event


def hail(when: str) -> Told:
    return incident(when, "2025-06-15T00:00:00Z", stated_cause="hail")


def test_a_look_of_that_morning_is_none_after_the_event():
    told = [
        seen("2025-06-14T09:00-05:00", logged="2025-06-14T15:00:00Z"),
        hail("2025-06-14T16:00-05:00"),
        seen("2025-06-17"),
    ]
    (duty,) = duties(told, "2025-07-01", rule("after-event", 2))
    assert (duty.done, duty.days, duty.met) == (8, (3, 3), "no")


def test_a_look_that_names_the_incident_is_after_it():
    named = look("2025-06-14", body={"incidents": ["i1"]}, logged="2025-06-15T00:10:00Z")
    (duty,) = duties([hail("2025-06-14"), named], "2025-07-01", rule("after-event", 2))
    assert (duty.done, duty.days, duty.met) == (7, (0, 0), "yes")


def test_a_look_that_ended_before_the_event_is_not_after_it_though_it_names_it():
    told = [
        hail("2025-06-14"),
        look("2025-06-10", body={"incidents": ["i1"]}, logged="2025-06-15T00:10:00Z"),
    ]
    assert duties(told, "2025-07-01", rule("after-event", 2))[0].done is None


def test_a_withdrawn_incident_gives_no_duty():
    gone = tell("correction", {"of": 6, "withdraw": True, "why": "x"}, "2025-06-16T00:00:00Z")
    assert duties([hail("2025-06-14"), gone], "2025-07-01", rule("after-event", 2)) == ()


# After a reseal


def laid(zone: str) -> Told:
    return reseal("2025-06-10", zones=[zone], settles=[])


AFTER_RESEAL = rule("after-reseal", 3, from_days=1)
del AFTER_RESEAL["zones"]


@pytest.mark.parametrize(
    ("when", "done", "met"),
    [("2025-06-10", None, "no"), ("2025-06-11", 7, "yes"), ("2025-06-14", 7, "no")],
)
def test_a_new_bead_is_looked_at_from_one_to_three_days_after(
    when: str, done: int | None, met: str
):
    told = [laid("skylight"), seen(when)]
    (duty,) = duties(told, "2025-07-01", AFTER_RESEAL)
    assert (duty.from_, duty.by) == (date(2025, 6, 11), date(2025, 6, 13))
    assert (duty.done, duty.met) == (done, met)


def test_a_look_ahead_of_the_reseal_on_its_day_does_not_count():
    """The rule has no first day; the reseal was at noon."""
    at_once = rule("after-reseal", 3)
    told = [
        seen("2025-06-10T09:00-05:00", logged="2025-06-10T14:30:00Z"),
        reseal("2025-06-10T12:00-05:00", settles=[]),
        seen("2025-06-10T15:00-05:00", logged="2025-06-10T23:59:30Z"),
    ]
    (early,) = duties(told[:2], "2025-06-12", at_once)
    (whole,) = duties(told, "2025-06-12", at_once)
    assert (early.done, whole.done, whole.days) == (None, 8, (0, 0))


def test_only_the_zones_that_were_resealed_need_that_look():
    told = [laid("vent"), seen("2025-06-11", grades={"vent": 0})]
    (duty,) = duties(told, "2025-07-01", AFTER_RESEAL)
    assert duty.done == 7


def test_a_rule_about_other_zones_gives_no_duty():
    other = rule("after-reseal", 3, zones=["rail-left"])
    assert duties([laid("vent")], "2025-07-01", other) == ()


# Storage


def storage(first: str, last: str | None = None) -> list[Told]:
    begun = tell("storage", {"id": "s1", "from": first}, f"{first}T22:00:00Z")
    if last is None:
        return [begun]
    return [begun, tell("end", {"of": "s1", "when": last}, f"{last}T22:00:00Z")]


@pytest.mark.parametrize(
    ("when", "occasion", "met"),
    [
        ("2025-10-17", "routine", "no"),  # 15 days before
        ("2025-10-18", "routine", "yes"),
        ("2025-11-01", "before-storage", "yes"),
        ("2025-11-01", "routine", "no"),  # of that day, before or behind it
        ("2025-11-02", "before-storage", "no"),
    ],
)
def test_before_storage_is_within_the_days_before_it(when: str, occasion: str, met: str):
    told = sorted([*storage("2025-11-01"), seen(when, occasion)], key=lambda one: one["logged"])
    (duty,) = duties(told, "2025-12-01", rule("before-storage", 14))
    assert (duty.from_, duty.by, duty.met) == (date(2025, 10, 18), date(2025, 11, 1), met)


def test_out_of_storage_is_before_the_first_use():
    told = [
        *storage("2025-11-01", "2026-03-01"),
        trip("t1", "2026-03-10", "2026-03-12"),
        seen("2026-03-11"),
    ]
    (duty,) = duties(told, "2026-04-01", rule("out-of-storage", 14))
    assert (duty.from_, duty.by) == (date(2026, 3, 1), date(2026, 3, 10))
    assert (duty.done, duty.met) == (9, "no")


def test_in_storage_there_is_no_duty_to_look_out_of_it():
    assert duties(storage("2025-11-01"), "2026-04-01", rule("out-of-storage", 14)) == ()


# A warranty's end


@pytest.mark.parametrize(
    ("when", "met"), [("2025-05-31", "no"), ("2025-06-01", "yes"), ("2025-07-01", "yes")]
)
def test_before_a_warranty_ends_a_look_is_due_in_its_last_days(when: str, met: str):
    """It ends on 1 July; 30 days before is 1 June."""
    ends = rule("before-warranty-end", 30, applies_to="2025-07-01")
    (duty,) = duties([seen(when)], "2025-08-01", ends)
    assert (duty.from_, duty.by, duty.met) == (date(2025, 6, 1), date(2025, 7, 1), met)


def test_a_warranty_without_an_end_gives_no_duty():
    assert duties([], "2025-08-01", rule("before-warranty-end", 30)) == ()


def test_a_warranty_may_ask_for_the_look_some_days_ahead_of_its_end():
    """Between 60 and 30 days before 1 July: 2 May … 1 June. A later look does it, too late."""
    ends = rule("before-warranty-end", 60, from_days=30, applies_to="2025-07-01")
    (early,) = duties([seen("2025-05-02")], "2025-08-01", ends)
    (late,) = duties([seen("2025-06-02")], "2025-08-01", ends)
    assert (early.from_, early.by) == (date(2025, 5, 2), date(2025, 6, 1))
    assert (early.met, late.done, late.met) == ("yes", 6, "no")

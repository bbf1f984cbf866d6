"""What is said of the time before an incident: what stood open, and earlier hands."""

from datetime import date

import pytest

from evidence.trade import load_catalogue
from evidence.upkeep.challenge import Challenge, Grave, How, Kind, Step, challenge
from tests.dossier.claims import RULE, after, before, incident, measured_claim
from tests.scenarios.build import Told, finding, look, starter, tell
from tests.upkeep.contest.arguing import (
    BOTH,
    against,
    answered,
    handover,
    kinds,
    only,
    rig,
    the,
)

OPEN_START = "../2025-06-08T16:40-05:00"


# What stood open


def opened(grade: int = 3, zone: str = "field-mr", when: str = "2025-05-01", **more) -> Told:
    """A look that finds f1: D02, to be acted on within 7 days (TRADE § 4)."""
    found = finding("f1", zone, grade, **more)
    return look(when, {zone: grade}, body={"findings": [found]}, logged="2025-05-04T12:00:00Z")


def test_what_stood_open_in_the_zone_is_told_with_its_days_and_what_was_found_afterwards():
    """Seen from 1 to 3 May; the branch fell on 8 June, 36 to 38 days later."""
    told = (opened(when="2025-05-01/2025-05-03"), before(grades={"field-mr": 3}), incident(),
            after())  # fmt: skip
    assert the(Kind.OPEN_IN_ZONE, *told) == Challenge(
        Kind.OPEN_IN_ZONE,
        Grave.BEFORE,
        (6,),
        answered(How.OWN_FINDING, 9),
        (Step.ACT_NOW,),
        {
            "finding": "D02",
            "zone": "field-mr",
            "days": (36, 38),
            "by": date(2025, 5, 8),
        },
    )


def test_days_are_counted_from_the_calendar_day_at_home():
    """20:00 on 1 May in Chicago is 2 May in UTC."""
    found = the(Kind.OPEN_IN_ZONE, opened(when="2025-05-01T20:00-05:00"), incident())
    assert found.about["days"] == (38, 38)


def test_what_was_open_before_and_mended_since_is_told_and_leaves_nothing_to_do():
    gone = {"rechecks": [{"finding": "f1", "state": "gone", "grade": 0}]}
    told = (opened(), incident(), look("2025-07-01", {"field-mr": 0}, body=gone))
    assert the(Kind.OPEN_IN_ZONE, *told).today == ()


@pytest.mark.parametrize(
    ("grade", "zone", "named"),
    [
        (1, "field-mr", set()),
        (2, "field-mr", {Kind.OPEN_IN_ZONE}),
        (3, "vent", set()),
    ],
)
def test_before_it_is_overdue_only_grade_2_and_more_in_a_zone_named_is_held_against_it(
    grade, zone, named
):
    """Seen on 1 June it is due by 8 June, the day of the branch."""
    told = (look("2025-06-01", {zone: grade}, body={"findings": [finding("f1", zone, grade)]}),
            incident())  # fmt: skip
    assert kinds(*told) & {Kind.OPEN_IN_ZONE, Kind.OPEN_ELSEWHERE} == named


def test_what_stood_open_elsewhere_beyond_its_days_is_less_grave():
    found = the(Kind.OPEN_ELSEWHERE, opened(1, "vent"), incident(), after())
    assert found == Challenge(
        Kind.OPEN_ELSEWHERE,
        Grave.WEIGHT,
        (6,),
        (),
        (Step.ACT_NOW,),
        {"finding": "D02", "zone": "vent", "days": (38, 38), "by": date(2025, 5, 8)},
    )


def test_where_nothing_is_known_to_lie_before_what_stood_open_is_told_all_the_same():
    assert the(Kind.OPEN_IN_ZONE, opened(), incident(OPEN_START)).entries == (6,)


def promised(zone: str) -> tuple[Told, ...]:
    """The dealer answers for f1 by a signed hand-over, and let the day go by."""
    defects = [{"finding": "f1", "responsible": "dealer", "promised": "2025-05-20"}]
    return (
        opened(zone=zone),
        handover("2025-05-05", defects=defects),
        handover("2025-05-06", defects=[]),
        incident(),
    )


def test_what_another_answers_for_is_held_against_the_zone_named_alone_with_his_promise():
    assert the(Kind.OPEN_IN_ZONE, *promised("field-mr")).answers == answered(How.RESPONSIBLE, 7)
    assert not {Kind.OPEN_IN_ZONE, Kind.OPEN_ELSEWHERE} & kinds(*promised("vent"))


# Earlier hands


def owned(name: str, party: str, first: str, last: str | None, known_by: str) -> Told:
    body = {"id": name, "party": party, "from": first, "to": last, "known_by": known_by}
    return tell("ownership", {key: value for key, value in body.items() if value is not None},
                "2025-01-05T18:10:00Z")  # fmt: skip


def unknown_hands(*told: Told) -> list[Challenge]:
    return [one for one in against(*told) if one.kind is Kind.UNKNOWN_HANDS]


def test_hands_from_which_nothing_has_come_down_are_told_with_the_first_look():
    told = (
        owned("o1", "dealer", "2023-07-01", "2023-12-31", "own-record"),
        owned("o2", "insurer", "2024-01-01", "2024-11-30", "nothing"),
        owned("o3", "owner", "2025-01-01", None, "own-record"),
        look("2025-03-05", BOTH),
        before(),
        incident(),
    )
    stated, nobody = sorted(unknown_hands(*told), key=lambda one: one.about["start"])
    assert stated == Challenge(
        Kind.UNKNOWN_HANDS,
        Grave.QUESTION,
        (7,),
        answered(How.BASELINE, 9),
        (Step.ASK_HOLDER,),
        {"start": date(2024, 1, 1), "end": date(2024, 11, 30), "record": "nothing"},
    )
    assert nobody.entries == ()
    assert nobody.about == {
        "start": date(2024, 12, 1), "end": date(2024, 12, 31), "record": "nobody on record",
    }  # fmt: skip
    assert the(Kind.BEFORE_ANY_HAND, *told) == Challenge(
        Kind.BEFORE_ANY_HAND,
        Grave.QUESTION,
        (),
        answered(How.BASELINE, 9),
        (Step.ASK_HOLDER,),
        {"start": date(2023, 3, 1), "end": date(2023, 6, 30)},
    )


@pytest.mark.parametrize("last", [None, "2025-07-31"])
def test_unknown_hands_are_told_up_to_the_day_before_the_incident(last):
    (found,) = unknown_hands(
        owned("o1", "owner", "2025-02-01", last, "hearsay") | {"logged": "2025-08-01T12:00:00Z"},
        incident() | {"logged": "2025-08-01T12:00:00Z"},
    )
    assert (found.about["start"], found.about["end"]) == (date(2025, 2, 1), date(2025, 6, 7))


def test_hands_that_took_it_over_on_the_day_of_the_incident_are_not_from_before():
    taken_over = owned("o1", "owner", "2025-06-08", None, "nothing")
    assert unknown_hands(incident(), taken_over | {"logged": "2025-06-09T12:00:00Z"}) == []


def test_without_an_ownership_the_time_before_the_record_begins_is_told():
    """The record begins at 20:00 on 5 January in Chicago, which is 6 January in UTC."""
    begun = starter(rules=[RULE], logged="2025-01-06T02:00:00Z")
    found = challenge(*measured_claim(begun, incident()), load_catalogue())
    assert only(Kind.BEFORE_ANY_HAND, found).about["end"] == date(2025, 1, 4)


def test_where_nothing_says_when_the_rig_was_built_no_time_before_is_missed():
    begun = starter(rules=[RULE], rig=rig(built=...))
    found = challenge(*measured_claim(begun, incident()), load_catalogue())
    assert Kind.BEFORE_ANY_HAND not in {one.kind for one in found}

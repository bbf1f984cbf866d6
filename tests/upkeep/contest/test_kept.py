"""What is said of the rules: gaps, duties, late statements, and whose rules they are."""

from datetime import date

import pytest

from evidence.upkeep.challenge import Answer, Challenge, Grave, How, Kind, Step
from evidence.words import Task
from tests.dossier.claims import FIELD, RULE, after, before, incident
from tests.scenarios.build import LOOK_90, Told, look, tell
from tests.upkeep.contest.arguing import (
    BOTH,
    against,
    answered,
    deferral,
    kinds,
    only,
    paper,
    the,
    wash,
)

ON_FIELD = RULE | {"zones": ["field-mr"]}
WASH: Told = LOOK_90 | {"id": "wash-365", "task": "wash", "days": 365, "zones": ["vent"]}
AFTER_TRIP: Told = RULE | {"id": "after-trip", "task": "after-trip", "days": 7, "zones": ["vent"]}


# The time between


def test_a_gap_beyond_the_rule_is_told_with_its_figures_and_what_answers_it():
    below = look("2025-04-20", FIELD, body={"means": "ground"})
    found = against(
        deferral("2025-04-10", "inspection"), below, before(), incident(), after(), rules=[ON_FIELD]
    )
    figures = {"deed": Task.INSPECTION, "zones": ("field-mr",), "limit": (90, 90)}
    assert only(Kind.GAP, found) == Challenge(
        Kind.GAP,
        Grave.WEIGHT,
        (5, 8),
        (Answer(How.DEFERRAL, (6,)), Answer(How.FROM_BELOW, (7,))),
        (),
        figures
        | {
            "days": (145, 145),
            "start": date(2025, 1, 5),
            "end": date(2025, 5, 30),
            "over": (55, 55),
        },
    )
    assert only(Kind.OPEN_GAP, found) == Challenge(
        Kind.OPEN_GAP,
        Grave.QUESTION,
        (5,),
        (),
        (Step.LOOK_NOW,),
        figures
        | {
            "days": (148, 148),
            "start": date(2025, 6, 8),
            "end": date(2025, 11, 3),
            "over": (58, 58),
        },
    )


def test_zones_that_share_a_gap_share_its_sentence():
    found = the(Kind.GAP, before(grades=BOTH), incident(zones=["field-mr", "skylight"]))
    assert found.about["zones"] == ("field-mr", "skylight")


def test_a_gap_between_washes_is_not_answered_by_a_look_and_no_look_ends_it():
    below = look("2025-04-20", {"vent": 0}, body={"means": "inside"})
    rule = WASH | {"days": 90}
    found = against(below, wash("2025-05-20"), incident(zones=["vent"]), rules=[rule])
    gap, still = only(Kind.GAP, found), only(Kind.OPEN_GAP, found)
    assert (gap.about["deed"], gap.answers) == (Task.WASH, ())
    assert (still.about["deed"], still.today) == (Task.WASH, ())


def test_only_looks_from_below_wholly_within_the_gap_and_at_its_zones_answer_it():
    """From 5 January to 30 May: behind its first day, on its last day at the latest.

    The rule asks for a ladder, so that a look from the roof neither ends the gap nor is one from
    below.
    """

    def below(when: str, zone: str = "field-mr", means: str = "ground") -> Told:
        logged = f"{when[-10:]}T23:59:00Z"
        return look(when, {zone: 0}, body={"means": means}, logged=logged)

    found = the(
        Kind.GAP,
        below("2025-01-05"),
        below("2025-01-05/2025-01-20"),
        below("2025-02-01"),
        below("2025-03-01", zone="vent"),
        below("2025-03-02", means="on-roof"),
        below("2025-05-30", means="ladder"),
        below("2025-05-30", means="inside"),
        below("2025-05-29/2025-05-31"),
        incident(),
        rules=[ON_FIELD | {"means": ["ladder"]}],
    )
    assert (found.entries, found.about["end"]) == ((5, 11), date(2025, 5, 30))
    assert found.answers == answered(How.FROM_BELOW, 8, 12)


def test_gaps_are_told_of_the_zones_named_and_of_the_worst_and_the_others_are_counted():
    rule = RULE | {"zones": ["field-mr", "skylight", "vent", "ceiling"]}
    found = against(before(), incident(), after(), rules=[rule], on="2025-06-30")
    told = {one.about["zones"] for one in found if one.kind in {Kind.GAP, Kind.OPEN_GAP}}
    assert told == {("field-mr",), ("ceiling",)}
    assert only(Kind.GAPS_ELSEWHERE, found) == Challenge(
        Kind.GAPS_ELSEWHERE,
        Grave.QUESTION,
        (5,),
        (),
        (),
        {"rule": "look-90", "zones_more": (2, 2)},
    )


def test_a_rule_that_is_not_required_is_no_weak_point():
    found = kinds(before(), incident(), after(), rules=[RULE | {"required": False}])
    assert not {Kind.GAP, Kind.OPEN_GAP, Kind.OWN_RULE} & found


def test_a_rule_that_only_late_entries_keep_is_named_with_them_and_their_papers():
    """Washed on 20 January, on time, and on 12 April, written down on 20 May.

    From 20 January to 1 February of the next year it is 377 days.
    """
    told = (
        wash("2025-01-20"),
        wash("2025-04-12", "2025-05-20T20:00:00Z"),
        paper(6, 7, logged="2025-05-20T20:05:00Z"),
        incident(),
    )
    assert the(Kind.KEPT_BY_LATE, *told, rules=[WASH], on="2026-02-01") == Challenge(
        Kind.KEPT_BY_LATE,
        Grave.WEIGHT,
        (5, 7),
        answered(How.PAPER, 8),
        (),
        {"rule": "wash-365"},
    )


# Duties after events


def trip(name: str, out: str, back: str) -> Told:
    return tell("trip", {"id": name, "out": out, "back": back}, f"{back}T23:00:00Z")


TRIP = trip("t1", "2025-05-01", "2025-05-04")


def vent(when: str, logged: str | None = None) -> Told:
    return look(when, {"vent": 0}, logged=None if logged is None else f"{logged}T23:00:00Z")


@pytest.mark.parametrize(
    ("seen", "kind", "entries", "answers"),
    [
        (vent("2025-05-06", "2025-05-20"), Kind.DUTY_LATE, (6, 7), answered(How.PAPER, 8)),
        (vent("2025-05-20"), Kind.DUTY_UNDONE, (6, 7), ()),
        (look("2025-05-06"), Kind.DUTY_UNDONE, (6,), ()),
    ],
)
def test_a_duty_undone_or_logged_late_is_named_with_the_look_that_did_it(
    seen, kind, entries, answers
):
    """Within 7 days of 4 May. A paper backs a look that came in time, not one that came late."""
    told = (TRIP, seen, paper(7, logged="2025-05-20T23:05:00Z"), incident())
    assert the(kind, *told, rules=[AFTER_TRIP]) == Challenge(
        kind,
        Grave.WEIGHT,
        entries,
        answers,
        (),
        {"task": Task.AFTER_TRIP, "by": date(2025, 5, 11)},
    )


def test_a_duty_behind_one_that_was_kept_is_named():
    second = trip("t2", "2025-05-20", "2025-05-22")
    found = the(Kind.DUTY_UNDONE, TRIP, vent("2025-05-06"), second, incident(), rules=[AFTER_TRIP])
    assert found.entries == (8,)


@pytest.mark.parametrize(
    ("back", "grave"), [("2025-06-08", Grave.WEIGHT), ("2025-06-09", Grave.QUESTION)]
)
def test_a_duty_that_began_after_the_day_of_the_incident_is_a_question(back, grave):
    found = the(Kind.DUTY_UNDONE, incident(), trip("t1", "2025-05-01", back), rules=[AFTER_TRIP])
    assert found.grave is grave


# The rules themselves


def test_whose_rules_they_are_is_told_once_for_each_sort():
    own = RULE | {"basis": "owners-own"}
    default = WASH | {"basis": "tool-default"}
    optional = own | {"id": "c", "required": False}
    found = against(incident(), rules=[own, own | {"id": "b"}, default, optional])
    assert only(Kind.OWN_RULE, found) == Challenge(
        Kind.OWN_RULE,
        Grave.QUESTION,
        (5, 6),
        (),
        (Step.FILE_RULE,),
        {"rules": ("look-90", "b")},
    )
    assert only(Kind.DEFAULT_RULE, found).about == {"rules": ("wash-365",)}


def ruled(logged: str, **changes: object) -> tuple[Told, Told]:
    """A paper (5) and the rule that is read from it (6)."""
    return (paper(kind="manual", logged="2025-01-05T18:30:00Z"),
            tell("rule", RULE | {"paper": 5} | changes, logged))  # fmt: skip


def test_a_rule_written_down_later_than_it_applies_is_a_question():
    """20:00 on 10 January in Chicago is 11 January in UTC."""
    told = (*ruled("2025-01-11T02:00:00Z"), before(), incident(), after())
    assert the(Kind.RULE_LATER, *told, rules=[]) == Challenge(
        Kind.RULE_LATER,
        Grave.QUESTION,
        (6,),
        answered(How.PAPER, 5),
        (),
        {"rule": "look-90", "known": date(2025, 1, 10), "first": date(2025, 1, 5)},
    )


def test_a_rule_written_down_behind_gaps_is_told_with_the_longest_of_them():
    """The field was looked at after 110 days, the skylight after 145."""
    told = (
        before("2025-04-25"),
        look("2025-05-30"),
        tell("rule", RULE, "2025-06-05T12:00:00Z"),
        incident(),
    )
    assert the(Kind.RULE_AFTER_GAP, *told, rules=[]) == Challenge(
        Kind.RULE_AFTER_GAP,
        Grave.WEIGHT,
        (7,),
        (),
        (),
        {
            "rule": "look-90",
            "known": date(2025, 6, 5),
            "days": (145, 145),
            "end": date(2025, 5, 30),
        },
    )
    told = (*ruled("2025-06-05T12:00:00Z"), before(), incident())
    assert the(Kind.RULE_AFTER_GAP, *told, rules=[]).answers == answered(How.PAPER, 5)


def test_a_gap_that_ended_on_the_day_of_the_statement_was_not_over_by_then():
    told = (before(), tell("rule", ON_FIELD, "2025-05-30T23:59:00Z"), incident())
    assert not {Kind.RULE_AFTER_GAP} & kinds(*told, rules=[])
    assert the(Kind.RULE_LATER, *told, rules=[]).about["known"] == date(2025, 5, 30)

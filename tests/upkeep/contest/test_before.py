"""What is said of the time before an incident: looks, outsiders, what stood open, earlier hands."""

import pytest

from evidence.upkeep.challenge import Answer, Challenge, Grave, How, Kind, Step
from tests.dossier.claims import after, before, incident
from tests.scenarios.build import ROOT, look, photo, tell
from tests.upkeep.contest.arguing import (
    BOTH,
    against,
    against_distrusted,
    answered,
    correction,
    handover,
    kinds,
    only,
    paper,
    pictures,
    the,
    wash,
)

VENT = photo("2025:05:30 12:10:31", zone="vent", name="v.jpg")
OPEN_START = "../2025-06-08T16:40-05:00"


# Outsiders


def test_where_no_outsider_vouches_before_the_papers_of_the_looks_answer():
    told = (before(), paper(6, logged="2025-05-31T12:00:00Z"), incident(), after(witness=True))
    found = against(*told)
    assert only(Kind.NO_WITNESS_BEFORE, found) == Challenge(
        Kind.NO_WITNESS_BEFORE,
        Grave.BEFORE,
        (),
        answered(How.PAPER, 7),
        (Step.WITNESS_NOW,),
        {},
    )
    assert Kind.OWN_CLOCK not in {one.kind for one in found}


def test_an_outsider_whom_the_reader_does_not_trust_is_named_if_it_answered_before():
    found = against_distrusted(before(witness=True), incident(), after(witness=True))
    assert only(Kind.NO_WITNESS_BEFORE, found) == Challenge(
        Kind.NO_WITNESS_BEFORE,
        Grave.BEFORE,
        (),
        answered(How.UNTRUSTED, 7),
        (Step.GIVE_TRUST, Step.WITNESS_NOW),
        {},
    )


def test_an_answer_of_the_very_second_in_which_the_window_begins_was_before():
    """A witness follows its entry by 60 s here: 21:40:00 UTC, 16:40 in Chicago."""
    told = (before("2025-06-08T16:30-05:00", logged="2025-06-08T21:39:00Z", witness=True),
            incident(), after())  # fmt: skip
    assert Kind.NO_WITNESS_BEFORE not in kinds(*told)
    found = only(Kind.NO_WITNESS_BEFORE, against_distrusted(*told))
    assert found.answers == answered(How.UNTRUSTED, 7)


def test_where_nothing_is_known_to_lie_before_no_outsider_vouches():
    told = (before(witness=True), incident(OPEN_START), after())
    assert the(Kind.NO_WITNESS_BEFORE, *told).answers == ()
    assert only(Kind.NO_WITNESS_BEFORE, against_distrusted(*told)).answers == ()


def test_a_look_that_no_outsider_held_before_is_answered_by_the_first_later_one_and_its_camera():
    told = (look("2025-03-05", BOTH, witness=True), before(), incident(), after(witness=True))
    own_clock = Challenge(
        Kind.OWN_CLOCK,
        Grave.BEFORE,
        (8,),
        (Answer(How.WITNESSED_LATER, (11,)), *answered(How.CAMERA, 8)),
        (),
        {"zone": "field-mr"},
    )
    assert the(Kind.OWN_CLOCK, *told) == own_clock
    again = look("2025-07-01", BOTH, witness=True)
    assert the(Kind.OWN_CLOCK, *told, again) == own_clock


def test_a_look_that_no_outsider_ever_held_can_still_be_witnessed_today():
    """A letter over a head of 8 entries holds entries 0 to 7, not the look, which is entry 8."""
    letter = {"type": "letter", "size": 8, "root": ROOT, "time": "2025-07-01T12:00:00Z",
              "name": "Sample"}  # fmt: skip
    found = the(
        Kind.OWN_CLOCK,
        look("2025-03-05", BOTH, witness=True),
        before(),
        incident(),
        after(),
        tell("witness", letter, "2025-07-01T12:00:00Z"),
    )
    assert (found.entries, found.answers) == ((8,), answered(How.CAMERA, 8))
    assert found.today == (Step.WITNESS_NOW,)


# Looks


def test_a_zone_without_a_look_before_is_answered_by_pictures_sealed_and_hand_overs_made_before():
    graded = [{"zone": "vent", "grade": 0}]
    found = the(
        Kind.NO_LOOK_BEFORE,
        pictures("2025-05-30T20:00:00Z", VENT),
        handover("2025-05-30", zones=graded),
        handover("2025-05-31", zones=[{"zone": "skylight", "grade": 0}]),
        handover("2025-06-01"),
        incident(zones=["vent"]),
        handover("2025-06-09", zones=graded),
    )
    assert found == Challenge(
        Kind.NO_LOOK_BEFORE,
        Grave.BEFORE,
        (),
        (*answered(How.SEALED_BEFORE, 6), *answered(How.HANDOVER, 7)),
        (Step.ASK_OTHERS,),
        {"zone": "vent"},
    )


def test_a_look_logged_afterwards_is_cited_where_none_counts():
    late = before(logged="2025-06-20T12:00:00Z")
    found = only(Kind.NO_LOOK_BEFORE, against(incident(), after(), late))
    assert (found.entries, found.about) == ((8,), {"zone": "field-mr"})


@pytest.mark.parametrize(
    "change", [{"set": {"zones": [{"zone": "field-mr", "grade": 1}]}}, {"withdraw": True}]
)
def test_a_look_before_that_was_changed_after_the_incident_weighs_most(change):
    told = (before(), incident(), after(), correction(6, "2025-06-20T12:00:00Z", **change))
    assert the(Kind.CHANGED_SINCE, *told) == Challenge(
        Kind.CHANGED_SINCE,
        Grave.BEFORE,
        (6, 9),
        answered(How.FIRST_WORDS, 6),
        (),
        {"zone": "field-mr"},
    )


def test_a_look_that_overlaps_the_stated_time_is_a_question_where_another_look_stands_before():
    overlapping = look("2025-06-07/2025-06-08", {"field-mr": 0}, logged="2025-06-08T23:59:00Z")
    struck = incident("2025-06-08", "2025-06-09T12:00:00Z")
    assert the(Kind.STRADDLING, overlapping, struck) == Challenge(
        Kind.STRADDLING, Grave.WEIGHT, (6,), (), (), {"zone": "field-mr"}
    )
    assert the(Kind.STRADDLING, before(), overlapping, struck) == Challenge(
        Kind.STRADDLING,
        Grave.QUESTION,
        (7,),
        answered(How.OTHER_LOOK, 6),
        (),
        {"zone": "field-mr"},
    )


def test_a_look_before_without_a_picture_is_answered_by_one_of_the_place_sealed_before():
    field = photo(None, zone="field-mr", name="f.jpg")
    sealed = pictures("2025-05-31T12:00:00Z", field, VENT)
    assert the(Kind.NO_PICTURE_BEFORE, before(files=[VENT]), sealed, incident()) == Challenge(
        Kind.NO_PICTURE_BEFORE,
        Grave.WEIGHT,
        (6,),
        answered(How.SEALED_BEFORE, 7),
        (Step.ASK_OTHERS,),
        {"zone": "field-mr"},
    )


# What had been written when the window began


def test_a_picture_sealed_in_the_very_second_in_which_the_window_begins_was_sealed_before():
    """An outsider answered in that second too: 21:39:00 and 60 s."""
    earlier = wash("2025-06-08T16:30-05:00", "2025-06-08T21:39:00Z") | {"witness": True}
    told = (earlier, pictures("2025-06-08T21:40:00Z", VENT), incident(zones=["vent"]))
    assert the(Kind.NO_LOOK_BEFORE, *told).answers == answered(How.SEALED_BEFORE, 8)


def test_a_picture_sealed_once_the_window_had_begun_answers_nothing():
    told = (pictures("2025-06-09T12:00:00Z", VENT),
            incident(zones=["vent"], logged="2025-06-10T12:00:00Z"))  # fmt: skip
    assert the(Kind.NO_LOOK_BEFORE, *told).answers == ()
    told = (incident(zones=["vent"]), pictures("2025-06-20T12:00:00Z", VENT))
    assert the(Kind.NO_LOOK_BEFORE, *told).answers == ()


def test_a_clock_set_back_does_not_seal_a_picture_before_what_an_outsider_had_answered():
    """The outsider answered on 9 June; the entry behind that says 30 May."""
    back = {"was": "2025-06-09T18:01:00Z", "is": "2025-05-30T12:00:00Z", "why": "set by hand"}
    told = (
        wash("2025-06-09", "2025-06-09T18:00:00Z") | {"witness": True},
        tell("clock", back, "2025-05-30T12:00:00Z"),
        pictures("2025-05-30T20:00:00Z", VENT),
        incident(zones=["vent"], logged="2025-06-10T12:00:00Z"),
    )
    assert the(Kind.NO_LOOK_BEFORE, *told).answers == ()

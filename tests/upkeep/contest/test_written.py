"""What is said of how it was written down: late, afterwards, corrected, against another clock."""

from evidence.upkeep.challenge import Answer, Challenge, Grave, How, Kind, Step
from tests.dossier.claims import after, before, incident
from tests.scenarios.build import Told, photo, tell
from tests.upkeep.contest.arguing import (
    against,
    answered,
    correction,
    kinds,
    only,
    paper,
    the,
    wash,
)


def test_an_entry_about_the_time_before_that_was_written_afterwards_weighs():
    late = before(logged="2025-06-20T12:00:00Z")
    found = against(incident(), after(), late, paper(8, logged="2025-06-21T12:00:00Z"))
    assert only(Kind.WRITTEN_AFTER, found) == Challenge(
        Kind.WRITTEN_AFTER,
        Grave.WEIGHT,
        (8,),
        (Answer(How.PAPER, (9,)), Answer(How.CAMERA, (8,))),
        (Step.ASK_PAPER,),
        {"kind_of": "inspection", "days": (21, 21)},
    )
    assert Kind.LATE_ENTRY not in {one.kind for one in found}


def test_a_late_entry_is_a_question_and_a_receipt_answers_for_it():
    late = wash("2025-04-12", "2025-05-20T20:00:00Z")
    told = (late, paper(6, logged="2025-05-20T20:05:00Z"), before(), incident(), after())
    assert the(Kind.LATE_ENTRY, *told) == Challenge(
        Kind.LATE_ENTRY,
        Grave.QUESTION,
        (6,),
        answered(How.PAPER, 7),
        (),
        {"kind_of": "wash", "days": (38, 38)},
    )


def test_a_camera_that_contradicts_its_entry_is_named_and_is_no_answer_itself():
    odd = photo("2025:04:01 12:00:00", offset="-05:00", zone="field-mr", role="close")
    told = (before(files=[odd]), paper(6, logged="2025-05-31T12:00:00Z"), incident(), after())
    assert the(Kind.CLOCK_DISAGREES, *told) == Challenge(
        Kind.CLOCK_DISAGREES,
        Grave.WEIGHT,
        (6,),
        answered(How.PAPER, 7),
        (Step.TEST_CLOCK,),
        {"kind_of": "inspection"},
    )


def test_a_writers_clock_that_an_outsider_contradicts_is_named():
    back = {"was": "2025-05-30T18:23:07Z", "is": "2025-05-29T12:00:00Z", "why": "set by hand"}
    found = the(
        Kind.WRITERS_CLOCK,
        before(logged="2025-05-30T18:22:07Z", witness=True),
        tell("clock", back, "2025-05-29T12:00:00Z"),
        incident(),
        after(),
    )
    assert found == Challenge(
        Kind.WRITERS_CLOCK, Grave.WEIGHT, (8,), (), (Step.TEST_CLOCK,), {"kind_of": "clock"}
    )


def test_what_stands_behind_a_clock_set_back_is_held_against_the_record():
    """No outsider contradicts it: the order of the entries does."""
    back = {"was": "2025-05-30T18:22:07Z", "is": "2025-05-29T12:00:00Z", "why": "set by hand"}
    told = (
        before(logged="2025-05-30T18:22:07Z"),
        tell("clock", back, "2025-05-29T12:00:00Z"),
        tell("photos", {}, "2025-05-29T13:00:00Z"),
        incident(),
        after(),
    )
    assert the(Kind.CLOCK_SET_BACK, *told) == Challenge(
        Kind.CLOCK_SET_BACK,
        Grave.WEIGHT,
        (7, 8),
        (),
        (Step.WITNESS_NOW,),
        {"minutes": (1822, 1822)},
    )


def test_a_clock_put_right_by_a_few_minutes_is_no_challenge():
    back = {"was": "2025-05-30T18:22:07Z", "is": "2025-05-30T18:13:00Z", "why": "radio clock"}
    told = (before(logged="2025-05-30T18:22:07Z"), tell("clock", back, "2025-05-30T18:13:00Z"))
    assert Kind.CLOCK_SET_BACK not in kinds(*told, incident(), after())


# Corrected and withdrawn


def test_what_was_corrected_after_the_incident_weighs_and_its_reason_answers():
    changed = {"zones": [{"zone": "field-mr", "grade": 1}]}
    told = (before(), incident(), after(), correction(6, "2025-06-20T12:00:00Z", set=changed))
    assert the(Kind.CORRECTED, *told) == Challenge(
        Kind.CORRECTED,
        Grave.WEIGHT,
        (6, 9),
        answered(How.REASON, 9),
        (),
        {"kind_of": "inspection"},
    )


def test_what_was_corrected_or_withdrawn_before_the_incident_is_a_question_answered_by_that():
    told = (
        before(files=[]),
        wash("2025-06-01", "2025-06-01T20:00:00Z"),
        correction(6, "2025-06-02T12:00:00Z", set={"when": "2025-05-29"}),
        correction(7, "2025-06-02T12:00:00Z", withdraw=True),
        incident(),
        after(),
    )
    for kind, about, of, by in (
        (Kind.CORRECTED, "inspection", 6, 8),
        (Kind.WITHDRAWN, "wash", 7, 9),
    ):
        assert the(kind, *told) == Challenge(
            kind,
            Grave.QUESTION,
            (of, by),
            (Answer(How.REASON, (by,)), Answer(How.MADE_BEFORE, (by,))),
            (),
            {"kind_of": about},
        )


# Sealants


def reseal(when: str, family: str, zone: str = "skylight") -> Told:
    body = {"when": when, "zones": [zone], "extent": "strip", "family": family}
    return tell("reseal", body, f"{when}T20:00:00Z")


def test_a_sealant_that_does_not_suit_is_answered_by_a_later_one_that_does():
    """TRADE § 2: silicone on TPO, N; § 10, case 6: a later strip and reseal closes it.

    Neither an earlier one, nor one at another place, nor one that does not suit either.
    """
    wrong = (
        reseal("2025-05-01", "self-levelling"),
        reseal("2025-05-02", "silicone"),
        reseal("2025-05-03", "self-levelling", "vent"),
        incident(),
    )
    unsuited = Challenge(
        Kind.UNFIT_SEALANT,
        Grave.QUESTION,
        (7,),
        (),
        (Step.RESEAL,),
        {"family": "silicone", "zone": "skylight"},
    )
    assert the(Kind.UNFIT_SEALANT, *wrong) == unsuited
    found = [
        one
        for one in against(*wrong, reseal("2025-06-20", "silicone"))
        if one.kind is Kind.UNFIT_SEALANT
    ]
    assert [(one.entries, one.answers) for one in found] == [((7,), ()), ((10,), ())]
    mended = the(Kind.UNFIT_SEALANT, *wrong, reseal("2025-06-20", "self-levelling"))
    assert (mended.answers, mended.today) == (answered(How.RESEALED, 10), ())


def test_a_sealant_that_does_not_suit_a_zone_named_weighs_more():
    found = the(Kind.UNFIT_SEALANT, reseal("2025-05-02", "silicone"), incident(zones=["skylight"]))
    assert found.grave is Grave.WEIGHT


def test_an_entry_written_down_in_time_and_left_as_it_was_is_not_named():
    told = (before(), incident(), after(), paper(6, logged="2025-06-10T12:00:00Z"))
    named = {Kind.WRITTEN_AFTER, Kind.LATE_ENTRY, Kind.CORRECTED, Kind.WITHDRAWN}
    assert not named & kinds(*told)

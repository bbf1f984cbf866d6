"""What is said of the work on a place that was struck, and of what came after it."""

import pytest

from evidence.upkeep.challenge import Answer, Challenge, Grave, How, Kind, Step
from evidence.upkeep.preserving import WARNED
from tests.dossier.claims import after, before, incident, notice
from tests.scenarios.build import Told, finding, look, tell
from tests.upkeep.contest.arguing import (
    SHOWN,
    against,
    answered,
    custody,
    kinds,
    only,
    repair,
    the,
    wash,
)

LOSS = (before(), incident(), after())
"""Entries 6 to 8."""


def warning(about: str = "i1", logged: str = "2025-06-20T23:00:00Z") -> Told:
    return tell("photos", {"note": f"{WARNED} repair: incident {about} stands open."}, logged)


def reading(when: str, value: int, **more: object) -> Told:
    body = {"when": when, "zone": "field-mr", "spot": "left", "value_pct10": value,
            "scale": "wood-mc", "meter": "pin"}  # fmt: skip
    return tell("reading", body | more, f"{when}T23:00:00Z")


def reseal(when: str, **more: object) -> Told:
    body = {"when": when, "zones": ["field-mr"], "extent": "strip", "family": "self-levelling"}
    return tell("reseal", body | more, f"{when}T23:30:00Z")


def reply(when: str) -> Told:
    body = {"when": when, "direction": "received", "party": "insurer", "type": "reply",
            "incidents": ["i1"]}  # fmt: skip
    return tell("notice", body, f"{when}T23:00:00Z")


# Warnings set aside


def test_a_warning_set_aside_stands_with_its_own_entry_and_that_of_the_deed():
    told = (*LOSS, warning(), repair("2025-06-20", "patch"))
    assert the(Kind.WARNING_OVERRIDDEN, *told) == Challenge(
        Kind.WARNING_OVERRIDDEN,
        Grave.WEIGHT,
        (9, 10),
        (),
        (Step.KEEP_PART, Step.LOOK_NOW),
        {"kind_of": "repair"},
    )


def test_pictures_of_some_of_its_zones_answer_a_warning_for_those_alone():
    both = incident(zones=["field-mr", "vent"])
    mended = repair("2025-06-20", "patch", zones=["field-mr", "vent"])
    found = the(Kind.WARNING_OVERRIDDEN, before(), both, after(files=[SHOWN]), warning(), mended)
    assert found.answers == (Answer(How.PICTURED, (8,), leaves=("vent",)),)


@pytest.mark.parametrize(
    ("told", "named"),
    [
        ((warning("i7"), repair("2025-06-20", "patch", zones=["vent"])), False),
        ((warning("i7"), repair("2025-06-20", "patch")), True),
        ((warning("i7"), custody("discarded")), True),
        ((tell("photos", {"note": "i1"}, "2025-06-20T23:00:00Z"), wash("2025-06-20")), False),
        ((warning(),), False),
    ],
)
def test_a_warning_of_another_incident_and_a_plain_note_are_none(told, named):
    assert (Kind.WARNING_OVERRIDDEN in kinds(*LOSS, *told)) is named


# Mended before anybody else had seen it


def test_lasting_work_ahead_of_the_insurer_is_answered_by_notice_and_pictures():
    told = (before(), incident(), after(files=[SHOWN]), notice(), repair("2025-06-20", "patch"))
    assert the(Kind.MENDED_UNSEEN, *told, reply("2025-06-25")) == Challenge(
        Kind.MENDED_UNSEEN,
        Grave.WEIGHT,
        (10,),
        (Answer(How.NOTICED, (9,)), Answer(How.PICTURED, (8,))),
        (Step.KEEP_PART,),
        {"zones": ("field-mr",)},
    )


@pytest.mark.parametrize(
    "told",
    [
        (reply("2025-06-12"), repair("2025-06-20", "patch")),
        (repair("2025-06-20", "dry-out"),),
        (repair("2025-06-20", "patch", zones=["skylight"]),),
        (repair("2025-06-01", "patch"),),
    ],
)
def test_work_after_the_insurers_reply_or_elsewhere_or_that_dries_is_none(told):
    assert Kind.MENDED_UNSEEN not in kinds(*LOSS, *told)


def test_work_where_nothing_is_left_to_see_is_upkeep():
    """The first repair settles the tear; a reseal a year later takes nothing of it away."""
    settled = {"when": "2025-06-20", "zones": ["field-mr"], "what": "patch", "settles": ["f3"]}
    first = tell("repair", settled, "2025-06-20T23:00:00Z")
    found = against(*LOSS, first, reseal("2026-06-01"), on="2026-06-02")
    assert only(Kind.MENDED_UNSEEN, found).entries == (9,)


def test_work_on_a_struck_place_that_nobody_had_looked_at_is_named():
    found = the(Kind.MENDED_UNSEEN, before(), incident(), reseal("2025-06-20"))
    assert (found.entries, found.answers) == ((8,), ())


# Seen and read later


def test_a_later_finding_is_answered_by_looks_that_were_without_it():
    soft = finding("f9", "field-mr", 4, type="D17", related=["f3"])
    found = the(
        Kind.LATER_FINDING,
        *LOSS,
        repair("2025-06-20", "patch"),
        look("2025-10-01", {"field-mr": 0}),
        look("2026-03-21", {"field-mr": 4}, body={"findings": [soft]}),
        on="2026-04-01",
    )
    assert found == Challenge(
        Kind.LATER_FINDING,
        Grave.WEIGHT,
        (11,),
        (Answer(How.LAST_WITHOUT, (10,)), Answer(How.SOUND_BEFORE, (6,))),
        (Step.ACT_NOW,),
        {"days": (286, 286), "finding": "D17", "zone": "field-mr"},
    )


def test_raised_readings_of_a_spot_stand_together_beside_the_earlier_one():
    found = the(
        Kind.LATER_READING,
        reading("2025-05-20", 110),
        *LOSS,
        reading("2026-03-21", 240),
        reading("2026-03-25", 140),
        reading("2026-03-29", 150, reference_pct10=110),
        on="2026-04-01",
    )
    assert found == Challenge(
        Kind.LATER_READING,
        Grave.WEIGHT,
        (10, 12),
        answered(How.READ_BEFORE, 6),
        (Step.READ_AGAIN,),
        {"days": (286, 286), "zone": "field-mr", "spot": "left"},
    )


@pytest.mark.parametrize(
    ("zone", "more", "grave"),
    [
        ("ceiling", {}, None),
        ("ceiling", {"incidents": ["i1"]}, Grave.QUESTION),
        ("ceiling", {"finding": "f3"}, Grave.QUESTION),
        ("field-mr", {}, Grave.WEIGHT),
    ],
)
def test_a_raised_reading_elsewhere_counts_where_it_is_tied_to_the_incident(zone, more, grave):
    found = against(*LOSS, reading("2025-09-01", 240, zone=zone, **more))
    graves = [one.grave for one in found if one.kind is Kind.LATER_READING]
    assert graves == ([] if grave is None else [grave])


# Old sealant


def test_a_lot_past_its_day_is_answered_by_a_later_reseal_from_a_good_one():
    old = reseal("2025-06-20", expires="2025-06-19", zones=["field-mr", "vent"])
    told = (*LOSS, old, reseal("2025-07-01", expires="2025-06-19"))
    assert [one.answers for one in against(*told) if one.kind is Kind.OLD_LOT] == [(), ()]
    found = [one for one in against(*told, reseal("2025-08-01")) if one.kind is Kind.OLD_LOT]
    assert found[0] == Challenge(
        Kind.OLD_LOT,
        Grave.WEIGHT,
        (9,),
        (Answer(How.RESEALED, (11,), leaves=("vent",)),),
        (Step.RESEAL,),
        {"zones": ("field-mr", "vent"), "expired": found[0].about["expired"]},
    )
    assert (found[1].answers, found[1].today) == (answered(How.RESEALED, 11), ())


def test_a_lot_used_on_its_last_day_is_a_good_one():
    assert Kind.OLD_LOT not in kinds(*LOSS, reseal("2025-06-20", expires="2025-06-20"))

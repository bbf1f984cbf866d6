"""What is said of the days after an incident: looks, washing, parts, cover, notice."""

import pytest

from evidence.upkeep.challenge import Answer, Challenge, Grave, How, Kind, Step
from tests.dossier.claims import after, before, cover, incident, notice
from tests.scenarios.build import Told, finding, look, photo
from tests.upkeep.contest.arguing import (
    SHOWN,
    WINDOW_ENDS,
    against,
    answered,
    custody,
    deferral,
    kinds,
    only,
    pictures,
    repair,
    the,
    wash,
)

FIELD_BARE = photo(None, zone="field-mr", name="bare.jpg")
"""A picture of the field that says nothing of when it was taken."""


# Looks and pictures


def test_a_zone_that_nobody_looked_at_afterwards_can_still_be_looked_at():
    found = the(Kind.NOT_LOOKED_AFTER, before(), incident(zones=["field-mr", "vent"]), after())
    assert found == Challenge(
        Kind.NOT_LOOKED_AFTER, Grave.WEIGHT, (), (), (Step.LOOK_NOW,), {"zone": "vent"}
    )


def test_a_look_from_below_that_found_a_tear_is_told_as_what_it_was_with_its_entry():
    torn = finding("f3", "field-mr", 4, type="D12")
    below = found_after(torn, means="ground")
    found = against(before(), incident(), below)
    assert only(Kind.ONLY_FROM_BELOW, found) == Challenge(
        Kind.ONLY_FROM_BELOW,
        Grave.WEIGHT,
        (8,),
        answered(How.OWN_FINDING, 8),
        (Step.LOOK_NOW,),
        {"zone": "field-mr", "means": ("ground",)},
    )
    assert Kind.NOT_LOOKED_AFTER not in {one.kind for one in found}


def test_a_look_from_below_before_the_incident_or_beside_one_from_the_roof_is_not_named():
    ground = {"means": "ground"}
    early = look("2025-06-01", {"field-mr": 0}, body=ground)
    assert Kind.NOT_LOOKED_AFTER in kinds(before(), early, incident())
    late = look("2025-06-10", {"field-mr": 4}, body=ground)
    assert Kind.ONLY_FROM_BELOW in kinds(before(), incident(), late)
    assert Kind.ONLY_FROM_BELOW not in kinds(before(), incident(), after(), late)


def test_a_look_after_without_a_picture_is_answered_by_pictures_that_came_after_or_name_it():
    """Neither a picture from before nor one that nothing dates is from after."""

    def shot(name: str, taken: str | None = None, **more) -> Told:
        return photo(taken, offset="-05:00", zone="field-mr", name=name, **more)

    whole_day = {"occasion": "after-event", "incidents": ["i1"]}
    found = the(
        Kind.NO_PICTURE_AFTER,
        before(),
        incident(),
        after(files=[]),
        pictures("2025-06-10T18:00:00Z", shot("9.jpg", "2025:05:30 12:00:00")),
        pictures("2025-06-10T18:00:00Z", shot("10.jpg", "2025:06:10 12:00:00")),
        pictures("2025-06-10T18:00:00Z", shot("11.jpg", incidents=["i1"])),
        pictures("2025-06-10T18:00:00Z", shot("12.jpg")),
        wash(WINDOW_ENDS, "2025-06-10T18:00:00Z") | {"files": [shot("13.jpg")]},
        look("2025-06-08", {"vent": 0}, body=whole_day, files=[shot("14.jpg")]),
        wash("2025-05-20", "2025-06-10T18:00:00Z") | {"files": [shot("15.jpg")]},
    )
    assert found == Challenge(
        Kind.NO_PICTURE_AFTER,
        Grave.WEIGHT,
        (8,),
        answered(How.PICTURED, 10, 11, 13, 14),
        (Step.LOOK_NOW,),
        {"zone": "field-mr"},
    )


# Washing after hail


def hail(*told: Told, zones: tuple[str, ...] = ("field-mr",)) -> tuple[Told, ...]:
    return (before(), incident(stated_cause="hail", zones=list(zones)), *told)


def test_a_wash_ahead_of_the_first_picture_is_answered_by_the_looks_that_had_ended_by_then():
    """The look and the wash end with the same minute, 17:40."""
    washed = wash("2025-06-08T17:40-05:00", "2025-06-08T23:30:00Z", zones=["field-mr", "skylight"])
    assert the(Kind.WASHED_FIRST, *hail(after(), washed, zones=("field-mr", "vent"))) == Challenge(
        Kind.WASHED_FIRST,
        Grave.WEIGHT,
        (9,),
        answered(How.OTHER_LOOK, 8),
        (Step.METAL_PARTS,),
        {"zones": ("field-mr",), "left": "spatter"},
    )


def test_a_wash_of_the_whole_roof_is_one_of_every_zone_named():
    earlier = wash("2025-06-08T17:00-05:00", "2025-06-08T22:30:00Z")
    found = the(Kind.WASHED_FIRST, *hail(earlier, after(), zones=("field-mr", "vent")))
    assert (found.about["zones"], found.answers) == (("field-mr", "vent"), ())


@pytest.mark.parametrize(
    ("washed", "named"),
    [
        (wash("2025-06-01"), False),
        (wash("../2025-06-09"), False),
        (wash("2025-06-08"), False),
        (wash("2025-06-08", findings=[finding("f9", "vent", 1, attribution=["i1"])]), True),
        (wash(WINDOW_ENDS, "2025-06-08T23:59:00Z"), True),
        (wash("2025-06-09", zones=["skylight"]), False),
    ],
)
def test_a_wash_is_one_behind_the_hail_if_it_began_behind_it_or_names_it(washed, named):
    assert (Kind.WASHED_FIRST in kinds(*hail(washed))) is named


@pytest.mark.parametrize(
    ("shown", "when", "named"),
    [
        (after(files=[SHOWN]), "2025-06-09", False),
        (after(files=[FIELD_BARE]), "2025-06-08T17:40-05:00", False),
        (after(files=[FIELD_BARE]), "2025-06-08T17:39-05:00", True),
        (pictures("2025-06-08T23:00:00Z", SHOWN), "2025-06-08T18:00-05:00", False),
        (pictures("2025-06-08T23:00:00Z", FIELD_BARE | {"incidents": ["i1"]}), "2025-06-09", True),
    ],
)
def test_a_picture_is_ahead_of_the_wash_if_it_was_taken_by_its_end(shown, when, named):
    washed = wash(when, "2025-06-09T23:00:00Z")
    assert (Kind.WASHED_FIRST in kinds(*hail(shown, washed))) is named


def test_what_the_wind_left_no_wash_takes_away():
    wind = incident(stated_cause="wind")
    assert Kind.WASHED_FIRST not in kinds(before(), wind, after(), wash("2025-06-09"))


def test_a_wash_takes_bark_and_sap_out_of_a_scrape_too():
    found = the(Kind.WASHED_FIRST, before(), incident(), after(), wash("2025-06-09"))
    assert found.about == {"zones": ("field-mr",), "left": "groove"}
    assert found.today == (Step.LOOK_NOW,)


def test_each_zone_is_late_by_the_cover_over_it():
    torn = [finding("f3", "field-mr", 4, type="D12"), finding("f4", "vent", 4, type="D12")]
    told = (
        incident(zones=["field-mr", "vent"]),
        found_after(*torn),
        cover(logged="2025-06-08T23:40:00Z"),
    )
    late = cover("2025-06-10T17:30-05:00", "2025-06-10T23:00:00Z")
    late["body"]["zones"] = ["field-mr", "vent"]
    found = the(Kind.LATE_COVER, *told, late)
    assert (found.entries, found.about) == ((9,), {"minutes": (2930, 2930)})


def test_a_cover_over_one_zone_does_not_stand_for_the_other():
    torn = [finding("f3", "field-mr", 4, type="D12"), finding("f4", "vent", 4, type="D12")]
    both = incident(zones=["field-mr", "vent"])
    found = against(both, found_after(*torn), cover(logged="2025-06-08T23:40:00Z"))
    assert only(Kind.NO_COVER, found).about == {"zones": ("vent",)}


# Parts


def test_parts_thrown_away_or_out_of_sight_are_each_answered_by_their_own_pictures():
    told = (
        before(),
        incident(),
        after(),
        custody("removed", "vent lid", files=[photo(None, name="lid.jpg")]),
        custody("removed", "hose", files=[photo(None, name="hose.jpg")], where="on the shelf"),
        custody("discarded", "vent lid"),
        custody("sent", "hose"),
        custody("discarded", "rope", incidents=[]),
    )
    found = against(*told)
    assert only(Kind.PART_DISCARDED, found) == Challenge(
        Kind.PART_DISCARDED,
        Grave.WEIGHT,
        (11,),
        answered(How.PICTURED, 9),
        (Step.KEEP_PART,),
        {"item": "vent lid"},
    )
    assert only(Kind.PART_UNACCOUNTED, found) == Challenge(
        Kind.PART_UNACCOUNTED,
        Grave.WEIGHT,
        (12,),
        answered(How.PICTURED, 10),
        (Step.KEEP_PART,),
        {"item": "hose"},
    )


def test_a_part_that_is_kept_or_whose_place_is_told_is_no_weak_point():
    told = (before(), incident(), after())
    parts = {Kind.PART_DISCARDED, Kind.PART_UNACCOUNTED}
    assert not parts & kinds(*told, custody("removed"), custody("kept"))
    assert not parts & kinds(*told, custody("removed", where="on the shelf"))


def test_a_part_replaced_and_written_down_nowhere_is_named():
    replaced = repair("2025-06-20", zones=["vent", "field-mr"])
    told = (before(), incident(), after(), replaced)
    assert the(Kind.PARTS_UNWRITTEN, *told) == Challenge(
        Kind.PARTS_UNWRITTEN,
        Grave.WEIGHT,
        (9,),
        (),
        (Step.KEEP_PART,),
        {"zones": ("field-mr",)},
    )
    assert Kind.PARTS_UNWRITTEN not in kinds(*told, custody("kept"))


@pytest.mark.parametrize(
    "work",
    [
        repair("2025-06-20", "patch"),
        repair("2025-06-20", zones=["vent"]),
        repair("2025-06-01"),
    ],
)
def test_other_work_elsewhere_or_before_takes_no_part_away(work):
    assert Kind.PARTS_UNWRITTEN not in kinds(before(), incident(), after(), work)


# Cover


def found_after(*found: Told, **more: object) -> Told:
    """The look after, with these findings."""
    body = {"occasion": "after-event", "findings": list(found), "incidents": ["i1"], **more}
    grades = {one["zone"]: one["grade"] for one in found}
    return look("2025-06-08T17:40-05:00", grades, body=body, logged="2025-06-08T22:55:00Z")


def gone(name: str, zone: str = "field-mr") -> Told:
    body = {"rechecks": [{"finding": name, "state": "gone", "grade": 0}]}
    return look("2025-07-01", {zone: 0}, body=body)


def test_a_cover_that_came_late_is_answered_by_the_deferrals_since():
    """D12, grade 4: within a day (TRADE § 4). 10 June 17:30 is 2 days 50 minutes after 16:40."""
    found = the(
        Kind.LATE_COVER,
        before(),
        deferral("2025-06-01"),
        incident(),
        after(),
        deferral("2025-06-09"),
        repair("2025-06-09", "patch"),
        cover("2025-06-10T17:30-05:00", "2025-06-10T23:00:00Z"),
    )
    assert found == Challenge(
        Kind.LATE_COVER,
        Grave.WEIGHT,
        (12,),
        answered(How.DEFERRAL, 10),
        (),
        {"minutes": (2930, 2930)},
    )


@pytest.mark.parametrize(
    ("when", "late"),
    [
        ("2025-06-09T16:40-05:00", False),
        ("2025-06-09T16:41-05:00", True),
        ("2025-06-09T16:40-05:00/2025-06-11T12:00-05:00", False),
    ],
)
def test_a_cover_is_late_if_it_certainly_came_after_the_catalogues_day(when, late):
    told = (before(), incident(), after(), cover(when, "2025-06-11T23:00:00Z"))
    assert (Kind.LATE_COVER in kinds(*told)) is late


def test_the_days_for_cover_are_those_of_the_finding_that_wants_it_first():
    """D09 wants action within 60 days, from grade 3 on within 7; D12 within 1 (TRADE § 4)."""
    lifting = finding("f3", "field-mr", 4, type="D09")
    torn = finding("f4", "field-mr", 4, type="D12")
    covered = cover("2025-06-14T12:00-05:00", "2025-06-14T23:00:00Z")
    late = cover("2025-06-16T12:00-05:00", "2025-06-16T23:00:00Z")
    assert Kind.LATE_COVER not in kinds(incident(), found_after(lifting), covered)
    assert Kind.LATE_COVER in kinds(incident(), found_after(lifting), late)
    assert Kind.LATE_COVER in kinds(incident(), found_after(lifting, torn), covered)


def test_a_place_found_urgent_and_never_covered_is_answered_by_deferrals_and_repairs_since():
    found = the(
        Kind.NO_COVER,
        repair("2025-06-01", "patch"),
        incident(zones=["vent", "field-mr"]),
        found_after(
            finding("f3", "vent", 4, type="D12"),
            finding("f4", "field-mr", 4, type="D12"),
            finding("f5", "field-mr", 4, type="D02"),
        ),
        deferral("2025-06-09"),
        repair("2025-06-09", "patch", zones=["skylight"]),
        repair("2025-06-10", "patch"),
    )
    assert found == Challenge(
        Kind.NO_COVER,
        Grave.WEIGHT,
        (8,),
        (Answer(How.DEFERRAL, (9,)), Answer(How.REPAIRED, (11,), leaves=("vent",))),
        (Step.COVER_NOW,),
        {"zones": ("vent", "field-mr")},
    )


def test_what_is_gone_by_now_needs_no_cover_any_more():
    """It stood uncovered all the same."""
    torn = finding("f3", "field-mr", 4, type="D12")
    found = the(Kind.NO_COVER, incident(), found_after(torn), gone("f3"))
    assert (found.entries, found.today) == ((7,), ())


def test_what_was_not_found_urgent_needs_no_cover():
    assert Kind.NO_COVER not in kinds(incident(), found_after(finding("f3", "field-mr", 3)))


# Notice


def test_without_a_notice_one_can_still_be_given():
    assert the(Kind.NO_NOTICE, before(), incident(), after()) == Challenge(
        Kind.NO_NOTICE, Grave.WEIGHT, (), (), (Step.NOTIFY_NOW,), {}
    )


def test_a_notice_later_than_seven_days_is_named_with_its_days():
    found = the(Kind.LATE_NOTICE, incident(), notice("2025-06-16", "2025-06-16T23:00:00Z"))
    assert found == Challenge(Kind.LATE_NOTICE, Grave.WEIGHT, (7,), (), (), {"days": (8, 8)})


@pytest.mark.parametrize("when", ["2025-06-15", "2025-06-14/2025-06-20"])
def test_a_notice_that_may_have_gone_out_by_the_seventh_day_is_not_late(when):
    told = (incident(), notice(when, "2025-06-20T23:00:00Z"))
    assert not {Kind.NO_NOTICE, Kind.LATE_NOTICE} & kinds(*told)

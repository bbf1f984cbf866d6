"""What is due, by when and by whose rule."""

from datetime import date
from typing import Any

import pytest

from evidence.trade import load_catalogue
from evidence.upkeep import Due, what_is_due
from tests.scenarios.build import LOOK_90, RIG, ZONES, Told, look, measured, starter, tell
from tests.upkeep.telling import found, handed_over, incident, reseal, trip

BOTH = LOOK_90 | {"zones": ["skylight", "vent"]}


def due(told: list[Told], on: str, *rules: Told) -> tuple[Due, ...]:
    standing = measured([*starter(rules=rules or (LOOK_90,)), *told], on)
    return what_is_due(standing, load_catalogue())


def test_zones_that_fall_due_together_stand_in_one_row_the_earliest_first():
    told = [look("2025-02-01", {"skylight": 0, "vent": 0}), look("2025-03-01")]
    rows = due(told, "2025-05-10", BOTH)
    assert [(row.zones, row.by, row.overdue) for row in rows] == [
        (("vent",), date(2025, 5, 2), (8, 8)),
        (("skylight",), date(2025, 5, 30), (0, 0)),
    ]
    assert {(row.rule, row.basis, row.authority) for row in rows} == {
        ("look-90", "owners-own", "maker's booklet, 2023 edition, p. 14")
    }


def test_after_a_month_dated_look_what_is_overdue_is_an_interval():
    """Some day of February, 1st … 28th, + 90: 2 May … 29 May. On 10 June: 12 to 39 days over."""
    (row,) = due([look("2025-02", logged="2025-03-01T12:00:00Z")], "2025-06-10")
    assert (row.by, row.overdue) == (date(2025, 5, 2), (12, 39))


def test_a_dropped_zone_and_an_ended_rule_are_not_due():
    kept = [zone for zone in ZONES if zone["id"] != "vent"]
    told = [tell("rig", RIG | {"zones": kept}, "2025-02-01T12:00:00Z")]
    assert [row.zones for row in due(told, "2025-06-01", BOTH)] == [("skylight",)]
    assert due([], "2025-06-01", LOOK_90 | {"applies_to": "2025-03-01"}) == ()


def test_a_look_may_be_had_without_a_climb():
    (row,) = due([], "2025-02-01")
    assert "pole-camera" in row.ways
    assert not {"ground", "inside"} & set(row.ways)
    (bound,) = due([], "2025-02-01", LOOK_90 | {"means": ["drone", "ground"]})
    assert bound.ways == ("ground", "drone")


@pytest.mark.parametrize("task", ["wash", "reseal", "moisture"])
def test_what_is_done_by_hand_has_no_ways_of_looking(task: str):
    rows = due([], "2025-02-01", LOOK_90 | {"task": task, "zones": ["ceiling", "skylight"]})
    assert {row.ways for row in rows} == {()}


def test_an_undone_duty_is_due_with_its_missing_zones():
    trip = tell(
        "trip", {"id": "t1", "out": "2025-06-01", "back": "2025-06-08"}, "2025-06-08T22:00:00Z"
    )
    after = BOTH | {"id": "after-trip", "task": "after-trip", "days": 7}
    rows = due([trip, look("2025-06-10")], "2025-06-20", after)
    (row,) = rows
    assert (row.task, row.zones, row.by, row.overdue) == (
        "after-trip",
        ("vent",),
        date(2025, 6, 15),
        (5, 5),
    )
    assert "pole-camera" in row.ways


def test_what_was_to_be_done_before_storage_is_not_due_behind_it():
    before = LOOK_90 | {"id": "b", "task": "before-storage", "days": 14}
    stored = tell("storage", {"id": "s1", "from": "2025-06-01"}, "2025-06-01T22:00:00Z")
    assert [row.task for row in due([stored], "2025-06-01", before)] == ["before-storage"]
    assert due([stored], "2025-06-02", before) == ()


def test_an_open_finding_is_due_by_its_act_by():
    rows = due([found()], "2025-06-20")
    row = next(row for row in rows if row.task == "finding")
    assert (row.zones, row.by, row.rule, row.overdue) == (
        ("skylight",),
        date(2025, 6, 17),
        None,
        (3, 3),
    )
    assert row.required


@pytest.mark.parametrize(("who", "required"), [("dealer", False), ("owner", True)])
def test_what_somebody_else_signed_for_is_not_the_owners_to_do(who: str, required: bool):  # noqa: FBT001
    told: list[Any] = [found(), handed_over("dealer", "owner", responsible=who)]
    row = next(row for row in due(told, "2025-06-20") if row.task == "finding")
    assert (row.by, row.required) == (date(2025, 8, 1), required)


def test_what_is_settled_or_gone_is_not_due():
    gone = {"rechecks": [{"finding": "f1", "state": "gone", "grade": 0}]}
    rows = due([found(), look("2025-06-11", body=gone)], "2025-06-20")
    assert [row.task for row in rows] == ["inspection"]


# Safe ways first


def on_a(walkable: str, told: list[Told], on: str, *rules: Told) -> tuple[Due, ...]:
    rig = RIG | {"walkable": walkable}
    standing = measured([*starter(rules=rules or (LOOK_90,), rig=rig), *told], on)
    return what_is_due(standing, load_catalogue())


def test_where_nobody_should_climb_each_row_about_the_roof_says_why_and_what_else():
    wash = LOOK_90 | {"id": "w", "task": "wash"}
    rows = on_a("unknown", [found()], "2025-06-20", LOOK_90, wash)
    assert {row.unsafe for row in rows} == {"the roof is not on record as walkable"}
    ways = {row.task: row.ways for row in rows}
    assert ways == {
        "inspection": ("pole-camera", "drone", "platform", "deferral"),
        "wash": ("platform", "deferral"),
        "finding": ("platform", "deferral"),
    }


def test_what_is_due_inside_needs_no_climb_and_no_caution_about_ladders():
    inside = LOOK_90 | {"zones": ["ceiling"]}
    (row,) = on_a("no", [], "2025-02-01", inside)
    assert (row.unsafe, row.ways) == (None, ())
    catalogue = load_catalogue()
    ladder = catalogue.cautions["ladder"].text
    assert ladder not in row.cautions
    (roof,) = on_a("no", [], "2025-02-01")
    assert ladder in roof.cautions


def test_a_moisture_survey_has_no_ways_of_looking_even_where_nobody_should_climb():
    (row,) = on_a("no", [], "2025-02-01", LOOK_90 | {"task": "moisture", "zones": ["ceiling"]})
    assert row.ways == ()


# What follows something whose day is not known


def test_what_comes_after_a_trip_under_way_stands_last_and_has_no_date():
    after = BOTH | {"id": "after-trip", "task": "after-trip", "days": 7}
    rows = due([trip("t1", "2025-06-18")], "2025-06-20", LOOK_90, after)
    assert [(row.task, row.by, row.once) for row in rows] == [
        ("inspection", date(2025, 4, 5), None),
        ("after-trip", None, "back"),
    ]
    assert rows[1].overdue == (0, 0)
    assert rows[1].authority == LOOK_90["authority"]


def test_what_a_warranty_end_brings_is_due_ahead_of_it_and_says_when_it_ends():
    """From 30 days before 30 June, on 31 May, to the day itself."""
    end = LOOK_90 | {"id": "e", "task": "before-warranty-end", "days": 30,
                     "applies_to": "2025-06-30"}  # fmt: skip
    (row,) = due([], "2025-02-01", end)
    assert row.by == date(2025, 6, 30)
    assert row.why == "the warranty ends on 2025-06-30 (entry 6); not before 2025-05-31"


@pytest.mark.parametrize(
    ("task", "days", "told", "why"),
    [
        ("after-trip", 7, [trip("t", "2025-06-01", "2025-06-08")],
         "back from a trip on 2025-06-08 (entry 7)"),
        ("after-event", 2, [incident()], "the incident was over on 2025-06-08 (entry 7)"),
        ("after-reseal", 30, [reseal("2025-06-08", settles=[])],
         "resealed (entry 7); not before 2025-06-08"),
        ("out-of-storage", 14,
         [tell("storage", {"id": "s", "from": "2025-06-01", "to": "2025-06-08"},
               "2025-06-08T22:00:00Z")],
         "out of storage on 2025-06-08 (entry 7)"),
        ("before-storage", 14,
         [tell("storage", {"id": "s", "from": "2025-06-20"}, "2025-06-20T22:00:00Z")],
         "storage begins (entry 7); not before 2025-06-06"),
    ],
)  # fmt: skip
def test_a_duty_says_what_set_it_going(task: str, days: int, told: list[Told], why: str):
    (row,) = due(told, "2025-06-20", LOOK_90 | {"id": "d", "task": task, "days": days})
    assert row.why == why
    assert row.of == 6


# To be kept off


SOFT = {"id": "s1", "zone": "vent", "type": "D17", "grade": 4}


@pytest.mark.parametrize("task", ["inspection", "wash"])
def test_a_place_with_an_open_soft_spot_stands_in_a_row_of_its_own_without_a_climb(task):
    told = [look("2025-06-10", {"skylight": 0, "vent": 4}, body={"findings": [SOFT]})]
    rows = [row for row in due(told, "2025-06-12", BOTH | {"task": task}) if row.task == task]
    assert [row.zones for row in rows] == [("skylight",), ("vent",)]
    free, off = rows
    assert free.unsafe is None
    assert off.unsafe == "keep off ceiling vent (soft spot, entry 7)"
    assert not {"ladder", "on-roof"} & set(off.ways)
    assert off.ways[-1] == "deferral"
    assert off.cautions[0].startswith("Keep off ceiling vent (soft spot, entry 7). Nobody steps ")
    assert off.cautions[1:] == free.cautions


def test_to_act_on_a_soft_spot_asks_for_no_climb_and_another_finding_there_neither():
    other = SOFT | {"id": "s2", "type": "D06", "grade": 2}
    told = [look("2025-06-10", {"vent": 4}, body={"findings": [SOFT, other]})]
    rows = [row for row in due(told, "2025-06-12") if row.task == "finding"]
    assert {row.finding: row.ways for row in rows} == dict.fromkeys(
        ("s1", "s2"), ("platform", "deferral")
    )


def test_what_speaks_against_every_climb_comes_before_what_speaks_against_one():
    told = [look("2025-06-10", {"vent": 4}, body={"findings": [SOFT]})]
    rows = on_a("no", told, "2025-06-12", BOTH)
    assert {row.unsafe for row in rows} == {"the roof is on record as not walkable"}
    assert any(row.cautions[0].startswith("Keep off") for row in rows)


def test_what_is_soft_inside_asks_nobody_to_keep_off_the_roof():
    inside = SOFT | {"zone": "ceiling"}
    told = [look("2025-06-10", {"ceiling": 4}, body={"findings": [inside]})]
    assert all(row.unsafe is None for row in due(told, "2025-06-12"))

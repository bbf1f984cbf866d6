"""The ways to do a thing: the safest first, and no climb where the record speaks against one."""

import pytest

from evidence.upkeep.ways import against_a_climb, ways_of_looking, ways_of_working
from evidence.words import Means
from tests.scenarios.build import RIG, Told, history, starter, tell


def reason(*told: Told, on: str = "2025-02-01", **rig: str) -> str | None:
    return against_a_climb(history([*starter(rig=RIG | rig), *told], on))


def put_off(when: str, why: str) -> Told:
    return tell("deferral", {"when": when, "task": "inspection", "why": why}, f"{when}T20:00:00Z")


def test_the_safest_way_stands_first_and_the_roof_itself_last():
    assert ways_of_looking(None, climb=True) == (
        "pole-camera", "drone", "platform", "ladder", "on-roof",
    )  # fmt: skip


def test_where_nobody_should_climb_a_dated_deferral_takes_the_place_of_ladder_and_roof():
    assert ways_of_looking(None, climb=False) == ("pole-camera", "drone", "platform", "deferral")
    assert ways_of_working(climb=False) == ("platform", "deferral")
    assert ways_of_working(climb=True) == ()


def test_a_rule_that_counts_only_climbs_leaves_the_deferral_alone():
    assert ways_of_looking([Means.ON_ROOF, Means.LADDER], climb=False) == ("deferral",)
    assert ways_of_looking([Means.ON_ROOF, Means.GROUND], climb=True) == ("ground", "on-roof")


@pytest.mark.parametrize(
    ("walkable", "said"),
    [
        ("yes", None),
        ("no", "the roof is on record as not walkable"),
        ("unknown", "the roof is not on record as walkable"),
    ],
)
def test_a_roof_that_is_not_known_to_be_walkable_is_not_climbed(walkable: str, said: str | None):
    assert reason(walkable=walkable) == said


def test_in_storage_nobody_climbs_until_it_has_ended():
    stored = tell("storage", {"id": "s", "from": "2025-01-20"}, "2025-01-20T20:00:00Z")
    assert reason(stored) == "in storage since 2025-01-20 (entry 7)"
    out = tell("end", {"of": "s", "when": "2025-02-01"}, "2025-02-01T20:00:00Z")
    assert reason(stored, out) is None


@pytest.mark.parametrize("why", ["unsafe", "weather", "access"])
def test_what_was_put_off_speaks_against_a_climb_for_a_week(why: str):
    told = put_off("2025-02-01", why)
    assert reason(told, on="2025-02-01") == f"put off on 2025-02-01: {why} (entry 7)"
    assert reason(told, on="2025-02-08") is not None
    assert reason(told, on="2025-02-09") is None


@pytest.mark.parametrize("why", ["ill", "other"])
def test_what_was_put_off_for_another_reason_says_nothing_of_the_roof(why: str):
    assert reason(put_off("2025-02-01", why)) is None

"""What counts for a rule, in which zones, and what counts on time (OUTPUTS § 2)."""

from datetime import date

import pytest

from evidence.upkeep.gaps import Gap, RuleGaps
from tests.scenarios.build import LOOK_90, ZONES, Told, look, measured, starter, tell

BOTH = {"skylight": 0, "vent": 0}


def rule(**changes: object) -> Told:
    return {**LOOK_90, **changes}


def measure(entries: list[Told], on: str, *rules: Told) -> RuleGaps:
    (row,) = measured([*starter(rules=rules or (LOOK_90,)), *entries], on).rules
    return row


def days(gaps: tuple[Gap, ...]) -> list[tuple[int, int]]:
    return [gap.days for gap in gaps]


def zone_days(row: RuleGaps, zone: str) -> list[tuple[int, int]]:
    return days(next(found.gaps for found in row.zones if found.zone == zone))


def test_a_look_covers_only_the_zones_that_it_lists():
    told = [look("2025-02-01", BOTH), look("2025-03-01")]
    row = measure(told, "2025-04-01", rule(zones=["skylight", "vent"]))
    assert zone_days(row, "skylight") == [(27, 27), (28, 28), (31, 31)]
    assert zone_days(row, "vent") == [(27, 27), (59, 59)]


def test_a_rule_names_zones_by_id_or_type_and_else_means_all():
    names = {zone["id"] for zone in ZONES}
    assert {row.zone for row in measure([], "2025-02-01", rule(zones=["Z11", "vent"])).zones} == {
        "skylight",
        "vent",
    }
    without = {name: value for name, value in LOOK_90.items() if name != "zones"}
    assert {row.zone for row in measure([], "2025-02-01", without).zones} == names


def test_a_wash_of_all_covers_all_of_the_roof():
    washing = rule(task="wash", days=365)
    del washing["zones"]
    told = [tell("wash", {"when": "2025-02-01", "zones": "all"}, "2025-02-01T20:00:00Z")]
    row = measure(told, "2025-03-01", washing)
    assert {found.zone for found in row.zones} == {"field-mr", "skylight", "vent", "rail-left"}
    assert row.last == date(2025, 2, 1)


@pytest.mark.parametrize("means", ["ground", "inside"])
def test_a_look_from_below_covers_no_zone_of_the_roof_but_the_ceiling(means: str):
    told = [look("2025-02-01", {"skylight": 0, "ceiling": 0}, body={"means": means})]
    row = measure(told, "2025-03-01", rule(zones=["skylight", "ceiling"]))
    assert zone_days(row, "skylight") == [(55, 55)]
    assert zone_days(row, "ceiling") == [(27, 27), (28, 28)]


def test_a_look_from_the_ground_counts_where_the_rule_says_so():
    told = [look("2025-02-01", body={"means": "ground"})]
    row = measure(told, "2025-03-01", rule(means=["on-roof", "ground"]))
    assert zone_days(row, "skylight") == [(27, 27), (28, 28)]


def test_where_a_rule_names_its_means_no_other_counts():
    told = [look("2025-02-01", body={"means": "drone"})]
    assert measure(told, "2025-03-01", rule(means=["on-roof"])).last is None


@pytest.mark.parametrize(("treats", "last"), [("uv", date(2025, 2, 1)), ("other", None)])
def test_only_a_treatment_against_sunlight_is_one(treats: str, last: date | None):
    body = {"when": "2025-02-01", "zones": "all", "product": "a polish", "treats": treats}
    told = [tell("treatment", body, "2025-02-01T20:00:00Z")]
    assert measure(told, "2025-03-01", rule(task="treatment", days=365)).last == last


def test_a_moisture_rule_that_names_no_zone_means_the_inside():
    reading = {
        "when": "2025-02-01",
        "zone": "ceiling",
        "spot": "left",
        "value_pct10": 110,
        "scale": "wood-mc",
        "meter": "pin",
    }
    moisture = rule(task="moisture", days=365)
    del moisture["zones"]
    row = measure([tell("reading", reading, "2025-02-01T20:00:00Z")], "2025-03-01", moisture)
    assert [(found.zone, found.last) for found in row.zones] == [("ceiling", date(2025, 2, 1))]


def test_a_reseal_counts_in_the_zones_that_its_sealant_suits():
    """Self-levelling runs off a vertical rail (TRADE § 2: N), and suits a flat skylight (Y)."""
    body = {
        "when": "2025-02-01",
        "zones": ["skylight", "rail-left"],
        "extent": "spot",
        "family": "self-levelling",
    }
    row = measure(
        [tell("reseal", body, "2025-02-01T20:00:00Z")],
        "2025-03-01",
        rule(task="reseal", days=365, zones=["skylight", "rail-left"]),
    )
    lasts = {found.zone: found.last for found in row.zones}
    assert lasts == {"skylight": date(2025, 2, 1), "rail-left": None}


def test_a_withdrawn_look_covers_nothing():
    gone = tell("correction", {"of": 6, "withdraw": True, "why": "x"}, "2025-02-02T20:00:00Z")
    assert measure([look("2025-02-01"), gone], "2025-03-01").last is None


def test_a_look_logged_late_counts_as_stated_but_not_on_time():
    """5 Jan → 1 April = 86; without it 5 Jan → 1 May = 116, 26 over."""
    told = [look("2025-04-01", logged="2025-04-10T12:00:00Z")]
    row = measure(told, "2025-05-01")
    assert (row.met_as_stated, row.met_on_time) == ("yes", "no")


@pytest.mark.parametrize(
    ("logged", "met"), [("2025-04-02T05:00:00Z", "yes"), ("2025-04-02T05:00:01Z", "no")]
)
def test_on_time_is_within_24_hours_of_the_earliest_time(logged: str, met: str):
    """1 April begins in Chicago at 05:00 UTC."""
    assert measure([look("2025-04-01", logged=logged)], "2025-05-01").met_on_time == met


@pytest.mark.parametrize(
    ("change", "met"),
    [
        ({"when": "2025-03-31"}, "no"),
        ({"zones": [{"zone": "skylight", "grade": 1}]}, "no"),
        ({"occasion": "follow-up"}, "yes"),
    ],
)
def test_a_look_corrected_in_time_or_zones_is_not_on_time(change: Told, met: str):
    fix = tell("correction", {"of": 6, "set": change, "why": "x"}, "2025-04-02T12:00:00Z")
    row = measure([look("2025-04-01"), fix], "2025-05-01")
    assert (row.met_as_stated, row.met_on_time) == ("yes", met)


def test_under_a_rule_logged_after_the_gap_nothing_before_was_on_time():
    """The rule is logged on 2 April and says that it applies from January."""
    late = tell("rule", LOOK_90, "2025-04-02T12:00:00Z")
    told = [*starter(rules=[]), look("2025-04-01"), late, look("2025-04-20")]
    (row,) = measured(told, "2025-05-01").rules
    assert (row.met_as_stated, row.met_on_time) == ("yes", "no")  # on time 5 Jan → 20 April = 105


def test_a_rule_logged_on_the_day_of_the_look_but_after_it_does_not_count_it():
    late = tell("rule", LOOK_90, "2025-04-01T22:00:00Z")
    seen = look("2025-04-01T12:00-05:00", logged="2025-04-01T17:30:00Z")
    (row,) = measured([*starter(rules=[]), seen, late], "2025-04-20").rules
    assert (row.met_as_stated, row.met_on_time) == ("yes", "no")


@pytest.mark.parametrize(("second", "met"), [("00", "yes"), ("01", "no")])
def test_a_look_that_ended_as_the_rule_was_logged_counts_on_time(second: str, met: str):
    """1 January to 1 April: 90 days; from 6 January, 85."""
    stated = rule(applies_from="2025-01-01", days=85)
    told = [
        *starter(rules=[]),
        look("2025-01-06T12:00:00-06:00", logged="2025-01-06T18:00:00Z"),
        tell("rule", stated, f"2025-01-06T18:00:{second}Z"),
    ]
    assert measured(told, "2025-04-01").rules[0].met_on_time == met


def test_a_look_behind_an_outsiders_later_answer_is_not_on_time():
    """Its own clock says 1 April; the chain holds an answer of 20 April ahead of it."""
    reset = {"was": "2025-04-20T12:01:00Z", "is": "2025-04-01T17:00:00Z", "why": "set back"}
    told = [
        tell("photos", {}, "2025-04-20T12:00:00Z", witness=True),
        tell("clock", reset, "2025-04-01T17:00:00Z"),
        look("2025-04-01", logged="2025-04-01T18:00:00Z"),
    ]
    row = measure(told, "2025-05-01")
    assert (row.met_as_stated, row.met_on_time) == ("yes", "no")

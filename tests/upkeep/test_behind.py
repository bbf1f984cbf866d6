"""A clock set back writes nothing into the past: the order of the chain shows it (RECORD §§ 2, 3).

The story: the record stands in June 2025. Its owner enters that his clock ran two years ahead, goes
back to 2023, and writes a look and an incident "of that time", all in order by his own clock.
"""

from datetime import date

import pytest

from evidence.times import parse_utc
from evidence.upkeep import read_history
from evidence.upkeep.standing import logged_after
from tests.scenarios.build import Told, build, history, look, measured, shown, starter, tell
from tests.upkeep.fitting import BEFORE, NOW, refused
from tests.upkeep.telling import incident, rule

TODAY = "2025-06-10T12:00:00Z"
BACK = tell(
    "clock", {"was": TODAY, "is": "2023-06-01T12:00:00Z", "why": "ran"}, "2023-06-01T12:00:00Z"
)
LOOK = look("2023-06-02")
STRUCK = incident("2023-06-08T16:40-05:00", "2023-06-08T22:00:00Z")
STORY = [tell("photos", {}, TODAY), BACK, LOOK, STRUCK]
"""Entries 6 to 9."""


def test_a_look_behind_a_clock_set_back_is_claimed_and_supports_nothing():
    facts = measured(STORY, "2025-12-31").incident("i1")
    assert facts is not None
    (zone,) = facts.zones
    assert (zone.before_state, zone.before, zone.claimed_before) == ("unknown", None, (8,))


def test_without_the_step_back_the_same_look_is_before():
    begun = starter(logged="2023-04-01T18:00:00Z")
    facts = measured([*begun, LOOK, STRUCK], "2025-12-31").incident("i1")
    assert facts is not None
    before = facts.zones[0].before
    assert before is not None
    assert (before.seq, before.support) == (6, "own-clock-before")


def test_by_its_own_clock_it_is_within_24_hours_and_it_counts_for_nothing_on_time():
    cut = history(STORY, "2025-12-31")
    item = cut.item(8)
    assert item is not None
    assert (item.within_24h, item.on_time, item.seq in cut.prompt) == (True, False, False)
    assert item.known_from == parse_utc(TODAY)


def test_a_rule_is_kept_as_stated_and_not_on_time_by_what_was_written_so():
    """Every 90 days from 1 April 2023: the look of 2 June would keep it to the end of August."""
    stated = rule(applies_from="2023-04-01", applies_to="2023-08-31")
    begun = starter(rules=[stated], logged="2023-04-01T18:00:00Z")
    row = measured([*begun, *STORY[:3]], "2025-12-31").rules[0]
    assert (row.met_as_stated, row.met_on_time) == ("yes", "no")
    row = measured([*begun, LOOK], "2025-12-31").rules[0]
    assert (row.met_as_stated, row.met_on_time) == ("yes", "yes")


def test_a_rule_written_so_was_not_known_at_the_time():
    """A look of March 2025 was prompt; the rule that it keeps came behind June's clock."""
    stated = tell("rule", rule(applies_to="2025-06-01"), "2025-01-06T12:01:00Z")
    begun = starter(rules=[])
    late = [look("2025-03-20"), tell("photos", {}, TODAY), look_back("2025-01-06"), stated]
    row = measured([*begun, *late], "2025-06-30").rules[0]
    assert (row.met_as_stated, row.met_on_time) == ("yes", "no")
    row = measured([*begun, stated, look("2025-03-20")], "2025-06-30").rules[0]
    assert (row.met_as_stated, row.met_on_time) == ("yes", "yes")


def test_it_is_said_that_it_was_written_after_an_incident_that_was_over():
    told = [incident(), tell("photos", {}, TODAY), look_back("2025-06-01"), look("2025-06-01")]
    standing = measured(told, "2025-12-31")
    item = standing.history.item(9)
    assert item is not None
    assert logged_after(item, standing.incidents) == ["i1"]


def look_back(day: str, was: str = TODAY) -> Told:
    moment = f"{day}T12:00:00Z"
    return tell("clock", {"was": was, "is": moment, "why": "set by hand"}, moment)


def test_what_is_behind_ends_where_the_clock_has_come_there_again():
    told = [*STORY[:3], look("2025-06-11")]
    assert dict(history(told, "2025-12-31").behind) == dict.fromkeys((7, 8), parse_utc(TODAY))


def test_a_second_step_back_is_measured_from_the_latest_clock():
    again = look_back("2023-01-01", was="2023-06-02T23:59:00Z")
    told = [*STORY[:3], again]
    assert dict(history(told, "2025-12-31").behind) == dict.fromkeys((7, 8, 9), parse_utc(TODAY))


def test_a_correction_behind_a_later_clock_takes_nothing_from_what_stood():
    """The look of May said 3; behind June's clock it is "corrected" to 0 "in May"."""
    change = {"of": 6, "set": {"zones": [{"zone": "skylight", "grade": 0}]}, "why": "mistyped"}
    told = [
        look("2025-05-20", {"skylight": 3}),
        incident(),
        tell("photos", {}, TODAY),
        look_back("2025-05-21"),
        tell("correction", change, "2025-05-21T13:00:00Z"),
    ]
    facts = measured(told, "2025-12-31").incident("i1")
    assert facts is not None
    assert (facts.zones[0].before_state, facts.zones[0].changed_since) == ("open", (6,))


def test_a_clock_that_ran_ahead_is_put_right_by_an_outsider_who_held_it_by_then():
    """It said 2026 in March 2025. An outsider witnessed that very entry in 2025: it is the clock
    that was wrong, and what was written in April 2025 was written on time."""
    ahead, right = "2026-03-01T12:00:00Z", "2025-03-02T12:00:00Z"
    told = [
        tell("photos", {}, ahead),
        tell("clock", {"was": ahead, "is": right, "why": "wrong year"}, right, witness=True),
        look("2025-04-01"),
    ]
    cut = history(told, "2025-12-31")
    assert set(cut.behind) == {7}
    assert cut.behind[7] == parse_utc("2025-03-02T12:01:00Z")
    assert 9 in cut.prompt
    nobody = read_history(build([*starter(), *told]), on=date(2025, 12, 31))
    assert (set(nobody.behind), 9 in nobody.prompt) == ({7, 8, 9}, False)


def test_an_outsider_who_came_later_excuses_no_step_back():
    told = [*STORY[:3], tell("photos", {}, "2025-06-12T12:00:00Z", witness=True)]
    assert history(told, "2025-12-31").behind[8] == parse_utc(TODAY)


@pytest.mark.parametrize("field", ["was", "is"])
def test_no_correction_makes_the_step_back_a_small_one(field: str):
    was = BEFORE[-1]["logged"]
    clock = tell("clock", {"was": was, "is": NOW, "why": "x"}, NOW)
    change = {"of": 11, "set": {field: NOW}, "why": "x"}
    assert f"{field!r} is what the clock said" in refused(clock, tell("correction", change, NOW))


def test_the_document_keeps_its_figures_by_logged():
    row = shown(STORY, "2025-12-31")["entries"][8]
    assert (row["timing"], row["logged"]) == ("within-24h", "2023-06-02T23:59:00Z")

"""What is counted from an incident: cover, notice, routine look, rules, costs, weather."""

from typing import Any

import pytest

from evidence.upkeep.incidents import IncidentFacts
from tests.scenarios.build import LOOK_90, Told, finding, look, measured, starter, tell
from tests.upkeep.telling import after, incident


def facts(entries: list[Told]) -> IncidentFacts:
    found = measured(entries, "2025-12-31").incident("i1")
    assert found is not None
    return found


def cover(when: str, logged: str) -> Told:
    body = {"when": when, "zones": ["skylight"], "what": "sheet", "incidents": ["i1"]}
    return tell("cover", body, logged)


def notice(when: str, logged: str, **more: Any) -> Told:
    body = {
        "when": when,
        "direction": "sent",
        "party": "insurer",
        "type": "loss",
        "incidents": ["i1"],
    }
    return tell("notice", body | more, logged)


def test_the_first_cover_and_the_first_notice_count():
    told = [
        incident(),
        cover("2025-06-08T17:30-05:00", "2025-06-08T22:40:00Z"),
        cover("2025-06-08T17:10-05:00", "2025-06-08T22:41:00Z"),
        notice("2025-06-11", "2025-06-11T15:00:00Z"),
        notice("2025-06-09", "2025-06-11T15:05:00Z"),
    ]
    found = facts(told)
    assert found.covered is not None
    assert found.notice is not None
    assert (found.covered.seq, found.covered.amount) == (8, (30, 30))
    assert (found.notice.seq, found.notice.amount) == (10, (1, 1))


def test_what_ended_before_the_incident_neither_covers_it_nor_gives_notice_of_it():
    told = [
        incident(),
        cover("2025-06-07", "2025-06-08T22:40:00Z"),
        notice("2025-06-01", "2025-06-08T22:41:00Z"),
    ]
    assert (facts(told).covered, facts(told).notice) == (None, None)


@pytest.mark.parametrize(
    "more", [{"direction": "received"}, {"type": "query"}, {"type": "preservation"}]
)
def test_only_a_notice_of_loss_that_was_sent_is_one(more: Told):
    assert facts([incident(), notice("2025-06-09", "2025-06-09T15:00:00Z", **more)]).notice is None


def test_a_cover_after_a_window_of_a_day_counts_from_its_ends():
    """Some time on 8 June until it was logged at 17:00; covered at 18:00: 60 min … 18 h."""
    told = [incident("2025-06-08"), cover("2025-06-08T18:00-05:00", "2025-06-08T23:30:00Z")]
    found = facts(told).covered
    assert found is not None
    assert found.amount == (60, 18 * 60)


def test_after_a_window_without_a_start_the_most_is_counted_from_the_rigs_first_day():
    """Not after 8 June 18:00; covered at 19:00: an hour at least; the rig was built in 2023.

    1 March 2023, 00:00 at -06:00, to 8 June 2025, 19:00 at -05:00: 830 days and 18 hours.
    """
    told = [
        incident("../2025-06-08T18:00-05:00", "2025-06-08T23:30:00Z"),
        cover("2025-06-08T19:00-05:00", "2025-06-09T00:30:00Z"),
        notice("2025-06-09", "2025-06-09T15:00:00Z"),
    ]
    found = facts(told)
    assert found.covered is not None
    assert found.notice is not None
    assert found.covered.amount == (60, 830 * 24 * 60 + 18 * 60)
    assert found.notice.amount == (1, 831)


def test_the_last_routine_look_is_routine():
    told = [look("2025-06-01"), look("2025-06-05", body={"occasion": "after-trip"}), incident()]
    found = facts(told).last_routine_look
    assert found is not None
    assert (found.seq, found.amount) == (6, (7, 7))


def test_of_several_zones_the_last_look_before_and_the_first_after_count():
    """1 → 8 June = 7, 4 → 8 = 4; 8 → 10 = 2, 8 → 12 = 4."""
    told = [
        look("2025-06-01", {"vent": 0}),
        look("2025-06-04", {"skylight": 0}),
        incident(zones=["skylight", "vent", "field-mr"]),
        look("2025-06-10", {"vent": 0}),
        look("2025-06-12", {"skylight": 0}),
    ]
    found = facts(told)
    assert found.last_routine_look is not None
    assert found.first_look_after is not None
    assert (found.last_routine_look.seq, found.last_routine_look.amount) == (7, (4, 4))
    assert (found.first_look_after.seq, found.first_look_after.amount) == (9, (2, 2))


def test_what_the_look_after_in_another_zone_found_is_not_later():
    """f1 was found by the first look at the vent, though the skylight was looked at before it."""
    crack = finding("f1", "vent")
    told = [
        incident(zones=["skylight", "vent"]),
        look("2025-06-10", {"skylight": 0}),
        look("2025-06-12", {"vent": 3}, body={"findings": [crack]}),
    ]
    found = facts(told)
    assert [zone.found for zone in found.zones] == [(), ("f1",)]
    assert found.later == ()


def test_without_a_start_of_the_window_a_rule_counts_up_to_its_end():
    """5 Jan → 8 June = 154 days, 64 over."""
    (under,) = facts([incident("../2025-06-08", "2025-06-08T22:00:00Z")]).rules
    assert (under.met, under.over) == ("no", (64, 64))


def test_a_rule_counts_on_time_up_to_the_incident():
    """5 Jan → 1 Mar = 55, → 8 June = 99: 9 over, whatever was looked at afterwards."""
    told = [look("2025-03-01"), incident(), after()]
    (under,) = facts(told).rules
    assert (under.rule, under.met, under.over) == ("look-90", "no", (9, 9))


def test_a_look_of_that_morning_logged_after_the_incident_does_not_help_the_rule():
    """5 Jan → 8 June = 154 days, 64 over; with the look it would have been the same at best."""
    told = [incident(), look("2025-06-08T08:00-05:00", logged="2025-06-08T22:30:00Z")]
    (under,) = facts(told).rules
    assert (under.met, under.over) == ("no", (64, 64))


@pytest.mark.parametrize(("second", "met", "over"), [("21:40:00", "yes", 0), ("21:40:01", "no", 1)])
def test_a_look_logged_in_the_second_in_which_the_window_begins_helps_the_rule(second, met, over):
    """1 March → 7 June = 98; without the look of that evening it is 99 to 8 June."""
    told = [
        look("2025-03-01"),
        look("2025-06-07T20:00-05:00", logged=f"2025-06-08T{second}Z"),
        incident(),
    ]
    (under,) = facts([*starter(rules=[LOOK_90 | {"days": 98}]), *told]).rules
    assert (under.met, under.over) == (met, (over, over))


def test_a_rule_counts_up_to_the_day_at_home():
    """20:00 on 8 June in Chicago is 9 June in UTC. 1 March → 8 June = 99."""
    told = [look("2025-03-01"), incident("2025-06-08T20:00-05:00", "2025-06-09T12:00:00Z")]
    (under,) = facts(told).rules
    assert under.over == (9, 9)


def test_a_rule_logged_after_the_incident_counts_nothing_before_it():
    told = [
        *starter(rules=[]),
        look("2025-05-01"),
        incident(),
        tell("rule", LOOK_90, "2025-06-09T12:00:00Z"),
    ]
    (under,) = facts(told).rules
    assert under.met == "no"


def test_a_rule_that_did_not_apply_yet_was_not_kept_by_that():
    told = [*starter(rules=[LOOK_90 | {"applies_from": "2025-07-01"}]), incident()]
    (under,) = facts(told).rules
    assert (under.met, under.over) == ("unclear", (0, 0))


def test_a_rule_made_milder_before_the_incident_counts_in_its_days_alone():
    """90 days to 31 March: 5 Jan → 31 Mar = 85 kept. 365 from 1 April: kept."""
    mild = LOOK_90 | {"days": 365, "applies_from": "2025-04-01"}
    told = [tell("rule", mild, "2025-04-01T12:00:00Z"), incident()]
    (under,) = facts(told).rules
    assert (under.met, under.over) == ("yes", (0, 0))
    harsh = LOOK_90 | {"days": 365, "applies_from": "2025-05-01"}
    (under,) = facts([tell("rule", harsh, "2025-05-01T12:00:00Z"), incident()]).rules
    assert (under.met, under.over) == ("no", (25, 25))  # 5 Jan → 30 Apr = 115


def test_a_rule_that_is_not_required_is_not_counted():
    assert facts([*starter(rules=[LOOK_90 | {"required": False}]), incident()]).rules == ()


def test_costs_add_up_by_currency():
    def cost(amount: str, currency: str = "USD", **more: Any) -> Told:
        body = {"when": "2025-06-09", "amount": amount, "currency": currency, "what": "patch"}
        return tell("cost", body | {"incidents": ["i1"]} | more, "2025-06-09T20:00:00Z")

    told = [incident(), cost("1000.25"), cost("234.25"), cost("10", "CAD"), cost("-0.000000050")]
    told.append(cost("99", incidents=None) | {})
    told[-1]["body"].pop("incidents")
    assert facts(told).costs == (("CAD", "10"), ("USD", "1234.499999950"))


def test_the_last_weather_report_stands():
    def weather(status: str) -> Told:
        body = {"incident": "i1", "source": "reports", "status": status, "reports": []}
        return tell("weather", body, "2025-06-20T12:00:00Z")

    found = facts([incident(), weather("preliminary"), weather("final")]).weather
    assert found is not None
    assert found.status == "final"

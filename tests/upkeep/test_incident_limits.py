"""Incidents at their limits: edges of the window, later words, what came between."""

import pytest

from evidence.times import Basis, Span, parse_utc
from evidence.upkeep.incidents import IncidentFacts, ZoneUnderIncident
from tests.scenarios.build import LOOK_90, Told, finding, look, measured, starter, tell
from tests.upkeep.telling import STRIKE, after, correct, incident, reseal

LATER = "2025-07-01T12:00:00Z"


def facts(*told: Told, on: str = "2025-12-31") -> IncidentFacts:
    entries = list(told) if told[0]["kind"] == "party" else [*starter(), *told]
    found = measured(entries, on).incident("i1")
    assert found is not None
    return found


def zone(*told: Told) -> ZoneUnderIncident:
    return facts(*told).zones[0]


def seqs(found: ZoneUnderIncident) -> tuple[int | None, int | None]:
    before, behind = found.before, found.after
    return (None if before is None else before.seq), (None if behind is None else behind.seq)


# The window


def test_a_window_is_cut_at_the_day_on_which_it_was_last_stated():
    """Stated on 8 June as 8 June, on 15 June as 8 to 20 June; a note added later moves nothing."""
    told = (
        incident("2025-06-08", "2025-06-08T22:00:00Z"),
        correct(6, "2025-06-15T12:00:00Z", set={"when": "2025-06-08/2025-06-20"}),
        correct(6, "2025-06-18T12:00:00Z", set={"note": "heard at night"}),
    )
    assert facts(*told).window.latest == parse_utc("2025-06-15T12:00:00Z")


def test_a_window_cut_by_what_was_found_still_rests_on_what_was_stated():
    """An older finding of the zone, gone by then, cuts nothing."""
    gone = {"rechecks": [{"finding": "f1", "state": "gone", "grade": 0}]}
    torn = finding("f2", grade=4)
    told = (
        look("2025-05-01", {"skylight": 3}, body={"findings": [finding("f1")]}),
        look("2025-06-05", body=gone),
        incident("2025-06-01/2025-06-10", "2025-06-10T23:00:00Z", known="found-later"),
        look("2025-06-12", {"skylight": 4}, body={"findings": [torn]}),
    )
    assert facts(*told).window == Span(
        parse_utc("2025-06-05T05:00:00Z"), parse_utc("2025-06-10T23:00:00Z"), Basis.STATED
    )


# Looks


@pytest.mark.parametrize("began", ["2025-06-08T16:40:59-05:00", "2025-06-09"])
def test_a_look_after_stays_one_though_one_that_overlaps_the_window_ended_later(began):
    found = zone(
        incident(),
        look(began, logged="2025-06-09T23:59:00Z"),
        look("2025-06-07/2025-06-20", logged="2025-06-20T23:59:00Z"),
    )
    assert (seqs(found), found.straddling) == ((None, 7), (8,))


def test_a_look_told_afterwards_stays_a_claim_beside_one_that_was_changed_afterwards():
    found = zone(
        look("2025-05-30"),
        incident(),
        look("2025-05-01", logged="2025-06-20T12:00:00Z"),
        correct(6, LATER, set={"occasion": "follow-up"}),
    )
    assert (found.claimed_before, found.changed_since) == ((8,), (6,))


def test_where_nothing_is_known_to_lie_before_a_look_of_an_earlier_day_claims_nothing():
    found = zone(look("2025-06-01"), incident("../2025-06-08T16:40-05:00"))
    assert (found.claimed_before, found.straddling) == ((), (6,))


# What was found


def test_what_was_settled_before_the_incident_was_not_found_after_it():
    told = (
        look("2025-05-01", {"skylight": 3}, body={"findings": [finding("f1")]}),
        reseal("2025-05-10"),
        incident(),
        after(),
    )
    assert zone(*told).found == ()


def test_what_a_deed_after_the_incident_found_ahead_of_the_first_look_was_found():
    """A wash that began when it was over; it names nothing."""
    washed = tell("wash", {"when": "2025-06-09T09:00-05:00", "zones": ["skylight"],
                           "findings": [finding("f1")]}, "2025-06-09T15:00:00Z")  # fmt: skip
    assert zone(incident(), washed, look("2025-06-10")).found == ("f1",)


def test_what_the_first_look_saw_elsewhere_did_not_come_later():
    both = [finding("f1", grade=4), finding("f2", "vent", related=["f1"])]
    told = (incident(), after(body={"findings": both, "incidents": ["i1"]}))
    assert facts(*told).later == ()


def test_a_cover_that_ended_in_the_very_second_of_the_incident_came_no_later_than_it():
    """It names the incident and did not end before it: 0 minutes."""
    at_once = {"when": "2025-06-08T16:40:00-05:00", "zones": ["skylight"], "what": "sheet",
               "incidents": ["i1"]}  # fmt: skip
    covered = facts(incident(STRIKE), tell("cover", at_once, "2025-06-08T22:40:00Z")).covered
    assert covered is not None
    assert (covered.seq, covered.amount) == (7, (0, 0))


# Rules and costs


def test_a_rule_stated_again_for_the_time_after_says_nothing_of_the_time_before():
    later = tell("rule", LOOK_90 | {"days": 30, "applies_from": "2025-08-01"}, LATER)
    told = (look("2025-03-20"), look("2025-06-01"), incident(), later)
    (under,) = facts(*told).rules
    assert (under.rule, under.met) == ("look-90", "yes")


def test_the_smallest_cost_is_written_out():
    """Nine places are the most that the record takes."""
    cost = {"when": "2025-06-09", "amount": "0.000000001", "currency": "USD", "what": "interest",
            "incidents": ["i1"]}  # fmt: skip
    told = (incident(), tell("cost", cost, "2025-06-09T23:59:00Z"))
    assert facts(*told).costs == (("USD", "0.000000001"),)

"""Incidents (OUTPUTS § 2 and § 5). The figures are worked out by hand beside each test."""

from typing import Any

import pytest

from evidence.upkeep.incidents import IncidentFacts, ZoneUnderIncident
from tests.scenarios.build import Told, finding, look, measured, tell
from tests.upkeep import telling
from tests.upkeep.telling import after, incident, reseal


def correct(of: int, logged: str = "2025-07-01T12:00:00Z", **body: Any) -> Told:
    return telling.correct(of, logged, **body)


def facts(entries: list[Told], on: str = "2025-12-31", name: str = "i1") -> IncidentFacts:
    found = measured(entries, on).incident(name)
    assert found is not None
    return found


def zone(entries: list[Told], on: str = "2025-12-31") -> ZoneUnderIncident:
    return facts(entries, on).zones[0]


def before_seq(entries: list[Told]) -> int | None:
    look_before = zone(entries).before
    return None if look_before is None else look_before.seq


# What stood open


@pytest.mark.parametrize(("grade", "state"), [(0, "sound"), (1, "sound"), (2, "open"), (4, "open")])
def test_the_state_before_is_that_of_the_look(grade: int, state: str):
    assert zone([look("2025-06-01", {"skylight": grade}), incident()]).before_state == state


def test_a_finding_that_stood_open_makes_the_zone_open_whatever_the_look_said():
    crack = look("2025-05-01", {"skylight": 3}, body={"findings": [finding("f1")]})
    found = zone([crack, look("2025-06-01", {"skylight": 0}), incident()])
    assert (found.before_state, found.open_before) == ("open", ("f1",))
    assert found.before is not None
    assert (found.before.seq, found.before.grade) == (7, 3)


def test_a_finding_that_grew_only_afterwards_was_not_yet_grave():
    crazed = look(
        "2025-05-01", {"skylight": 1}, body={"findings": [finding("f1", grade=1, type="D01")]}
    )
    worse = {"rechecks": [{"finding": "f1", "state": "worse", "grade": 3}]}
    told = [crazed, incident(), after(body=worse, grade=3)]
    found = zone(told)
    assert (found.before_state, found.open_before, found.found) == ("sound", ("f1",), ())


def test_a_finding_that_got_better_only_afterwards_was_still_grave():
    crack = look("2025-05-01", {"skylight": 3}, body={"findings": [finding("f1")]})
    better = {"rechecks": [{"finding": "f1", "state": "better", "grade": 1}]}
    assert zone([crack, incident(), after(body=better, grade=1)]).before_state == "open"


def test_what_was_settled_before_the_incident_did_not_stand_open():
    told = [
        look("2025-05-01", {"skylight": 3}, body={"findings": [finding("f1")]}),
        reseal("2025-05-10"),
        look("2025-06-01"),
        incident(),
    ]
    assert (zone(told).before_state, zone(told).open_before) == ("sound", ())


def test_what_is_only_said_after_the_incident_to_have_been_settled_before_it_stood_open():
    told = [
        look("2025-05-01", {"skylight": 3}, body={"findings": [finding("f1")]}),
        look("2025-06-01"),
        incident(),
        reseal("2025-05-10", "2025-06-09T20:00:00Z"),
    ]
    found = zone(told)
    assert (found.before_state, found.open_before) == ("open", ("f1",))


def test_what_is_only_said_after_the_incident_to_have_been_seen_before_it_stood_open():
    told = [
        look("2025-05-01"),
        incident(),
        look(
            "2025-06-01",
            {"skylight": 3},
            body={"findings": [finding("f1")]},
            logged="2025-06-09T12:00:00Z",
        ),
    ]
    found = zone(told)
    assert (found.before_state, found.open_before, found.claimed_before) == ("open", ("f1",), (8,))


def test_a_finding_corrected_away_after_the_incident_still_stood_open():
    told = [
        look("2025-06-01", {"skylight": 1}, body={"findings": [finding("f1")]}),
        incident(),
        correct(6, set={"findings": None}),
    ]
    found = zone(told)
    assert (found.before_state, found.open_before) == ("open", ("f1",))


# The window


def test_the_window_is_the_stated_one_cut_at_logged():
    found = facts([incident("2025-06-08", "2025-06-08T22:00:00Z")])
    assert found.window.as_json() == {
        "earliest": "2025-06-08T05:00:00Z",
        "latest": "2025-06-08T22:00:00Z",
    }


def later_found(when: str = "2025-05-20/2025-06-08", **more: Any) -> Told:
    return incident(when, "2025-06-09T12:00:00Z", known="found-later", **more)


def opened(when: str = "2025-06-08T17:00-05:00", **more: Any) -> Told:
    body = {"findings": [finding("f1", grade=4)], "incidents": ["i1"]}
    return look(when, {"skylight": 4}, body=body | more, logged="2025-06-09T13:00:00Z")


def test_found_later_is_cut_by_the_onsets_of_what_was_found():
    """Look without it on 1 June (a whole day), with it on 8 June 17:00."""
    told = [look("2025-06-01"), later_found(), opened()]
    found = facts(told)
    assert found.window.as_json() == {
        "earliest": "2025-06-01T05:00:00Z",
        "latest": "2025-06-08T22:00:59Z",
    }
    before = found.zones[0].before
    assert before is not None
    assert (before.seq, before.days, before.support) == (6, (0, 7), "own-clock-before")


def test_the_look_that_cut_the_window_counts_only_if_logged_within_24_hours():
    told = [look("2025-06-01", logged="2025-06-03T12:00:00Z"), later_found(), opened()]
    found = zone(told)
    assert (found.before, found.claimed_before) == (None, (6,))


def test_a_look_written_down_only_after_the_finding_does_not_cut_the_window():
    told = [
        look("2025-05-01"),
        later_found(),
        opened(),
        look("2025-06-07", logged="2025-06-09T14:00:00Z"),
    ]
    found = facts(told)
    assert found.window.as_json()["earliest"] == "2025-05-20T05:00:00Z"
    assert found.zones[0].before is not None
    assert found.zones[0].before.seq == 6


def test_a_look_that_starts_with_the_stated_window_did_not_cut_it():
    """It may lie on either side of what happened: it straddles."""
    told = [
        look("2025-05-20", {"skylight": 0, "vent": 0}),
        later_found(zones=["vent"]),
        look("2025-06-09", {"vent": 0}, body={"incidents": ["i1"]}),
    ]
    found = zone(told)
    assert (found.before, found.straddling, found.after_state) == (None, (6,), "none")


def test_the_first_look_after_cuts_the_window_though_it_names_nothing():
    told = [
        look("2025-06-01"),
        later_found(),
        look("2025-06-10", {"skylight": 3}, body={"findings": [finding("f1")]}),
    ]
    found = facts(told)
    assert found.window.as_json()["earliest"] == "2025-06-01T05:00:00Z"
    assert found.zones[0].found == ("f1",)


def test_onsets_without_a_common_time_cut_nothing_in_whatever_order():
    """f1 came between 21 and 25 May, f2 between 1 and 8 June: one event does not explain both."""
    early = look("2025-05-25", {"vent": 3}, body={"findings": [finding("f1", "vent")]})
    both = finding("f2", attribution=["i1"])
    name = correct(8, "2025-06-09T14:00:00Z", set={"findings": [finding("f1", "vent") | NAMED]})
    told = [
        look("2025-05-21", {"vent": 0}),
        look("2025-05-22", {"skylight": 0}),
        early,
        look("2025-06-01", {"skylight": 0}),
        later_found(zones=["skylight", "vent"]),
        look(
            "2025-06-08T17:00-05:00",
            {"skylight": 3},
            body={"findings": [both]},
            logged="2025-06-09T13:00:00Z",
        ),
        name,
    ]
    assert facts(told).window.as_json()["earliest"] == "2025-05-20T05:00:00Z"


NAMED: Told = {"attribution": ["i1"]}


def test_not_after_has_nothing_before_it_and_what_was_found_is_found():
    told = [later_found("../2025-06-08"), opened()]
    found = facts(told)
    assert found.window.earliest is None
    assert (found.zones[0].before_state, found.zones[0].after_state) == ("unknown", "finding")
    assert (found.zones[0].open_before, found.zones[0].found) == ((), ("f1",))


def test_not_after_is_cut_by_the_look_without():
    told = [look("2025-06-01"), later_found("../2025-06-08"), opened()]
    assert facts(told).window.as_json()["earliest"] == "2025-06-01T05:00:00Z"
    assert before_seq(told) == 6


def test_a_finding_elsewhere_that_names_the_incident_cuts_the_window_too():
    """The ceiling was dry on 1 June; its stain of 8 June is said to come of the branch."""
    stain = finding("f1", "ceiling", 4, type="D28", attribution=["i1"])
    told = [
        look("2025-06-01", {"ceiling": 0}, body={"means": "inside"}),
        later_found(),
        look(
            "2025-06-08T17:00-05:00",
            {"ceiling": 4},
            body={"means": "inside", "findings": [stain]},
            logged="2025-06-09T13:00:00Z",
        ),
    ]
    found = facts(told)
    assert found.window.as_json() == {
        "earliest": "2025-06-01T05:00:00Z",
        "latest": "2025-06-08T22:00:59Z",
    }
    assert (found.zones[0].found, found.zones[0].after_state) == ((), "not-looked-at")


# Found, later


def test_found_is_what_the_first_look_after_saw_and_later_what_came_behind_it():
    """8 June → 30 June = 22 days."""
    told = [
        look("2025-06-01"),
        incident(),
        after(body={"findings": [finding("f1")]}),
        look("2025-06-30", {"skylight": 3}, body={"findings": [finding("f2")]}),
    ]
    found = facts(told)
    assert found.zones[0].found == ("f1",)
    assert found.later == (("f2", (22, 22)),)


def test_what_a_cover_saw_before_the_first_look_was_found_too():
    cover = {
        "when": "2025-06-08T17:30-05:00",
        "zones": ["skylight"],
        "what": "sheet",
        "incidents": ["i1"],
        "findings": [finding("f1", grade=4, type="D12")],
    }
    told = [look("2025-06-01"), incident(), tell("cover", cover, "2025-06-08T23:00:00Z")]
    assert (zone(told).after_state, zone(told).found) == ("finding", ("f1",))
    same = {"rechecks": [{"finding": "f1", "state": "same", "grade": 4}]}
    seen = facts([*told, after(body=same)])
    assert (seen.zones[0].after_state, seen.zones[0].found) == ("finding", ("f1",))
    assert seen.later == ()


def test_a_zone_that_nobody_looked_at_again_is_not_looked_at():
    told = [look("2025-06-01"), incident(), look("2025-06-09", {"vent": 0})]
    assert zone(told).after_state == "not-looked-at"


def test_what_was_seen_a_year_later_by_no_look_is_not_what_the_incident_left():
    later = reseal("2025-11-01", settles=[], findings=[finding("f1")])
    told = [look("2025-06-01"), incident(), later]
    assert (zone(told).found, zone(told).after_state) == ((), "not-looked-at")


def test_a_related_finding_elsewhere_is_later_too():
    told = [
        incident(),
        after(body={"findings": [finding("f1")]}),
        look(
            "2025-06-30",
            {"ceiling": 4},
            body={"findings": [finding("f2", "ceiling", 4, type="D28", related=["f1"])]},
        ),
        look("2025-06-30", {"vent": 3}, body={"findings": [finding("f3", "vent")]}),
    ]
    assert [name for name, _ in facts(told).later] == ["f2"]


# Two in one week, one withdrawn


def test_two_incidents_in_one_week_with_one_look_behind_both():
    """Hail on the 2nd, a branch on the 5th, one look on the 6th: after both, before neither."""
    told = [
        look("2025-06-01"),
        incident("2025-06-02T15:00-05:00", "2025-06-02T21:00:00Z", id="hail", stated_cause="hail"),
        incident("2025-06-05T15:00-05:00", "2025-06-05T21:00:00Z"),
        look(
            "2025-06-06",
            {"skylight": 3},
            body={"findings": [finding("f1", attribution="undetermined")], "incidents": ["i1"]},
        ),
    ]
    hail, branch = facts(told, name="hail").zones[0], zone(told)
    assert hail.before is not None
    assert hail.after is not None
    assert branch.before is not None
    assert branch.after is not None
    assert (hail.before.days, hail.after.days) == ((1, 1), (4, 4))
    assert (branch.before.days, branch.after.days) == ((4, 4), (1, 1))
    assert hail.found == branch.found == ("f1",)


def test_a_withdrawn_incident_is_none():
    told = [incident(), incident(id="i2"), correct(7, "2025-06-09T12:00:00Z", withdraw=True)]
    assert [found.id for found in measured(told, "2025-12-31").incidents] == ["i1"]

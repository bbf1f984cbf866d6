"""Incidents (OUTPUTS § 2 and § 5). The figures are worked out by hand beside each test."""

from typing import Any

import pytest

from evidence.upkeep.incidents import IncidentFacts, ZoneUnderIncident
from tests.scenarios.build import LOOK_90, Told, finding, look, measured, starter, tell

STRIKE = "2025-06-08T16:40-05:00"  # 21:40 UTC


def incident(when: str = STRIKE, logged: str | None = None, **more: Any) -> Told:
    body = {
        "id": "i1",
        "stated_cause": "branch",
        "when": when,
        "known": "seen",
        "zones": ["skylight"],
    }
    return tell("incident", body | more, logged or "2025-06-08T22:00:00Z")


def after(when: str = "2025-06-09", grade: int = 4, **more: Any) -> Told:
    body = {"incidents": ["i1"], "occasion": "after-event"} | more.pop("body", {})
    return look(when, {"skylight": grade}, body=body, **more)


def correct(of: int, logged: str = "2025-07-01T12:00:00Z", **body: Any) -> Told:
    return tell("correction", {"of": of, "why": "mistyped", **body}, logged)


def facts(entries: list[Told], on: str = "2025-12-31", name: str = "i1") -> IncidentFacts:
    found = measured(entries, on).incident(name)
    assert found is not None
    return found


def zone(entries: list[Told], on: str = "2025-12-31") -> ZoneUnderIncident:
    return facts(entries, on).zones[0]


def before_seq(entries: list[Told]) -> int | None:
    look_before = zone(entries).before
    return None if look_before is None else look_before.seq


# Before, claimed before, straddling, after


def test_every_look_is_before_claimed_straddling_or_after_and_never_two_of_them():
    told = [
        look("2025-05-01"),
        look("2025-06-08T10:00-05:00", logged="2025-06-08T15:30:00Z"),
        look("2025-06-08T11:00-05:00", logged="2025-06-09T15:30:00Z"),
        look("2025-06-08", logged="2025-06-09T16:00:00Z"),
        after("2025-06-08T17:00-05:00", logged="2025-06-09T16:10:00Z"),
        look("2025-06-20"),
    ]
    told.insert(2, incident())
    found = zone(told)
    assert found.before is not None
    assert found.after is not None
    assert (found.before.seq, found.after.seq) == (7, 11)
    assert (found.claimed_before, found.straddling) == ((9,), (10,))
    assert found.before.days == (0, 0)


def test_a_look_logged_only_after_the_incident_is_claimed_and_not_used():
    told = [incident(), look("2025-06-01", logged="2025-06-08T23:00:00Z")]
    found = zone(told)
    assert (found.before_state, found.before, found.claimed_before) == ("unknown", None, (7,))


def test_a_look_that_ended_before_the_window_is_not_after_though_it_names_the_incident():
    told = [
        incident(),
        look("2025-06-01", logged="2025-06-09T12:00:00Z", body={"incidents": ["i1"]}),
    ]
    found = zone(told)
    assert (found.after, found.claimed_before) == (None, (7,))
    assert found.after_state == "not-looked-at"


def test_a_look_whose_finding_names_the_incident_is_after():
    torn = finding("f1", attribution=["i1"])
    told = [incident("2025-06-08"), look("2025-06-08", {"skylight": 3}, body={"findings": [torn]})]
    found = zone(told)
    assert found.after is not None
    assert (found.after.seq, found.found, found.straddling) == (7, ("f1",), ())


def test_not_after_is_neither_before_nor_after():
    told = [look("../2025-06-20", logged="2025-06-20T12:00:00Z")]
    told.insert(0, incident())
    found = zone(told)
    assert (found.before, found.after, found.straddling) == (None, None, (7,))


def test_not_after_a_day_before_the_incident_is_before_and_counted_from_the_rigs_first_day():
    """1 June → 8 June = 7 at least; 1 March 2023 → 8 June 2025: 730 + 1 + 99 = 830 at most."""
    told = [look("../2025-06-01"), incident()]
    found = zone(told).before
    assert found is not None
    assert (found.days, found.item.dates[0].isoformat()) == ((7, 830), "2025-06-01")


def test_a_look_from_the_ground_is_none():
    told = [look("2025-06-01", body={"means": "ground"}), incident()]
    assert zone(told).before_state == "unknown"


def test_of_two_looks_before_the_one_that_ended_last_counts():
    told = [
        look("2025-06-01"),
        look("2025-05", {"skylight": 2}, logged="2025-06-02T12:00:00Z"),
        incident(),
    ]
    assert before_seq(told) == 6


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
        tell("reseal", RESEAL, "2025-05-10T20:00:00Z"),
        look("2025-06-01"),
        incident(),
    ]
    assert (zone(told).before_state, zone(told).open_before) == ("sound", ())


RESEAL: Told = {
    "when": "2025-05-10",
    "zones": ["skylight"],
    "extent": "strip",
    "family": "self-levelling",
    "settles": ["f1"],
}


def test_what_is_only_said_after_the_incident_to_have_been_settled_before_it_stood_open():
    told = [
        look("2025-05-01", {"skylight": 3}, body={"findings": [finding("f1")]}),
        look("2025-06-01"),
        incident(),
        tell("reseal", RESEAL, "2025-06-09T20:00:00Z"),
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


# Corrected or withdrawn afterwards


def test_a_grade_bettered_after_the_incident_stays_what_it_was():
    change = {"zones": [{"zone": "skylight", "grade": 0}]}
    told = [look("2025-06-01", {"skylight": 3}), incident(), correct(6, set=change)]
    found = zone(told)
    assert found.before is not None
    assert (found.before_state, found.before.grade, found.changed_since) == ("open", 3, (6,))


def test_a_grade_worsened_after_the_incident_is_taken_at_its_word():
    change = {"zones": [{"zone": "skylight", "grade": 3}]}
    found = zone([look("2025-06-01", {"skylight": 0}), incident(), correct(6, set=change)])
    assert found.before is not None
    assert (found.before_state, found.before.grade) == ("open", 3)


def test_a_bad_look_withdrawn_after_the_incident_does_not_uncover_a_sound_one():
    told = [
        look("2025-05-01", {"skylight": 0}),
        look("2025-06-01", {"skylight": 3}),
        incident(),
        correct(7, withdraw=True),
    ]
    found = zone(told)
    assert found.before is not None
    assert (found.before.seq, found.before_state, found.changed_since) == (6, "open", (7,))


def test_a_finding_corrected_away_after_the_incident_still_stood_open():
    told = [
        look("2025-06-01", {"skylight": 1}, body={"findings": [finding("f1")]}),
        incident(),
        correct(6, set={"findings": None}),
    ]
    found = zone(told)
    assert (found.before_state, found.open_before) == ("open", ("f1",))


def test_a_note_mended_after_the_incident_leaves_the_look_before_in_use():
    rows = [{"zone": "skylight", "grade": 0, "note": "bead whole"}]
    told = [look("2025-06-01"), incident(), correct(6, set={"zones": rows})]
    found = zone(told)
    assert found.before is not None
    assert (found.before.seq, found.before_state, found.changed_since) == (6, "sound", (6,))
    assert found.before.support == "own-clock-before"


def test_a_look_corrected_into_the_time_before_is_not_before():
    """Logged on 9 June of 9 June; corrected to 1 June."""
    told = [incident(), look("2025-06-09"), correct(7, set={"when": "2025-06-01"})]
    assert (zone(told).before, zone(told).claimed_before) == (None, (7,))


def test_a_correction_before_the_incident_counts():
    change = {"zones": [{"zone": "skylight", "grade": 0}]}
    told = [
        look("2025-06-01", {"skylight": 3}),
        correct(6, "2025-06-02T12:00:00Z", set=change),
        incident(),
    ]
    found = zone(told)
    assert (found.before_state, found.changed_since) == ("sound", ())


def test_a_clock_set_back_after_the_incident_makes_no_look_before():
    reset = {"was": "2025-06-10T12:00:00Z", "is": "2025-06-01T12:00:00Z", "why": "battery"}
    told = [incident(), tell("clock", reset, "2025-06-01T12:00:00Z"), look("2025-06-01")]
    found = zone(told)
    assert (found.before_state, found.claimed_before) == ("unknown", (8,))


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
    reseal = RESEAL | {"when": "2025-11-01", "settles": [], "findings": [finding("f1")]}
    told = [look("2025-06-01"), incident(), tell("reseal", reseal, "2025-11-01T20:00:00Z")]
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


# Cover, notice, routine look, rules, costs, weather


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


def test_the_last_routine_look_is_routine():
    told = [look("2025-06-01"), look("2025-06-05", body={"occasion": "after-trip"}), incident()]
    found = facts(told).last_routine_look
    assert found is not None
    assert (found.seq, found.amount) == (6, (7, 7))


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


# Support


def test_only_an_answer_that_came_before_the_window_supports():
    early = [look("2025-06-01", witness=True), incident()]
    late = [
        look("2025-06-01"),
        incident(),
        tell("photos", {}, "2025-06-09T12:00:00Z", witness=True),
    ]
    assert [zone(told).before.support for told in (early, late)] == [  # type: ignore[union-attr]
        "witnessed-before",
        "own-clock-before",
    ]


def test_an_answer_ahead_of_a_correction_does_not_support_what_it_changed():
    change = {"zones": [{"zone": "skylight", "grade": 0}]}
    told = [
        look("2025-06-01", {"skylight": 3}, witness=True),
        correct(6, "2025-06-02T12:00:00Z", set=change),
        incident(),
    ]
    before = zone(told).before
    assert before is not None
    assert (before.grade, before.support) == (0, "own-clock-before")


# A cut in the middle


def test_a_history_cut_in_the_middle_knows_no_later_correction():
    change = {"zones": [{"zone": "skylight", "grade": 0}]}
    told = [look("2025-06-01", {"skylight": 3}), incident(), correct(6, set=change)]
    assert zone(told, "2025-06-30").changed_since == ()
    assert zone(told, "2025-07-01").changed_since == (6,)

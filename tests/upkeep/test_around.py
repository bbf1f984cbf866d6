"""The looks around an incident (OUTPUTS § 2): before, claimed before, straddling, after."""

from typing import Any

from evidence.upkeep.incidents import ZoneUnderIncident
from tests.scenarios.build import Told, finding, look, measured, tell
from tests.upkeep import telling
from tests.upkeep.telling import after, incident


def correct(of: int, logged: str = "2025-07-01T12:00:00Z", **body: Any) -> Told:
    return telling.correct(of, logged, **body)


def zone(entries: list[Told], on: str = "2025-12-31") -> ZoneUnderIncident:
    facts = measured(entries, on).incident("i1")
    assert facts is not None
    return facts.zones[0]


def before_seq(entries: list[Told]) -> int | None:
    look_before = zone(entries).before
    return None if look_before is None else look_before.seq


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


def test_a_look_that_ended_as_the_window_began_is_before():
    """At 21:40:00 UTC to the second, logged in that second; struck within that minute."""
    told = [look("2025-06-08T21:40:00Z", logged="2025-06-08T21:40:00Z"), incident()]
    assert before_seq(told) == 6


def test_a_look_that_began_as_the_window_ended_is_after():
    told = [incident(), look("2025-06-08T21:40:59Z", logged="2025-06-08T22:30:00Z")]
    found = zone(told).after
    assert found is not None
    assert found.seq == 7


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


def test_a_bad_look_withdrawn_afterwards_that_a_sound_one_had_followed_takes_nothing_away():
    told = [
        look("2025-05-01", {"skylight": 3}),
        look("2025-06-01", {"skylight": 0}),
        incident(),
        correct(6, withdraw=True),
    ]
    found = zone(told)
    assert (found.before_state, found.changed_since) == ("sound", (6,))


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
    reset = {"was": "2025-06-08T22:00:00Z", "is": "2025-06-01T12:00:00Z", "why": "battery"}
    told = [incident(), tell("clock", reset, "2025-06-01T12:00:00Z"), look("2025-06-01")]
    found = zone(told)
    assert (found.before_state, found.claimed_before) == ("unknown", (8,))


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


def test_a_history_cut_in_the_middle_knows_no_later_correction():
    change = {"zones": [{"zone": "skylight", "grade": 0}]}
    told = [look("2025-06-01", {"skylight": 3}), incident(), correct(6, set=change)]
    assert zone(told, "2025-06-30").changed_since == ()
    assert zone(told, "2025-07-01").changed_since == (6,)

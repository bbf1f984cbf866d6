"""Clauses beside the entries that answer them."""

from evidence.upkeep.gaps import Met
from evidence.upkeep.papers import ClauseAnswer, ClauseTally, tally_clauses
from tests.scenarios.build import LOOK_90, Told, look, measured, starter, tell
from tests.upkeep.telling import incident, rule, trip

AFTER_TRIP = rule("after-trip", 7)


def paper(*clauses: Told) -> Told:
    rows = [{"ref": str(at), "text": "A clause.", **clause} for at, clause in enumerate(clauses)]
    return tell(
        "paper", {"type": "warranty", "title": "t", "clauses": rows}, "2025-01-06T12:00:00Z"
    )


def test_a_clause_is_answered_by_what_counts_for_its_rule():
    told = [paper({"rule": "look-90"}), look("2025-03-01"), look("2025-03-10", {"vent": 0})]
    (answer,) = measured(told, "2025-04-01").clauses
    assert (answer.paper, answer.rule, answer.answered_by) == (6, "look-90", (7,))
    assert (answer.met_as_stated, answer.met_on_time) == ("yes", "yes")


def test_a_clause_about_trips_is_answered_by_the_looks_after_them():
    told = [
        *starter(rules=[AFTER_TRIP]),
        paper({"rule": "after-trip"}),
        trip("t1", "2025-02-01", "2025-02-03"),
        look("2025-02-05"),
        trip("t2", "2025-03-01", "2025-03-03"),
    ]
    (answer,) = measured(told, "2025-03-05").clauses
    assert (answer.answered_by, answer.met_on_time) == ((8,), "unclear")
    (late,) = measured(told, "2025-04-01").clauses
    assert late.met_on_time == "no"


def test_a_clause_without_a_rule_or_before_anything_was_due_has_no_answer():
    told = [*starter(rules=[AFTER_TRIP]), paper({}, {"rule": "after-trip"})]
    answers = measured(told, "2025-03-05").clauses
    assert [(row.rule, row.answered_by, row.met_on_time) for row in answers] == [
        (None, (), None),
        ("after-trip", (), None),
    ]


def test_a_rule_that_was_replaced_answers_together_with_its_successor():
    """90 days until 31 May, never looked at: 5 Jan → 31 May = 146. Then 365."""
    mild = LOOK_90 | {"days": 365, "applies_from": "2025-06-01"}
    told = [paper({"rule": "look-90"}), tell("rule", mild, "2025-06-01T12:00:00Z")]
    (answer,) = measured(told, "2025-06-10").clauses
    assert answer.met_as_stated == "no"


def test_a_clause_is_not_answered_for_by_another_rules_duties():
    """The trip's look was had; the one after the strike of 8 June was not."""
    told = [
        *starter(rules=[AFTER_TRIP, rule("after-event", 7)]),
        paper({"rule": "after-trip"}, {"rule": "after-event"}),
        trip("t1", "2025-02-01", "2025-02-03"),
        look("2025-02-05"),
        incident(),
    ]
    answers = measured(told, "2025-07-01").clauses
    assert [(row.rule, row.met_as_stated) for row in answers] == [
        ("after-trip", "yes"),
        ("after-event", "no"),
    ]


def test_clauses_are_tallied_both_ways():
    rows = [
        ClauseAnswer(5, "1", "look-90", (7,), Met.YES, Met.NO),
        ClauseAnswer(5, "2", "look-90", (7,), Met.YES, Met.YES),
        ClauseAnswer(5, "3", "wash", (), Met.UNCLEAR, Met.UNCLEAR),
        ClauseAnswer(5, "4", None, (), None, None),
    ]

    assert tally_clauses(rows) == ClauseTally(clauses=4, as_stated=2, on_time=1, unmeasured=1)

from dataclasses import replace
from datetime import date, timedelta

from evidence.trade import load_catalogue
from evidence.upkeep import as_json, measure, read_history
from evidence.upkeep.brackets import bracket, brackets, first_known, widest
from evidence.witness import Trust
from tests.scenarios.build import build, history, look, starter

TOLD = [
    look("2025-02-01", witness=True),
    look("2025-03-01"),
    look("2025-04-01", witness=True),
    look("2025-05-01"),
]


def runs(given):
    return [(run.first, run.last, *(end and end.date() for end in run.ends))
            for run in brackets(given)]  # fmt: skip


def test_entries_that_share_their_bracket_stand_together_and_answers_are_its_ends():
    first, second = date(2025, 2, 2), date(2025, 4, 2)  # a minute after midnight in UTC
    assert runs(history(TOLD, "2025-11-03")) == [
        (0, 6, None, first),
        (8, 9, first, second),
        (11, 11, second, None),
    ]


def test_every_entry_that_is_no_answer_stands_in_one_run_with_its_own_bracket():
    given = history(TOLD, "2025-11-03")
    seqs = [seq for run in brackets(given) for seq in range(run.first, run.last + 1)]
    assert seqs == [item.seq for item in given.items if item.entry.kind != "witness"]
    for run in brackets(given):
        assert {bracket(given, seq) for seq in range(run.first, run.last + 1)} == {run.ends}


def test_without_an_outsider_nothing_is_bounded_and_nobody_knew():
    given = history([look("2025-03-01")], "2025-11-03")
    assert runs(given) == [(0, 6, None, None)]
    assert first_known(given) is None


def test_an_outsider_whom_nobody_trusts_bounds_nothing():
    entries = build([*starter(), *TOLD])
    trust = {entry.seq: Trust.UNTRUSTED for entry in entries if entry.kind == "witness"}
    given = read_history(entries, on=date(2025, 11, 3), trust=trust)
    assert runs(given) == [(0, 11, None, None)]
    assert first_known(given) is None


def test_the_first_who_knew_is_the_earliest_answer_that_counts():
    given = history(TOLD, "2025-11-03")
    assert (first_known(given).seq, first_known(given).time.date()) == (7, date(2025, 2, 2))


def test_of_two_answers_over_as_many_entries_the_first_says_since_when_they_existed():
    """The owner has the same head answered twice, in April and a year later. The entries existed
    in April: one page does not say "by April" and "existed a year later" of the same ones."""
    told = history(TOLD, "2025-11-03")
    april = told.vouched[-1]
    again = replace(april, seq=april.seq + 1, time=april.time + timedelta(days=365))
    for order in ((april, again), (again, april)):
        given = replace(told, vouched=(told.vouched[0], *order))
        assert widest(given) == april
        assert {bracket(given, seq)[1] for seq in range(8, april.size)} == {april.time}
        shown = as_json(measure(given, load_catalogue(), "0" * 64))["case"]["witnessed_up_to"]
        assert shown["time"] == f"{april.time:%Y-%m-%dT%H:%M:%SZ}"


def test_nobody_who_counts_bounds_nothing():
    assert widest(history([look("2025-03-01")], "2025-11-03")) is None

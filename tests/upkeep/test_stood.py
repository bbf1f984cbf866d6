"""The record as it stood at an earlier moment."""

from evidence.entries import Inspection
from evidence.times import parse_utc
from evidence.upkeep.stood import as_it_stood
from tests.scenarios.build import history, look, tell


def test_the_record_as_it_stood_has_the_words_of_the_time():
    change = tell(
        "correction",
        {"of": 6, "set": {"zones": [{"zone": "skylight", "grade": 0}]}, "why": "mistyped"},
        "2025-06-01T12:00:00Z",
    )
    told = [look("2025-03-01", {"skylight": 3}), change, look("2025-06-02")]
    now = history(told, "2025-07-01")
    then = as_it_stood(now, parse_utc("2025-05-01T00:00:00Z"), before=99)
    (item, body), *more = then.looks_at("skylight")
    assert (item.seq, body.zones[0].grade, more, then.retold) == (6, 3, [], True)
    assert [body.zones[0].grade for _, body in now.of(Inspection)] == [0, 0]


def test_what_stands_behind_an_outsiders_later_answer_had_not_been_written():
    """The clock was set back to 1 March behind an answer of 10 June: no look of 1 March."""
    reset = {"was": "2025-06-10T12:01:00Z", "is": "2025-03-01T12:00:00Z", "why": "travel"}
    told = [
        look("2025-06-10", logged="2025-06-10T12:00:00Z", witness=True),
        tell("clock", reset, "2025-03-01T12:00:00Z"),
        look("2025-03-01", logged="2025-03-01T13:00:00Z"),
    ]
    cut = history(told, "2025-07-01")
    backdated = cut.item(9)
    assert backdated is not None
    assert not cut.in_bracket(backdated)
    then = as_it_stood(cut, parse_utc("2025-06-01T00:00:00Z"), before=99)
    assert then.looks_at("skylight") == []


def test_what_nobody_changed_since_is_not_read_again():
    """A correction of a later entry, and one that stood by then, change nothing."""
    fix = {"set": {"occasion": "follow-up"}, "why": "mistyped"}
    told = [
        look("2025-03-01"),
        tell("correction", fix | {"of": 6}, "2025-03-02T12:00:00Z"),
        look("2025-06-02"),
        tell("correction", fix | {"of": 8}, "2025-06-03T12:00:00Z"),
    ]
    now = history(told, "2025-07-01")
    then = as_it_stood(now, parse_utc("2025-05-01T00:00:00Z"), before=99)
    assert not then.retold
    assert then.history is now
    assert [item.seq for item, _ in then.looks_at("skylight")] == [6]


def test_nothing_stood_from_the_entry_on_that_is_named():
    told = [look("2025-03-01"), look("2025-03-02")]
    then = as_it_stood(history(told, "2025-07-01"), parse_utc("2025-05-01T00:00:00Z"), before=7)
    assert [item.seq for item, _ in then.looks_at("skylight")] == [6]


def test_a_correction_of_a_correction_made_since_changes_what_stood():
    told = [
        look("2025-03-01", {"skylight": 3}),
        tell(
            "correction",
            {"of": 6, "set": {"zones": [{"zone": "skylight", "grade": 2}]}, "why": "x"},
            "2025-03-02T12:00:00Z",
        ),
        tell("correction", {"of": 7, "withdraw": True, "why": "x"}, "2025-06-02T12:00:00Z"),
    ]
    now = history(told, "2025-07-01")
    then = as_it_stood(now, parse_utc("2025-05-01T00:00:00Z"), before=99)
    assert [body.zones[0].grade for _, body in then.looks_at("skylight")] == [2]
    assert [body.zones[0].grade for _, body in now.looks_at("skylight")] == [3]

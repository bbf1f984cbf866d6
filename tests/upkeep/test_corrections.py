"""Corrections, corrections of corrections, withdrawals (RECORD § 4)."""

from datetime import date

import pytest

from evidence.errors import RefusedError
from evidence.times import utc_text
from evidence.upkeep.items import Item, build_items
from tests.scenarios.build import Told, build, history, look, starter
from tests.upkeep import telling


def item(entries: list[Told], seq: int) -> Item:
    found = history(entries, "2025-12-31").item(seq)
    assert found is not None
    return found


def correct(of: int, logged: str = "2025-04-01T12:00:00Z", **body: object) -> Told:
    return telling.correct(of, logged, **body)


def test_a_correction_sets_a_field_and_the_first_words_stay_in_view():
    found = item([look("2025-03-01"), correct(6, set={"when": "2025-02-28"})], 6)
    assert found.dates == (date(2025, 2, 28), date(2025, 2, 28))
    assert found.entry.raw["when"] == "2025-03-01"
    assert found.corrected_by == (7,)
    assert found.corrected_fields == {"when"}


def test_of_two_corrections_of_a_field_the_later_counts():
    told = [
        look("2025-03-01"),
        correct(6, set={"when": "2025-02-28"}),
        correct(6, set={"when": "2025-02-27", "occasion": "follow-up"}),
    ]
    found = item(told, 6)
    assert found.dates[0] == date(2025, 2, 27)
    assert found.corrected_by == (7, 8)


def test_a_correction_may_be_corrected_and_stands_as_two():
    told = [
        look("2025-03-01"),
        correct(6, "2025-04-01T12:00:00Z", set={"when": "2025-02-27"}),
        correct(7, "2025-04-02T12:00:00Z", set={"set": {"when": "2025-02-28"}}),
    ]
    found = item(told, 6)
    assert found.dates[0] == date(2025, 2, 28)
    assert found.corrected_by == (7, 8)
    assert utc_text(found.told_at("when")) == "2025-04-02T12:00:00Z"


def test_a_withdrawn_correction_leaves_what_was_first_written():
    told = [
        look("2025-03-01"),
        correct(6, set={"when": "2025-02-28"}),
        correct(7, withdraw=True),
    ]
    found = item(told, 6)
    assert (found.dates[0], found.corrected_by) == (date(2025, 3, 1), ())


def test_a_withdrawal_may_be_withdrawn():
    told = [look("2025-03-01"), correct(6, withdraw=True)]
    assert item(told, 6).withdrawn_by == 7
    assert item([*told, correct(7, withdraw=True)], 6).withdrawn_by is None


def test_a_null_takes_a_field_away():
    told = [look("2025-03-01", body={"settles": []}), correct(6, set={"settles": None})]
    assert item(told, 6).body.model_dump()["settles"] is None


def test_what_is_never_corrected_is_read_as_written():
    """A record from elsewhere may hold what admission refuses; the reader does not follow it."""
    entries = build([*starter(), correct(0, set={"title": "Another"})], admitted=False)
    case = build_items(entries)[0]
    assert (case.body.model_dump()["title"], case.corrected_by) == ("A story", ())


def test_a_correction_that_does_not_fit_is_refused_when_read():
    entries = build(
        [*starter(), look("2025-03-01"), correct(6, set={"when": "soon"})], admitted=False
    )
    with pytest.raises(RefusedError, match="inspection: field 'when'"):
        build_items(entries)


def test_a_correction_of_a_later_entry_is_not_followed():
    entries = build(
        [*starter(), correct(7, set={"when": "2025-02-01"}), look("2025-04-02")], admitted=False
    )
    assert build_items(entries)[7].dates[0] == date(2025, 4, 2)

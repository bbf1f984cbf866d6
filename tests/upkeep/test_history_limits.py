"""The record cut in its last second, places stated again, and answers of outsiders in a row."""

from datetime import date

import pytest

from evidence.envelope import Entry
from evidence.errors import RefusedError
from evidence.upkeep import Known, read_history
from tests.scenarios.build import (
    RIG,
    START,
    ZONES,
    Told,
    build,
    history,
    look,
    shown,
    starter,
    tell,
)
from tests.upkeep.fitting import NOW
from tests.upkeep.telling import correct


def rig(logged: str, *zones: Told) -> Told:
    return tell("rig", RIG | {"zones": list(zones)}, logged)


# What cannot be read


@pytest.mark.parametrize(
    "entries",
    [[], build(starter()[:1]), build(starter())[1:]],
    ids=["no entry", "no rig", "no case"],
)
def test_a_record_without_case_and_rig_cannot_be_read(entries: list[Entry]):
    with pytest.raises(RefusedError) as caught:
        read_history(entries, on=date(2025, 2, 1))
    assert caught.value.args == ("the record", "has no case and rig at its start", "")


def test_a_record_that_did_not_exist_yet_cannot_be_read():
    with pytest.raises(RefusedError) as caught:
        history([], "2025-01-04")
    assert caught.value.args == (
        "the record on 2025-01-04",
        "did not exist yet",
        "Choose a later date.",
    )


# The last second of a day


@pytest.mark.parametrize(("second", "there"), [("2025-03-02T05:59:59Z", True),
                                               ("2025-03-02T06:00:00Z", False)])  # fmt: skip
def test_what_was_done_and_written_in_the_last_second_of_the_day_is_there(second, there):
    cut = history([tell("wash", {"when": second, "zones": "all"}, second)], "2025-03-01")
    assert (cut.item(6) is not None) is there


def test_what_stands_ahead_of_the_rig_is_read_with_it():
    first = history([], "2025-02-01").item(0)
    assert first is not None
    assert first.rig.id == "wren"


def test_a_day_told_ahead_of_the_rig_is_taken():
    told = [starter()[0], tell("paper", {"type": "manual", "title": "m", "dated": "2025-01-04"},
                               START)]  # fmt: skip
    assert len(Known.of(build(told)).by_seq) == 3


def test_a_correction_says_nothing_of_itself():
    item = history([correct(6, NOW, withdraw=True)], "2025-03-01", admitted=False).item(6)
    assert item is not None
    assert item.withdrawn_by is None


# Places


def test_a_zone_left_out_in_the_evening_ended_on_that_day_and_keeps_its_first():
    """20:00 on 8 June in Chicago is 9 June in UTC."""
    added = rig("2025-02-01T12:00:00Z", ZONES[1] | {"since": "2025-02-01"}, *ZONES[2:])
    begun = [*starter()[:3], added | {"logged": "2025-02-01T12:00:00Z"}]
    cut = history([*begun, rig("2025-06-09T01:00:00Z", *ZONES[2:])], "2025-12-31")
    found = cut.place("skylight")
    assert (found.since, found.until) == (date(2025, 2, 1), date(2025, 6, 8))


@pytest.mark.parametrize(
    ("again", "since"),
    [("2025-03-01", date(2025, 2, 1)), ("2025-01-20", date(2025, 1, 20)), (None, None)],
)
def test_a_zone_stated_again_with_another_day_keeps_the_earlier_of_the_two(again, since):
    first, *others = ZONES[1:]
    told = [
        *starter()[:3],
        rig("2025-02-02T12:00:00Z", first | {"since": "2025-02-01"}, *others),
        rig("2025-04-01T12:00:00Z", first | ({} if again is None else {"since": again}), *others),
    ]
    assert history(told, "2025-12-31").place("skylight").since == since


def test_an_entry_that_is_no_look_saw_nothing():
    cut = history([look("2025-03-01")], "2025-04-01")
    assert (cut.seen_at(6), cut.seen_at(0)) == (frozenset({"skylight"}), frozenset())


# Outsiders


def test_of_several_answers_ahead_the_latest_counts():
    told = [look("2025-03-01", witness=True), look("2025-03-02", witness=True), look("2025-03-03")]
    cut = history(told, "2025-04-01")
    assert shown(told, "2025-04-01")["entries"][10]["not_before"] == "2025-03-03T00:00:00Z"
    assert [answer.name for answer in cut.vouched] == ["Sample", "Sample"]


@pytest.mark.parametrize(("logged", "agrees"), [("2025-03-01T23:50:00Z", True),
                                                ("2025-03-01T23:49:59Z", False)])  # fmt: skip
def test_a_clock_may_be_ten_minutes_behind_an_answer(logged: str, agrees: bool):  # noqa: FBT001
    """The outsider answered at 00:00 UTC on 2 March."""
    washed = tell("wash", {"when": "2025-03-01T12:00-06:00", "zones": "all"}, logged)
    cut = history([look("2025-03-01", witness=True), washed], "2025-04-01")
    item = cut.item(8)
    assert item is not None
    assert cut.in_bracket(item) is agrees

"""What is asked of a standing: an incident or a finding by its id, and its first day."""

from datetime import date

import pytest

from evidence.errors import RefusedError
from evidence.upkeep.standing import incident_asked, told_from
from tests.scenarios.build import LOOK_90, Told, history, look, measured, starter, tell
from tests.upkeep.telling import incident, rule

SECOND = incident("2025-06-20", "2025-06-21T12:00:00Z", id="i2")


def test_what_is_not_on_record_is_none():
    standing = measured([incident()], "2025-07-01")
    assert (standing.incident("i9"), standing.finding("f9")) == (None, None)


def test_the_only_incident_on_record_need_not_be_named():
    assert incident_asked(measured([incident()], "2025-07-01"), None).id == "i1"
    assert incident_asked(measured([incident(), SECOND], "2025-07-01"), "i2").id == "i2"


@pytest.mark.parametrize(
    ("told", "asked", "refused"),
    [
        ([incident(), SECOND], None, ("incident: none named", "On record: i1, i2.")),
        ([incident(), SECOND], "i9", ("incident: 'i9'", "On record: i1, i2.")),
        ([incident()], "i9", ("incident: 'i9'", "On record: i1.")),
        ([], None, ("incident: none named", "On record: none; enter it first.")),
    ],
)
def test_one_that_is_not_on_record_is_refused_with_those_that_are(told, asked, refused):
    with pytest.raises(RefusedError) as caught:
        incident_asked(measured(told, "2025-07-01"), asked)
    assert caught.value.args == (refused[0], "is not on record", refused[1])


# The first day


def first(*told: Told, on: str = "2025-12-31", **begun: object) -> date:
    return told_from(history([*starter(**begun), *told], on))


def test_a_record_tells_from_the_day_at_home_on_which_it_was_begun():
    """20:00 on 5 January in Chicago is 6 January in UTC."""
    begun = "2025-01-06T02:00:00Z"
    late = LOOK_90 | {"applies_from": "2025-02-01"}
    assert first(look("2025-03-01"), rules=[late], logged=begun) == date(2025, 1, 5)


def test_what_is_told_of_an_earlier_time_or_asked_for_from_an_earlier_day_comes_first():
    washed = tell("wash", {"when": "2024-11-03/2024-11-10", "zones": "all"}, "2025-02-01T12:00:00Z")
    assert first(washed) == date(2024, 11, 3)
    assert first(washed, rules=[rule(applies_from="2024-10-01")]) == date(2024, 10, 1)


def test_a_clock_that_ran_ahead_at_first_does_not_put_the_first_day_behind_the_last():
    back = {"was": "2025-01-07T18:00:00Z", "is": "2025-01-05T18:05:00Z", "why": "set by hand"}
    clock = tell("clock", back, "2025-01-05T18:05:00Z")
    begun = "2025-01-07T18:00:00Z"
    assert first(clock, on="2025-01-05", rules=[], logged=begun) == date(2025, 1, 5)

"""Hours around a reading, also across a change of the clocks."""

import pytest

from evidence.cli.since import ReadAt
from evidence.errors import EvidenceError

HOME = "America/Chicago"


def hours(at, text, way):
    clock = ReadAt.of(HOME, at)
    return clock.hours(clock.span(text, "--last-wet", way), "--last-wet", way)


def test_hours_typed_are_hours_gone_by_where_clocks_were_changed():
    """In the night to 9 March 2025 Chicago's clocks went on by an hour."""
    clock = ReadAt.of(HOME, "2025-03-09T12:00")
    assert clock.span("24h", "--last-wet", -1)[0] == "2025-03-08T11:00-06:00"
    assert hours("2025-03-09T12:00", "24h", -1) == (24, 24)
    assert hours("2025-03-09T12:00", "2025-03-08T12:00", -1) == (23, 23)


def test_a_day_is_as_wide_as_it_is():
    assert hours("2025-06-02T14:00", "2025-06-01", -1) == (14 + 1 / 60, 38)
    assert hours("2025-06-02T14:00", "2025-06-03", 1) == (10, 33 + 59 / 60)
    assert hours("2025-06-02T14:00", "2025-06-02", -1) == (0, 14)


def test_what_was_not_said_has_no_hours():
    assert hours("2025-06-02T14:00", None, -1) is None


@pytest.mark.parametrize("at", ["2025-06-02", "2025-06", "../2025-06-02T14:00-05:00"])
def test_a_reading_has_a_time_of_day(at):
    with pytest.raises(EvidenceError, match="is no time of day"):
        ReadAt.of(HOME, at)


def test_a_time_that_existed_twice_asks_for_its_offset():
    with pytest.raises(EvidenceError, match="existed twice"):
        ReadAt.of(HOME, "2025-11-02T01:30")

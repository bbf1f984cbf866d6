"""The record on one line of time, in characters."""

import io
import sys
from itertools import pairwise

import pytest

from evidence.cli.strip import DRAWN, PLAIN, signs_for, strip
from evidence.upkeep.standing import told_from
from tests.cli.conftest import ON, measured
from tests.scenarios.build import LOOK_90, look, tell
from tests.scenarios.build import measured as told
from tests.scenarios.strike import branch_strike

WIDE = 112
"""A hundred columns of time behind the labels, and one that stays free."""


def rows(lines: list[str]) -> dict[str, str]:
    """Each row by its label, without it; the ticks, the names and the key have none."""
    found = {}
    for line in lines:
        label = line[:11].strip() or f"-{len(found)}"
        found[label] = line[11:]
    return found


def of(entries, on, zone=None, width=WIDE, signs=DRAWN):
    return strip(told(entries, on), zone, width, signs)


def column(day: int, days: int, columns: int = 100) -> int:
    return day * (columns - 1) // days


# The record of these tests starts on 5 January 2025 and is read on 2 August, 209 days later.
AUGUST, DAYS = "2025-08-02", 209


def test_looks_incident_work_and_outsiders_stand_where_their_day_is():
    drawn = rows(of(branch_strike(witnessed=True), AUGUST))
    before, strike = column(145, DAYS), column(154, DAYS)  # 30 May, 8 June
    assert drawn["incidents"].index("▲") == strike
    assert drawn["work"].index("c") == strike
    assert drawn["outsiders"].index("■") == before
    assert drawn["looks"][before] == "●"
    assert drawn["looks"][strike] == "○"


def test_a_look_that_nobody_vouched_for_before_the_incident_is_hollow():
    drawn = rows(of(branch_strike(), AUGUST))
    assert "●" not in drawn["looks"]
    assert "outsiders" not in drawn
    later = [*branch_strike(), look("2025-07-01", {"field-mr": 4}, witness=True)]
    drawn = rows(of(later, AUGUST))
    assert drawn["looks"][column(145, DAYS)] == "○"  # vouched for only after the incident
    assert drawn["looks"][column(177, DAYS)] == "●"  # 1 July, and no incident since


def test_time_beyond_the_rule_is_hatched_from_the_rules_last_day():
    looks = rows(of([look("2025-07-24")], AUGUST))["looks"]  # 200 days after 5 January
    assert looks.index("/") == column(90, DAYS)
    assert looks[column(90, DAYS) : column(200, DAYS)] == "/" * (
        column(200, DAYS) - column(90, DAYS)
    )
    assert looks[column(200, DAYS)] == "○"
    assert looks[column(200, DAYS) + 1 :] == ""


def test_a_rule_that_does_not_count_hatches_nothing():
    from tests.scenarios.build import starter

    rule = LOOK_90 | {"required": False}
    assert "/" not in "".join(of(starter(rules=[rule]), AUGUST))


def test_the_strip_of_a_zone_shows_that_zone_alone():
    wash = tell("wash", {"when": "2025-07-01", "zones": ["vent"]}, "2025-07-01T23:00:00Z")
    entries = [*branch_strike(), wash]
    vent = rows(of(entries, AUGUST, "vent"))
    assert vent["looks"] == ""
    assert "incidents" not in vent
    assert vent["work"].strip() == "w"
    field = rows(of(entries, AUGUST, "field-mr"))
    assert field["looks"].count("○") == 2
    assert field["work"].strip() == "c"


def test_a_look_on_some_day_in_between_is_a_line_up_to_its_last_day():
    between = look("2025-07-01/2025-07-21", logged="2025-07-21T23:59:00Z")
    looks = rows(of([between], "2025-08-02"))["looks"]
    assert looks.rstrip("/").endswith("~○")
    assert looks.index("~") == column(177, DAYS)
    assert looks.index("○") == column(197, DAYS)


def test_a_look_from_the_ground_is_none():
    ground = look("2025-03-01", body={"means": "ground"})
    assert "○" not in "".join(of([ground], AUGUST)[:1])


def test_trips_and_storage_lie_over_their_days():
    trip = tell(
        "trip", {"id": "t1", "out": "2025-05-01", "back": "2025-05-20"}, AUGUST + "T01:00:00Z"
    )
    store = tell("storage", {"id": "s1", "from": "2025-07-01"}, AUGUST + "T01:00:00Z")
    away = rows(of([trip, store], AUGUST))["away"]
    assert (away.index("="), away.rindex("=")) == (column(116, DAYS), column(135, DAYS))
    assert (away.index("-"), away.rindex("-")) == (column(177, DAYS), 99)


def test_several_kinds_of_work_in_one_column_are_told_as_several():
    wash = tell("wash", {"when": "2025-06-08", "zones": "all"}, "2025-06-08T23:00:00Z")
    lines = of([*branch_strike(), wash], AUGUST)
    assert rows(lines)["work"].strip() == "+"
    assert "+ several" in "\n".join(lines)


def test_months_are_ticked_and_a_new_year_has_its_bar_and_number():
    lines = of([look("2025-01-10")], "2026-03-31")
    ticks, names = next((a, b) for a, b in pairwise(lines) if "|" in a)
    assert ticks.count("'") == 13  # February to December, February and March
    assert names[ticks.index("|") :].startswith("2026")


@pytest.mark.parametrize("on", ["2025-01-05", "2025-01-06", "2025-02-01", "2034-12-31"])
@pytest.mark.parametrize("width", [1, 40, 80, 200])
def test_no_line_is_wider_than_the_terminal(on, width):
    lines = of([*branch_strike(witnessed=True)], on, width=width)
    assert max(map(len, lines)) < max(40, width)


def test_the_key_explains_what_is_there_and_nothing_else():
    key = "\n".join(of(branch_strike(), AUGUST)[-2:])
    assert "○ own clock" in key
    assert "▲ incident" in key
    assert "● witnessed" not in key
    assert "storage" not in key


@pytest.mark.parametrize(
    ("encoding", "signs"),
    [("utf-8", DRAWN), ("ascii", PLAIN), ("cp1252", PLAIN), (None, PLAIN), ("nonsense", PLAIN)],
)
def test_an_output_that_cannot_carry_the_signs_gets_letters(encoding, signs):
    assert signs_for(encoding) == signs


def test_the_plain_strip_is_ascii():
    assert "\n".join(of(branch_strike(witnessed=True), AUGUST, signs=PLAIN)).isascii()


def test_it_starts_with_the_first_day_that_anything_speaks_of():
    early = look("2024-12-24", logged="2025-01-06T00:00:00Z")
    assert told_from(told([early], AUGUST).history).isoformat() == "2024-12-24"
    assert told_from(told([], AUGUST).history).isoformat() == "2025-01-05"


def test_standing_and_zone_show_it(built, run):
    for words in (["standing", built], ["zone", built, "field-mr"]):
        ran = run(*words, "--on", ON)
        assert "On one line of time, 5 Jan 2025 to 3 Nov 2025" in ran.lines
        assert all(line in ran.lines for line in strip(
            measured(built), "field-mr" if "zone" in words else None, 100, DRAWN
        ))  # fmt: skip


def test_a_console_without_the_signs_still_gets_its_strip(built, monkeypatch):
    from evidence.cli.strip import tell_strip

    raw = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(raw, encoding="cp850", errors="strict"))
    tell_strip(measured(built))
    sys.stdout.flush()
    assert "@" in raw.getvalue().decode("cp850")

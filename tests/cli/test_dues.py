"""`due`: what is due, for a person, a program and a calendar."""

import re
from datetime import date

import pytest

from evidence.case import Draft
from evidence.trade import load_catalogue
from evidence.upkeep import what_is_due
from tests import calendars
from tests.cli.conftest import ON, OWNER, measured
from tests.making import RIG, ZONES


def test_what_is_due_stands_in_order_of_date_with_its_zones_rule_and_ways(built, run):
    ran = run("due", built, "--on", ON)
    assert ran.code == 0
    heads = [line for line in ran.lines if re.match(r"\d+ \w+ 2025", line)]
    assert heads == [
        "5 June 2025, 151 days over: act on what was found at Skylight: surface crazing, chalky",
        "9 June 2025, 147 days over: act on what was found at Field, middle right: hole or tear",
        "18 November 2025: look at every bead",
    ]
    assert "Hole or tear, grade 4, seen in entry 14; usual remedy: cover the same day" in ran.said
    assert "Every 90 days, by Care booklet, 2023 edition, p. 14 (paper on file)." in ran.said
    assert "All zones." in ran.said
    safest = "A look: pole camera, drone, a dealer's platform, ladder or on the roof."
    assert safest in ran.said


def test_nothing_more_is_said_of_a_thing_than_what_is_measured(built, run):
    document = run("due", built, "--on", ON, "--json").json
    rows = what_is_due(measured(built), load_catalogue())
    assert [(row["task"], row["by"], row["overdue"]) for row in document] == [
        (row.task, row.by.isoformat(), list(row.overdue)) for row in rows
    ]


def test_due_answers_a_program_with_the_keys_of_the_contract(built, run):
    document = run("due", built, "--on", ON, "--json").json
    keys = {
        "task",
        "zones",
        "by",
        "rule",
        "basis",
        "authority",
        "why",
        "overdue",
        "ways",
        "cautions",
    }
    assert all(keys <= row.keys() for row in document)
    assert [row["by"] for row in document] == sorted(row["by"] for row in document)
    (look,) = (row for row in document if row["task"] == "inspection")
    assert (look["rule"], look["basis"], look["by"]) == ("look-90", "paper-on-file", "2025-11-18")
    assert look["overdue"] == [0, 0]
    assert look["zones"] == [zone["id"] for zone in ZONES]


def test_the_day_after_it_is_due_it_is_one_day_over(built, run):
    assert "18 November 2025: look at every bead" in run("due", built, "--on", "2025-11-18").out
    assert "18 November 2025, 1 day over: look at every bead" in (
        run("due", built, "--on", "2025-11-19").out
    )


def test_the_cautions_that_go_with_it_are_told_once_and_the_footer_last(built, run):
    ran = run("due", built, "--on", ON)
    catalogue = load_catalogue()
    told = [row.text for row in catalogue.cautions.values() if row.text in ran.said]
    assert len(told) >= 6
    assert all(ran.said.count(text) == 1 for text in told)
    assert ran.said.endswith(catalogue.footer)
    assert ran.said.index("Before anybody climbs") > ran.said.index("18 November 2025")


def test_nearly_all_zones_are_told_by_those_that_are_left_out(own, run):
    grades = ",".join(f"{zone['id']}:0" for zone in ZONES if zone["id"] != "vent-1")
    run("enter", own, "inspection", "when=2026-01-10", "means=on-roof", "occasion=routine",
        f"zones={grades}")  # fmt: skip
    assert "All zones but Ceiling vent." in run("due", own).said


def test_a_rule_that_is_not_required_is_shown_and_not_counted(own, run):
    run("enter", own, "rule", "id=wash-365", "task=wash", "days=365", "authority=my own",
        "basis=owners-own", "applies_from=2025-01-01", "required=no")  # fmt: skip
    assert "wash the roof (not counted)" in run("due", own).out


def test_without_rules_and_findings_nothing_is_due(tmp_path, run):
    from evidence.starting import start

    first = [Draft("party", OWNER, "owner"), Draft("rig", RIG, "owner")]
    start(tmp_path / "bare", title="Bare", first=first, store=None, passphrase=None, sample=True)
    ran = run("due", tmp_path / "bare")
    assert "Nothing is due" in ran.said
    assert "Before anybody climbs" not in ran.out


# Shown on a telephone


def test_on_a_narrow_terminal_no_line_is_wider_than_it(built, run, monkeypatch):
    """But for the call of the program, which is to be copied as it stands."""
    monkeypatch.setenv("COLUMNS", "42")
    lines = run("due", built, "--on", ON).lines
    assert max(len(line) for line in lines if "roof-evidence enter" not in line) <= 42


def test_the_most_urgent_stands_first_and_nothing_is_said_of_the_keeper(built, run):
    said = run("due", built, "--on", ON).said
    assert said.index("5 June 2025") < said.index("9 June 2025") < said.index("18 November 2025")
    assert not re.search(r"neglect|streak|should have|failed|missed", said, re.IGNORECASE)


# What follows, and where nobody should climb


def enter(run, case, kind, *fields):
    ran = run("enter", case, kind, *fields)
    assert ran.code == 0, ran.err


def test_a_trip_under_way_says_what_to_do_when_one_is_back(own, run):
    enter(run, own, "rule", "id=after", "task=after-trip", "days=7", "authority=my own",
          "basis=owners-own", "applies_from=2025-01-01", "required=yes")  # fmt: skip
    enter(run, own, "trip", "id=t1", "out=2025-06-01")
    ran = run("due", own)
    assert "When you are back: look at the roof after a trip" in ran.out
    assert "On a trip since 1 June 2025" in ran.said
    last = run("due", own, "--json").json[-1]
    assert (last["by"], last["once"], last["rule"]) == (None, "back", "after")
    assert "When you are back: look at the roof after a trip" in run("standing", own).said


def test_in_storage_the_ways_are_those_without_a_climb_and_the_reason_is_told(own, run):
    enter(run, own, "storage", "id=s1", "from=2025-06-01")
    ran = run("due", own)
    assert "Nobody should climb: in storage since 1 June 2025" in ran.said
    assert "A look: pole camera, drone, a dealer's platform or a dated deferral." in ran.said
    (row,) = run("due", own, "--json").json
    assert row["ways"] == ["pole-camera", "drone", "platform", "deferral"]
    assert row["unsafe"].startswith("in storage since 2025-06-01")


def test_the_way_to_put_a_look_off_can_be_copied(own, run):
    assert f"  roof-evidence enter {own} deferral" in run("due", own).lines


def test_what_lies_far_ahead_is_told_in_one_line(built, run):
    """The sample authority's certificate ends in thirty years."""
    said = run("due", built, "--on", ON).said
    assert re.search(r"Later: \d+ \w+ 205\d: have the record witnessed anew \(not counted\)", said)


def test_answers_that_nobody_trusts_are_told_to_have_no_end_that_is_known(built, run, monkeypatch):
    from evidence.witness import Trust, timestamp

    monkeypatch.setattr(timestamp, "_trust", lambda *_, **__: Trust.UNTRUSTED)
    said = run("due", built, "--on", ON).said
    assert "give --trust PEM to be told when a certificate among them ends" in said
    assert "witnessed anew" not in said


# The calendar


def test_the_calendar_has_what_is_told_and_a_later_one_moves_it(built, run, tmp_path):
    out = tmp_path / "roof.ics"
    ran = run("due", built, "--on", ON, "--ics", out)
    assert ran.said.endswith(f"{out} holds these dates for a calendar.")
    events = {str(e.values["SUMMARY"]): e.values for e in calendars.read(out.read_bytes()).inner}
    look = events["Sample, invented: Roof: look at every bead"]
    assert look["DTSTART"] == date(2025, 11, 18)
    assert len(run("due", built, "--on", ON, "--json").json) == len(events)
    other = tmp_path / "june.ics"
    run("due", built, "--on", "2025-06-01", "--ics", other, "--json")
    before = {e.values["UID"]: e.values for e in calendars.read(other.read_bytes()).inner}
    assert before[look["UID"]]["DTSTART"] == date(2025, 8, 28)


def test_without_a_date_there_is_no_calendar_and_that_is_told(tmp_path, run):
    from evidence.starting import start

    first = [Draft("party", OWNER, "owner"), Draft("rig", RIG, "owner")]
    start(tmp_path / "bare", title="Bare", first=first, store=None, passphrase=None, sample=True)
    ran = run("due", tmp_path / "bare", "--ics", tmp_path / "a.ics")
    assert ran.code == 0
    assert "was not written: nothing has a date" in ran.said
    assert not (tmp_path / "a.ics").exists()


@pytest.mark.parametrize("out", ["missing/a.ics", "."])
def test_a_calendar_that_cannot_be_put_there_is_refused(built, run, tmp_path, out):
    ran = run("due", built, "--on", ON, "--ics", tmp_path / out)
    assert ran.code == 2
    assert str(tmp_path) in ran.err
    assert len(ran.err.splitlines()) <= 3


@pytest.mark.parametrize("day", ["3.11.2025", "2025-13-01", "tomorrow", ""])
def test_a_day_that_is_none_is_refused(built, run, day):
    ran = run("due", built, "--on", day)
    assert (ran.code, len(ran.err.splitlines()) <= 3) == (2, True)

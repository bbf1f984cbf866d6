"""`zone`: everything about one place on the roof, in order of time."""

import re

from tests.cli.conftest import ON


def test_a_place_is_told_in_order_of_time_with_its_grades(built, run):
    ran = run("zone", built, "skylight-1", "--on", ON)
    assert ran.lines[1] == "Skylight (skylight-1, skylight)"
    rows = [line.split()[0] for line in ran.lines if re.match(r"  \d+ ", line)]
    assert rows == ["8", "5", "9", "11", "14", "18"]
    assert "Look, on-roof, routine: grade 1, watch. Found: surface crazing, chalky bead" in ran.said
    assert "hole or tear" not in ran.out


def test_what_stands_open_there_comes_first(built, run):
    lines = run("zone", built, "field-mr", "--on", ON).lines
    assert lines[2].startswith("Field, middle right: hole or tear, grade 4 (leaking)")


def test_a_place_that_nobody_looked_at_says_so(own, run):
    assert "No look at it is on record." in run("zone", own, "vent-1").out


def test_what_was_done_to_all_zones_or_put_off_for_all_was_done_here_too(own, run):
    run("enter", own, "wash", "when=2025-05-30", "zones=all")
    run("enter", own, "deferral", "when=2025-06-30", "task=inspection", "why=ill")
    run("enter", own, "wash", "when=2025-07-30", "zones=skylight-1")
    lines = run("zone", own, "vent-1").lines
    assert [line.split()[0] for line in lines if re.match(r"  \d+ ", line)] == ["7", "8", "5"]


def test_a_withdrawn_and_a_corrected_entry_say_so(own, run):
    run("enter", own, "wash", "when=2025-05-30", "zones=vent-1")
    run("enter", own, "wash", "when=2025-06-30", "zones=vent-1")
    run("enter", own, "correction", "of=6", "withdraw=true", "why=another rig")
    run("enter", own, "correction", "of=7", 'set={"product":"soap"}', "why=forgotten")
    said = run("zone", own, "vent-1").said
    assert "Wash: Ceiling vent. Withdrawn by entry 9." in said
    assert "Wash: Ceiling vent, with soap. Corrected by entry 10." in said


def test_a_place_as_json_holds_its_entries_findings_and_pictures(built, run):
    document = run("zone", built, "field-mr", "--on", ON, "--json").json
    assert document["zone"]["id"] == "field-mr"
    assert [row["seq"] for row in document["entries"]] == [7, 4, 8, 10, 12, 13, 14, 17]
    assert [row["id"] for row in document["findings"]] == ["f3"]
    names = [(picture["name"], picture["seq"], picture["role"]) for picture in document["pictures"]]
    assert names == [
        ("march.jpg", 8, "middle"),
        ("before.jpg", 10, "close"),
        ("after.jpg", 13, "close"),
    ]
    capture = document["pictures"][1]["capture"]
    assert capture["rule"] == "offset"
    assert capture["earliest"] == capture["latest"] == "2025-05-30T17:10:05Z"
    whole = run("standing", built, "--on", ON, "--json").json
    by_seq = {row["seq"]: row for row in whole["entries"]}
    assert all(row == by_seq[row["seq"]] for row in document["entries"])


def test_a_place_that_the_rig_does_not_have_is_refused_with_those_it_has(built, run):
    ran = run("zone", built, "attic")
    assert (ran.code, "Known: front-strip" in ran.err) == (2, True)

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
    assert lines[2].startswith("Field, middle right: hole or tear (f3), grade 4 (urgent)")


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


def test_every_entry_says_between_which_outsiders_answers_it_lies(built, run):
    said = run("zone", built, "skylight-1", "--on", ON).said
    assert "grade 1, watch. Found: surface crazing, chalky bead, Skylight. Outsiders: by 7 Mar" in (
        said
    )
    assert "Outsiders: 7 Mar 2025 17:31Z to 30 May 2025 18:23Z." in said
    assert "Outsiders: after 8 Jun 2025 22:51Z." in said
    assert "An outsider first knew of this record on 7 Mar 2025 17:31Z (entry 10)" in said
    assert said.endswith("That another record was kept beside this one cannot be excluded.")


def test_where_no_outsider_answered_nobody_vouches(own, run):
    run("enter", own, "wash", "when=2025-05-30", "zones=vent-1")
    said = run("zone", own, "vent-1").said
    assert "Wash: Ceiling vent. Nobody vouches for this date." in said
    assert "No outsider vouches for any date here." in said


def test_zone_takes_certificates_that_the_reader_trusts_and_refuses_one_that_is_not_there(
    case, run, tmp_path
):
    ran = run("zone", case, "vent-1", "--trust", tmp_path / "gone.pem")
    assert (ran.code, "cannot be read" in ran.err) == (2, True)
    assert "--trust" in run("zone", "--help").out


def test_a_pictures_card_is_told_beside_it_and_stands_in_the_json(case, run, tmp_path):
    from evidence.case import Record
    from tests.carding import photo

    record = Record.open(case)
    path = photo(record, tmp_path / "a.jpg", "2025:08:30 09:00:00")
    strange = photo(record, tmp_path / "b.jpg", "2025:08:30 09:00:00", answer="ab" * 32)
    for file in (path, strange):
        ran = run("enter", case, "photos", "--photo", f"{file},zone=vent-1,role=close")
        assert "Cards in the pictures" in ran.out
    said = run("zone", case, "vent-1").said
    assert "Its card: not taken before 8 Jun 2025 22:51Z, on an outsider's clock." in said
    assert "an answer that this record does not hold (NPNP NPNP NPNP): not relied on." in said
    cards = [row["card"] for row in run("zone", case, "vent-1", "--json").json["pictures"]]
    assert [(card["state"], card["not_before"]) for card in cards] == [
        ("counts", "2025-06-08T22:51:00Z"),
        ("unknown", None),
    ]
    standing = run("standing", case).said
    assert "b.jpg: its card shows an answer that this record does not hold" in standing
    assert "a.jpg" not in standing

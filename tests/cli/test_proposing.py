"""What `intake` proposes: into files, to a program, and to the person at the terminal."""

import json

import pytest
from click.testing import CliRunner

from evidence.case import Record
from evidence.cli import cli, common
from tests.cli.conftest import last, state
from tests.making import picture


@pytest.fixture
def roll(tmp_path):
    """Two looks: two pictures of one morning, one of another day."""
    folder = tmp_path / "DCIM"
    picture(folder / "1.jpg", "2025:05:30 12:10:05", "-05:00", 210)
    picture(folder / "2.jpg", "2025:05:30 12:20:05", "-05:00", 120)
    picture(folder / "3.jpg", "2025:07:01 09:00:00", "-05:00", 60)
    return folder


def completed(path):
    told = json.loads(path.read_text())
    told["body"] |= {"means": "on-roof", "occasion": "routine"}
    told["body"]["zones"] = [{"zone": "vent-1", "grade": 1}]
    path.write_text(json.dumps(told))
    return path


def test_each_of_several_proposals_has_a_file_of_its_own_that_enter_takes(own, run, roll, tmp_path):
    ran = run("intake", own, roll, "--propose", tmp_path / "look.json")
    assert ran.code == 0, ran.err
    assert f"roof-evidence enter {own} inspection --from {tmp_path}/look-2.json" in ran.out
    first = tmp_path / "look-1.json"
    refused = run("enter", own, "inspection", "--from", first)
    assert (refused.code, "field 'means'" in refused.err) == (2, True)
    assert run("enter", own, "inspection", "--from", completed(first)).code == 0
    written = last(own)
    assert written["body"]["when"] == "2025-05-30T12:10-05:00/2025-05-30T12:20-05:00"
    assert [file["name"] for file in written["files"]] == ["1.jpg", "2.jpg"]
    assert run("check", own).code == 0


def test_a_single_proposal_is_the_file_itself(own, run, roll, tmp_path):
    run("intake", own, roll / "3.jpg", "--propose", tmp_path / "look.json")
    assert json.loads((tmp_path / "look.json").read_text())["kind"] == "inspection"
    wrong = run("enter", own, "label", "--from", tmp_path / "look.json")
    assert (wrong.code, "is of kind 'inspection'" in wrong.err) == (2, True)


@pytest.mark.parametrize("taken", ["look.json", "look-1.json"])
def test_what_a_person_works_on_is_not_written_over_and_nothing_is_sealed(
    own, run, roll, tmp_path, taken
):
    (tmp_path / taken).write_text("{}")
    before = state(own)
    ran = run("intake", own, roll, "--propose", tmp_path / "look.json")
    assert (ran.code, "is there already" in ran.err) == (2, True)
    assert state(own) == before
    assert (tmp_path / taken).read_text() == "{}"


def test_proposals_never_lie_in_a_case(own, run, roll):
    assert "lies among the files" in run("intake", own, roll, "--propose", own / "look.json").err


def test_where_nothing_is_proposed_no_file_is_made(own, run, tmp_path):
    (tmp_path / "notes.txt").write_text("dry")
    ran = run("intake", own, tmp_path / "notes.txt", "--propose", tmp_path / "look.json")
    assert (ran.code, "Nothing is proposed." in ran.out) == (0, True)
    assert not (tmp_path / "look.json").exists()


def test_a_program_is_answered_with_the_same_documents(own, run, roll, tmp_path):
    told = run("intake", own, roll, "--propose", tmp_path / "look.json", "--json").json["proposals"]
    files = [json.loads((tmp_path / f"look-{n}.json").read_text()) for n in (1, 2)]
    assert told == files


def test_without_a_terminal_it_is_told_once_what_could_be_entered(own, run, roll):
    said = run("intake", own, roll).said
    assert "What could be entered of these pictures" in said
    assert "A look, on 30 May 2025: no zone told, 2 pictures." in said
    assert run("intake", own, roll).lines == ["Nothing new: 3 files are in the record already."]


def at_terminal(monkeypatch, own, path, *answers):
    monkeypatch.setattr(common, "interactive", lambda: True)
    done = CliRunner().invoke(cli, ["intake", str(own), str(path)], input="\n".join(answers) + "\n")
    assert done.exit_code == 0, done.output
    return done.output


def test_a_person_completes_and_confirms_one_look_and_leaves_the_other(own, roll, monkeypatch):
    said = at_terminal(monkeypatch, own, roll, "l", "", "on-roof", "routine", "vent-1:1", "y", "")
    assert "Enter a [l]ook, or [n]othing?" in said
    entry = last(own)
    assert (entry["kind"], entry["body"]["zones"]) == (
        "inspection",
        [{"zone": "vent-1", "grade": 1}],
    )
    assert [file["name"] for file in entry["files"]] == ["1.jpg", "2.jpg"]
    assert [one.kind for one in Record.open(own).entries[6:]] == ["photos", "inspection"]


@pytest.mark.parametrize(
    "answers",
    [["", ""], ["l", "", "on-roof", "routine", "vent-1:1", "", ""],
     ["l", "", "on-roof", "routine", "attic:1", ""], ["l", "", "on-roof", "now", "vent-1:1", ""]],
    ids=["by enter alone", "not confirmed", "no such zone", "no such occasion"],
)  # fmt: skip
def test_nothing_is_entered_without_a_yes_and_what_is_wrong_is_told(
    own, roll, monkeypatch, answers
):
    said = at_terminal(monkeypatch, own, roll, *answers)
    assert last(own)["kind"] == "photos"
    if "attic:1" in answers or "now" in answers:
        assert "Nothing is entered of it; the pictures are sealed all the same." in said


def test_an_original_is_linked_by_a_yes(own, run, tmp_path, monkeypatch):
    from tests.test_copies import copy, original

    message = copy(tmp_path / "message.jpg", 1)
    run("enter", own, "inspection", "when=2025-05-30", "means=on-roof", "occasion=routine",
        "zones=vent-1:1", "--photo", f"{message},zone=vent-1,via=messenger,role=close")  # fmt: skip
    path = original(tmp_path / "LF_1.jpg", 1, "2025:05:30 12:10:05")
    said = " ".join(at_terminal(monkeypatch, own, path, "", "y", "y").split())
    assert "LF_1.jpg looks like message.jpg of entry 7" in said
    body = last(own)["body"]
    assert (body["zone"], body["role"], len(body["of"])) == ("vent-1", "close", 1)
    assert run("intake", own, message, path).lines[0].startswith("Nothing new: 2 files")


def test_another_rigs_pictures_are_left_out_said_and_taken_by_name(case, run, tmp_path):
    from tests.carding import photo, stranger

    record, other = Record.open(case), stranger()
    folder = tmp_path / "DCIM"
    photo(record, folder / "1.jpg", "2025:08:30 09:00:00")
    for n, minute in ((2, "10"), (4, "20")):
        photo(record, folder / f"{n}.jpg", f"2025:08:30 09:{minute}:00", answer=other.answer,
              case_id=other.case_id)  # fmt: skip
    from PIL import Image

    from tests.carding import laid, saved

    for n, minute in ((3, "15"), (5, "05")):
        saved(laid(Image.new("L", (200, 150), 40 * n)), folder / f"{n}.jpg",
              f"2025:08:30 09:{minute}:00")  # fmt: skip
    told = run("intake", case, folder, "--json").json
    assert {row["name"]: row["why"] for row in told["left_out"]} == {
        "2.jpg": "its-card", "3.jpg": "others", "4.jpg": "its-card", "5.jpg": "between",
    }  # fmt: skip
    assert len(told["sealed"]) == 1
    again = run("intake", case, folder)
    assert "Nothing new: 1 file is in the record already." in again.out
    assert "lies between a card of this record and one of another: 5.jpg." in again.said
    assert "--despite-cards" in again.out
    sealed = run("intake", case, folder / "5.jpg", "--despite-cards", "--json").json
    assert (len(sealed["sealed"]), sealed["left_out"]) == (1, [])

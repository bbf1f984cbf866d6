"""`demo`: the whole job on an invented case."""

import json

import pytest

from tests.making import story, write_story


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    return write_story(tmp_path_factory.mktemp("told"))


def test_a_story_becomes_a_case_and_a_dossier_that_check_as_unchanged(told, run, tmp_path):
    ran = run("demo", "--into", tmp_path / "demo", "--story", told)
    assert ran.code == 0, ran.err
    folder = tmp_path / "demo"
    assert "Kestrel: a sample, invented from end to end, with 19 entries." in ran.said
    assert str(folder / "case") in ran.said
    assert str(folder / "claim-i1.pdf") in ran.said
    assert (folder / "claim-i1.pdf").read_bytes().startswith(b"%PDF")
    assert "Unchanged: all of it is as it was sealed." in ran.out
    assert f"  roof-evidence standing {folder / 'case'}\n" in ran.out
    assert run("check", folder / "case").code == 0


def test_a_program_is_answered_with_the_paths_and_the_checks(told, run, tmp_path):
    ran = run("demo", "--into", tmp_path / "demo", "--story", told, "--json")
    document = ran.json
    assert document.keys() == {"case", "dossiers", "pack", "checks"}
    assert [row["result"] for row in document["checks"]] == ["unchanged"] * 3
    assert [row["target"] for row in document["checks"]] == ["case", "dossier", "pack"]
    assert all(row["sample"] for row in document["checks"])


def test_a_folder_that_is_taken_is_refused(told, run, tmp_path):
    (tmp_path / "letter.txt").write_text("mine")
    ran = run("demo", "--into", tmp_path, "--story", told)
    assert (ran.code, "Choose another with --into." in ran.err) == (2, True)
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


def no_entries() -> dict:
    return story() | {"entries": []}


def unknown_kind() -> dict:
    told = story()
    told["entries"][5]["kind"] = "inspektion"
    return told


def broken_reference() -> dict:
    told = story()
    told["entries"][5]["body"]["zones"][0]["zone"] = "attic"
    return told


def outside() -> dict:
    told = story()
    told["entries"][5]["files"] = ["../letter.jpg"]
    return told


@pytest.mark.parametrize("change", [no_entries, unknown_kind, broken_reference, outside])
def test_a_story_that_cannot_be_told_leaves_no_case(change, run, tmp_path):
    path = write_story(tmp_path / "told", change())
    ran = run("demo", "--into", tmp_path / "demo", "--story", path)
    assert ran.code == 2
    assert len(ran.err.splitlines()) <= 3
    assert not (tmp_path / "demo" / "case").exists()


def test_a_story_that_is_not_there_or_no_json_is_refused(run, tmp_path):
    (tmp_path / "told.json").write_text("once upon a time")
    for name in ("told.json", "nowhere.json"):
        ran = run("demo", "--into", tmp_path / "demo", "--story", tmp_path / name)
        assert (ran.code, name in ran.err) == (2, True)


def test_without_an_incident_there_is_a_case_and_no_dossier(run, tmp_path):
    told = story()
    told["entries"] = told["entries"][:6]
    path = write_story(tmp_path / "told", json.loads(json.dumps(told)))
    ran = run("demo", "--into", tmp_path / "demo", "--story", path)
    assert ran.code == 0, ran.err
    assert list((tmp_path / "demo").glob("*.pdf")) == []
    assert f"roof-evidence check {tmp_path / 'demo' / 'case'}" in ran.said

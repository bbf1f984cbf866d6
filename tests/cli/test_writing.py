"""`start` and `enter`: what puts something into the record, and what is refused."""

import io
import json
import re
import sys
from datetime import UTC, datetime, timedelta

import pytest

from evidence.case import Draft, Record
from evidence.cli import common
from evidence.cli.common import PASSPHRASE
from evidence.times import parse_utc
from tests.cli.conftest import OPENING, WORDS, last, state
from tests.examples import BODIES
from tests.making import RIG, picture

WASH = ["wash", "when=2025-05-30", "zones=all"]


@pytest.fixture
def fresh(tmp_path, monkeypatch):
    """A folder for new cases, with keys of its own and a passphrase."""
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "keys"))
    monkeypatch.setenv(PASSPHRASE, WORDS)
    return tmp_path


def opening(folder, **more) -> str:
    path = folder / "opening.json"
    path.write_text(json.dumps(OPENING | more))
    return str(path)


def stdin(monkeypatch, text: str) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))


# start


def test_a_case_is_started_from_a_file_and_shows_its_recovery_key_once(fresh, run):
    ran = run("start", fresh / "rig", "--from", opening(fresh))
    assert ran.code == 0
    (key,) = [line.strip() for line in ran.lines if re.fullmatch(r" +[0-9A-Z-]{20,}", line)]
    assert "write it on paper now" in ran.out
    kinds = [entry.kind for entry in Record.open(fresh / "rig").entries]
    assert kinds == ["case", "key", "key", "party", "rig", "rule"]
    held = [path for path in fresh.rglob("*") if path.is_file()]
    assert not any(key.encode() in path.read_bytes() for path in held)
    assert not any(WORDS.encode() in path.read_bytes() for path in held)


def test_start_answers_a_program_with_json(fresh, run):
    ran = run("start", fresh / "rig", "--from", opening(fresh), "--json")
    assert ran.json.keys() == {"case_id", "entries", "recovery_key"}
    assert ran.json["entries"] == 6
    assert ran.json["case_id"] == Record.open(fresh / "rig").case.case_id


def test_start_reads_standard_input(fresh, run, monkeypatch):
    stdin(monkeypatch, json.dumps(OPENING))
    assert run("start", fresh / "rig", "--from", "-").code == 0
    assert Record.open(fresh / "rig").case.title == "Kestrel"


def test_a_case_that_a_person_starts_is_no_sample(fresh, run):
    run("start", fresh / "rig", "--from", opening(fresh))
    assert Record.open(fresh / "rig").case.sample is False


def test_a_case_like_another_takes_its_rig_owner_and_rules_but_not_its_entries(fresh, run, own):
    ran = run("start", fresh / "second", "--like", own, "--json")
    assert ran.code == 0
    first, second = Record.open(own), Record.open(fresh / "second")
    assert [entry.kind for entry in second.entries] == [
        "case",
        "key",
        "key",
        "party",
        "rig",
        "rule",
    ]
    assert [entry.raw for entry in second.entries[3:]] == [entry.raw for entry in first.entries[3:]]
    assert second.case.case_id != first.case.case_id


def test_keys_may_be_kept_in_the_case(fresh, run):
    run("start", fresh / "rig", "--from", opening(fresh), "--keys-in-case")
    assert (fresh / "rig" / "private" / "keys").is_dir()
    assert not (fresh / "keys").exists()


def test_the_next_step_is_named(fresh, run):
    ran = run("start", fresh / "rig", "--from", opening(fresh))
    assert "Next: roof-evidence enter" in ran.said


def test_without_a_terminal_and_a_file_there_is_nobody_to_ask(fresh, run):
    ran = run("start", fresh / "rig")
    assert (ran.code, len(ran.err.splitlines())) == (2, 2)
    assert "Give --from FILE" in ran.err
    assert not (fresh / "rig").exists()


def test_without_a_terminal_and_a_passphrase_no_key_is_made(fresh, run, monkeypatch):
    monkeypatch.delenv(PASSPHRASE)
    ran = run("start", fresh / "rig", "--from", opening(fresh))
    assert ran.code == 2
    assert PASSPHRASE in ran.err
    assert not (fresh / "rig").exists()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"title": None}, "needs a title, a party and a rig"),
        ({"rig": "a rig"}, "needs a title, a party and a rig"),
        ({"rules": {"id": "a"}}, "is not a list of rules"),
        ({"colour": "white"}, "'colour'"),
        ({"rig": RIG | {"length_mm": "long"}}, "length_mm"),
        ({"rig": RIG | {"home_zone": "America/Nowhere"}}, "home_zone"),
        ({"rules": [{"id": "look-90"}]}, "rule: field 'task'"),
    ],
)
def test_an_opening_that_cannot_be_taken_leaves_nothing(change, said, fresh, run):
    ran = run("start", fresh / "rig", "--from", opening(fresh, **change))
    assert ran.code == 2
    assert said in ran.err
    assert len(ran.err.splitlines()) <= 3
    assert not (fresh / "rig").exists()
    assert not list((fresh / "keys").glob("*")) if (fresh / "keys").exists() else True


def test_a_folder_that_is_taken_is_left_alone(fresh, run):
    (fresh / "rig").mkdir()
    (fresh / "rig" / "letter.txt").write_text("mine")
    ran = run("start", fresh / "rig", "--from", opening(fresh))
    assert ran.code == 2
    assert "not empty" in ran.err
    assert (fresh / "rig" / "letter.txt").read_text() == "mine"


def test_a_file_that_is_no_json_is_refused(fresh, run):
    (fresh / "opening.json").write_text("{title: Kestrel}")
    ran = run("start", fresh / "rig", "--from", fresh / "opening.json")
    assert ran.code == 2
    assert len(ran.err.splitlines()) <= 3
    ran = run("start", fresh / "rig", "--from", fresh / "nowhere.json")
    assert "cannot be read" in ran.err


# enter: how an entry is given


def test_fields_are_typed(own, run):
    ran = run("enter", own, *WASH, "product=mild soap")
    assert ran.code == 0
    assert ran.said.startswith("Entry 7 is written: wash.")
    assert last(own)["body"] == {"when": "2025-05-30", "zones": "all", "product": "mild soap"}
    assert last(own)["by"] == "owner"


def test_a_program_is_answered_with_seq_sha256_and_head(own, run):
    ran = run("enter", own, *WASH, "--json")
    record = Record.open(own)
    assert ran.json.keys() == {"seq", "sha256", "head"}
    assert (ran.json["seq"], ran.json["sha256"]) == (6, record.entries[-1].sha256)
    assert ran.json["head"] == {"size": 7, "root": record.root_on(record.today())}


def test_the_offset_is_completed_from_the_home_zone(own, run):
    run("enter", own, "wash", "when=2025-05-30T12:10", "zones=all")
    assert last(own)["body"]["when"] == "2025-05-30T12:10-05:00"


def test_an_hour_of_the_clock_change_is_refused_with_both_offsets_named(own, run):
    before = state(own)
    ran = run("enter", own, "wash", "when=2025-11-02T01:30", "zones=all")
    assert ran.code == 2
    assert "2025-11-02T01:30-05:00 or 2025-11-02T01:30-06:00" in ran.err
    assert state(own) == before


def test_a_body_is_read_from_a_file(own, run, tmp_path):
    (tmp_path / "wash.json").write_text('{"when": "2025-05-30", "zones": ["vent-1"]}')
    assert run("enter", own, "wash", "--from", tmp_path / "wash.json").code == 0
    assert last(own)["body"]["zones"] == ["vent-1"]


def test_a_body_with_writer_and_files_is_read_from_a_file(own, run, photo):
    insurer = {"id": "insurer", "name": "Invented Mutual", "role": "insurer"}
    run("enter", own, "party", *[f"{name}={value}" for name, value in insurer.items()])
    whole = {
        "body": {"when": "2025-05-30", "zones": ["vent-1"]},
        "by": "insurer",
        "files": [{"path": "photos/a.jpg", "zone": "vent-1", "role": "close"}],
    }
    (photo.parent.parent / "wash.json").write_text(json.dumps(whole))
    ran = run("enter", own, "wash", "--from", photo.parent.parent / "wash.json")
    assert ran.code == 0, ran.err
    entry = last(own)
    assert (entry["by"], entry["body"]) == ("insurer", whole["body"])
    (file,) = entry["files"]
    assert (file["name"], file["zone"], file["role"]) == ("a.jpg", "vent-1", "close")


def test_a_body_is_read_from_standard_input(own, run, monkeypatch):
    stdin(monkeypatch, '{"when": "2025-05-30", "zones": "all"}')
    assert run("enter", own, "wash", "--from", "-").code == 0
    assert last(own)["body"] == {"when": "2025-05-30", "zones": "all"}


def test_what_is_typed_stands_above_what_the_file_says(own, run, tmp_path):
    (tmp_path / "wash.json").write_text('{"when": "2025-05-30", "zones": "all"}')
    run("enter", own, "wash", "zones=vent-1", "--from", tmp_path / "wash.json")
    assert last(own)["body"]["zones"] == ["vent-1"]


def test_a_picture_is_sealed_with_its_description(own, run, photo):
    ran = run(
        "enter", own, "inspection", "when=2025-05-30T12:00/2025-05-30T12:30", "means=on-roof",
        "occasion=routine", "zones=vent-1:1", "--photo", f"{photo},zone=vent-1,role=close",
        "--photo", picture(photo.parent / "b.jpg", None, None, 90),
    )  # fmt: skip
    assert ran.code == 0, ran.err
    first, second = last(own)["files"]
    assert (first["name"], first["zone"], first["role"]) == ("a.jpg", "vent-1", "close")
    assert first["camera"]["DateTimeOriginal"] == "2025:05:30 12:10:05"
    assert second["name"] == "b.jpg"
    record = Record.open(own)
    assert record.original(first["sha256"]).read_bytes() == photo.read_bytes()


def test_a_rehearsal_writes_nothing(own, run, photo):
    before = state(own)
    ran = run("enter", own, *WASH, "--photo", photo, "--check-only")
    assert (ran.code, ran.out) == (0, "It could be written.\n")
    assert run("enter", own, *WASH, "--check-only", "--json").json == {"ok": True}
    assert state(own) == before


def test_a_rehearsal_needs_no_passphrase_and_finds_the_same_faults(own, run, monkeypatch):
    monkeypatch.delenv(PASSPHRASE)
    assert run("enter", own, *WASH, "--check-only").code == 0
    ran = run("enter", own, "wash", "when=2025-05-30", "zones=attic", "--check-only")
    assert (ran.code, "attic" in ran.err) == (2, True)


def test_a_sample_needs_no_passphrase(case, run):
    assert run("enter", case, *WASH).code == 0


# Refused


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["wassh", "when=2025-05-30"], "Did you mean 'wash'?"),
        (["wash", "when=2025-05-30", "zonse=all"], "Did you mean 'zones'?"),
        (["wash", "when=2025-05-30", "zones=attic"], "Known: field-ml"),
        (["wash", "zones=all"], "field 'when'"),
        (["wash", "when=2199-05-30", "zones=all"], "lies ahead of the clock"),
        (["wash", "when=2025-06-02/2025-05-30", "zones=all"], "ends before it starts"),
        (["wash", "when=30.5.2025", "zones=all"], "is not in a form that the record knows"),
        (["inspection", "when=2025-05-30", "means=on-roof", "occasion=routine", "zones=vent-1:9"],
         "0, 1, 2, 3 or 4"),
        (["inspection", "when=2025-05-30", "means=roof", "occasion=routine", "zones=vent-1:1"],
         "means"),
        (["wash", "when=2025-05-30", "zones=all", "--by", "nobody"], "Known: owner"),
        (["rehash"], "reserved"),
        (["case", "title=x", "case_id=" + "0" * 32, "sample=no"], "a record starts with its one"),
    ],
)  # fmt: skip
def test_what_cannot_be_taken_is_refused_in_three_lines_and_changes_nothing(words, said, own, run):
    before = state(own)
    ran = run("enter", own, *words)
    assert ran.code == 2
    assert said in ran.err
    assert ran.out == ""
    assert len(ran.err.splitlines()) <= 3
    assert state(own) == before


def test_a_picture_that_is_none_is_refused_and_nothing_is_sealed(own, run, photo):
    broken = photo.parent / "cut.jpg"
    broken.write_bytes(photo.read_bytes()[:2000])
    before = state(own)
    for path in (photo.parent, photo.parent / "nowhere.jpg", broken):
        ran = run("enter", own, *WASH, "--photo", path)
        assert ran.code == 2, path
        assert path.name in ran.err
        assert len(ran.err.splitlines()) <= 3
    assert state(own) == before


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('["when"]', "is not a JSON object"),
        ('{"body": 3}', "has a body or files of another form"),
        ('{"body": {}, "files": [{"zone": "vent-1"}]}', "has an item without a path"),
        ('{"when": "2025-05-30", "when": "2025-05-31"}', "when"),
        ('{"when": 1.5}', ""),
    ],
)
def test_a_file_of_another_form_is_refused(text, said, own, run, tmp_path):
    (tmp_path / "entry.json").write_text(text)
    before = state(own)
    ran = run("enter", own, "wash", "--from", tmp_path / "entry.json")
    assert ran.code == 2, ran.err
    assert said in ran.err
    assert len(ran.err.splitlines()) <= 3
    assert state(own) == before


def test_who_says_it_must_be_named_where_it_cannot_be_told(own, run):
    run("enter", own, "party", "id=second", "name=B. Holder", "role=owner")
    ran = run("enter", own, *WASH)
    assert (ran.code, "Known: owner, second." in ran.err) == (2, True)
    assert run("enter", own, *WASH, "--by", "second").code == 0
    assert last(own)["by"] == "second"


def test_a_wrong_passphrase_and_none_at_all_write_nothing(own, run, monkeypatch):
    before = state(own)
    monkeypatch.setenv(PASSPHRASE, "another")
    wrong = run("enter", own, *WASH)
    monkeypatch.delenv(PASSPHRASE)
    none = run("enter", own, *WASH)
    for ran in (wrong, none):
        assert ran.code == 2
        assert "passphrase" in ran.err.lower()
        assert len(ran.err.splitlines()) <= 3
    assert state(own) == before


# enter: a person at the terminal


def test_a_person_is_asked_for_what_is_missing(own, monkeypatch):
    from click.testing import CliRunner

    from evidence.cli import cli

    monkeypatch.setattr(common, "interactive", lambda: True)
    answers = "2025-05-30T12:10\non-roof\nroutine\nvent-1:1, skylight-1:0\n"
    done = CliRunner().invoke(cli, ["enter", str(own), "inspection"], input=answers)
    assert done.exit_code == 0, done.output
    assert "Zones: front-strip, rail-left" in done.output
    assert last(own)["body"] == {
        "when": "2025-05-30T12:10-05:00",
        "means": "on-roof",
        "occasion": "routine",
        "zones": [{"zone": "vent-1", "grade": 1}, {"zone": "skylight-1", "grade": 0}],
    }


def test_a_person_is_not_asked_for_what_was_typed_and_now_is_proposed(own, monkeypatch):
    from click.testing import CliRunner

    from evidence.cli import cli

    monkeypatch.setattr(common, "interactive", lambda: True)
    done = CliRunner().invoke(cli, ["enter", str(own), "wash", "zones=all"], input="\n")
    assert done.exit_code == 0, done.output
    assert done.output.count(": ") >= 1
    assert "zones" not in done.output
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d-0[56]:00", last(own)["body"]["when"])


def test_a_case_is_started_by_answering(fresh, monkeypatch):
    from click.testing import CliRunner

    from evidence.cli import cli

    monkeypatch.setattr(common, "interactive", lambda: True)
    monkeypatch.delenv(PASSPHRASE)
    answers = ["A. Holder", "Kestrel", "epdm", "ft", "24.3", "8", "America/Nowhere",
               "America/Denver", "yes", *["1", "0", "2", "0", "0", "1", "0", "0", "0"],
               WORDS, WORDS]  # fmt: skip
    done = CliRunner().invoke(cli, ["start", str(fresh / "rig")], input="\n".join(answers) + "\n")
    assert done.exit_code == 0, done.output
    record = Record.open(fresh / "rig")
    rig = record.entries[4].raw
    assert (rig["name"], rig["home_zone"], rig["length_mm"]) == ("Kestrel", "America/Denver", 7407)
    ids = [place["id"] for place in rig["zones"]]
    assert len(ids) == 8 + 9 + 4  # edges and corners, fields, openings
    assert ids[-4:] == ["skylight-1", "vent-1", "vent-2", "air-conditioner-1"]
    labels = [place["label"] for place in rig["zones"][-4:]]
    assert labels == ["Skylight", "Ceiling vent 1", "Ceiling vent 2", "Air conditioner"]
    assert [entry.kind for entry in record.entries[5:]] == ["rule"] * len(record.entries[5:])
    assert {entry.raw["basis"] for entry in record.entries[5:]} == {"tool-default"}
    record.rehearse([Draft("wash", {"when": "2025-05-30", "zones": "all"}, "owner")])


# A clock that ran back


def test_a_clock_that_ran_ahead_is_reset_in_plain_view_and_the_record_goes_on(own, run):
    """The laptop thought it was 2098 for one entry."""
    record = Record.open(own)
    signer = common.keys_of(record).signer
    ahead = datetime(2098, 1, 1, tzinfo=UTC)
    record.write([Draft("photos", {}, "owner")], signer, clock=lambda: ahead)

    ran = run("enter", own, *WASH)
    assert ran.code == 2
    assert "is earlier than the entry before (2098-01-01T00:00:00Z)" in ran.err
    assert "enter CASE clock why=REASON" in ran.err
    ran = run("enter", own, "clock", "why=battery was empty")
    assert ran.code == 0, ran.err
    said = last(own)
    assert said["body"]["was"] == "2098-01-01T00:00:00Z"
    late = parse_utc(said["logged"]) - parse_utc(said["body"]["is"])
    assert timedelta(0) <= late < timedelta(minutes=1)
    assert run("enter", own, *WASH).code == 0
    assert run("check", own).code == 0


def test_a_reset_says_what_the_clock_says(own, run):
    ran = run("enter", own, "clock", "why=x", "is=2020-01-01T00:00:00Z")
    assert ran.code == 2
    assert "clock: field 'is'" in ran.err


@pytest.mark.parametrize(("kind", "command"), [("witness", "witness"), ("issued", "dossier")])
def test_what_only_the_program_writes_is_not_entered_by_hand(run, own, tmp_path, kind, command):
    """An owner writes down an outsider's answer, or a dossier, that nobody gave: no correction
    touches these kinds, and the record would check as changed for ever."""
    (tmp_path / "made-up.json").write_text(json.dumps({"body": BODIES[kind], "by": "owner"}))
    lines = Record.open(own).lines
    for way in (("--from", tmp_path / "made-up.json"), ("size=3",), ("--check-only",)):
        ran = run("enter", own, kind, *way)
        assert (ran.code, f"`roof-evidence {command}`" in ran.err) == (2, True)
    assert Record.open(own).lines == lines

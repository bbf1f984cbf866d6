import json
import stat
from pathlib import Path

import pytest

from evidence.case import Record
from tests.cli.conftest import ON, last
from tests.making import picture
from tests.packing import members, packed

DAY = ("--on", ON)


@pytest.fixture(scope="module")
def zipped(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return packed(built, tmp_path_factory.mktemp("zipped") / "case.zip").path


def test_a_pack_is_made_told_and_checked(run, built, tmp_path):
    out = tmp_path / "a.zip"

    ran = run("pack", built, out)

    assert ran.code == 0
    assert f"{out} holds 18 entries and 4 sealed files" in ran.said
    assert f"roof-evidence check {out}" in ran.out
    checked = run("check", out)
    assert checked.code == 0
    assert "Unchanged: all of it is as it was sealed." in checked.out


def test_for_a_program_it_is_one_document(run, built, tmp_path):
    out = tmp_path / "a.zip"

    assert run("pack", built, out, "--json").json == {
        "file": str(out), "bytes": out.stat().st_size, "files": len(members(out)), "entries": 18,
        "withheld": 0, "size": 18, "originals": 4, "positions": 0, "positions_told": 0,
        "left_out": 0, "missing": [], "revealed": [],
    }  # fmt: skip


def test_it_takes_the_place_of_nothing(run, built, zipped):
    before = zipped.read_bytes()

    ran = run("pack", built, zipped)

    assert (ran.code, zipped.read_bytes()) == (2, before)
    assert "is there already" in ran.err


def test_what_stays_behind_is_told(run, case, tmp_path):
    record = Record.open(case)
    record.original(next(r for e in record.entries for r in e.files if r.camera).sha256).unlink()

    whole = run("pack", case, tmp_path / "a.zip")
    bare = run("pack", case, tmp_path / "b.zip", "--without-originals")

    assert "Missing there, for the case does not hold them any more: 1 sealed file." in whole.said
    assert "Left out, and listed as left out: 4 sealed files." in bare.said


def test_an_excerpt_says_how_much_it_withholds(run, own, tmp_path):
    strike = {"id": "i1", "stated_cause": "branch", "known": "seen", "zones": ["vent-1"]}
    (tmp_path / "i.json").write_text(json.dumps({**strike, "when": "2025-06-08T16:40-05:00"}))
    assert run("enter", own, "incident", "--from", tmp_path / "i.json").code == 0
    assert run("enter", own, "trip", "id=t1", "out=2025-06-10").code == 0

    ran = run("pack", own, tmp_path / "e.zip", "--excerpt", "i1")

    size = len(Record.open(own).lines)
    assert f"It is an excerpt: 1 of {size} entries are withheld, and it says so." in ran.said
    checked = run("check", tmp_path / "e.zip")
    assert checked.code == 3
    assert checked.lines[0] == "An excerpt: what is here was not changed; the rest was withheld."
    assert f"1 of {size} entries withheld by the sender" in checked.said
    read = run("standing", tmp_path / "e.zip")
    assert read.code == 2
    assert "no gap and no last look can be told" in read.err


def test_positions_are_warned_of(run, own, tmp_path):
    from PIL import Image

    path = picture(tmp_path / "there.jpg", "2025:08:30 09:00:00", "-05:00", 90)
    with Image.open(path) as image:
        exif = image.getexif()
        exif.get_ifd(0x8825).update({1: "N", 2: (44.0, 30.0, 0.0), 3: "W", 4: (93.0, 6.0, 0.0)})
        image.save(path, exif=exif)
    assert run("intake", own, path).code == 0

    whole = run("pack", own, tmp_path / "a.zip")
    bare = run("pack", own, tmp_path / "b.zip", "--without-originals")

    told = "Take care: it names where the camera was for 1 picture"
    assert f"{told}, 1 of them inside." in whole.said
    assert f"{told}, though none inside." in bare.said


# Reading


@pytest.mark.parametrize(
    "command",
    [("standing",), ("zone", "skylight-1"), ("photos",), ("challenge",), ("due",),
     ("materials", "--zone", "skylight-1"), ("moisture",), ("round",)],
)  # fmt: skip
def test_what_reads_a_case_reads_its_pack_alike(run, case, zipped, command):
    name, *more = command

    own, pack = (run(name, path, *more, *DAY, "--json") for path in (case, zipped))

    assert own.code == pack.code == 0
    assert own.json == pack.json


def test_its_tables_are_exported_and_no_index_is_made_of_it(run, built, zipped, tmp_path):
    assert run("export", built, "--to", tmp_path / "a").code == 0
    assert run("export", zipped, "--to", tmp_path / "b").code == 0

    assert {p.name: p.read_bytes() for p in (tmp_path / "a").iterdir()} == {
        p.name: p.read_bytes() for p in (tmp_path / "b").iterdir()
    }
    assert [path.name for path in zipped.parent.iterdir()] == ["case.zip"]


def test_a_round_is_printed_from_it(run, zipped, tmp_path):
    assert run("round", zipped, *DAY, "--out", tmp_path / "r.pdf").code == 0


def test_a_case_is_started_like_it(run, own, zipped, tmp_path):
    assert run("start", tmp_path / "new", "--like", zipped).code == 0

    assert [e.kind for e in Record.open(tmp_path / "new").entries].count("rig") == 1


@pytest.mark.parametrize(
    "command",
    [("enter", "wash"), ("intake", "a.jpg"), ("dossier", "--out", "a.pdf"), ("pack", "b.zip"),
     ("card", "--out", "c.pdf"), ("witness", "--note", "n.txt"), ("key",)],
)  # fmt: skip
def test_what_writes_refuses_it_plainly(run, zipped, command, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    name, *more = command

    ran = run(name, zipped, *more)

    assert ran.code == 2
    assert "is a pack: it can be read, not written" in ran.err
    assert list(tmp_path.iterdir()) == []


def test_a_tampered_pack_is_not_read_as_if_it_were_whole(run, zipped, tmp_path):
    from tests.packing import exchanged

    def change(files: dict[str, bytes]) -> None:
        files["record.jsonl"] = files["record.jsonl"].replace(b'"branch"', b'"debris"')

    ran = run("standing", exchanged(zipped, tmp_path / "b.zip", change))

    assert ran.code == 4
    assert "not those under its newest head" in ran.err


# Sealed values


def test_a_value_is_sealed_when_it_is_entered_and_revealed_when_it_is_packed(run, own, tmp_path):
    ran = run(
        "enter", own, "paper", "type=policy", "title=Policy", "number=K-20/311",
        "--seal", "number", "--json",
    )  # fmt: skip
    assert ran.code == 0
    assert "K-20/311" not in ran.out + ran.err
    sealed = last(own)["body"]["number"]["sealed"]
    kept = own / "private" / f"{sealed}.json"
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    for path in own.rglob("*"):
        assert path == kept or path.is_dir() or b"K-20/311" not in path.read_bytes()
    number = ran.json["seq"] + 1

    told = run("pack", own, tmp_path / "a.zip", "--reveal", "number")

    assert f"It reveals what entry {number} seals: number." in told.said
    checked = run("check", tmp_path / "a.zip")
    assert f"very value that was sealed: entry {number}, number" in checked.said


def test_a_rig_starts_with_its_serial_sealed(run, own, tmp_path):
    from tests.cli.conftest import OPENING

    opening = {**OPENING, "rig": {**OPENING["rig"], "serial": "1KTW-0042"}}
    (tmp_path / "start.json").write_text(json.dumps(opening))

    ran = run("start", tmp_path / "new", "--from", tmp_path / "start.json", "--seal", "serial")

    assert ran.code == 0
    (rig,) = [e for e in Record.open(tmp_path / "new").entries if e.kind == "rig"]
    kept = tmp_path / "new" / "private" / f"{rig.raw['serial']['sealed']}.json"
    assert json.loads(kept.read_bytes())["value"] == "1KTW-0042"
    assert b"1KTW-0042" not in (tmp_path / "new" / "ledger.sqlite").read_bytes()
    again = run("start", tmp_path / "like", "--like", tmp_path / "new")
    assert again.code == 0
    (like,) = [e for e in Record.open(tmp_path / "like").entries if e.kind == "rig"]
    assert "serial" not in like.raw


def test_what_cannot_be_sealed_is_refused_and_nothing_is_kept(run, own):
    before = sorted((own / "private").iterdir())

    for arguments in (
        ("paper", "type=policy", "title=Policy", "--seal", "title"),
        ("paper", "type=policy", "title=Policy", "--seal", "number"),
        ("paper", "type=novel", "title=Policy", "number=1", "--seal", "number"),
    ):
        assert run("enter", own, *arguments).code == 2
    assert run("enter", own, "paper", "type=policy", "title=P", "number=1", "--seal", "number",
               "--check-only").code == 0  # fmt: skip
    assert sorted((own / "private").iterdir()) == before

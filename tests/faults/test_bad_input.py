"""Wrong use and unreadable input, through the command line.

Each is answered with exit code 2 and at most three lines, and leaves the record as it was: no
entry, no head, no file among the originals.
"""

import json
import os
import shutil
import stat
from collections.abc import Callable, Iterator
from contextlib import redirect_stdout
from datetime import UTC, datetime, timedelta
from io import StringIO
from pathlib import Path

import pytest

from evidence.cli import _run
from evidence.story import build_story
from evidence.witness import CosigningKey
from tests.dossier.making import pages
from tests.mailing import Draft as Letter
from tests.mailing import key_record
from tests.making import RIG, entry, picture, story, write_story

LOOK = ("when=2025-09-01", "means=on-roof", "occasion=routine", "zones=vent-1:0")
START = {
    "title": "Kestrel",
    "party": {"id": "owner", "name": "A. Holder", "role": "owner"},
    "rig": RIG,
    "rules": [],
}


def snapshot(folder: Path) -> dict[str, bytes]:
    """Every file below a folder but for small pictures, which may be made at any time."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.parent.name != "previews"
    }


@pytest.fixture
def place(case: Path, tmp_path: Path) -> Path:
    """A folder with a case and all that the commands below name; the case is in `case`."""
    photo = picture(tmp_path / "good.jpg", "2025:09:01 06:30:00", "-05:00", 90)
    (tmp_path / "cut.jpg").write_bytes(photo.read_bytes()[:-200])
    (tmp_path / "text.pdf").write_text("This is no PDF.")
    (tmp_path / "letter.pdf").write_bytes(pages("A letter that nobody signed"))
    (tmp_path / "folder").mkdir()
    shutil.copy(photo, tmp_path / "folder" / "inside.jpg")
    return tmp_path


@pytest.fixture(autouse=True)
def keys(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A key folder of the test's own, and nobody at the terminal."""
    folder = tmp_path_factory.mktemp("keys")
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(folder))
    monkeypatch.delenv("ROOF_EVIDENCE_PASSPHRASE", raising=False)
    monkeypatch.delenv("ROOF_EVIDENCE_DEBUG", raising=False)
    return folder


@pytest.fixture
def refused(
    place: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., str]:
    """Runs a command in the folder; gives what it said once that is known to be a refusal."""
    monkeypatch.chdir(place)

    def run(*words: str) -> str:
        before = snapshot(place)
        code = _run(list(words))
        out, err = capsys.readouterr()
        assert code == 2, (code, out, err)
        assert out == ""
        assert 1 <= len(err.splitlines()) <= 3, err
        assert "Traceback" not in err
        assert snapshot(place) == before
        return err

    return run


# Entries

ENTRIES = {
    "unknown kind": (("guess", "when=2025-09-01"), "kind 'guess'"),
    "nearly a kind": (("inspektion", *LOOK), "Did you mean 'inspection'?"),
    "reserved kind": (("rehash", "x=y"), "is reserved for a record hashed again"),
    "unknown field": (("inspection", *LOOK, "colour=red"), "'colour'"),
    "nearly a field": (("inspection", *LOOK, "mean=ladder"), "Did you mean 'means'?"),
    "unknown zone": (("inspection", *LOOK[:3], "zones=attic:0"), "'attic' is not known"),
    "zone without grade": (("inspection", *LOOK[:3], "zones=vent-1"), "has no grade"),
    "grade 9": (("inspection", *LOOK[:3], "zones=vent-1:9"), "0, 1, 2, 3 or 4"),
    "unknown word": (("inspection", *LOOK, "means=balloon"), "means"),
    "future": (("inspection", "when=2099-01-01", *LOOK[1:]), "lies ahead of the clock"),
    "reversed interval": (("inspection", "when=2025-09-02/2025-09-01", *LOOK[1:]), "when"),
    "no date": (("inspection", "when=2025-13-01", *LOOK[1:]), "when"),
    "needed field": (("inspection", *LOOK[1:]), "'when'"),
    "no pair": (("inspection", *LOOK, "fine"), "Write name=value."),
    "unknown incident": (("inspection", *LOOK, "incidents=i9"), "'i9' is not known"),
    "unknown finding": (("inspection", *LOOK, "settles=f9"), "'f9' is not known"),
    "unknown party": (("inspection", *LOOK, "--by", "nobody"), "'nobody' is not known"),
    "a time that never was": (
        ("inspection", "when=2025-03-09T02:30", *LOOK[1:]),
        "did not exist",
    ),
    "folder as photo": (("inspection", *LOOK, "--photo", "folder"), "is a folder"),
    "no such photo": (("inspection", *LOOK, "--photo", "none.jpg"), "cannot be read"),
    "truncated JPEG": (("inspection", *LOOK, "--photo", "cut.jpg"), "is damaged or cut short"),
    "good and truncated": (
        ("inspection", *LOOK, "--photo", "good.jpg", "--photo", "cut.jpg"),
        "cut.jpg: is damaged or cut short",
    ),
    "photo of an unknown zone": (
        ("inspection", *LOOK, "--photo", "good.jpg,zone=attic"),
        "'attic' is not known",
    ),
    "photo with an unknown field": (
        ("inspection", *LOOK, "--photo", "good.jpg,colour=red"),
        "'colour'",
    ),
    "a second case": (("case", "title=Other"), "case"),
    "no such file": (("inspection", "--from", "none.json"), "none.json: cannot be read"),
}


@pytest.mark.parametrize(("words", "why"), ENTRIES.values(), ids=ENTRIES)
def test_an_entry_that_cannot_be_taken(refused, words, why):
    assert why in refused("enter", "case", *words)


def _washed(*files: object) -> str:
    return json.dumps({"body": {"when": "2025-09-01", "zones": ["rail-left"]}, "files": files})


JSON = {
    "float": ('{"when":"2025-09-01","zones":"all","product":1.5}', "is not an integer"),
    "duplicate key": ('{"when":"2025-09-01","when":"2025-09-02"}', "stands twice"),
    "no JSON": ('{"when":', "cannot be read"),
    "a list": ("[]", "is not a JSON object"),
    "not a number": ('{"when":NaN}', "is not an integer"),
    "too large": ('{"when":12345678901234567890}', "'when'"),
    "too deep": ("[" * 100_000, "nested"),
    "files in a body": ('{"when":"2025-09-01","zones":"all","files":[]}', "'files'"),
    "file without path": (_washed({"role": "wide"}), "without a path"),
    "told tags": (
        _washed({"path": "good.jpg", "camera": {"DateTimeOriginal": "2020:01:01 00:00:00"}}),
        "'camera'",
    ),
    "told hash": (_washed({"path": "good.jpg", "sha256": "0" * 64}), "'sha256'"),
}


@pytest.mark.parametrize(("text", "why"), JSON.values(), ids=JSON)
def test_a_body_that_cannot_be_read(refused, place, text, why):
    (place / "body.json").write_text(text)

    assert why in refused("enter", "case", "wash", "--from", "body.json")


def test_bytes_that_are_no_text(refused, place):
    (place / "body.json").write_bytes(b'{"product":"\xff"}')

    assert "is not UTF-8" in refused("enter", "case", "wash", "--from", "body.json")


# Other commands

COMMANDS = {
    "no such command": (("guess",), "No such command 'guess'"),
    "no such option": (("check", "case", "--guess"), "No such option"),
    "nothing named": (("check",), "Missing argument"),
    "missing case": (("enter", "none", "wash"), "is not a case"),
    "folder that is no case": (("standing", "folder"), "is not a case"),
    "file that is no case": (("due", "good.jpg"), "is not a case"),
    "check of nothing": (("check", "none"), "is not there"),
    "check of a folder": (("check", "folder"), "is not a case"),
    "check of an unsigned PDF": (("check", "letter.pdf"), "is not a dossier"),
    "check of a text": (("check", "text.pdf"), "is not a dossier"),
    "check of a picture": (("check", "good.jpg"), "is not a dossier"),
    "no such certificate": (("check", "case", "--trust", "none.pem"), "cannot be read"),
    "no certificate": (("check", "case", "--trust", "good.jpg"), "holds no certificate"),
    "nonsense date": (("standing", "case", "--on", "yesterday"), "yesterday"),
    "date that never was": (("due", "case", "--on", "2025-02-30"), "2025-02-30"),
    "date before the record": (("standing", "case", "--on", "1999-01-01"), "did not exist yet"),
    "unknown zone": (("zone", "case", "attic"), "attic"),
    "unknown schema": (("schema", "guess"), "guess"),
    "intake of nothing": (("intake", "case", "none"), "cannot be read"),
    "intake of good and none": (("intake", "case", "good.jpg", "none"), "cannot be read"),
    "intake by nobody": (("intake", "case", "good.jpg", "--by", "nobody"), "'nobody'"),
    "unknown incident": (
        ("dossier", "case", "--incident", "i9", "--out", "a.pdf"),
        "On record: i1",
    ),
    "unknown form": (("dossier", "case", "--form", "poem", "--out", "a.pdf"), "Forms: "),
    "form not made yet": (
        ("dossier", "case", "--form", "letter", "--out", "a.pdf"),
        "form 'letter': is not made yet",
    ),
    "dossier into no folder": (
        ("dossier", "case", "--on", "2025-11-03", "--out", "none/a.pdf"),
        "cannot be written",
    ),
    "dossier over a folder": (
        ("dossier", "case", "--on", "2025-11-03", "--out", "folder"),
        "is a directory",
    ),
    "dossier on a day before the incident": (
        ("dossier", "case", "--on", "2025-02-01", "--out", "a.pdf"),
        "is not on record",
    ),
    "export onto a file": (("export", "case", "--to", "good.jpg"), "is a file"),
    "demo in a full folder": (("demo", "--into", "folder"), "exists and is not empty"),
    "demo of no story": (("demo", "--into", "new", "--story", "none.json"), "cannot be read"),
    "start from nothing": (("start", "new", "--from", "none.json"), "cannot be read"),
    "start with nobody to ask": (("start", "new"), "--from FILE"),
    "start like no case": (("start", "new", "--like", "folder"), "is not a case"),
    "start with no such certificate": (
        ("start", "new", "--from", "start.json", "--pkcs12", "none.p12"),
        "is not there",
    ),
    "request into no folder": (("witness", "case", "--request", "none/a.tsq"), "cannot be written"),
    "reply that is no file": (("witness", "case", "--reply", "none.tsr"), "is not there|read"),
    "offer that is no file": (("key", "case", "add", "none.json"), "is not there"),
    "offer into no folder": (("key", "case", "offer", "none/offer.json"), "is not there"),
}


@pytest.mark.parametrize(("words", "why"), COMMANDS.values(), ids=COMMANDS)
def test_a_command_that_cannot_be_done(refused, place, words, why):
    (place / "start.json").write_text(json.dumps(START))

    said = refused(*words)
    assert any(part in said for part in why.split("|")), said


# What an outsider is said to have answered

REPLIES = {
    "the request itself": lambda place: _asked(place, "--request"),
    "nothing": lambda _: b"",
    "random bytes": lambda _: bytes(range(7, 255, 3)),
    "a body": lambda _: json.dumps(START).encode(),
}


def _asked(place: Path, way: str) -> bytes:
    """What the case hands out to be answered."""
    with pytest.MonkeyPatch.context() as patch, redirect_stdout(StringIO()):
        patch.chdir(place)
        assert _run(["witness", "case", way, "asked.bin"]) == 0
    data = (place / "asked.bin").read_bytes()
    (place / "asked.bin").unlink()
    return data


@pytest.mark.parametrize("made", REPLIES.values(), ids=REPLIES)
def test_a_reply_that_is_none_changes_nothing_and_does_not_say_that_the_record_was_changed(
    refused, place, made
):
    (place / "answer.tsr").write_bytes(made(place))
    refused("witness", "case", "--reply", "answer.tsr")


@pytest.mark.parametrize("made", REPLIES.values(), ids=REPLIES)
def test_a_letter_that_is_none(refused, place, made):
    (place / "letter.eml").write_bytes(made(place))
    (place / "dns.txt").write_bytes(key_record())
    refused("witness", "case", "--letter", "letter.eml", "--dns-record", "dns.txt")


def test_a_letter_whose_body_was_changed(refused, place):
    head = _asked(place, "--note").decode()
    letter = Letter(f"Please keep this.\n\n{head}").message()
    (place / "letter.eml").write_bytes(letter.replace(b"keep this", b"keep that"))
    (place / "dns.txt").write_bytes(key_record())
    refused("witness", "case", "--letter", "letter.eml", "--dns-record", "dns.txt")


def test_a_note_that_nobody_cosigned(refused, place):
    """The very head that was handed out comes back as it went; and a cosigner's key stands."""
    (place / "head.txt").write_bytes(_asked(place, "--note"))
    friend = CosigningKey.generate().cosigner.vkey
    with redirect_stdout(StringIO()):
        words = ("party=owner", "event=added", "use=cosign", f"key={friend}")
        assert _run(["enter", "case", "key", *words]) == 0
    refused("witness", "case", "--cosigned", "head.txt")


# Stories

STORIES = {
    "without entries": ({"case": {"title": "x"}, "entries": []}, "has no party, rig and rules"),
    "without a case": ({"entries": []}, "case"),
    "with a path that leaves its folder": (
        lambda told: told["entries"][5]["files"][0].update(path="../good.jpg"),
        "leaves the story's folder",
    ),
    "with a grade of 9": (
        lambda told: told["entries"][4]["body"]["zones"][0].update(grade=9),
        "0, 1, 2, 3 or 4",
    ),
    "with a float": (
        lambda told: told["entries"][4]["body"]["zones"][0].update(grade=1.5),
        "is not an integer",
    ),
    "that goes back in time": (
        lambda told: told["entries"][-1].update(logged="2025-01-05T18:00:00Z"),
        "is earlier than the entry before",
    ),
}


@pytest.mark.parametrize(("change", "why"), STORIES.values(), ids=STORIES)
def test_a_story_that_cannot_be_told(refused, place, change, why):
    told = story()
    told = change(told) or told if callable(change) else change
    write_story(place / "told", told)

    assert why in refused("demo", "--into", "new", "--story", "told/story.json")
    assert not (place / "new" / "case").exists()


# Starting

STARTS = {
    "unknown key": ({**START, "colour": "red"}, "'colour' is not known|'colour': is not known"),
    "no rig": ({"title": "x", "party": START["party"]}, "needs a title, a party and a rig"),
    "title a number": ({**START, "title": 7}, "needs a title"),
    "rules no list": ({**START, "rules": {}}, "is not a list"),
    "unknown surface": ({**START, "rig": {**RIG, "surface": "thatch"}}, "surface"),
    "unknown rig field": ({**START, "rig": {**RIG, "wheels": 4}}, "'wheels'"),
}


@pytest.mark.parametrize(("document", "why"), STARTS.values(), ids=STARTS)
def test_a_start_that_cannot_be_made(refused, place, keys, monkeypatch, document, why):
    monkeypatch.setenv("ROOF_EVIDENCE_PASSPHRASE", "correct horse")
    (place / "start.json").write_text(json.dumps(document))

    said = refused("start", "new", "--from", "start.json")

    assert any(part in said for part in why.split("|"))
    assert list(keys.iterdir()) == []


def test_a_start_without_passphrase_or_terminal(refused, place, keys):
    (place / "start.json").write_text(json.dumps(START))

    assert "ROOF_EVIDENCE_PASSPHRASE" in refused("start", "new", "--from", "start.json")
    assert list(keys.iterdir()) == []


def test_a_start_in_a_folder_that_holds_something(refused, place, keys, monkeypatch):
    monkeypatch.setenv("ROOF_EVIDENCE_PASSPHRASE", "correct horse")
    (place / "start.json").write_text(json.dumps(START))

    assert "exists and is not empty" in refused("start", "case", "--from", "start.json")
    assert list(keys.iterdir()) == []


# Keys


@pytest.fixture
def locked(place: Path, monkeypatch: pytest.MonkeyPatch, capsys) -> str:
    """A case whose keys are locked, in the same folder."""
    (place / "start.json").write_text(json.dumps(START))
    monkeypatch.chdir(place)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("ROOF_EVIDENCE_PASSPHRASE", "correct horse")
        assert _run(["start", "locked", "--from", "start.json"]) == 0
    capsys.readouterr()
    return "locked"


def test_an_entry_without_passphrase_or_terminal(refused, locked):
    words = ("enter", locked, "wash", "when=2025-02-01", "zones=all", "--photo", "good.jpg")

    assert "locked" in refused(*words)


def test_an_entry_with_the_wrong_passphrase(refused, locked, monkeypatch):
    monkeypatch.setenv("ROOF_EVIDENCE_PASSPHRASE", "wrong horse")
    words = ("enter", locked, "wash", "when=2025-02-01", "zones=all", "--photo", "good.jpg")

    assert "are not opened by this passphrase" in refused(*words)


# The clock and the disk


def test_a_clock_that_ran_back(refused, place):
    told = story()
    told["entries"].append(entry("photos", "2099-01-01T00:00:00Z", {}))
    build_story(write_story(place / "told", told), place / "ahead")
    words = ("enter", "ahead", "wash", "when=2025-09-01", "zones=rail-left", "--photo", "good.jpg")

    assert "is earlier than the entry before" in refused(*words)


@pytest.fixture
def read_only(place: Path) -> Iterator[Path]:
    if not hasattr(os, "geteuid") or os.geteuid() == 0:
        pytest.skip("root may write everywhere")
    folder = place / "shut"
    folder.mkdir()
    folder.chmod(stat.S_IRUSR | stat.S_IXUSR)
    yield folder
    folder.chmod(stat.S_IRWXU)


def test_a_folder_that_may_not_be_written_to(refused, read_only):
    words = ("dossier", "case", "--on", "2025-11-03", "--out", "shut/claim.pdf")

    assert "cannot be written" in refused(*words)
    assert "cannot be written" in refused("export", "case", "--to", "shut/out")
    assert "cannot be made" in refused("demo", "--into", "shut/demo")


def test_a_time_a_little_ahead_is_no_mistake(place, monkeypatch, capsys):
    """The other side of the rule: ten minutes are left to a clock that differs."""
    monkeypatch.chdir(place)
    soon = (datetime.now(UTC) + timedelta(minutes=8)).strftime("%Y-%m-%dT%H:%MZ")

    assert _run(["enter", "case", "wash", f"when={soon}", "zones=rail-left"]) == 0
    capsys.readouterr()

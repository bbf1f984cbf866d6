import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from evidence.case import Record
from evidence.check import check_path
from evidence.entries import Witness
from evidence.errors import RefusedError
from evidence.story import build_story
from evidence.times import utc_text
from tests.making import SUMMER, entry, look, picture, story, write_story

Story = dict[str, Any]


@pytest.fixture
def told(tmp_path: Path) -> Path:
    return tmp_path / "told"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "case"


def opening() -> Story:
    """The shortest story: who, what and by which rule."""
    whole = story()
    return {"case": whole["case"], "entries": whole["entries"][:3]}


def with_entry(told: Story) -> Story:
    whole = opening()
    return {**whole, "entries": [*whole["entries"], told]}


def test_a_story_becomes_a_sample_that_checks(built):
    report = check_path(built)

    assert report.result == "unchanged"
    assert report.record.sample
    assert Record.open(built).case.title == "Kestrel"


def test_case_and_keys_are_made_by_the_builder_and_stand_first(built):
    kinds = [entry.kind for entry in Record.open(built).entries]

    assert kinds[:6] == ["case", "key", "key", "party", "rig", "rule"]


def test_every_entry_is_logged_when_the_story_says(built):
    entries = [entry for entry in Record.open(built).entries if entry.kind != "witness"]
    opening_times = [SUMMER] * 3  # case and keys, with the first of the story's own

    assert [utc_text(entry.logged) for entry in entries] == [
        *opening_times,
        *(told["logged"] for told in story()["entries"]),
    ]


def test_a_witnessed_entry_is_answered_for_a_minute_later_over_the_head_that_holds_it(built):
    entries = Record.open(built).entries
    answers = [entry for entry in entries if isinstance(entry.body, Witness)]

    assert len(answers) == sum(told.get("witness", False) for told in story()["entries"])
    for answer in answers:
        before = entries[answer.seq - 1]
        assert isinstance(answer.body, Witness)
        assert answer.body.size == answer.seq
        assert answer.body.time == utc_text(before.logged + timedelta(seconds=60))
        assert "vouches for nothing" in answer.body.name


def test_a_story_may_begin_with_nothing_but_its_opening(told, folder):
    record = build_story(write_story(told, opening()), folder)

    assert len(record.entries) == 6


def test_files_are_sealed_with_what_the_story_says_of_them(built):
    refs = [ref for entry in Record.open(built).entries for ref in entry.files]
    march = next(ref for ref in refs if ref.name == "march.jpg")

    assert (march.role, march.zone) == ("middle", "field-mr")
    assert march.camera is not None
    assert march.camera.OffsetTimeOriginal == "-06:00"


def test_a_file_may_be_named_by_its_path_alone(told, folder):
    whole = with_entry(entry("photos", "2025-03-08T12:00:00Z", {}, files=["photos/march.jpg"]))
    record = build_story(write_story(told, whole), folder)

    assert [ref.name for ref in record.entries[-1].files] == ["march.jpg"]


def test_an_earlier_entry_is_referred_to_by_its_id_in_lists_and_alone(told, folder):
    whole = opening()
    bill = {"type": "receipt", "title": "Sealant", "about": [{"entry": "the look"}]}
    correction = {"of": {"entry": "the look"}, "set": {"means": "ladder"}, "why": "misspelt"}
    cost = {
        "when": "2025-03-08", "amount": "12.50", "currency": "USD", "what": "sealant",
        "papers": [{"entry": "bill"}],
    }  # fmt: skip
    whole["entries"] += [
        look("2025-03-07", "2025-03-07T23:00:00Z", id="the look", witness=True),
        entry("paper", "2025-03-08T12:00:00Z", bill, id="bill"),
        entry("cost", "2025-03-08T12:01:00Z", cost),
        entry("correction", "2025-03-08T12:02:00Z", correction),
    ]
    entries = build_story(write_story(told, whole), folder).entries
    by_kind = {entry.kind: entry for entry in entries}
    seq = by_kind["inspection"].seq

    assert by_kind["paper"].raw["about"] == [seq]
    assert by_kind["correction"].raw["of"] == seq
    assert by_kind["cost"].raw["papers"] == [by_kind["paper"].seq]


def test_the_opening_may_be_referred_to(told, folder):
    whole = opening()
    whole["entries"][2]["id"] = "the rule"
    fix = {"of": {"entry": "the rule"}, "withdraw": True, "why": "another applies"}
    whole["entries"].append(entry("correction", "2025-03-08T12:00:00Z", fix))
    entries = build_story(write_story(told, whole), folder).entries

    assert entries[-1].raw["of"] == next(e.seq for e in entries if e.kind == "rule")


def test_progress_counts_the_storys_own_entries(told, folder):
    seen: list[tuple[int, int]] = []
    build_story(write_story(told), folder, lambda done, whole: seen.append((done, whole)))
    count = len(story()["entries"])

    assert seen == [(done, count) for done in range(4, count + 1)]


def test_the_same_story_told_twice_makes_two_cases(told, tmp_path):
    path = write_story(told, opening())
    first, second = (build_story(path, tmp_path / name) for name in "ab")

    assert first.case.case_id != second.case.case_id


# What cannot be told leaves nothing behind


def _leaving(path: str) -> Story:
    return with_entry(entry("photos", "2025-03-08T12:00:00Z", {}, files=[path]))


REFUSED: dict[str, tuple[Callable[[], object], str]] = {
    "no entries": (lambda: {"case": {"title": "x"}, "entries": []}, "has no party, rig and rules"),
    "no opening": (
        lambda: {"case": {"title": "x"}, "entries": story()["entries"][4:]},
        "has no party, rig and rules",
    ),
    "party without rig": (
        lambda: {"case": {"title": "x"}, "entries": story()["entries"][:1]},
        "needs a party and a rig",
    ),
    "unknown field": (lambda: {**opening(), "mood": "good"}, "mood"),
    "sample set": (lambda: {**opening(), "case": {"title": "x", "sample": False}}, "sample"),
    "list": (list, "story.json"),
    "bad time": (lambda: with_entry(entry("photos", "yesterday", {})), "entries.3.logged"),
    "unknown kind": (lambda: with_entry(entry("guess", "2025-03-08T12:00:00Z", {})), "'guess'"),
    "unknown reference": (
        lambda: with_entry(entry("end", "2025-03-08T12:00:00Z", {"of": {"entry": "none"}})),
        "names no earlier entry",
    ),
    "body a reference": (
        lambda: with_entry(entry("photos", "2025-03-08T12:00:00Z", {"entry": "x"})),
        "names no earlier entry",
    ),
    "one id twice": (
        lambda: {
            **opening(),
            "entries": [{**told, "id": "x"} for told in opening()["entries"]],
        },
        "id 'x': is borne by two entries",
    ),
    "out of the folder": (lambda: _leaving("../secret.jpg"), "leaves the story's folder"),
    "absolute path": (lambda: _leaving("/etc/hostname"), "leaves the story's folder"),
    "file without path": (lambda: _leaving({"role": "wide"}), "has an item without a path"),
    "no such file": (lambda: _leaving("photos/none.jpg"), "cannot be read"),
    "going back in time": (
        lambda: with_entry(entry("photos", "2025-01-04T12:00:00Z", {})),
        "is earlier than the entry before",
    ),
    "a reserved kind": (
        lambda: with_entry(entry("rehash", "2025-03-08T12:00:00Z", {})),
        "'rehash': is reserved",
    ),
    "told tags": (
        lambda: _leaving({"path": "photos/march.jpg", "camera": {"Make": "x"}}),
        "'camera': cannot be told",
    ),
}


@pytest.mark.parametrize(("make", "why"), REFUSED.values(), ids=REFUSED)
def test_what_cannot_be_told_is_named_and_leaves_nothing(told, folder, make, why):
    picture(told.parent / "secret.jpg", None, None, 9)
    path = write_story(told, make())

    with pytest.raises(RefusedError) as refused:
        build_story(path, folder)
    assert why in str(refused.value)
    assert not folder.exists()
    assert sorted(file.name for file in told.parent.iterdir()) == ["secret.jpg", "told"]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (b'{"case":{"title":"x"},"case":{"title":"y"},"entries":[]}', "stands twice"),
        (b'{"case":{"title":"x"},"entries":[{"logged":1.5}]}', "is not an integer"),
        (b'{"case":', "cannot be read"),
        (b"\xff\xfe", "is not UTF-8"),
        (b"", "cannot be read"),
    ],
)
def test_a_story_that_could_be_read_in_two_ways_is_refused(told, folder, text, why):
    told.mkdir()
    path = told / "story.json"
    path.write_bytes(text)

    with pytest.raises(RefusedError, match=why) as refused:
        build_story(path, folder)
    assert refused.value.what.startswith("story.json")


def test_a_story_that_is_not_there_is_refused(tmp_path, folder):
    with pytest.raises(RefusedError, match="cannot be read"):
        build_story(tmp_path / "none.json", folder)
    with pytest.raises(RefusedError, match="cannot be read"):
        build_story(tmp_path, folder)


def test_a_link_out_of_the_storys_folder_is_refused(told, folder, tmp_path):
    picture(tmp_path / "secret.jpg", None, None, 9)
    path = write_story(told, _leaving("photos/link.jpg"))
    (told / "photos" / "link.jpg").symlink_to(tmp_path / "secret.jpg")

    with pytest.raises(RefusedError, match="leaves the story's folder"):
        build_story(path, folder)


def test_an_interrupted_story_leaves_nothing(told, folder):
    def stop(done: int, whole: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        build_story(write_story(told), folder, stop)
    assert not folder.exists()


def test_a_folder_that_holds_something_is_left_alone(told, folder):
    folder.mkdir()
    (folder / "diary.txt").write_text("dear diary")

    with pytest.raises(RefusedError, match="exists and is not empty"):
        build_story(write_story(told), folder)
    assert (folder / "diary.txt").read_text() == "dear diary"


def test_nothing_else_sets_the_writers_clock(built):
    """A story's case is a sample for good: no entry can clear that."""
    record = Record.open(built)
    line = json.loads(record.lines[0])

    assert line["body"]["sample"] is True
    assert record.entries[0].logged == datetime(2025, 1, 5, 18, tzinfo=UTC)

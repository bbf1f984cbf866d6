import os
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PIL import Image

from evidence import intake
from evidence.case import Draft, Record
from evidence.check import check_path
from evidence.errors import RefusedError
from evidence.held import Held
from evidence.intake import Intake, take_in
from evidence.ledger import Signer
from evidence.photos import crew
from evidence.photos.whose import Whose
from tests.carding import photo, saved, stranger
from tests.making import picture
from tests.photos.moody import moody_worker
from tests.tampering import owner_of

AUTUMN = datetime(2025, 9, 1, 12, tzinfo=UTC)


@pytest.fixture
def record(case: Path) -> Record:
    return Record.open(case)


@pytest.fixture
def signer(case: Path) -> Signer:
    return owner_of(case)


@pytest.fixture
def card(tmp_path: Path) -> Path:
    """A camera's card: two pictures of one morning, one of another day, and a text."""
    folder = tmp_path / "DCIM"
    picture(folder / "100" / "a.jpg", "2025:08:30 09:00:00", "-05:00", 10)
    picture(folder / "100" / "b.jpg", "2025:08:30 09:10:00", "-05:00", 20)
    picture(folder / "101" / "c.jpg", "2025:08:31 09:00:00", None, 30)
    (folder / "notes.txt").write_text("two beads look dull")
    return folder


def taken(record: Record, signer: Signer, *paths: Path, **more: object) -> Intake:
    return take_in(record, paths, "owner", signer, clock=lambda: AUTUMN, **more)


def names(found: Intake) -> list[str]:
    return [str(picture.file.name) for picture in found.sealed]


def test_a_folder_goes_into_one_entry_under_one_head(record, signer, card):
    heads = len(record.heads)
    found = taken(record, signer, card, note="after the storm")

    assert names(found) == ["a.jpg", "b.jpg", "c.jpg", "notes.txt"]
    assert found.seq == len(record.lines) - 1
    assert record.entries[-1].kind == "photos"
    assert record.entries[-1].raw == {"note": "after the storm"}
    assert len(record.heads) == heads + 1
    assert check_path(record.folder).result == "unchanged"


def test_files_are_grouped_into_visits_by_camera_and_time(record, signer, card):
    visits = taken(record, signer, card).visits

    assert sum(len(visit.files) for visit in visits) == 4
    morning = next(visit for visit in visits if len(visit.files) == 2)
    assert morning.earliest == datetime(2025, 8, 30, 14, tzinfo=UTC)
    assert morning.latest is not None
    assert morning.latest - morning.earliest <= timedelta(minutes=10, seconds=1)


def test_each_picture_says_what_its_cameras_clock_supports(record, signer, card):
    rules = {str(p.file.name): p.capture.rule for p in taken(record, signer, card).sealed}

    assert rules == {"a.jpg": "offset", "b.jpg": "offset", "c.jpg": "anywhere", "notes.txt": "none"}


def test_a_second_intake_of_the_same_files_adds_nothing(record, signer, card):
    first = taken(record, signer, card)
    size = len(record.lines)
    again = taken(record, signer, card)

    assert again.seq is None
    assert again.sealed == ()
    assert set(again.already_held) == {picture.file.sha256 for picture in first.sealed}
    assert len(record.lines) == size


def test_after_labels_and_looks_a_second_intake_adds_nothing(record, signer, card):
    """Duplicates within the folder and copies under other names among it."""
    (card / "copy.jpg").write_bytes((card / "100" / "a.jpg").read_bytes())
    first = taken(record, signer, card)
    look, *_ = first.proposals
    body = {**look.body, "means": "on-roof", "occasion": "routine",
            "zones": [{"zone": "vent-1", "grade": 0}]}  # fmt: skip
    held = Held(record)
    files = tuple(held.draft(str(file["sha256"]), {}, "files") for file in look.files)
    label = {"of": [first.sealed[2].file.sha256], "zone": "vent-1"}
    drafts = [Draft("inspection", body, "owner", files), Draft("label", label, "owner")]
    record.write(drafts, signer, clock=lambda: AUTUMN)
    (card / "101" / "other name.jpg").write_bytes((card / "101" / "c.jpg").read_bytes())
    lines, originals = record.lines, sorted(record.originals.iterdir())
    again = taken(record, signer, card)

    assert (again.seq, again.sealed, again.visits, again.proposals) == (None, (), (), ())
    assert (record.lines, sorted(record.originals.iterdir())) == (lines, originals)


def test_what_is_held_already_tells_what_new_pictures_belong_to(record, signer, tmp_path):
    """The card was handed in yesterday; the rest of its visit comes today."""
    first = photo(record, tmp_path / "1.jpg", "2025:08:30 09:00:00", "vent-1")
    rest = saved(Image.linear_gradient("L"), tmp_path / "2.jpg", "2025:08:30 09:05:00")
    taken(record, signer, first)
    (visit,) = taken(record, signer, first, rest).visits
    assert (visit.zone, len(visit.files)) == ("vent-1", 1)


def test_two_cameras_on_one_roof_are_two_visits_and_one_look(record, signer, tmp_path):
    picture(tmp_path / "a.jpg", "2025:08:30 09:00:00", "-05:00", 10)
    saved(Image.linear_gradient("L"), tmp_path / "b.jpg", "2025:08:30 09:05:00")
    found = taken(record, signer, tmp_path / "a.jpg", tmp_path / "b.jpg")
    assert [visit.camera for visit in found.visits] == ["Field 3", None]
    (look,) = found.proposals
    assert look.body["when"] == "2025-08-30T09:00-05:00/2025-08-30T09:05-05:00"


def test_pictures_of_another_rig_are_not_even_kept(record, signer, tmp_path):
    other = stranger()
    changed = {"answer": other.answer, "case_id": other.case_id}
    path = photo(record, tmp_path / "a.jpg", "2025:08:30 09:00:00", **changed)
    behind = saved(Image.linear_gradient("L"), tmp_path / "b.jpg", "2025:08:30 09:05:00")
    before = (record.lines, sorted(record.originals.iterdir()))
    found = taken(record, signer, path, behind)
    assert [(one.name, one.why) for one in found.left_out] == [
        ("a.jpg", Whose.ITS_CARD), ("b.jpg", Whose.OTHERS),
    ]  # fmt: skip
    assert (Record.open(record.folder).lines, sorted(record.originals.iterdir())) == before


def test_only_what_is_new_is_added(record, signer, card):
    taken(record, signer, card)
    picture(card / "102" / "d.jpg", "2025:08:31 10:00:00", None, 40)
    more = taken(record, signer, card)

    assert names(more) == ["d.jpg"]
    assert len(more.already_held) == 4


def test_one_picture_under_two_names_is_sealed_once(record, signer, card):
    (card / "copy.jpg").write_bytes((card / "100" / "a.jpg").read_bytes())

    assert len(taken(record, signer, card).sealed) == 4


def test_a_file_that_cannot_be_read_as_a_picture_is_sealed_and_said_to_be(record, signer, card):
    broken = card / "100" / "b.jpg"
    broken.write_bytes(b"\xff\xd8\xff\xe1\x00\x20Exif\x00\x00II*\x00\xff\xff\xff\xff")
    found = taken(record, signer, card)

    digest = next(p.file.sha256 for p in found.sealed if p.file.name == "b.jpg")
    assert record.original(digest).read_bytes() == broken.read_bytes()
    assert [row.name for row in found.unreadable] == ["b.jpg"]
    assert all(row.why for row in found.unreadable)


def test_a_picture_that_was_cut_short_is_sealed_and_said_to_be(record, signer, card):
    cut = card / "100" / "b.jpg"
    cut.write_bytes(cut.read_bytes()[:-200])
    found = taken(record, signer, card)

    assert len(found.sealed) == 4
    assert [row.name for row in found.unreadable] == ["b.jpg"]
    assert "cut short" in found.unreadable[0].why
    assert next(p for p in found.sealed if p.file.name == "b.jpg").capture.rule == "offset"


def test_a_file_that_breaks_the_reader_costs_itself_and_the_rest_go_on(
    record, signer, card, monkeypatch
):
    monkeypatch.setattr(crew, "Worker", moody_worker)
    bad = picture(card / "100" / "crash.jpg", "2025:08:30 09:20:00", "-05:00", 70)
    bad.write_bytes(bad.read_bytes() + b"crash")
    found = taken(record, signer, card)

    assert names(found) == ["a.jpg", "b.jpg", "crash.jpg", "c.jpg", "notes.txt"]
    assert [row.name for row in found.unreadable] == ["crash.jpg"]
    assert "the reader broke" in found.unreadable[0].why
    rules = {str(one.file.name): one.capture.rule for one in found.sealed}
    assert (rules["a.jpg"], rules["crash.jpg"], rules["c.jpg"]) == ("offset", "none", "anywhere")
    digest = next(one.file.sha256 for one in found.sealed if one.file.name == "crash.jpg")
    assert record.original(digest).read_bytes() == bad.read_bytes()


def test_a_held_file_that_went_missing_is_put_back(record, signer, card):
    found = taken(record, signer, card)
    record.original(found.sealed[0].file.sha256).unlink()
    assert check_path(record.folder).result == "incomplete"

    assert taken(record, signer, card).seq is None
    assert check_path(record.folder).result == "unchanged"


def test_very_many_files_go_into_several_entries_under_one_head(record, signer, card, monkeypatch):
    monkeypatch.setattr(intake, "MOST_FILES", 3)
    heads, size = len(record.heads), len(record.lines)
    found = taken(record, signer, card)

    assert [len(entry.files) for entry in record.entries[size:]] == [3, 1]
    assert len(record.heads) == heads + 1
    assert found.seq == size
    assert names(found) == ["a.jpg", "b.jpg", "c.jpg", "notes.txt"]


def test_an_entry_of_the_most_files_is_one_that_the_ledger_takes():
    from evidence.ledger.guards import MAX_ENTRY

    assert intake.MOST_FILES * 2000 <= MAX_ENTRY, "a file with all its tags takes about 1 kB"


def test_progress_counts_the_files(record, signer, card):
    seen: list[tuple[int, int]] = []
    taken(record, signer, card, progress=lambda done, whole: seen.append((done, whole)))

    four, looked = [(1, 4), (2, 4), (3, 4), (4, 4)], [(1, 3), (2, 3), (3, 3)]
    assert seen == four + four + looked, "read, sealed, looked at"


@pytest.mark.parametrize("what", ["nothing there", "empty folder"])
def test_what_holds_no_files_is_refused(record, signer, tmp_path, what):
    place = tmp_path / "place"
    if what == "empty folder":
        place.mkdir()
    before = record.lines

    with pytest.raises(RefusedError):
        taken(record, signer, place)
    assert Record.open(record.folder).lines == before


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no pipes with names")
def test_a_pipe_is_refused_not_waited_for(record, signer, tmp_path):
    os.mkfifo(tmp_path / "pipe")
    began = time.monotonic()

    with pytest.raises(RefusedError, match="is a pipe or a device"):
        taken(record, signer, tmp_path / "pipe")
    assert time.monotonic() - began < 5


def test_a_stranger_hands_nothing_in(record, card):
    before = sorted(record.originals.iterdir())

    with pytest.raises(RefusedError, match="is none that the record allows"):
        taken(record, Signer.generate("roof-evidence/" + "0" * 32), card)
    assert sorted(record.originals.iterdir()) == before

"""What a write that was cut off leaves behind, and who takes it away."""

import os
import time
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import pytest

from evidence import case
from evidence.case import Draft, Record
from evidence.errors import RefusedError
from evidence.intake import take_in
from evidence.keeping import FileDraft
from evidence.leftovers import clear_leftovers
from evidence.photos import seal
from tests.near import NearWorker
from tests.tampering import owner_of

AUTUMN = datetime(2025, 9, 1, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _quick(monkeypatch):
    monkeypatch.setattr("evidence.photos.crew.Worker", NearWorker)


@pytest.fixture
def record(case: Path) -> Record:
    return Record.open(case)


def note(path: Path, text: str) -> Path:
    path.write_text(text)
    return path


def names(record: Record) -> set[str]:
    return {path.name for path in record.originals.iterdir()}


def test_a_copy_that_no_entry_names_is_cleared_by_the_next_intake_and_told(record, tmp_path):
    before = names(record)
    left = seal(note(tmp_path / "left.txt", "sealed, and then the power went"), record.originals)
    taken = take_in(record, [note(tmp_path / "new.txt", "new")], "owner", owner_of(record.folder))

    assert taken.cleared == (left.path.name,)
    assert names(record) == before | {f"{sha256(b'new').hexdigest()}.txt"}


def test_one_that_is_handed_in_again_stays(record, tmp_path):
    path = note(tmp_path / "left.txt", "sealed, and then the power went")
    left = seal(path, record.originals)
    taken = take_in(record, [path], "owner", owner_of(record.folder))

    assert taken.cleared == ()
    assert [picture.file.sha256 for picture in taken.sealed] == [left.sha256]


def test_an_intake_of_nothing_new_clears_too(record, tmp_path):
    path = note(tmp_path / "a.txt", "a")
    take_in(record, [path], "owner", owner_of(record.folder))
    left = seal(note(tmp_path / "left.txt", "left"), record.originals)
    taken = take_in(record, [path], "owner", owner_of(record.folder))
    assert (taken.seq, taken.cleared) == (None, (left.path.name,))


def test_every_file_that_an_entry_names_stays(record):
    before = names(record)
    assert clear_leftovers(record, ()) == ()
    assert names(record) == before


def test_what_is_no_sealed_file_is_left_alone(record):
    strangers = ("notes.txt", f"{'a' * 63}.jpg", f"{'a' * 64}", f"{'A' * 64}.jpg")
    for name in strangers:
        note(record.originals / name, "not ours")
    assert clear_leftovers(record, ()) == ()
    assert names(record) >= set(strangers)


def test_a_part_of_a_copy_is_cleared_once_nobody_can_be_writing_on_it(record):
    old, new = (
        note(record.originals / f".incoming-{name}.part", "half") for name in ("old", "new")
    )
    past = time.time() - 7200
    os.utime(old, (past, past))
    assert clear_leftovers(record, ()) == ()
    assert (old.exists(), new.exists()) == (False, True)


def test_a_writer_whose_file_was_cleared_before_its_entry_seals_it_again(
    record, tmp_path, monkeypatch
):
    """Two at once: an intake clears what the other has sealed and not yet written down."""
    path = note(tmp_path / "receipt.txt", "the receipt")
    keep_first = case.keep

    def kept_and_cleared(*given, **how):
        ref = keep_first(*given, **how)
        assert clear_leftovers(Record.open(record.folder), ()) != ()
        return ref

    monkeypatch.setattr(case, "keep", kept_and_cleared)
    draft = Draft("photos", {}, "owner", (FileDraft(path),))
    (entry,) = record.write([draft], owner_of(record.folder), clock=lambda: AUTUMN).entries
    assert record.original(entry.files[0].sha256).read_text() == "the receipt"


def test_one_whose_file_is_another_by_then_writes_nothing(record, tmp_path, monkeypatch):
    path = note(tmp_path / "receipt.txt", "the receipt")
    keep_first, size = case.keep, len(record.lines)

    def kept_and_swapped(*given, **how):
        ref = keep_first(*given, **how)
        clear_leftovers(Record.open(record.folder), ())
        path.write_text("another receipt")
        return ref

    monkeypatch.setattr(case, "keep", kept_and_swapped)
    draft = Draft("photos", {}, "owner", (FileDraft(path),))
    with pytest.raises(RefusedError, match="changed while it was sealed"):
        record.write([draft], owner_of(record.folder), clock=lambda: AUTUMN)
    assert len(Record.open(record.folder).lines) == size

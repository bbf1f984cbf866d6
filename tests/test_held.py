"""Files of the record, found by a name or by the beginning of a sum."""

from hashlib import sha256
from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.errors import MissingError, RefusedError
from evidence.held import Held
from evidence.keeping import FileDraft
from tests.making import picture
from tests.tampering import owner_of


@pytest.fixture
def record(case: Path) -> Record:
    return Record.open(case)


def sum_of(record, name):
    return next(f.sha256 for e in record.entries for f in e.files if f.name == name)


def test_a_name_a_sum_and_the_start_of_a_sum_find_the_same_file(record):
    digest = sum_of(record, "after.jpg")
    held = Held(record)
    for text in ("after.jpg", digest, digest[:6], digest[:12].upper()):
        assert held.find(text, "label").sha256 == digest


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("aftre.jpg", "Did you mean 'after.jpg'?"),
        ("nothing like it", "6 digits or more of its SHA-256"),
        ("00ff", "6 digits or more"),
        ("g" * 64, "6 digits or more"),
    ],
)
def test_what_is_not_there_is_refused_with_what_may_be_meant(record, text, said):
    with pytest.raises(RefusedError) as refused:
        Held(record).find(text, "label: field 'of'")
    assert "label: field 'of'" in str(refused.value)
    assert said in str(refused.value)


def test_of_two_files_of_one_name_each_is_named_with_its_entry(record, tmp_path):
    path = picture(tmp_path / "after.jpg", None, None, 77)
    draft = Draft("photos", {}, "owner", (FileDraft(path),))
    (entry,) = record.write([draft], owner_of(record.folder)).entries
    with pytest.raises(RefusedError) as refused:
        Held(record).find("after.jpg", "label: field 'of'")
    said = str(refused.value)
    assert "is the name of 2 files" in said
    assert f"{entry.files[0].sha256[:12]} (entry {entry.number})" in said
    assert Held(record).find(entry.files[0].sha256[:12], "").sha256 == entry.files[0].sha256


def test_lists_are_found_item_by_item_and_what_is_no_text_is_left_to_the_model(record):
    digest = sum_of(record, "after.jpg")
    assert Held(record).sums(["after.jpg", digest[:8]], "") == [digest, digest]
    assert Held(record).sums([7, None], "") == [7, None]


def test_a_held_file_stands_in_a_further_entry_under_the_name_it_came_with(record):
    held = Held(record).draft("after.jpg", {"zone": "field-mr"}, "--held")
    draft = Draft("photos", {}, "owner", (held,))
    (entry,) = record.write([draft], owner_of(record.folder)).entries
    (file,) = entry.files
    assert (file.name, file.zone) == ("after.jpg", "field-mr")
    assert sha256(record.original(file.sha256).read_bytes()).hexdigest() == file.sha256
    first = next(f for e in record.entries for f in e.files if f.sha256 == file.sha256)
    assert (file.camera, file.bytes, file.type) == (first.camera, first.bytes, first.type)


def test_a_held_file_that_is_gone_is_said_to_be(record):
    record.original(sum_of(record, "after.jpg")).unlink()
    with pytest.raises(MissingError):
        Held(record).draft("after.jpg", {}, "--held")

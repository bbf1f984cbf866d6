"""What to take again while the person is still on the roof."""

from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.hints import Trouble, all_hints, pictures_first_in
from evidence.keeping import FileDraft
from evidence.photos.signals import Signal
from tests.making import picture
from tests.tampering import owner_of


@pytest.fixture
def record(case: Path) -> Record:
    return Record.open(case)


def hinted(record, *files):
    draft = Draft("photos", {}, "owner", tuple(files))
    (entry,) = record.write([draft], owner_of(record.folder)).entries
    pictures = pictures_first_in(record, entry)
    return [(hint.picture.file.name, hint.signal) for hint in all_hints(record, pictures)]


def test_a_picture_without_fault_raises_nothing(record, tmp_path):
    assert (
        hinted(record, FileDraft(picture(tmp_path / "a.jpg", "2025:08:30 09:00:00", None, 180)))
        == []
    )


def test_a_dark_picture_without_a_clock_that_should_show_a_card_is_told_thrice(record, tmp_path):
    path = picture(tmp_path / "a.jpg", None, None, 4)
    assert hinted(record, FileDraft(path, {"role": "card"})) == [
        ("a.jpg", Signal.DARK), ("a.jpg", Trouble.NO_CLOCK), ("a.jpg", Trouble.CARD_UNREAD),
    ]  # fmt: skip


def test_of_a_messengers_copy_no_clock_is_asked(record, tmp_path):
    path = picture(tmp_path / "a.jpg", None, None, 180)
    assert hinted(record, FileDraft(path, {"via": "messenger"})) == []


def test_a_scan_is_no_picture_of_the_roof(record, tmp_path):
    path = picture(tmp_path / "a.jpg", None, None, 4)
    assert hinted(record, FileDraft(path, {"role": "scan"})) == []


def test_what_an_earlier_entry_holds_is_not_told_again(record, tmp_path):
    path = picture(tmp_path / "a.jpg", None, None, 4)
    assert hinted(record, FileDraft(path)) != []
    assert hinted(record, FileDraft(path)) == []

"""Cards in step 6: what a stranger is told of them."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.check import check_path
from evidence.check.record import check_record
from evidence.check.report import Found
from evidence.keeping import FileDraft
from tests.carding import photo
from tests.check.making import found, told
from tests.making import picture
from tests.tampering import Handed, owner_of

AUTUMN = datetime(2025, 9, 1, 12, tzinfo=UTC)


def with_photo(case: Path, path: Path) -> Record:
    record = Record.open(case)
    draft = Draft("photos", {}, "owner", (FileDraft(path),))
    record.write([draft], owner_of(case), clock=lambda: AUTUMN)
    return record


def test_a_card_of_the_record_is_read_again_and_nothing_is_named(case, tmp_path):
    with_photo(case, photo(Record.open(case), tmp_path / "a.jpg", "2025:08:30 09:00:00"))
    report = check_path(case)
    assert (report.result, found(report)) == ("unchanged", {})
    assert "card" not in told(report, 6)


def test_a_card_whose_answer_the_record_does_not_hold_is_named_and_is_no_change(case, tmp_path):
    path = photo(Record.open(case), tmp_path / "a.jpg", "2025:08:30 09:00:00", answer="ab" * 32)
    record = with_photo(case, path)
    report = check_path(case)
    assert (report.result, found(report)) == ("unchanged", {6: Found.NAMED})
    number = len(record.lines)
    assert f"entry {number}: a card shows an answer that this record does not hold" in (
        told(report, 6)
    )


def test_a_picture_dated_before_the_answer_on_its_card_is_named(case, tmp_path):
    with_photo(case, photo(Record.open(case), tmp_path / "a.jpg", "2025:05:01 09:00:00"))
    assert "a clock says an earlier time than the card beside it" in told(check_path(case), 6)


@pytest.mark.parametrize("shown", ["nothing", "another"])
def test_a_card_that_a_machine_is_said_to_have_read_and_does_not_is_named(
    handed, owner, case, tmp_path, shown
):
    """Whoever writes entries with a program of his own can claim a card that is not there."""
    record = Record.open(case)
    newest = [entry for entry in record.entries if entry.kind == "witness"][-1].files[0].sha256
    path = tmp_path / "a.jpg"
    if shown == "nothing":
        picture(path, "2025:08:30 09:00:00", "-05:00", 99)
    else:
        photo(record, path, "2025:08:30 09:00:00", answer="ab" * 32)
    line = json.loads(with_photo(case, path).lines[-1])
    (file,) = line["files"]
    file["card"] = {"answer": newest, "read_by": "machine"}
    forged = Handed.of(case)
    forged = Handed(handed.lines, handed.heads, forged.files).then(
        "photos", {}, owner, files=[file]
    )
    report = check_record(forged)
    assert found(report) == {6: Found.NAMED}
    assert "its card is not read again in the picture" in told(report, 6)


def test_a_picture_that_is_not_at_hand_is_not_read_again(case, tmp_path):
    record = with_photo(case, photo(Record.open(case), tmp_path / "a.jpg", "2025:08:30 09:00:00"))
    record.original(record.entries[-1].files[0].sha256).unlink()
    assert 6 not in found(check_path(case))

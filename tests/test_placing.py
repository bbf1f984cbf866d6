"""Files that the program makes for people: whole, or not there at all, and never over another."""

import os

import pytest

from evidence.errors import RefusedError
from evidence.placing import CALENDAR, DOSSIER, PICTURE, SHEET, beside, put

ONE = b"BEGIN:VCALENDAR\r\nPRODID:-//roof-evidence//due//EN\r\n1"
TWO = ONE + b"2"


def test_a_file_is_written_whole_and_may_take_the_place_of_one_made_earlier(tmp_path):
    out = tmp_path / "a.ics"
    put(ONE, out, CALENDAR)
    put(TWO, out, CALENDAR)
    assert out.read_bytes() == TWO
    assert list(tmp_path.iterdir()) == [out]


@pytest.mark.parametrize("name", ["missing/a.ics", "."])
def test_a_place_that_cannot_be_written_is_refused_by_name(tmp_path, name):
    with pytest.raises(RefusedError) as refused:
        put(ONE, tmp_path / name, CALENDAR)
    assert str(tmp_path) in refused.value.what


def test_what_failed_half_way_leaves_nothing_behind(tmp_path):
    def write():
        with beside(tmp_path / "a.pdf", SHEET) as place:
            place.write_bytes(b"half")
            raise OSError(28, "No space left on device")

    with pytest.raises(RefusedError, match="No space left on device"):
        write()
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("kind", [CALENDAR, SHEET, PICTURE], ids=lambda kind: kind.name)
@pytest.mark.parametrize(
    "foreign",
    [
        b"",
        b"my notes",
        b"BEGIN:VCALENDAR\r\nPRODID:-//another//EN\r\n",
        b"notes on PRODID:-//roof-evidence//due//EN",
        b"%PDF-1.7 another's",
    ],
)
def test_a_file_of_another_kind_is_never_replaced(tmp_path, foreign, kind):
    out = tmp_path / "notes"
    out.write_bytes(foreign)
    with pytest.raises(RefusedError, match=r"is there and is no .* of this program"):
        put(ONE, out, kind)
    assert out.read_bytes() == foreign


def test_a_signed_dossier_is_never_replaced(tmp_path):
    out = tmp_path / "claim.pdf"
    out.write_bytes(b"%PDF-1.7 /Producer (roof-evidence dossier 1)")
    with pytest.raises(RefusedError):
        put(b"%PDF-", out, SHEET)
    with pytest.raises(RefusedError, match="is there already"):
        put(b"%PDF-", out, DOSSIER)


@pytest.mark.parametrize(
    "name",
    ["ledger.sqlite", "new.ics", "originals/x", "originals/new.ics", "issued/claim.pdf",
     "issued/deeper/new.ics"],
)  # fmt: skip
def test_nothing_goes_among_the_files_of_a_case(tmp_path, name):
    case = tmp_path / "case"
    for folder in ("originals", "issued/deeper"):
        (case / folder).mkdir(parents=True)
    for held in ("ledger.sqlite", "originals/x", "issued/claim.pdf"):
        (case / held).write_bytes(ONE)
    with pytest.raises(RefusedError, match="lies among the files of the case"):
        put(TWO, case / name, CALENDAR)
    assert {path.read_bytes() for path in case.rglob("*") if path.is_file()} == {ONE}


def test_a_link_into_a_case_leads_there_too_and_a_new_file_may_go_to_what_was_issued(tmp_path):
    case = tmp_path / "case"
    (case / "issued").mkdir(parents=True)
    (case / "ledger.sqlite").touch()
    (tmp_path / "elsewhere").symlink_to(case)
    with pytest.raises(RefusedError, match="lies among the files of the case"):
        put(ONE, tmp_path / "elsewhere" / "a.ics", CALENDAR)
    put(ONE, tmp_path / "elsewhere" / "issued" / "a.ics", CALENDAR)
    assert (case / "issued" / "a.ics").read_bytes() == ONE


def test_what_is_no_plain_file_is_not_even_read(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "nowhere").symlink_to(tmp_path / "gone")
    for name in ("pipe", "nowhere"):
        with pytest.raises(RefusedError, match="is there"):
            put(ONE, tmp_path / name, CALENDAR)

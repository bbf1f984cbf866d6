from io import BytesIO

import pikepdf
import pypdf
import pytest
from pypdf.annotations import FreeText

from evidence.check.pdf_changes import later_changes
from evidence.check.pdf_signature import read_signature
from tests.dossier.making import (
    added_by_pypdf,
    cut_to_first_revision,
    dossier,
    finished,
    pages,
    saved_anew,
)


def test_a_file_as_it_was_signed_has_no_later_changes():
    assert later_changes(dossier(), dossier()) == ()


@pytest.mark.parametrize("added", [b"\n", b" ", b"\0", b"%%EOF\n", b"anything at all"])
def test_bytes_behind_the_end_are_found(added):
    report = read_signature(dossier() + added)

    assert report.intact
    assert not report.covers_whole_file
    noun = "1 byte was" if len(added) == 1 else f"{len(added)} bytes were"
    assert report.later_changes == (f"{noun} added after it was signed",)
    assert not report.unchanged


def test_bytes_before_the_beginning_are_found():
    report = read_signature(b"\n" + dossier())

    assert report.is_dossier
    assert report.faults
    assert not report.unchanged


def test_a_note_added_later_is_told():
    note = FreeText(text="All good", rect=(50, 50, 200, 100))

    report = read_signature(
        added_by_pypdf(lambda writer: writer.add_annotation(1, note), dossier())
    )

    assert report.intact
    assert report.later_changes[1:] == (
        "page 2 carries other notes or marks than when it was signed",
    )


def test_a_page_replaced_later_is_told():
    other = pypdf.PdfReader(BytesIO(pages("Another first page"))).pages[0]

    def replace(writer):
        writer.pages[0].merge_page(other)

    report = read_signature(added_by_pypdf(replace, dossier()))

    assert report.later_changes[1:] == ("page 1 shows something else than when it was signed",)
    assert not report.covers_whole_file


def test_a_later_addition_that_cannot_be_read_is_told_as_such():
    def mangle(writer):
        writer.root_object[pypdf.generic.NameObject("/Pages")] = pypdf.generic.NumberObject(7)

    report = read_signature(added_by_pypdf(mangle, dossier()))

    assert report.later_changes[1:] == ("what was added cannot be read",)


def test_a_page_added_later_is_told():
    report = read_signature(
        added_by_pypdf(lambda writer: writer.add_blank_page(200, 200), dossier())
    )

    assert "it has 3 pages now, 2 when it was signed" in report.later_changes


def test_an_attachment_added_later_is_told():
    def attach(writer):
        writer.add_attachment("more.txt", b"more")

    report = read_signature(added_by_pypdf(attach, dossier()))

    assert "the attachment 'more.txt' was added" in report.later_changes


def nothing(_document):
    pass


def replace_a_page(document):
    with pikepdf.open(BytesIO(pages("Another first page"))) as other:
        document.pages[1] = other.pages[0]


def replace_the_record(document):
    document.attachments["record.jsonl"] = b'{"seq":0}\n'


def remove_the_signature(document):
    del document.Root.AcroForm
    del document.Root.Perms
    del document.pages[0].Annots


@pytest.mark.parametrize(
    "change", [nothing, replace_a_page, replace_the_record, remove_the_signature]
)
@pytest.mark.parametrize(
    "packing", [pikepdf.ObjectStreamMode.disable, pikepdf.ObjectStreamMode.generate]
)
def test_a_file_written_anew_is_found_however_it_is_packed(change, packing):
    report = read_signature(saved_anew(change, dossier(), object_stream_mode=packing))

    assert report.is_dossier
    assert not report.unchanged
    assert "written anew" in " ".join(report.faults)


def test_a_file_written_anew_by_pypdf_is_found():
    writer = pypdf.PdfWriter(clone_from=BytesIO(dossier()))
    out = BytesIO()
    writer.write(out)

    report = read_signature(out.getvalue())
    assert report.is_dossier
    assert not report.unchanged


def test_a_file_cut_back_to_before_it_was_signed_is_found():
    cut = cut_to_first_revision(dossier())

    report = read_signature(cut)

    assert cut == finished()
    assert report.is_dossier
    assert not report.signed
    assert "removed or cut off" in report.faults[0]


@pytest.mark.parametrize("missing", [1, 2, 100, 700])
def test_a_file_cut_off_is_found(missing):
    report = read_signature(dossier()[:-missing])

    assert "it ends before what was signed ends: it was cut off" in report.faults


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
def test_the_greater_part_of_a_file_missing_is_not_taken_for_a_whole(share):
    report = read_signature(dossier()[: int(len(dossier()) * share)])

    assert not report.unchanged


def test_the_range_stated_a_second_time_is_found():
    pdf = dossier()
    place = pdf.rindex(b"/ByteRange")
    again = pdf + pdf[place : pdf.index(b"]", place) + 1]

    report = read_signature(again)

    assert "it states 2 signatures where a dossier has one" in report.faults
    assert report.later_changes

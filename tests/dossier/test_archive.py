import os
from datetime import datetime
from io import BytesIO

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream, String

from evidence.dossier.archive import FIELD_NAME, Attachment, Relationship, extract, finish
from evidence.errors import ChangedError, RefusedError
from tests.dossier.making import (
    BOX,
    CREATED,
    HEADS,
    RECORD,
    faults_by_verapdf,
    finished,
    pages,
    two_pages,
)


def opened(pdf: bytes) -> pikepdf.Pdf:
    return pikepdf.open(BytesIO(pdf))


def rewritten(change, pdf: bytes | None = None) -> bytes:
    """The file with its objects changed by hand, its streams left as they are."""
    with opened(pdf or finished()) as document:
        change(document)
        out = BytesIO()
        document.save(
            out, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none
        )
    return out.getvalue()


def test_the_same_input_gives_the_same_bytes():
    assert finished() == finished()
    assert finished() != finished(title="Another")


def test_a_date_in_another_zone_gives_the_same_bytes():
    elsewhere = datetime.fromisoformat("2025-11-03T12:00:07-06:00")

    assert elsewhere == CREATED
    assert finished(created=elsewhere) == finished()


def test_attachments_come_out_as_they_went_in():
    noise = Attachment(
        "original-00.jpg", os.urandom(5000), "image/jpeg", "", Relationship.SUPPLEMENT
    )
    empty = Attachment("empty.txt", b"", "text/plain", "Nothing", Relationship.UNSPECIFIED)

    taken = extract(finished(RECORD, noise, empty))

    assert taken == {item.name: item.data for item in (RECORD, noise, empty)}


def test_a_hundred_attachments_come_out_too():
    many = [
        Attachment(f"witness-{n}.tsr", bytes([n]), "application/timestamp-reply", "", "Data")
        for n in range(100)
    ]

    assert len(extract(finished(*many))) == 100


def test_each_attachment_states_its_type_its_relation_and_its_date():
    with opened(finished()) as document:
        specs = list(document.Root.AF)

        assert [str(spec.UF) for spec in specs] == [RECORD.name, HEADS.name]
        assert [spec.AFRelationship for spec in specs] == [Name.Source, Name.Data]
        assert [str(spec.Desc) for spec in specs] == [RECORD.description, HEADS.description]
        stream = specs[0].EF.F
        assert stream.Subtype == Name("/application/jsonl")
        assert str(stream.Params.ModDate) == "D:20251103180007+00'00'"
        assert stream.Params.Size == len(RECORD.data)


@pytest.mark.parametrize(
    "name", ["", ".", "..", "a/b", "a\\b", "ä.txt", "a b", "a\n", "-" * 201, "C:x", "a\0"]
)
def test_a_name_that_is_not_flat_is_refused(name):
    with pytest.raises(RefusedError, match="plain file name"):
        Attachment(name, b"", "text/plain", "", Relationship.DATA)


def test_a_media_type_that_is_none_is_refused():
    with pytest.raises(RefusedError, match="media type"):
        Attachment("a", b"", "text", "", Relationship.DATA)


def test_two_attachments_of_one_name_are_refused():
    with pytest.raises(RefusedError, match="attached twice"):
        finished(RECORD, RECORD)


def test_information_and_xmp_say_the_same_and_no_clock_but_the_given_one():
    with opened(finished()) as document:
        info = {key: str(value) for key, value in document.docinfo.items()}
        xmp = document.Root.Metadata.read_bytes().decode()
        with document.open_metadata(set_pikepdf_as_editor=False) as metadata:
            facts = dict(metadata)

    assert info["/Title"] == facts["{http://purl.org/dc/elements/1.1/}title"] == "Upkeep of “Wren”"
    assert info["/Author"] == "A. Keeper"
    assert info["/Subject"] == "What was seen, and when"
    assert info["/Producer"] == "roof-evidence dossier 0.1.0"
    assert info["/CreationDate"].startswith("D:20251103180007")
    assert info["/ModDate"] == info["/CreationDate"]
    assert xmp.count("2025-11-03T18:00:07+00:00") == 2
    assert "MetadataDate" not in xmp


def test_readers_show_the_title_and_know_the_language():
    with opened(finished(language="en-GB")) as document:
        assert document.Root.ViewerPreferences.DisplayDocTitle is True
        assert str(document.Root.Lang) == "en-GB"


def test_it_claims_to_be_pdf_a_3b_with_colours_in_srgb():
    with opened(finished()) as document:
        with document.open_metadata(set_pikepdf_as_editor=False) as metadata:
            assert metadata.pdfa_status == "3B"
        (intent,) = document.Root.OutputIntents
        assert intent.S == Name.GTS_PDFA1
        assert intent.DestOutputProfile.N == 3


def test_every_object_stands_in_plain_sight():
    pdf = finished()

    assert pdf.startswith(b"%PDF-1.7")
    assert b"/ObjStm" not in pdf
    assert b"/XRef" not in pdf


def test_empty_transitions_are_dropped_and_others_kept():
    def with_transitions(document):
        document.pages[0].Trans = Dictionary()
        document.pages[1].Trans = Dictionary(S=Name.Wipe)

    with opened(finished(drawn=rewritten(with_transitions, two_pages()))) as document:
        assert "/Trans" not in document.pages[0]
        assert Name.Wipe == document.pages[1].Trans.S


def test_one_empty_signature_field_waits_on_the_first_page():
    with opened(finished(tooltip="Signature of A. Keeper")) as document:
        (field,) = document.Root.AcroForm.Fields
        (widget,) = document.pages[0].Annots

        assert widget.objgen == field.objgen
        assert Name.Sig == field.FT
        assert "/V" not in field
        assert str(field.T) == FIELD_NAME
        assert str(field.TU) == "Signature of A. Keeper"
        assert field.F == 132
        assert [float(edge) for edge in field.Rect] == list(BOX)
        assert field.AP.N.read_bytes() == b""
        assert "/Annots" not in document.pages[1]


@pytest.mark.parametrize("field", ["title", "author", "subject", "producer", "tooltip"])
def test_a_text_that_no_page_can_show_is_refused(field):
    for char in ("\0", "\x1b", "\ud800"):
        with pytest.raises(RefusedError, match="control character"):
            finished(**{field: f"roof-evidence dossier{char}"})


def test_a_producer_by_which_nobody_would_know_a_dossier_is_refused():
    with pytest.raises(RefusedError, match="does not begin with"):
        finished(producer="Somebody's program")


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7\n", b"GIF89a", two_pages()[:-400]])
def test_what_is_no_pdf_is_refused(data):
    with pytest.raises(RefusedError, match="cannot be read"):
        finish(data, [], title="", author="", subject="", created=CREATED, box=BOX)
    with pytest.raises(RefusedError, match="cannot be read"):
        extract(data)


def test_a_file_that_asks_for_a_password_is_refused():
    locked = BytesIO()
    with opened(finished()) as document:
        document.save(locked, encryption=pikepdf.Encryption(owner="a", user="b"))

    with pytest.raises(RefusedError, match="cannot be read"):
        extract(locked.getvalue())


def test_a_pdf_without_attachments_yields_none():
    assert extract(pages("Just a page")) == {}


def test_no_more_is_unpacked_than_the_limit_allows():
    bomb = Attachment("bomb.txt", bytes(3_000_000), "text/plain", "", Relationship.DATA)
    pdf = finished(RECORD, bomb)
    whole = len(RECORD.data) + len(bomb.data)

    assert len(pdf) < 100_000
    assert len(extract(pdf, limit=whole)["bomb.txt"]) == 3_000_000
    with pytest.raises(RefusedError, match="more bytes"):
        extract(pdf, limit=whole - 1)


def embedded(document) -> pikepdf.Object:
    return document.Root.Names.EmbeddedFiles


def name_twice(document):
    tree = embedded(document)
    tree.Names = Array([*tree.Names, *tree.Names])


def name_otherwise(document):
    embedded(document).Names[1].UF = String("record.jsonl.exe")


def name_with_a_path(document):
    tree = embedded(document)
    tree.Names[0] = tree.Names[1].UF = tree.Names[1].F = String("../heads.txt")


def go_round_in_a_circle(document):
    tree = embedded(document)
    tree.Kids = Array([tree])


def pack_otherwise(document):
    spec = embedded(document).Names[1]
    spec.EF.F = Stream(document, b"61>", Filter=Name.ASCIIHexDecode)


def damage(document):
    spec = embedded(document).Names[1]
    spec.EF.F = Stream(document, b"not deflated", Filter=Name.FlateDecode)


def put_a_number_for_a_file(document):
    embedded(document).Names[1] = 7


def leave_half_a_pair(document):
    embedded(document).Names.append(String("lonely"))


@pytest.mark.parametrize(
    "change",
    [
        name_twice,
        name_otherwise,
        name_with_a_path,
        go_round_in_a_circle,
        pack_otherwise,
        damage,
        put_a_number_for_a_file,
        leave_half_a_pair,
    ],
)
def test_attachments_that_this_program_does_not_make_are_refused(change):
    with pytest.raises(ChangedError, match="attachment"):
        extract(rewritten(change))


def test_a_deflated_attachment_that_was_cut_off_is_refused():
    def cut(document):
        stream = embedded(document).Names[1].EF.F
        raw = stream.read_raw_bytes()
        embedded(document).Names[1].EF.F = Stream(document, raw[:-6], Filter=Name.FlateDecode)

    with pytest.raises(ChangedError, match="damaged"):
        extract(rewritten(cut))


def test_verapdf_finds_no_fault_with_it_as_pdf_a_3b(tmp_path):
    assert faults_by_verapdf(finished(), tmp_path) == {}
    assert faults_by_verapdf(two_pages(), tmp_path) != {}

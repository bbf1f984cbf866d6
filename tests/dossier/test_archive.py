from datetime import datetime
from io import BytesIO

import pikepdf
import pytest
from pikepdf import Dictionary, Name

from evidence.dossier.archive import FIELD_NAME, finish
from evidence.errors import RefusedError
from tests.dossier.making import (
    BOX,
    CREATED,
    HEADS,
    RECORD,
    faults_by_verapdf,
    finished,
    saved_anew,
    two_pages,
)


def opened(pdf: bytes) -> pikepdf.Pdf:
    return pikepdf.open(BytesIO(pdf))


def test_the_same_input_gives_the_same_bytes():
    assert finished() == finished()
    assert finished() != finished(title="Another")


def test_a_date_in_another_zone_gives_the_same_bytes():
    elsewhere = datetime.fromisoformat("2025-11-03T12:00:07-06:00")

    assert elsewhere == CREATED
    assert finished(created=elsewhere) == finished()


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


def test_it_claims_to_be_pdf_a_3a_and_pdf_ua_1_with_colours_in_srgb():
    with opened(finished()) as document:
        with document.open_metadata(set_pikepdf_as_editor=False) as metadata:
            assert metadata.pdfa_status == "3A"
            assert metadata["{http://www.aiim.org/pdfua/ns/id/}part"] == "1"
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

    with opened(finished(drawn=saved_anew(with_transitions, two_pages()))) as document:
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


def test_pages_without_tags_are_refused():
    with pytest.raises(RefusedError, match="not tagged"):
        finished(drawn=saved_anew(lambda pdf: pdf.Root.__delitem__("/StructTreeRoot"), two_pages()))


def test_pages_that_keep_no_place_for_the_signature_are_refused():
    def drop_place(document):
        tree = document.Root.StructTreeRoot.K
        tree.K = [kid for kid in tree.K if Name.Form != kid.S]

    with pytest.raises(RefusedError, match="no one place for a signature"):
        finished(drawn=saved_anew(drop_place, two_pages()))


def test_the_signature_s_field_has_its_place_in_the_tree():
    with opened(finished()) as document:
        tree = document.Root.StructTreeRoot
        (form,) = [kid for kid in tree.K.K if Name.Form == kid.S]
        (field,) = document.Root.AcroForm.Fields
        numbers = list(tree.ParentTree.Nums)

        assert field.objgen == form.K[0].Obj.objgen
        assert numbers[numbers.index(field.StructParent) + 1].objgen == form.objgen
        assert str(form.Alt) == str(field.TU) == "Signature of the keeper of this record"


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7\n", b"GIF89a"])
def test_what_is_no_pdf_is_refused(data):
    with pytest.raises(RefusedError, match="cannot be read"):
        finish(data, [], title="", author="", subject="", created=CREATED, box=BOX)


def test_verapdf_finds_no_fault_with_it_as_pdf_a_3a_and_pdf_ua_1(tmp_path):
    assert faults_by_verapdf(finished(), tmp_path) == {}
    assert faults_by_verapdf(two_pages(), tmp_path) != {}

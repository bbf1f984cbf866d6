import os

import pikepdf
import pytest
from pikepdf import Array, Name, Stream, String

from evidence.dossier.attachments import Attachment, Relationship, extract
from evidence.errors import ChangedError, RefusedError
from tests.dossier.making import RECORD, finished, pages, saved_anew


def rewritten(change, pdf: bytes) -> bytes:
    """The file with its objects changed by hand, its streams left as they are."""
    return saved_anew(
        change,
        pdf,
        compress_streams=False,
        stream_decode_level=pikepdf.StreamDecodeLevel.none,
    )


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


@pytest.mark.parametrize(
    "name", ["", ".", "..", "a/b", "a\\b", "ä.txt", "a b", "a\n", "-" * 201, "C:x", "a\0"]
)
def test_a_name_that_is_not_flat_is_refused(name):
    with pytest.raises(RefusedError, match="plain file name"):
        Attachment(name, b"", "text/plain", "", Relationship.DATA)


def test_a_media_type_that_is_none_is_refused():
    with pytest.raises(RefusedError, match="media type"):
        Attachment("a", b"", "text", "", Relationship.DATA)


def test_a_file_that_asks_for_a_password_is_refused():
    locked = saved_anew(
        lambda _: None, finished(), encryption=pikepdf.Encryption(owner="a", user="b")
    )

    with pytest.raises(RefusedError, match="cannot be read"):
        extract(locked)


@pytest.mark.parametrize("data", [b"", b"%PDF-1.7\n", b"GIF89a"])
def test_what_is_no_pdf_is_refused(data):
    with pytest.raises(RefusedError, match="cannot be read"):
        extract(data)


def test_a_pdf_cut_off_is_refused():
    with pytest.raises(RefusedError, match="cannot be read"):
        extract(finished()[:-400])


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
        extract(rewritten(change, finished()))


def test_a_deflated_attachment_that_was_cut_off_is_refused():
    def cut(document):
        stream = embedded(document).Names[1].EF.F
        raw = stream.read_raw_bytes()
        embedded(document).Names[1].EF.F = Stream(document, raw[:-6], Filter=Name.FlateDecode)

    with pytest.raises(ChangedError, match="damaged"):
        extract(rewritten(cut, finished()))

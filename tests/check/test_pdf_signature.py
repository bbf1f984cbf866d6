import hashlib
import logging
import os
import shutil
import subprocess
from datetime import UTC, datetime
from io import BytesIO

import pikepdf
import pypdf
import pytest
from asn1crypto import cms
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import (
    decode_dss_signature,
    encode_dss_signature,
)
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pypdf.annotations import FreeText

from evidence.check.pdf_signature import SignatureReport, read_signature
from evidence.dossier.archive import Attachment, Relationship, extract
from evidence.dossier.seal import ByteRange, byte_ranges
from evidence.ledger.certificate import self_signed
from tests.conftest import needed
from tests.dossier.making import (
    CERTIFICATE,
    KEY,
    RECORD,
    SIGNED_AT,
    cut_to_first_revision,
    dossier,
    finished,
    pages,
    signed,
)


def span() -> ByteRange:
    (only,) = byte_ranges(dossier())
    return only


def flipped(pdf: bytes, place: int, bit: int) -> bytes:
    changed = bytearray(pdf)
    changed[place] ^= 1 << bit
    return bytes(changed)


def with_contents(der: bytes, *, hexadecimal=bytes.hex) -> bytes:
    """The dossier with another CMS structure in its gap."""
    room = span().stop - span().start - 2
    text = hexadecimal(der).encode().ljust(room, b"0")
    return dossier()[: span().start + 1] + text + dossier()[span().stop - 1 :]


def structure() -> cms.ContentInfo:
    return cms.ContentInfo.load(span().contents(dossier()))


def added_by_pypdf(change, pdf: bytes) -> bytes:
    writer = pypdf.PdfWriter(BytesIO(pdf), incremental=True)
    change(writer)
    out = BytesIO()
    writer.write(out)
    assert out.getvalue().startswith(pdf)
    return out.getvalue()


def saved_anew(change, pdf: bytes, **how) -> bytes:
    with pikepdf.open(BytesIO(pdf)) as document:
        change(document)
        out = BytesIO()
        document.save(out, **how)
    return out.getvalue()


def test_an_untouched_dossier_is_what_was_signed():
    report = read_signature(dossier())

    assert report == SignatureReport(
        is_dossier=True,
        signed=True,
        intact=True,
        covers_whole_file=True,
        signer="A. Keeper",
        certificate_sha256=hashlib.sha256(CERTIFICATE).hexdigest(),
        level="B-B",
        time=SIGNED_AT,
        later_changes=(),
        faults=(),
    )
    assert report.unchanged


def test_it_is_found_so_long_after_its_certificate_ended():
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = self_signed(key, "A. Keeper", datetime(1990, 1, 1, tzinfo=UTC))
    old = datetime(2003, 4, 5, tzinfo=UTC)

    report = read_signature(signed(finished(), key=key, certificate_der=certificate, signed_at=old))

    assert report.unchanged
    assert report.time == old


def found(pdf: bytes) -> bool:
    """Whether the change is told: still a dossier, but not a whole one, and it says why."""
    report = read_signature(pdf)
    told = bool(report.faults or report.later_changes)
    return report.is_dossier and told and not report.unchanged


def places() -> dict[str, int]:
    """One byte of each class, named."""
    pdf, gap = dossier(), span()
    update = len(finished())
    return {
        "header": 5,
        "binary mark": pdf.index(b"%", 1) + 1,
        "field name": pdf.index(b"(roof-evidence-signature)") + 3,
        "attachment name": pdf.index(b"(record.jsonl)") + 2,
        "producer": pdf.index(b"/Producer (roof") + 12,
        "compressed attachment": pdf.index(b"/EmbeddedFile ") + 60,
        "page": pdf.index(b"/Type /Page ") + 8,
        "first xref": pdf.index(b"xref\n0 ") + 30,
        "first trailer": pdf.index(b"trailer") + 12,
        "first end": pdf.index(b"%%EOF") + 3,
        "newline between revisions": update - 1,
        "gap's opening": gap.start,
        "first digit": gap.start + 1,
        "last zero of the padding": gap.stop - 2,
        "gap's closing": gap.stop - 1,
        "word ByteRange": pdf.rindex(b"/ByteRange") + 4,
        "first number of the range": pdf.rindex(b"/ByteRange [0") + 12,
        "a digit of the range": pdf.rindex(b"/ByteRange [0") + 15,
        "blank behind the range": pdf.rindex(b"/ByteRange") + 40,
        "kind of signature": pdf.rindex(b"/ETSI.CAdES") + 3,
        "stated time": pdf.rindex(b"20251103180509Z") + 7,
        "permission": pdf.rindex(b"/P 1\n") + 3,
        "last xref": pdf.rindex(b"xref\n", 0, pdf.rindex(b"startxref")) + 30,
        "last trailer": pdf.rindex(b"trailer") + 12,
        "startxref": pdf.rindex(b"startxref") + 11,
        "end": pdf.rindex(b"%%EOF") + 3,
        "last byte": len(pdf) - 1,
    }


@pytest.mark.parametrize("place", places().values(), ids=places().keys())
def test_no_bit_of_any_kind_of_byte_flips_unseen(place):
    for bit in range(8):
        assert found(flipped(dossier(), place, bit))


@settings(max_examples=150, deadline=None)
@given(place=st.integers(0, len(dossier()) - 1), bit=st.integers(0, 7))
@example(place=0, bit=0)
def test_any_flipped_bit_is_found(place, bit):
    assert found(flipped(dossier(), place, bit))


def test_every_digit_of_the_signature_counts():
    gap = span()
    for place in range(gap.start + 1, gap.stop - 1):
        assert found(flipped(dossier(), place, place % 8))


def test_a_letter_in_upper_case_is_found_though_its_value_is_the_same():
    gap = span()
    for place in range(gap.start, gap.stop):
        if dossier()[place : place + 1].isalpha():
            report = read_signature(flipped(dossier(), place, 5))
            assert report.faults == ("the signature is not written in the one form that it has",)


def test_another_value_in_the_padding_is_found():
    gap = span()
    beyond = dossier()[: gap.stop - 3] + b"01" + dossier()[gap.stop - 1 :]

    assert read_signature(beyond).faults == ("the signature holds bytes that nobody signed",)


def test_the_other_form_of_the_same_signature_is_found():
    order = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551  # SEC 2 § 2.4.2
    content = structure()
    signer = content["content"]["signer_infos"][0]
    r, s = decode_dss_signature(signer["signature"].native)
    signer["signature"] = encode_dss_signature(r, order - s)

    assert read_signature(with_contents(content.dump(force=True))).faults == (
        "the signature holds bytes that nobody signed",
    )


def add_an_unsigned_attribute(content):
    attribute = {"type": "counter_signature", "values": []}
    content["content"]["signer_infos"][0]["unsigned_attrs"] = [attribute]


def add_a_second_certificate(content):
    key = ec.generate_private_key(ec.SECP256R1())
    other = self_signed(key, "B. Stranger", datetime(2025, 1, 1, tzinfo=UTC))
    held = cms.CertificateChoices(name="certificate", value=cms.Certificate.load(other))
    content["content"]["certificates"].append(held)


def state_another_version(content):
    content["content"]["version"] = "v3"


def put_another_certificate_of_the_same_key(content):
    other = self_signed(KEY, "A. Keeper", datetime(2024, 1, 1, tzinfo=UTC))
    held = cms.CertificateChoices(name="certificate", value=cms.Certificate.load(other))
    content["content"]["certificates"] = [held]


def sign_other_bytes(content):
    content["content"]["signer_infos"][0]["signature"] = encode_dss_signature(7, 9)


@pytest.mark.parametrize(
    "change",
    [
        add_an_unsigned_attribute,
        add_a_second_certificate,
        state_another_version,
        put_another_certificate_of_the_same_key,
        sign_other_bytes,
    ],
)
def test_a_signature_with_other_parts_is_found(change):
    content = structure()
    change(content)

    assert found(with_contents(content.dump(force=True)))


@pytest.mark.parametrize("der", [b"", b"\x30\x00", b"\x30\x80", os.urandom(600), b"\x30" * 600])
def test_what_is_no_signature_is_found(der):
    report = read_signature(with_contents(der))

    assert report.signed
    assert not report.intact
    assert report.faults == ("the signature cannot be read",)


@pytest.mark.parametrize("added", [b"\n", b" ", b"\0", b"%%EOF\n", b"anything at all"])
def test_bytes_behind_the_end_are_found(added):
    report = read_signature(dossier() + added)

    assert report.intact
    assert not report.covers_whole_file
    noun = "1 byte was" if len(added) == 1 else f"{len(added)} bytes were"
    assert report.later_changes == (f"{noun} added after it was signed",)
    assert not report.unchanged


def test_bytes_before_the_beginning_are_found():
    assert found(b"\n" + dossier())


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

    assert found(out.getvalue())


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


def signed_loosely(pdf: bytes, **metadata) -> bytes:
    """Signed with the same key by pyHanko, but otherwise than a dossier is."""
    from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
    from pyhanko.sign.signers import PdfSignatureMetadata

    from evidence.dossier.pyhanko_parts import Key, SignerAt, Update, stamp_of
    from evidence.dossier.signature import _in_strict_form

    how = {
        "field_name": "roof-evidence-signature",
        "md_algorithm": "sha256",
        "subfilter": SigSeedSubFilter.PADES,
        "certify": True,
        "docmdp_permissions": MDPPerm.NO_CHANGES,
    } | metadata
    signer = SignerAt(PdfSignatureMetadata(**how), Key(KEY, CERTIFICATE), stamp_of(None), SIGNED_AT)
    out = BytesIO()
    signer.sign_pdf(Update(BytesIO(pdf)), output=out)
    return _in_strict_form(out.getvalue())


def test_a_signature_that_allows_later_changes_is_no_dossiers():
    from pyhanko.sign.fields import MDPPerm

    report = read_signature(signed_loosely(finished(), docmdp_permissions=MDPPerm.FILL_FORMS))

    assert report.faults == ("the signature allows later changes",)
    assert not report.unchanged


def test_a_signature_that_certifies_nothing_is_no_dossiers():
    report = read_signature(signed_loosely(finished(), certify=False))

    assert "the signature allows later changes" in report.faults


def test_a_signature_in_another_field_is_no_dossiers():
    report = read_signature(signed_loosely(finished(), field_name="Other"))

    assert report.faults == ("the signature is not in the field made for it",)


def test_a_signature_of_another_kind_is_no_dossiers():
    from pyhanko.sign.fields import SigSeedSubFilter

    pdf = signed_loosely(finished(), subfilter=SigSeedSubFilter.PADES).replace(
        b"/ETSI.CAdES.detached", b"/adbe.pkcs7.detached"
    )

    assert found(pdf)


def test_a_second_signature_is_found():
    from pyhanko.sign.fields import MDPPerm

    once = signed_loosely(finished(), docmdp_permissions=MDPPerm.FILL_FORMS)
    twice = signed_loosely_again(once)

    report = read_signature(twice)

    assert not report.unchanged
    assert "it states 2 signatures where a dossier has one" in report.faults
    assert report.later_changes


def signed_loosely_again(pdf: bytes) -> bytes:
    return signed_loosely(pdf, field_name="Second", certify=False)


def test_a_time_outside_the_certificates_life_is_told(monkeypatch):
    monkeypatch.setattr("evidence.dossier.signature._refuse_unfit", lambda *_: None)

    report = read_signature(signed(finished(), signed_at=datetime(2024, 1, 1, tzinfo=UTC)))

    assert report.faults == ("its stated time lies outside its certificate's life",)
    assert not report.intact


def test_another_persons_signature_shows_in_name_and_certificate():
    key = ec.generate_private_key(ec.SECP256R1())
    certificate = self_signed(key, "B. Stranger\x1b[2J", datetime(2025, 1, 1, tzinfo=UTC))

    report = read_signature(signed(finished(), key=key, certificate_der=certificate))

    assert report.unchanged  # it is what *they* signed; the record says whose key it should be
    assert report.signer == "B. Stranger [2J"
    assert report.certificate_sha256 != hashlib.sha256(CERTIFICATE).hexdigest()


def test_a_signed_file_among_the_attachments_confuses_nobody():
    # noise keeps the compressor from touching it, so the text stands in the file as it is
    inner = os.urandom(70_000) + b"/ByteRange [0 10 20 30]" + os.urandom(70_000)
    carried = Attachment("original-1.pdf", inner, "application/pdf", "", Relationship.DATA)

    pdf = signed(finished(RECORD, carried))

    assert pdf.count(b"/ByteRange [0") == 2
    assert read_signature(pdf).unchanged
    assert extract(pdf)["original-1.pdf"] == inner


def test_a_strangers_pdf_is_no_dossier_signed_or_not():
    stranger = pages("An invoice")
    theirs = signed_loosely(stranger, field_name="Signature1")

    for pdf in (stranger, theirs, b"", b"GIF89a", b"%PDF-1.7\n%%EOF"):
        assert read_signature(pdf) == SignatureReport(is_dossier=False)


def test_checking_says_nothing_on_the_terminal(capfd, caplog):
    with caplog.at_level(logging.DEBUG):
        for pdf in (dossier(), dossier() + b"\n", flipped(dossier(), span().start - 9, 0)):
            read_signature(pdf)

    assert capfd.readouterr() == ("", "")
    assert [record.name for record in caplog.records if "hanko" in record.name] == []


def test_pdfsig_finds_the_whole_document_signed_and_the_signature_valid(tmp_path):
    pdfsig = shutil.which("pdfsig")
    needed(pdfsig is not None, "pdfsig")

    def told(pdf: bytes) -> str:
        file = tmp_path / "dossier.pdf"
        file.write_bytes(pdf)
        command = [pdfsig, "-nocert", file]
        return subprocess.run(command, capture_output=True, text=True, check=False).stdout

    assert "Total document signed" in told(dossier())
    assert "Signature is Valid" in told(dossier())
    assert "Signer Certificate Common Name: A. Keeper" in told(dossier())
    assert "Signature is Valid" not in told(flipped(dossier(), 100, 0))

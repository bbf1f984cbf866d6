import hashlib
import logging
import os
import shutil
import subprocess
from datetime import UTC, datetime
from io import BytesIO

import pytest
from cryptography.hazmat.primitives.asymmetric import ec
from hypothesis import example, given, settings
from hypothesis import strategies as st
from pyhanko.sign.fields import MDPPerm, SigSeedSubFilter
from pyhanko.sign.signers import PdfSignatureMetadata

from evidence.check.pdf_signature import SignatureReport, read_signature
from evidence.dossier.archive import FIELD_NAME, Attachment, Relationship, extract
from evidence.dossier.pyhanko_parts import Key, SignerAt, Update, stamp_of
from evidence.dossier.seal import ByteRange, byte_ranges
from evidence.dossier.signature import _in_strict_form
from evidence.ledger.certificate import self_signed
from tests.conftest import needed
from tests.dossier.making import (
    CERTIFICATE,
    KEY,
    RECORD,
    SIGNED_AT,
    dossier,
    finished,
    flipped,
    pages,
    signed,
)


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


def span() -> ByteRange:
    (only,) = byte_ranges(dossier())
    return only


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


@settings(max_examples=150, deadline=None)
@given(place=st.integers(0, len(dossier())), put=st.binary(max_size=40), over=st.integers(0, 40))
def test_no_change_whatever_makes_the_check_stumble(place, put, over):
    changed = dossier()[:place] + put + dossier()[place + over :]

    assert read_signature(changed).unchanged == (changed == dossier())


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_no_change_to_the_signature_makes_the_check_stumble(data):
    der = span().contents(dossier()).rstrip(b"\0")
    place = data.draw(st.integers(0, len(der) - 1))
    put = data.draw(st.binary(min_size=1, max_size=4))
    changed = (der[:place] + put + der[place + len(put) :])[: len(der)]
    pdf = dossier().replace(der.hex().encode(), changed.hex().encode())

    assert read_signature(pdf).unchanged == (changed == der)


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


def test_what_is_no_signature_is_told_as_such():
    gap = span()
    room = gap.stop - gap.start - 2

    report = read_signature(
        dossier()[: gap.start + 1] + b"30" * (room // 2) + dossier()[gap.stop - 1 :]
    )

    assert report.signed
    assert not report.intact
    assert report.signer == report.certificate_sha256 == report.level == ""
    assert report.faults == ("the signature cannot be read",)


def signed_loosely(pdf: bytes, **metadata) -> bytes:
    """Signed with the same key by pyHanko, but otherwise than a dossier is."""
    how = {
        "field_name": FIELD_NAME,
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
    pdf = signed_loosely(finished(), subfilter=SigSeedSubFilter.PADES).replace(
        b"/ETSI.CAdES.detached", b"/adbe.pkcs7.detached"
    )

    assert found(pdf)


def test_a_second_signature_is_found():
    once = signed_loosely(finished(), docmdp_permissions=MDPPerm.FILL_FORMS)
    twice = signed_loosely(once, field_name="Second", certify=False)

    report = read_signature(twice)

    assert not report.unchanged
    assert "it states 2 signatures where a dossier has one" in report.faults
    assert report.later_changes


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

import logging
import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from io import BytesIO

import pikepdf
import pypdf
import pytest
from asn1crypto import cms
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.serialization import Encoding
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.fields import MDPPerm

from evidence.dossier.archive import FIELD_NAME, extract
from evidence.dossier.seal import byte_ranges
from evidence.dossier.signature import signature_box
from evidence.errors import RefusedError
from evidence.ledger.certificate import self_signed
from tests.conftest import needed
from tests.dossier.making import (
    BOX,
    CERTIFICATE,
    HEADS,
    RECORD,
    SIGNED_AT,
    dossier,
    faults_by_verapdf,
    finished,
    pages,
    rsa_key,
    signed,
)


def contents(pdf: bytes) -> bytes:
    (span,) = byte_ranges(pdf)
    return span.contents(pdf)


def signer_info(pdf: bytes) -> cms.SignerInfo:
    (info,) = cms.ContentInfo.load(contents(pdf))["content"]["signer_infos"]
    return info


def embedded(pdf: bytes):
    (signature,) = PdfFileReader(BytesIO(pdf)).embedded_signatures
    return signature


def test_it_certifies_the_file_and_allows_no_change():
    signature = embedded(dossier())

    assert signature.field_name == FIELD_NAME
    assert signature.docmdp_level is MDPPerm.NO_CHANGES
    assert signature.sig_object["/SubFilter"] == "/ETSI.CAdES.detached"
    assert signature.sig_object["/Reason"] == "Issued by its keeper"
    with pikepdf.open(BytesIO(dossier())) as document:
        assert document.Root.Perms.DocMDP.objgen == document.Root.AcroForm.Fields[0].V.objgen


def test_what_was_finished_stays_as_it_was_and_the_signature_is_added_behind():
    pdf = finished()

    assert signed(pdf).startswith(pdf)
    assert extract(signed(pdf)) == {item.name: item.data for item in (RECORD, HEADS)}


def test_it_states_the_given_time_and_no_other_clock():
    pdf = dossier()
    added = pdf[len(finished()) :]

    assert embedded(pdf).self_reported_timestamp == SIGNED_AT
    assert added.count(b"20251103180509Z") == 1
    assert b"/ModDate" not in added
    with pikepdf.open(BytesIO(pdf)) as after, pikepdf.open(BytesIO(finished())) as before:
        assert dict(after.docinfo.items()) == dict(before.docinfo.items())
        assert after.Root.Metadata.read_bytes() == before.Root.Metadata.read_bytes()


def test_a_time_in_another_zone_is_the_same_time():
    elsewhere = SIGNED_AT.astimezone(tz=None).replace(microsecond=999)

    assert embedded(signed(finished(), signed_at=elsewhere)).self_reported_timestamp == SIGNED_AT


def test_it_stays_a_file_of_pdf_1_7():
    with pikepdf.open(BytesIO(dossier())) as document:
        assert document.pdf_version == "1.7"
        assert "/Version" not in document.Root
        assert list(document.Root.Extensions.keys()) == ["/ESIC"]


def test_the_signed_attributes_are_those_of_pades_and_none_is_unsigned():
    info = signer_info(dossier())

    kinds = {attribute["type"].native for attribute in info["signed_attrs"]}
    assert kinds == {"content_type", "message_digest", "signing_certificate_v2"}
    assert info["unsigned_attrs"].native is None
    assert info["digest_algorithm"]["algorithm"].native == "sha256"
    assert info["signature_algorithm"]["algorithm"].native == "sha256_ecdsa"


def test_the_one_certificate_in_it_is_the_signers():
    signature = cms.ContentInfo.load(contents(dossier()))["content"]

    assert [held.chosen.dump() for held in signature["certificates"]] == [CERTIFICATE]


def test_the_gap_is_lower_case_hexadecimal_with_zeros_at_its_end():
    (span,) = byte_ranges(dossier())
    gap = dossier()[span.start : span.stop]

    assert gap == b"<" + contents(dossier()).hex().encode() + b">"
    assert gap.endswith(b"0000>")
    assert span.end == len(dossier())


def test_every_signature_comes_in_its_lower_form():
    order = 0xFFFFFFFF00000000FFFFFFFFFFFFFFFFBCE6FAADA7179E84F3B9CAC2FC632551  # SEC 2 § 2.4.2
    pdf = finished()
    for _ in range(8):  # half of all signatures would be in the higher form
        _, s = decode_dss_signature(signer_info(signed(pdf))["signature"].native)
        assert s <= order // 2


def test_location_is_said_where_it_is_given():
    assert "/Location" not in embedded(dossier()).sig_object
    placed = signed(finished(), location="Springfield")
    assert embedded(placed).sig_object["/Location"] == "Springfield"


def test_the_box_shows_what_was_drawn_for_it():
    with pikepdf.open(BytesIO(dossier())) as document:
        shown = document.Root.AcroForm.Fields[0].AP.N
        drawing = shown.Resources.XObject.Drawing

        assert b"/Drawing Do" in shown.read_bytes()
        assert b" cm" in shown.read_bytes()
        assert [float(edge) for edge in drawing.BBox] == [0, 0, BOX[2] - BOX[0], BOX[3] - BOX[1]]
        descriptors = [font.FontDescriptor for font in drawing.Resources.Font.values()]
        assert all("/FontFile2" in descriptor for descriptor in descriptors)


def test_without_a_drawing_the_box_stays_empty():
    with pikepdf.open(BytesIO(signed(finished()))) as document:
        assert document.Root.AcroForm.Fields[0].AP.N.read_bytes() == b""


def test_a_key_that_the_certificate_does_not_name_is_refused():
    for key in (ec.generate_private_key(ec.SECP256R1()), rsa_key()):
        with pytest.raises(RefusedError, match="not the key that the certificate names"):
            signed(finished(), key=key)


def test_a_key_of_another_curve_is_refused():
    key = ec.generate_private_key(ec.SECP384R1())
    certificate = self_signed(key, "A. Keeper", datetime(2025, 1, 1, tzinfo=UTC))

    with pytest.raises(RefusedError, match="or not ECDSA on P-256 or RSA of 2048 to 4096 bits"):
        signed(finished(), key=key, certificate_der=certificate)


@pytest.mark.parametrize("data", [b"", b"not a certificate"])
def test_what_is_no_certificate_is_refused(data):
    with pytest.raises(RefusedError, match="certificate"):
        signed(finished(), certificate_der=data)


def test_a_time_outside_the_certificates_life_is_refused():
    for moment in (datetime(2024, 12, 31, tzinfo=UTC), SIGNED_AT + timedelta(days=31 * 365)):
        with pytest.raises(RefusedError, match="outside the life"):
            signed(finished(), signed_at=moment)


@pytest.mark.parametrize(
    "pdf",
    [b"", b"%PDF-1.7", pages("No field"), dossier()],
    ids=["nothing", "no PDF", "no field", "signed already"],
)
def test_a_file_without_an_empty_field_for_it_is_refused(pdf):
    with pytest.raises(RefusedError, match="cannot be signed"):
        signed(pdf)


def test_signing_says_nothing_on_the_terminal(capfd, caplog):
    with caplog.at_level(logging.DEBUG):
        signed(finished())

    assert capfd.readouterr() == ("", "")
    assert [record.name for record in caplog.records if "hanko" in record.name] == []


def test_the_box_is_as_large_as_asked_and_the_same_each_time():
    drawn = signature_box(["Signed by A. Keeper", "3 November 2025"], 228, 58)
    (page,) = pypdf.PdfReader(BytesIO(drawn)).pages

    assert (page.mediabox.width, page.mediabox.height) == (228, 58)
    assert page.extract_text().splitlines() == ["Signed by A. Keeper", "3 November 2025"]
    assert drawn == signature_box(["Signed by A. Keeper", "3 November 2025"], 228, 58)


def test_a_line_too_long_for_the_box_ends_in_an_ellipsis():
    (page,) = pypdf.PdfReader(BytesIO(signature_box(["Wren " * 40], 228, 58))).pages

    text = page.extract_text().strip()
    assert text.startswith("Wren Wren")
    assert text.endswith("…")
    assert len(text) < 70


def test_more_lines_than_the_box_holds_are_refused():
    with pytest.raises(RefusedError, match="too low"):
        signature_box(["a"] * 6, 228, 58)


def test_openssl_finds_the_signature_good_and_another_file_bad(tmp_path):
    openssl = shutil.which("openssl")
    needed(openssl is not None, "openssl")
    pdf = dossier()
    (span,) = byte_ranges(pdf)
    root = x509.load_der_x509_certificate(CERTIFICATE).public_bytes(Encoding.PEM)
    (tmp_path / "root.pem").write_bytes(root)
    (tmp_path / "signature").write_bytes(contents(pdf))

    def verify(data: bytes) -> int:
        (tmp_path / "signed").write_bytes(data)
        command = [openssl, "cms", "-verify", "-binary", "-cades", "-purpose", "any"]
        command += ["-inform", "der", "-in", "signature", "-content", "signed", "-out", "out"]
        command += ["-CAfile", "root.pem", "-attime", str(int(SIGNED_AT.timestamp()))]
        return subprocess.run(command, cwd=tmp_path, capture_output=True, check=False).returncode

    data = pdf[: span.start] + pdf[span.stop :]
    assert verify(data) == 0
    assert verify(data + b" ") != 0


def test_verapdf_finds_no_fault_with_it_after_signing(tmp_path):
    assert faults_by_verapdf(dossier(), tmp_path) == {}

"""A dossier in the hands of programs that are not ours.

Poppler's pdfsig and pdftotext, pyHanko's own validator, pypdf, pikepdf (qpdf), exiftool, veraPDF.
"""

import hashlib
import json
import shutil
import subprocess
from io import BytesIO
from pathlib import Path

import pikepdf
import pypdf
import pytest
from asn1crypto import x509
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.diff_analysis import ModificationLevel
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko.sign.validation.status import SignatureCoverageLevel
from pyhanko_certvalidator import ValidationContext

from evidence.case import Record
from evidence.dossier.attachments import extract
from evidence.entries import Key
from tests.conftest import SHARED, needed
from tests.tampering import flipped


def output(tool: str, *arguments: str | Path) -> str:
    needed(shutil.which(tool) is not None, tool)
    return subprocess.run([tool, *arguments], capture_output=True, text=True, check=True).stdout


@pytest.fixture
def certificate(built: Path) -> bytes:
    """The one that the record names, as it was sealed at the start."""
    record = Record.open(built)
    entry = next(entry for entry in record.entries if isinstance(entry.body, Key))
    return record.original(entry.files[0].sha256).read_bytes()


# The signature


def test_pdfsig_finds_the_signature_valid_and_the_whole_file_signed(dossier):
    said = output("pdfsig", dossier)

    assert "Signature Validation: Signature is Valid." in said
    assert "Total document signed" in said
    assert "Not total document signed" not in said
    assert said.count("Signature #") == 1
    assert "- Signer Certificate Common Name: A. Holder" in said
    assert "- Signature Type: ETSI.CAdES.detached" in said


def test_pdfsig_finds_a_changed_byte(dossier, tmp_path):
    copy = tmp_path / "claim.pdf"
    data = dossier.read_bytes()
    copy.write_bytes(flipped(data, 8 * data.index(b"/Type /Page ") + 8 * 8))

    assert "Signature is Valid" not in output("pdfsig", copy)


def test_pyhanko_accepts_it_with_the_records_certificate_as_the_only_root(dossier, certificate):
    (signature,) = PdfFileReader(BytesIO(dossier.read_bytes())).embedded_signatures
    context = ValidationContext(
        trust_roots=[x509.Certificate.load(certificate)],
        moment=signature.self_reported_timestamp,
        allow_fetching=False,
    )
    status = validate_pdf_signature(signature, context)

    assert status.bottom_line
    assert status.coverage is SignatureCoverageLevel.ENTIRE_FILE
    assert status.modification_level is ModificationLevel.NONE
    assert status.trusted


# The pages


def test_every_page_of_a_sample_says_that_it_is_one(dossier):
    pages = output("pdftotext", dossier, "-").split("\f")[:-1]

    assert len(pages) == len(pypdf.PdfReader(dossier).pages)
    assert all("Sample case: invented" in page for page in pages)


def test_the_pages_never_judge(dossier):
    said = output("pdftotext", dossier, "-").lower()

    for word in ("neglect", "admissible", "verified damage", "caused by", "score"):
        assert word not in said, word


def test_poppler_has_nothing_to_complain_of(dossier, tmp_path):
    needed(shutil.which("pdftoppm") is not None, "pdftoppm")
    drawn = subprocess.run(
        ["pdftoppm", "-r", "30", "-png", dossier, tmp_path / "page"],
        capture_output=True,
        text=True,
        check=True,
    )

    assert drawn.stderr == ""
    assert len(list(tmp_path.glob("page-*.png"))) == len(pypdf.PdfReader(dossier).pages)


# What it carries


def test_pypdf_and_qpdf_read_the_same_attachments_as_we_do(dossier):
    ours = extract(dossier.read_bytes())
    theirs = pypdf.PdfReader(dossier).attachments
    with pikepdf.open(dossier) as document:
        by_qpdf = {
            name: spec.get_file().read_bytes() for name, spec in document.attachments.items()
        }

    assert {name: [data] for name, data in ours.items()} == dict(theirs)
    assert by_qpdf == ours


def test_poppler_saves_the_same_attachments_too(dossier, tmp_path):
    output("pdfdetach", "-saveall", "-o", tmp_path, dossier)

    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == extract(
        dossier.read_bytes()
    )


def test_the_attached_record_is_the_cases_own_and_the_manifest_fits_every_file(dossier, built):
    attached = extract(dossier.read_bytes())
    manifest = json.loads(attached.pop("manifest.json"))

    assert attached["record.jsonl"] == b"".join(line + b"\n" for line in Record.open(built).lines)
    assert manifest["files"] == {
        name: {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}
        for name, data in attached.items()
    }


def pictures(pdf: Path) -> list[bytes]:
    """The raw bytes of every picture in the file that is not attached."""
    with pikepdf.open(pdf) as document:
        streams = [found for found in document.objects if isinstance(found, pikepdf.Stream)]
        images = [found for found in streams if found.get("/Subtype") == "/Image"]
        return [bytes(image.read_raw_bytes()) for image in images]


def test_the_pictures_on_the_pages_carry_no_tags(dossier):
    shown = pictures(dossier)

    assert len(shown) >= 2
    for raw in shown:
        assert raw.startswith(b"\xff\xd8"), "a JPEG as it was made, so that its tags would show"
        assert b"Exif" not in raw
        assert b"GPS" not in raw
        assert b"http://ns.adobe.com/xap" not in raw


def test_exiftool_finds_neither_camera_nor_place_in_them(dossier, tmp_path):
    for at, raw in enumerate(pictures(dossier)):
        (tmp_path / f"{at}.jpg").write_bytes(raw)
    found = json.loads(output("exiftool", "-json", "-G", tmp_path))

    assert found
    for tags in found:
        groups = {name.partition(":")[0] for name in tags}
        assert groups <= {"SourceFile", "ExifTool", "File", "JFIF", "Composite"}, tags


def test_qpdf_finds_no_fault_in_its_structure(dossier):
    with pikepdf.open(dossier, attempt_recovery=False) as document:
        assert document.check_pdf_syntax() == []


def test_verapdf_finds_it_conforming_to_pdf_a_3a_and_pdf_ua_1(dossier):
    tool = SHARED / "tools" / "vera" / "vera"
    needed(tool.is_file(), "the veraPDF engine")
    done = subprocess.run([tool, "3a,ua1", dossier], capture_output=True, text=True, check=False)
    needed(done.returncode != 2, "what the veraPDF engine needs")
    told = [json.loads(line) for line in done.stdout.splitlines()]

    assert [one["flavour"] for one in told] == ["3a", "ua1"]
    for one in told:
        assert one["failed"] == {}
        assert one["compliant"] is True

import io
import shutil
import subprocess
from dataclasses import replace
from hashlib import sha256

import pytest
from PIL import Image
from pypdf import PdfReader

from evidence.case import Record
from evidence.ledger import SignedNote, Signer, Verifier, open_note
from evidence.paper import slip_of, slip_pdf
from tests.conftest import needed
from tests.paper.printing import FOOTER, NOTE, SIGNER, SLIP


def said(pdf: bytes) -> str:
    (page,) = PdfReader(io.BytesIO(pdf)).pages
    return " ".join(page.extract_text().split())


def scanned(pdf: bytes, folder) -> str:
    """The text of the code on the page."""
    zxingcpp = pytest.importorskip("zxingcpp")
    needed(shutil.which("pdftoppm") is not None, "pdftoppm")
    (folder / "slip.pdf").write_bytes(pdf)
    subprocess.run(["pdftoppm", "-r", "150", "-png", "slip.pdf", "page"], cwd=folder, check=True)
    (code,) = zxingcpp.read_barcodes(Image.open(next(folder.glob("page*.png"))))
    return code.text


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_the_slip_holds_the_head_in_full_and_the_key(paper):
    text = "".join(said(slip_pdf(SLIP, paper, FOOTER)).split())
    for line in (*NOTE.splitlines(), SIGNER.verifier.vkey):
        assert "".join(line.split()) in text
    assert sha256(SIGNER.verifier.public_key).hexdigest() in text
    assert SLIP.key_name in text


def test_the_code_on_the_page_is_the_note_itself(tmp_path):
    note = scanned(slip_pdf(SLIP, "letter", FOOTER), tmp_path)
    assert note == NOTE
    assert open_note(SignedNote.parse(note), [Verifier.parse(SIGNER.verifier.vkey)])


def test_a_note_that_is_too_long_is_coded_by_its_text_alone(tmp_path):
    note = SignedNote.parse(NOTE)
    others = tuple(
        Signer.from_seed(note.signatures[0].name, bytes([n]) * 32).sign(note.text) for n in range(3)
    )
    long = replace(SLIP, note=SignedNote(note.text, (*note.signatures, *others)).format())
    pdf = slip_pdf(long, "letter", FOOTER)
    assert scanned(pdf, tmp_path) == note.text
    assert "The code holds origin, size and root" in said(pdf)


def test_it_says_how_to_keep_it_how_to_send_it_back_and_where_it_may_be_posted():
    text = said(slip_pdf(SLIP, "letter", FOOTER))
    for heading in (
        "What it serves for",
        "How to keep it",
        "How to send it back",
        "Where it may be posted",
        "What it cannot show",
    ):
        assert heading in text
    assert "That another record was kept beside this one cannot be excluded." in text
    assert "41 entries" in text


def test_a_sample_says_so():
    assert "Sample" not in said(slip_pdf(SLIP, "letter", FOOTER))
    assert "Sample case: invented" in said(slip_pdf(replace(SLIP, sample=True), "letter", FOOTER))


def test_a_records_slip_is_of_its_newest_head(built):
    record = Record.open(built)
    slip = slip_of(record)
    assert slip.note == record.heads[-1]
    assert slip.head.size == len(record.lines)
    assert open_note(SignedNote.parse(slip.note), [slip.signer]) == [slip.signer]
    assert slip.sample

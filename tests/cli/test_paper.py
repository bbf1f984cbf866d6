"""`card`, and the option and the function of `--slip`."""

import pytest
from pypdf import PdfReader

from evidence.case import Record
from evidence.cli.paper import write_slip
from evidence.errors import RefusedError
from evidence.photos import Worker
from evidence.witness.card import MAX_TEXT, START, Card


def read(path):
    with Worker() as worker:
        return worker.codes(path, START, MAX_TEXT).texts


def test_a_card_is_a_page_or_a_picture_by_the_files_ending(built, run, tmp_path):
    ran = run("card", built, "--zone", "vent-1", "--out", tmp_path / "card.PNG")
    assert (ran.code, ran.err) == (0, "")
    (text,) = read(tmp_path / "card.PNG")
    assert Card.parse(text).zone == "vent-1"
    assert Card.parse(text).letters in ran.said
    assert "the outsider's answer of 8 Jun 2025 22:51Z (entry 16)" in ran.said

    run("card", built, "--out", tmp_path / "card.pdf", "--paper", "a4")
    (page,) = PdfReader(tmp_path / "card.pdf").pages
    assert round(page.mediabox.width) == 595


def test_a_program_is_told_what_the_card_carries(built, run, tmp_path):
    document = run("card", built, "--zone", "vent-1", "--out", tmp_path / "a.pdf", "--json").json
    record = Record.open(built)
    witness = record.entries[document["seq"]]
    assert document["answer"] == witness.files[0].sha256
    assert document["time"] == witness.body.time
    assert document["name"] == witness.body.name
    assert document["zone"] == "vent-1"
    assert Card.parse(document["text"]).letters == document["letters"]


def test_without_an_outsiders_answer_the_card_is_refused_and_witness_named(own, run, tmp_path):
    ran = run("card", own, "--out", tmp_path / "card.pdf")
    assert (ran.code, ran.out) == (2, "")
    assert "roof-evidence witness" in ran.err
    assert len(ran.err.splitlines()) <= 3
    assert list(tmp_path.glob("*.pdf")) == []


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--out", "card.svg"), "ends neither in .pdf nor in .png"),
        (("--out", "card.pdf", "--zone", "attic"), "Known: front-strip"),
        (("--out", "nowhere/card.pdf"), "cannot be written"),
        (("--out", "."), "is a directory"),
        (("--out", "../taken.pdf"), "is there and is no sheet"),
    ],
)
def test_what_cannot_be_made_is_refused(built, run, tmp_path, monkeypatch, more, said):
    (tmp_path / "taken.pdf").write_bytes(b"mine")
    (tmp_path / "here").mkdir()
    monkeypatch.chdir(tmp_path / "here")
    ran = run("card", built, *more)
    assert (ran.code, said in ran.err) == (2, True)
    assert list((tmp_path / "here").iterdir()) == []
    assert (tmp_path / "taken.pdf").read_bytes() == b"mine"


def test_a_slip_of_the_head_is_one_page(built, run, tmp_path):
    ran = run("witness", built, "--slip", tmp_path / "slip.pdf", "--paper", "a4")
    assert (ran.code, ran.err) == (0, "")
    assert "for somebody else to keep" in ran.said
    (page,) = PdfReader(tmp_path / "slip.pdf").pages
    assert round(page.mediabox.width) == 595


def test_a_slip_is_handed_out_alone(built, run, tmp_path):
    ran = run("witness", built, "--slip", tmp_path / "slip.pdf", "--note", tmp_path / "head.txt")
    assert (ran.code, list(tmp_path.iterdir())) == (2, [])


def test_a_slip_is_a_pdf(built, tmp_path):
    with pytest.raises(RefusedError, match=r"does not end in \.pdf"):
        write_slip(Record.open(built), tmp_path / "slip.png")


def _held(case):
    files = (path for path in case.rglob("*") if path.is_file() and path.parent.name != "previews")
    return {path: path.read_bytes() for path in files}


@pytest.mark.parametrize(
    "call",
    [
        ("due", "--on", "2025-11-03", "--ics"),
        ("round", "--on", "2025-11-03", "--out"),
        ("dossier", "--on", "2025-11-03", "--out"),
    ],
)
def test_no_output_takes_the_place_of_the_record_or_of_a_foreign_file(built, run, tmp_path, call):
    name, *options = call
    original = next((built / "originals").iterdir())
    notes = tmp_path / "notes.txt"
    notes.write_text("mine")
    before = _held(built)
    for out in (built / "ledger.sqlite", original, built / "new.pdf", notes):
        ran = run(name, built, *options, out)
        assert (ran.code, ran.out) == (2, "")
        assert str(out) in ran.err
    assert _held(built) == before
    assert notes.read_text() == "mine"


def test_a_sheet_and_a_calendar_are_made_again_under_the_same_name(built, run, tmp_path):
    for name, option, out in (("due", "--ics", "a.ics"), ("round", "--out", "a.pdf")):
        for _ in range(2):
            assert run(name, built, "--on", "2025-11-03", option, tmp_path / out).code == 0

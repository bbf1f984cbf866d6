"""`challenge`: what the other side will say of this very record."""

from evidence.check import check_path
from evidence.check.report import Result
from tests.cli.conftest import ON


def test_the_case_against_the_record_stands_under_its_headings_with_entries_and_answers(built, run):
    ran = run("challenge", built, "--incident", "i1", "--on", ON)
    assert ran.code == 0, ran.err
    assert ran.lines[0] == "This is a sample: an invented case."
    assert "What will be asked" in ran.lines
    assert "nobody is on record as its holder. The first look before" in ran.said


def test_a_program_is_given_a_list_with_the_gravest_first(built, run):
    document = run("challenge", built, "--on", ON, "--json").json
    graves = [row["grave"] for row in document]
    assert graves
    assert graves == sorted(graves)
    assert {"kind", "grave", "text", "entries", "answers", "today", "about"} == set(document[0])


def test_an_incident_that_is_not_on_record_is_refused_with_those_that_are(built, run):
    ran = run("challenge", built, "--incident", "i9")
    assert ran.code == 2
    assert "On record: i1." in ran.err


def test_a_dossier_can_leave_it_out_and_still_checks_as_unchanged(case, run, tmp_path):
    from pypdf import PdfReader

    out = tmp_path / "claim.pdf"
    ran = run("dossier", case, "--on", ON, "--without-challenge", "--out", out)
    assert ran.code == 0, ran.err
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(out).pages).split())
    assert "left out by whoever issued this file" in text
    report = check_path(out)
    assert (report.result, report.figures_match) == (Result.UNCHANGED, "yes")

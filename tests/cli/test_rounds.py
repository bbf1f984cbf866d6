"""`round`: a sheet for the pocket, a list on the terminal, a document for a program."""

from io import BytesIO

import pytest
from pypdf import PdfReader

from evidence.trade import load_catalogue
from tests.cli.conftest import ON
from tests.making import ZONES


def test_the_sheet_is_put_where_it_was_asked_for_and_said_to_be_no_evidence(built, run, tmp_path):
    out = tmp_path / "round.pdf"
    ran = run("round", built, "--on", ON, "--out", out)
    assert (ran.code, ran.err) == (0, "")
    assert f"{out} has {len(ZONES)} zones in walking order. It is no evidence" in ran.said
    assert len(PdfReader(BytesIO(out.read_bytes())).pages) <= 2
    assert list(tmp_path.iterdir()) == [out]


def test_the_paper_is_the_one_asked_for(built, run, tmp_path):
    for paper, width in (("letter", 612), ("a4", 595)):
        out = tmp_path / f"{paper}.pdf"
        run("round", built, "--on", ON, "--paper", paper, "--out", out)
        assert int(PdfReader(out).pages[0].mediabox.width) == width


def test_without_a_file_the_list_is_told_with_the_cautions_first(built, run):
    ran = run("round", built, "--on", ON)
    said, catalogue = ran.said, load_catalogue()
    assert said.index(catalogue.cautions["ladder"].text) < said.index("First round the edge")
    assert said.endswith(catalogue.footer)
    numbers = [line.split()[0] for line in ran.lines if line[:4].strip().isdigit()]
    assert numbers == [str(nth) for nth in range(1, len(ZONES) + 1)]
    assert "Field, middle right: 4 urgent, 20 Aug 2025" in said
    assert "again: Hole or tear, 8 1/4 × 1 3/8 in, 4 urgent, since 8 Jun 2025" in said
    metric = run("round", built, "--on", ON, "--paper", "a4").said
    assert "again: Hole or tear, 210 × 35 mm, 4 urgent, since 8 Jun 2025" in metric
    assert "none is taken as looked at" in said


def test_on_a_narrow_terminal_no_line_is_wider_than_it(built, run, monkeypatch):
    monkeypatch.setenv("COLUMNS", "42")
    assert max(map(len, run("round", built, "--on", ON).lines)) <= 42


def test_a_program_gets_every_zone_in_order_with_what_is_looked_at_again(built, run):
    document = run("round", built, "--on", ON, "--json").json
    assert [stop["number"] for stop in document["stops"]] == list(range(1, len(ZONES) + 1))
    (field,) = (stop for stop in document["stops"] if stop["zone"] == "field-mr")
    assert field["grade"] == 4
    assert field["last"]["date"] == "2025-08-20"
    assert [(row["finding"], row["length_mm"], row["width_mm"]) for row in field["recheck"]] == [
        ("f3", 210, 35)
    ]
    assert (document["on"], document["file"], document["unsafe"]) == (ON, None, None)


@pytest.mark.parametrize("out", ["missing/a.pdf", "."])
def test_a_sheet_that_cannot_be_put_there_is_refused(built, run, tmp_path, out):
    ran = run("round", built, "--on", ON, "--out", tmp_path / out)
    assert ran.code == 2
    assert str(tmp_path) in ran.err
    assert len(ran.err.splitlines()) <= 3


@pytest.mark.parametrize("day", ["3.11.2025", "2024-01-01", ""])
def test_a_day_that_is_none_or_before_the_record_is_refused(built, run, day):
    ran = run("round", built, "--on", day)
    assert (ran.code, len(ran.err.splitlines()) <= 3) == (2, True)


def test_a_folder_that_is_no_case_is_refused(run, tmp_path):
    assert run("round", tmp_path).code == 2


def test_a_rig_whose_zones_have_no_place_is_walked_as_far_as_their_kinds_say(tmp_path, run):
    from evidence.case import Draft
    from evidence.starting import start
    from tests.cli.conftest import OWNER
    from tests.making import RIG

    zones = [{k: v for k, v in zone.items() if k not in ("at", "size_mm")} for zone in ZONES]
    first = [Draft("party", OWNER, "owner"), Draft("rig", RIG | {"zones": zones}, "owner")]
    start(tmp_path / "bare", title="Bare", first=first, store=None, passphrase=None, sample=True)
    ran = run("round", tmp_path / "bare", "--out", tmp_path / "a.pdf")
    assert ran.code == 0
    text = "".join(page.extract_text() for page in PdfReader(tmp_path / "a.pdf").pages)
    assert "On the roof, its place not in the record" in " ".join(text.split())

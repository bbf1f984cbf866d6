"""`measure`: a length in a picture, told, kept in a finding's note, and reckoned again."""

import json

import pytest
from pypdf import PdfReader

from evidence.case import Record
from evidence.lengths import Way, kept_in
from tests.carding import face, printed_for, saved
from tests.cli.conftest import last
from tests.viewing import View

# SUMS § 4: a card of size ID-1 in a picture of 12 megapixels
CORNERS = "1012,804 1427,828 1398,1097 978,1064"
ENDS = ("--from", "640,1210", "--to", "1585,742")
ID1 = ("--corners", CORNERS, "--size", "id-1")
VIEW = View(tilted=25, turned=40, px_per_mm=2.4)


def said_in(pdf):
    """The text of a file's pages, on one line."""
    return " ".join(" ".join(page.extract_text() for page in PdfReader(pdf).pages).split())


@pytest.fixture
def blank(tmp_path):
    from PIL import Image

    Image.new("RGB", (1600, 1300), (90, 90, 90)).save(tmp_path / "a.jpg")
    return tmp_path / "a.jpg"


@pytest.fixture
def carded(case, tmp_path):
    """A photo of the record's card beside a tear of √(30² + 90²) = 94.87 mm, and its two ends."""
    card = face(printed_for(Record.open(case)))
    path = saved(VIEW.photo(card, blurred=0.6, noise=4), tmp_path / "IMG_0412.jpg")
    start, end = (VIEW.pixel(place) for place in ((120, 20), (150, 110)))
    return path, ("--from", f"{start[0]:.1f},{start[1]:.1f}", "--to", f"{end[0]:.1f},{end[1]:.1f}")


def test_the_worked_example_is_told_in_both_units_with_its_uncertainty(case, run, blank):
    ran = run("measure", case, blank, *ENDS, *ID1)
    assert ran.code == 0, ran.err
    assert ran.lines[0] == "Length 212.4 ± 2.0 mm, 8.36 ± 0.08 in (k = 2)."
    assert "(not in the record yet), 1600 × 1300 pixels upright" in ran.said
    assert "reference 0.96 mm, standard uncertainty points 0.29 mm" in ran.said
    assert "bending of lines by the lens is not reckoned with" in ran.said
    assert "It holds in the plane of the card or coin alone." in ran.said
    assert ran.said.endswith("Not legal or insurance advice.")


def test_a_program_is_given_the_measure_its_points_and_its_method(case, run, blank):
    document = run("measure", case, blank, *ENDS, *ID1, "--json").json
    assert (document["length_mm"], document["uncertainty_mm"], document["k"]) == ("212.4", "2.0", 2)
    assert (document["length_in"], document["uncertainty_in"]) == ("8.36", "0.08")
    assert document["standard_uncertainty_mm"] == {
        "reference": "0.963", "points": "0.286", "size": "0.105",
    }  # fmt: skip
    assert document["points_px"] == {"from": [640.0, 1210.0], "to": [1585.0, 742.0]}
    method = document["method"]
    assert (method["by"], method["size_mm"]) == ("corners", [85.6, 53.98])
    assert method["basis"] == "ISO/IEC 7810, cards of size ID-1"
    assert method["points_px"][2] == [1398.0, 1097.0]
    assert document["picture"]["entry"] is None
    assert document["sentence"].startswith("Length 212.4 ± 2.0 mm (k = 2) by the four corners of")


def test_the_programs_own_card_is_found_in_the_picture(case, run, carded):
    path, ends = carded
    document = run("measure", case, path, *ends, "--json").json
    assert float(document["length_mm"]) == pytest.approx(94.87, abs=0.4)
    assert document["method"]["name"].endswith("of this case")
    assert document["method"]["basis"] == "its own print, taken as true to size"
    assert run("measure", case, path, *ends, "--card", "--json").json == document
    small = ("--size", "97x67.9mm", "--basis", "its line, 97 mm by ruler")
    less = run("measure", case, path, *ends, *small, "--json").json
    assert float(less["length_mm"]) == pytest.approx(94.87 * 0.97, abs=0.4)


def test_a_coin_measures_from_straight_above(case, run, tmp_path):
    import math

    from PIL import Image

    Image.new("L", (1600, 1200)).save(tmp_path / "coin.png")
    rim = " ".join(
        f"{800 + 97.04 * math.cos(a):.1f},{600 + 97.04 * math.sin(a):.1f}"
        for a in (0.2, 0.9, 1.8, 2.6, 3.3, 4.2, 5.0, 5.9)
    )
    ends = ("--from", "700,450", "--to", "940,450")
    ran = run("measure", case, tmp_path / "coin.png", *ends, "--rim", rim, "--size", "us-quarter")
    assert ran.code == 0, ran.err
    assert ran.lines[0].startswith("Length 30.0 ± ")
    assert "at most" in ran.said
    typed = ("--rim", rim, "--size", "23.25mm", "--basis", "calipers")
    document = run("measure", case, tmp_path / "coin.png", *ends, *typed, "--json").json
    assert float(document["length_mm"]) == pytest.approx(30 * 23.25 / 24.26, abs=0.1)
    assert document["method"]["basis"] == "calipers"


def test_length_and_width_go_into_one_finding_and_the_picture_with_them(
    case, run, carded, tmp_path
):
    path, ends = carded
    into = tmp_path / "tear.json"
    finding = (
        "--finding",
        "f9,zone=field-mr,type=D02,grade=2,note=A tear in the bead.",
        "--into",
        into,
    )
    ran = run("measure", case, path, *ends, *finding)
    assert ran.code == 0, ran.err
    assert f"--from {into}" in ran.out
    across = ("--from", "900,700", "--to", "930,700")
    assert (
        run("measure", case, path, *across, "--as", "width", "--finding", "f9", "--into", into).code
        == 0
    )
    assert run("measure", case, path, *ends, "--finding", "f9", "--into", into).code == 0

    fields = ("when=2025-09-01", "means=on-roof", "occasion=routine", "zones=field-mr:2")
    written = run("enter", case, "inspection", *fields, "--from", into)
    assert written.code == 0, written.err
    (found,) = last(case)["body"]["findings"]
    assert (found["length_mm"], found["zone"], found["grade"]) == (95, "field-mr", 2)
    assert 9 < found["width_mm"] < 15
    assert found["note"].startswith("A tear in the bead.")
    assert found["note"].count("Length ") == found["note"].count("Width ") == 1
    (file,) = last(case)["files"]
    assert (file["role"], file["finding"], file["zone"]) == ("close-scale", "f9", "field-mr")
    assert file["card"]["read_by"] == "machine"

    again = run("measure", case, "--again", "--json").json
    assert [(one["way"], one["same"], one["picture"]) for one in again] == [
        ("width", True, file["sha256"]), ("length", True, file["sha256"]),
    ]  # fmt: skip
    assert "finding f9: the same comes out again" in run("measure", case, "--again").said

    out = tmp_path / "claim.pdf"
    assert run("dossier", case, "--incident", "i1", "--out", out).code == 0
    page = said_in(out)
    (length,) = (kept for kept in kept_in(found["note"]) if kept.way is Way.LENGTH)
    assert f"Length {length.mm} ± {length.sure} mm (k = 2), measured in picture" in page
    assert "A tear in the bead." in page
    assert "four corners" not in page

    more = tmp_path / "more.json"
    later = ("--finding", "f9,state=worse,grade=3", "--into", more)
    assert run("measure", case, "IMG_0412.jpg", *ends, *later).code == 0
    document = json.loads(more.read_text(encoding="utf-8"))
    assert document["files"] == []
    (recheck,) = document["body"]["rechecks"]
    assert (recheck["finding"], recheck["state"], recheck["grade"]) == ("f9", "worse", 3)
    fields = ("when=2025-09-20", *fields[1:3], "zones=field-mr:3")
    assert run("enter", case, "inspection", *fields, "--from", more).code == 0


def test_without_measures_on_record_it_says_so(case, run):
    assert "holds a measure with its points" in run("measure", case, "--again").said


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ((), "shows no card of this program that can be read"),
        (("--corners", CORNERS), "--size: is needed"),
        (("--corners", CORNERS, "--size", "85.6x54mm"), "needs its basis"),
        (("--corners", CORNERS, "--size", "24mm", "--basis", "x"), "has not two sides"),
        (("--rim", CORNERS, "--size", "id-1"), "is no size of a coin"),
        (("--rim", CORNERS, "--size", "us-dime"), "has 4 points"),
        (("--corners", CORNERS[:20], "--size", "id-1"), "Write 640,1210."),
        (("--corners", "1,1 2,2", "--size", "id-1"), "are 2 points"),
        (("--corners", CORNERS, "--rim", CORNERS), "give one of them"),
        (("--card", "--corners", CORNERS), "give one of them"),
        ((*ID1, "--into", "x.json"), "go together"),
        ((*ID1, "--read-to", "0"), "is no number of pixels"),
        ((*ID1, "--read-to", "60"), "at that distance the card is too small"),
        ((*ID1, "--known-to", "1"), "has no unit"),
    ],
)
def test_what_cannot_be_measured_is_refused_with_its_reason(case, run, blank, options, said):
    ran = run("measure", case, blank, *ENDS, *options)
    assert ran.code == 2
    assert said in " ".join(ran.err.split())
    assert len(ran.err.splitlines()) <= 3


def test_a_place_outside_the_picture_is_refused(case, run, blank):
    ran = run("measure", case, blank, "--from", "640,1210", "--to", "1700,742", *ID1)
    assert ran.code == 2
    assert "lies outside the upright picture of 1600 × 1300 pixels" in ran.err


def test_a_picture_and_two_places_are_needed(case, run, blank):
    assert "are needed" in run("measure", case).err
    assert "are needed" in run("measure", case, blank, "--from", "1,1").err


def test_no_other_file_is_overwritten(case, run, blank, tmp_path):
    there = tmp_path / "diary.json"
    there.write_text('{"body": {}, "mine": true}')
    into = ("--finding", "f9,zone=vent-1,type=D02,grade=2", "--into", there)
    ran = run("measure", case, blank, *ENDS, *ID1, *into)
    assert ran.code == 2
    assert there.read_text() == '{"body": {}, "mine": true}'
    assert "grade 'x' : is no grade" not in ran.err
    bad = ("--finding", "f9,zone=vent-1,type=D02,grade=x", "--into", tmp_path / "b.json")
    assert "is no grade" in run("measure", case, blank, *ENDS, *ID1, *bad).err


def test_sizes_of_ones_own_stand_beside_the_programs(case, run, blank, tmp_path):
    mine = tmp_path / "own.toml"
    mine.write_text(
        '[sizes.tile]\nlabel = "a tile"\nacross = "100x50mm"\nknown_to = "0.2mm"\nbasis = "ruler"\n'
    )
    corners = "400,400 800,400 800,600 400,600"
    options = ("--corners", corners, "--size", "tile", "--catalogue", mine)
    ends = ("--from", "400,700", "--to", "800,700")
    document = run("measure", case, blank, *ends, *options, "--json").json
    assert document["length_mm"] == "100.0"
    assert (document["method"]["name"], document["method"]["basis"]) == ("a tile", "ruler")
    assert document["own_rows"]

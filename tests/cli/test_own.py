"""The keeper's own rows: from an option or a folder, shown, carried and checked."""

import pytest

from evidence.check import check_path
from evidence.check.report import Result
from tests.cli.conftest import ON

MINE = """
[sources.booklet]
title = "the maker's booklet, 2023"
seen = "own copy"

[findings.D12]
act_within_days = 3
source = ["booklet"]

[limits.rain]
figure = "48"
source = ["booklet"]
"""


@pytest.fixture
def mine(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text(MINE, encoding="utf-8")
    return path


def test_own_rows_take_the_place_of_ours_and_stand_beside_them(run, mine):
    typed = ("dryness", "--air", "68F", "--surface", "75F", "--humidity", "60", "--last-wet", "36h")
    assert "MET" in run(*typed).out
    ran = run(*typed, "--catalogue", mine)
    assert "wait another 12 h" in ran.said
    assert "limits.rain, figure: 48 (the program has 24)." in ran.said
    assert "[the maker's booklet, 2023; " in ran.said
    rows = run(*typed, "--catalogue", mine, "--json").json["own_rows"]
    assert {"row": "limits.rain", "field": "figure", "built_in": '"24"', "own": '"48"'} in rows


def test_the_file_of_the_configuration_folder_is_taken_unless_none_is_asked_for(
    run, mine, monkeypatch
):
    typed = ("moisture", "--value", "18")
    monkeypatch.setenv("ROOF_EVIDENCE_CATALOGUE", str(mine))
    assert "Your own rows of the catalogue" in run(*typed).out
    assert "Your own rows of the catalogue" not in run(*typed, "--catalogue", "none").out
    monkeypatch.delenv("ROOF_EVIDENCE_CATALOGUE")
    folder = mine.parent / "config"
    folder.mkdir()
    monkeypatch.setattr("platformdirs.user_config_path", lambda _name: folder)
    assert "Your own rows" not in run(*typed).out
    (folder / "catalogue.toml").write_text(MINE, encoding="utf-8")
    assert "Your own rows" in run(*typed).out


@pytest.mark.parametrize("command", ["standing", "due", "challenge"])
def test_every_command_that_measures_takes_and_shows_them(built, run, mine, command):
    ran = run(command, built, "--on", ON, "--catalogue", mine)
    assert ran.code == 0, ran.err
    assert "findings.D12, act_within_days: 3 (the program has 1)." in ran.said


def test_own_days_to_act_count_in_the_standing(built, run, mine):
    def act_by(*more):
        rows = run("standing", built, "--on", ON, "--json", *more).json["findings"]
        return next(row["act_by"] for row in rows if row["type"] == "D12")

    assert (act_by(), act_by("--catalogue", mine)) == ("2025-06-09", "2025-06-11")


def test_a_dossier_prints_own_rows_carries_them_and_is_checked_with_them(case, run, mine, tmp_path):
    from pypdf import PdfReader

    out = tmp_path / "claim.pdf"
    ran = run("dossier", case, "--on", ON, "--catalogue", mine, "--out", out)
    assert ran.code == 0, ran.err
    reader = PdfReader(out)
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    assert "findings.D12, act_within_days: 3; the program's: 1" in text
    assert reader.attachments["catalogue-own.toml"][0].decode() == MINE
    report = check_path(out)
    assert (report.result, report.figures_match) == (Result.UNCHANGED, "yes")
    assert "The issuer's own rows stand for the program's" in report.steps[-1].detail
    assert "findings.D12" in report.steps[-1].detail


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("[limits.rain]\nfigure = 48\nbasis = 'x'\n", "row limits.rain, field figure"),
        (
            "[limits.rain]\nfigure = '48'\n",
            "row limits.rain: says neither its source nor its basis",
        ),
        ("[limits.snow]\nfigure = '48'\nbasis = 'x'\n", "row limits.snow"),
        ("[limits.rain\n", "is not TOML"),
    ],
)
def test_a_file_that_is_not_whole_is_refused_by_file_row_and_field(run, tmp_path, text, named):
    path = tmp_path / "mine.toml"
    path.write_text(text, encoding="utf-8")
    ran = run("moisture", "--value", "18", "--catalogue", path)
    assert ran.code == 2
    assert ran.err.startswith("mine.toml")
    assert named in ran.err

import json
import sqlite3
import time
from contextlib import closing
from pathlib import Path

import pypdf
import pytest

from evidence.check.report import as_json
from evidence.cli import _run
from evidence.demo import Shown, run_demo
from evidence.errors import RefusedError
from evidence.resources import sample_case
from tests.making import story, write_story
from tests.outside import second_reader
from tests.saving import saved

LONGEST = 40.0
"""Seconds that the whole sample may take."""


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Shown:
    folder = tmp_path_factory.mktemp("small")
    return run_demo(folder / "demo", write_story(folder / "told"))


def test_a_story_becomes_a_case_with_a_dossier_for_each_incident_and_all_of_it_checks(shown):
    assert shown.case.is_dir()
    assert [path.name for path in shown.dossiers] == ["claim-i1.pdf"]
    assert shown.pack.name == "case.zip"
    assert [report.target for report in shown.reports] == ["case", "dossier", "pack"]
    assert [report.result for report in shown.reports] == ["unchanged"] * 3


def test_every_check_says_that_it_is_a_sample(shown):
    assert all(as_json(report)["sample"] is True for report in shown.reports)
    assert {as_json(report)["anchored_to"]["trust"] for report in shown.reports} == {"sample"}


def test_the_record_holds_what_was_issued(shown):
    assert [entry.kind for entry in shown.record.entries][-1] == "issued"


def test_the_tables_for_sql_lie_in_the_case_and_hold_its_newest_entry(shown):
    with closing(sqlite3.connect(shown.case / "index.sqlite")) as index:
        (newest,) = index.execute("SELECT max(seq) FROM entries").fetchone()
    assert newest == shown.record.entries[-1].seq


def test_a_story_without_an_incident_makes_a_case_and_no_dossier(tmp_path):
    told = story()
    told["entries"] = told["entries"][:6]
    seen: list[tuple[int, int]] = []
    shown = run_demo(
        tmp_path / "demo", write_story(tmp_path / "told", told), lambda *at: seen.append(at)
    )

    assert shown.dossiers == ()
    assert [report.result for report in shown.reports] == ["unchanged"] * 2
    assert seen[-1] == (6, 6)


def test_a_story_that_ends_after_today_can_be_shown_all_the_same(tmp_path):
    told = story()
    for late in told["entries"][7:]:
        moved = json.dumps({"logged": late["logged"], "body": late["body"]}).replace(
            "2025-", "2045-"
        )
        late.update(json.loads(moved), files=[], witness=False)
    shown = run_demo(tmp_path / "demo", write_story(tmp_path / "told", told))

    assert [report.result for report in shown.reports] == ["unchanged"] * 3


def test_a_folder_that_holds_something_is_left_alone(tmp_path):
    (tmp_path / "diary.txt").write_text("dear diary")

    with pytest.raises(RefusedError, match="exists and is not empty"):
        run_demo(tmp_path, write_story(tmp_path / "told"))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["diary.txt", "told"]


def test_the_command_answers_with_one_document(tmp_path, capsys):
    path = write_story(tmp_path / "told")
    code = _run(["demo", "--into", str(tmp_path / "demo"), "--story", str(path), "--json"])
    told = json.loads(capsys.readouterr().out)

    assert code == 0
    assert [check["result"] for check in told["checks"]] == ["unchanged"] * 3
    assert [check["sample"] for check in told["checks"]] == [True] * 3
    assert Path(told["case"]).is_dir()
    assert all(Path(path).is_file() for path in (*told["dossiers"], told["pack"]))


# The sample case itself


@pytest.fixture(scope="module")
def sample(tmp_path_factory: pytest.TempPathFactory) -> tuple[Shown, float]:
    """The sample case's demo, and how long it took."""
    began = time.perf_counter()
    shown = run_demo(tmp_path_factory.mktemp("sample") / "demo")
    return shown, time.perf_counter() - began


def test_the_sample_is_built_issued_and_checked_in_good_time(sample):
    shown, seconds = sample

    assert [report.result for report in shown.reports].count("unchanged") == len(shown.reports) >= 2
    assert seconds < LONGEST


def test_the_sample_tells_of_two_people_two_years_and_enough_pictures(sample):
    entries = sample[0].record.entries
    pictures = {
        ref.sha256 for entry in entries for ref in entry.files if ref.type.startswith("image/")
    }
    parties = {entry.by for entry in entries}

    assert 25 <= len(pictures) <= 40
    assert len(parties) >= 2
    assert (entries[-1].logged - entries[0].logged).days > 600
    assert {"deferral", "cover", "notice", "repair", "incident"} <= {e.kind for e in entries}


def test_the_sample_says_so_on_every_page_and_in_every_check(sample):
    shown, _ = sample

    for path in shown.dossiers:
        for page in pypdf.PdfReader(path).pages:
            assert "Sample case: invented" in page.extract_text()
    for report in shown.reports:
        assert as_json(report)["sample"] is True


def test_a_second_reader_finds_the_sample_as_the_program_does(sample, tmp_path):
    """Its case, its dossiers and its pack; he takes no codes in pictures, and no letters."""
    shown, _ = sample
    paths = [shown.case, *shown.dossiers, shown.pack]

    for path, report in zip(paths, shown.reports, strict=True):
        place = tmp_path / path.name
        result, found = second_reader.check(saved(path, place) if path.suffix == ".pdf" else path)
        looked_at = {n: word for n, word in found.items() if word != "not-checked"}
        assert {step.n: step.found for step in report.steps if step.n in looked_at} == looked_at
        assert set(range(1, 9)) - looked_at.keys() <= {5, 6, 8}
        assert result == report.result


def test_nothing_of_the_sample_was_left_lying_in_its_own_folder(sample):
    names = {path.name for path in sample_case().iterdir()}

    assert "case" not in names
    assert not any(name.endswith((".pdf", ".sqlite")) for name in names)

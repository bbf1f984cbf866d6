"""A dossier whose figures rest on zones at positions, checked on machines of every kind.

The lookups are small stand-ins: what is tested is who uses which, not where Chicago lies.
"""

import shutil
from datetime import date
from pathlib import Path

import pytest

from evidence.case import Record
from evidence.check import check_path
from evidence.check.report import Found, Result
from evidence.dossier.attachments import extract
from evidence.dossier.issue import Order, issue
from evidence.photos import Atlas
from evidence.story import build_story
from evidence.trade import load_catalogue
from evidence.words import Form
from tests.check.making import told
from tests.making import write_story

CHICAGO = Atlas("boundaries 1", lambda *_: "America/Chicago")
NEWER = Atlas("boundaries 2", lambda *_: "America/Chicago")
MOVED = Atlas("boundaries 3", lambda *_: "America/Denver")


@pytest.fixture(scope="module")
def case(tmp_path_factory) -> Path:
    """The small case, its look of 30 May pictured with a position and without a zone."""
    from PIL import Image

    folder = tmp_path_factory.mktemp("placed")
    story = write_story(folder / "told")
    path = folder / "told" / "photos" / "before.jpg"
    with Image.open(path) as image:
        exif = image.getexif()
        del exif.get_ifd(0x8769)[0x9011]
        exif.get_ifd(0x8825).update({1: "N", 2: (41.0, 54.0, 0.0), 3: "W", 4: (87.0, 36.0, 0.0)})
        image.save(path, exif=exif)
    build_story(story, folder / "case")
    return folder / "case"


@pytest.fixture
def at(monkeypatch):
    """Sits down at a machine with that lookup, or with none."""

    def sits(atlas: Atlas | None) -> None:
        for module in ("evidence.case", "evidence.check.figures"):
            monkeypatch.setattr(f"{module}.load_atlas", lambda: atlas)

    return sits


@pytest.fixture
def issued(at, case, tmp_path):
    def made(atlas: Atlas | None) -> Path:
        at(atlas)
        record = Record.open(Path(shutil.copytree(case, tmp_path / "case")))
        keys = record.key_store.load(record.case.case_id, None)
        order = Order(Form.CLAIM, "i1", date(2025, 11, 3))
        return issue(record, order, load_catalogue(), keys, tmp_path / "claim.pdf").path

    return made


def stated(dossier: Path) -> tuple[object, object]:
    import json

    files = extract(dossier.read_bytes())
    standing, manifest = (json.loads(files[n]) for n in ("standing.json", "manifest.json"))
    return standing["case"]["places"], manifest["dossier"]["places"]


def figures(dossier: Path) -> tuple[str | None, Result]:
    report = check_path(dossier)
    return report.figures_match, report.result


def test_what_looked_up_the_zones_stands_with_the_figures(issued):
    assert stated(issued(CHICAGO)) == ("boundaries 1", "boundaries 1")


def test_the_same_lookup_comes_to_the_same_figures(issued):
    assert figures(issued(CHICAGO)) == ("yes", Result.UNCHANGED)


def test_a_reader_without_a_lookup_is_told_that_the_figures_cannot_be_checked(issued, at):
    dossier = issued(CHICAGO)
    at(None)
    report = check_path(dossier)
    assert (report.figures_match, report.result) == ("not-checkable", Result.UNCHANGED)
    assert next(step.found for step in report.steps if step.n == 10) is Found.NOT_CHECKED
    assert "boundaries 1: pip install" in told(report, 10)


def test_another_version_that_finds_the_same_zones_will_do(issued, at):
    dossier = issued(CHICAGO)
    at(NEWER)
    assert figures(dossier) == ("yes", Result.UNCHANGED)


def test_another_version_that_finds_other_zones_is_said_to_be_another_version(issued, at):
    dossier = issued(CHICAGO)
    at(MOVED)
    report = check_path(dossier)
    assert (report.figures_match, report.result) == ("not-checkable", Result.UNCHANGED)
    assert "boundaries 1; here is boundaries 3" in told(report, 10)


def test_a_dossier_made_without_a_lookup_is_checked_without_one(issued, at):
    dossier = issued(None)
    assert stated(dossier) == (None, None)
    at(CHICAGO)
    assert figures(dossier) == ("yes", Result.UNCHANGED)


def test_the_lookup_changes_a_time_and_so_must_be_named(at, case):
    def time(atlas: Atlas | None) -> object:
        at(atlas)
        history = Record.open(case).history(date(2025, 11, 3))
        return next(i.time for i in history.items if any(p.capture.place for p in i.pictures))

    at(None)
    wide = Record.open(case).history(date(2025, 11, 3))
    assert wide.places_by is None
    assert time(CHICAGO) not in [item.span for item in wide.items]

"""What every test may ask for: the shared known answers, and the rule about absent ones."""

import os
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parent.parent
SHARED = PROJECT.parent / "shared"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--flips",
        type=int,
        default=60,
        metavar="N",
        help="how many single bits tests/faults/test_flips.py turns over, in all",
    )
    parser.addoption(
        "--kills",
        type=int,
        default=24,
        metavar="N",
        help="how many writers tests/faults/test_kills.py kills, in all",
    )
    parser.addoption(
        "--mutations",
        type=int,
        default=300,
        metavar="N",
        help="how many spoilt pictures tests/faults/test_photos_fuzz.py hands in, in all",
    )
    parser.addoption(
        "--histories",
        type=int,
        default=150,
        metavar="N",
        help="how many random histories tests/upkeep/test_oracle.py counts day by day",
    )


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """The tables that tests handed over by `record_property("table", text)`, wherever they ran."""
    for report in terminalreporter.getreports("passed"):
        for name, text in report.user_properties:
            if name == "table":
                terminalreporter.section(report.nodeid)
                terminalreporter.write_line(str(text))


def needed(present: bool, what: str) -> None:  # noqa: FBT001 - reads as a sentence
    """Skip where an outside thing is absent; fail where CI says that it must be there."""
    if present:
        return
    if os.environ.get("CI") == "true":
        pytest.fail(f"{what} is required when CI=true")
    pytest.skip(f"{what} is not on this machine")


def shared(name: str) -> Path:
    folder = SHARED / name
    needed(folder.is_dir(), f"the folder of known answers '{name}'")
    return folder


@pytest.fixture(scope="session")
def shared_vectors() -> Path:
    return shared("vectors")


@pytest.fixture(scope="session")
def shared_photos() -> Path:
    return shared("photos")


@pytest.fixture(scope="session")
def shared_trade() -> Path:
    return shared("trade")


@pytest.fixture(scope="session")
def shared_weather() -> Path:
    return shared("weather")


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small case of `tests/making.py`, built once: copy it before changing it."""
    from evidence.story import build_story
    from tests.making import write_story

    folder = tmp_path_factory.mktemp("built")
    build_story(write_story(folder / "told"), folder / "case")
    return folder / "case"


@pytest.fixture
def case(built: Path, tmp_path: Path) -> Path:
    """A copy of the small case, to do with as a test likes."""
    import shutil

    # What another test derived from the one that all share does not come along.
    derived = shutil.ignore_patterns("index.sqlite")
    return Path(shutil.copytree(built, tmp_path / "case", ignore=derived))


@pytest.fixture(scope="session")
def dossier(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A claim dossier of the small case, issued once."""
    import shutil
    from datetime import date

    from evidence.case import Record
    from evidence.dossier.issue import Order, issue
    from evidence.trade import load_catalogue
    from evidence.words import Form

    folder = tmp_path_factory.mktemp("issued")
    record = Record.open(Path(shutil.copytree(built, folder / "case")))
    keys = record.key_store.load(record.case.case_id, None)
    order = Order(Form.CLAIM, "i1", date(2025, 11, 3))
    return issue(record, order, load_catalogue(), keys, folder / "claim.pdf").path

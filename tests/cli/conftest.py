"""Commands called in-process, and a case of one's own with keys behind a passphrase."""

import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from evidence.case import Draft, Record
from evidence.cli import _run
from evidence.cli.common import PASSPHRASE
from evidence.ledger import KeyStore
from evidence.starting import start
from evidence.times import parse_day
from evidence.trade import load_catalogue
from evidence.upkeep import Standing, measure
from tests.making import RIG, RULE, picture

WORDS = "seven wet ladders"
OWNER = {"id": "owner", "name": "A. Holder", "role": "owner"}
ON = "2025-11-03"
"""The day for which the small case is measured."""
OPENING = {"title": "Kestrel", "party": OWNER, "rig": RIG, "rules": [RULE]}


@dataclass(frozen=True)
class Ran:
    """What a command left behind."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)

    @property
    def lines(self) -> list[str]:
        return self.out.splitlines()

    @property
    def said(self) -> str:
        """Standard output in one line, as a person reads it."""
        return " ".join(self.out.split())


Run = Callable[..., Ran]


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Run:
    def call(*arguments: object) -> Ran:
        capsys.readouterr()
        code = _run([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return Ran(code, out, err)

    return call


@pytest.fixture(scope="session")
def begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a case of one's own and its keys: no sample. Copy it before changing it."""
    folder = tmp_path_factory.mktemp("own")
    first = [
        Draft("party", OWNER, "owner"),
        Draft("rig", RIG, "owner"),
        Draft("rule", RULE, "owner"),
    ]
    keys = KeyStore(folder / "keys")
    start(folder / "case", title="Kestrel", first=first, store=keys, passphrase=WORDS)
    return folder


@pytest.fixture
def own(begun: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The case, with its passphrase in the environment."""
    shutil.copytree(begun, tmp_path / "own")
    monkeypatch.setenv("ROOF_EVIDENCE_KEYS", str(tmp_path / "own" / "keys"))
    monkeypatch.setenv(PASSPHRASE, WORDS)
    return tmp_path / "own" / "case"


@pytest.fixture(autouse=True)
def _no_passphrase_from_outside(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(PASSPHRASE, raising=False)
    monkeypatch.setattr("evidence.cli.common._given_once", {})
    monkeypatch.delenv("ROOF_EVIDENCE_DEBUG", raising=False)
    monkeypatch.setenv("ROOF_EVIDENCE_CATALOGUE", "none")
    monkeypatch.setenv("COLUMNS", "100")


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    return picture(tmp_path / "photos" / "a.jpg", "2025:05:30 12:10:05", "-05:00", 180)


def state(case: Path) -> tuple[bytes, tuple[str, ...], list[str]]:
    """The last entry's bytes, the heads, and the names of the originals."""
    record = Record.open(case)
    return record.lines[-1], record.heads, sorted(p.name for p in record.originals.iterdir())


def last(case: Path) -> Any:
    """The last entry of a case as JSON."""
    return json.loads(Record.open(case).lines[-1])


def measured(case: Path, on: str = ON) -> Standing:
    """The standing of a case at the end of a day."""
    record, day = Record.open(case), parse_day(on)
    return measure(record.history(day), load_catalogue(), record.root_on(day))

"""A disk that refuses: each call in turn, all from one on, a folder that may not be written.

After each the record is as it was or has the whole entry, the case checks, and what was said is
two or three lines and exit code 2.
"""

import errno
import os
import shutil
import stat
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from evidence.case import Record
from tests.faults.running import (
    SIGKILL,
    Actions,
    Fault,
    Said,
    Warm,
    assert_holds,
    unnamed,
)

WRITERS = ("enter", "intake", "witness")
NOBODY = 65534
BEYOND = 10**6
"""More calls than any command makes."""


@pytest.fixture
def calls(request: pytest.FixtureRequest, faulty: Warm, built: Path, tmp_path: Path):
    """Which calls of a writer are refused in turn: all with `--kills 200`, else some of each part.

    The last ones are those after which the entry stands.
    """

    def chosen(writer: str) -> list[int]:
        _, said, seen = attempt(faulty, built, tmp_path / "try", writer, BEYOND, errno.EIO)
        assert said.code == 0
        if request.config.getoption("--kills") >= 200:
            return list(range(1, seen + 1))
        return sorted({*range(1, seen + 1, 4), *range(seen - 4, seen + 1)})

    return chosen


def attempt(
    warm: Warm, built: Path, place: Path, writer: str, nth: int, code: int, *, lasting: bool = False
) -> tuple[Path, Said | None, int | None]:
    """One command on a fresh copy of the case, with the fault armed."""
    shutil.rmtree(place, ignore_errors=True)
    place.mkdir()
    case = Path(shutil.copytree(built, place / "case"))
    words = Actions(writer, case, place).next()
    said, seen = warm.run(*words, fault=Fault(case, nth, code, lasting))
    return case, said, seen


def assert_told(said: Said | None, case: Path, before: tuple[bytes, ...], nth: int) -> None:
    """Refused in plain words, or done; the record is as it was, or holds the whole entry."""
    assert said is not None
    assert said.code in (0, 2), (nth, said)
    lines = Record.open(case).lines
    assert lines[: len(before)] == before
    assert len(lines) - len(before) in (0, 1), nth
    if said.code == 0:
        assert len(lines) == len(before) + 1
        return
    assert said.out == "", nth
    assert 1 <= len(said.err.splitlines()) <= 3, (nth, said.err)
    assert "Traceback" not in said.err
    if len(lines) > len(before):
        assert "nothing was written" not in said.err, (nth, said.err)


@pytest.mark.parametrize("writer", WRITERS)
def test_each_call_failing_in_turn_leaves_the_old_record_or_the_new(
    writer, built, faulty, calls, tmp_path
):
    before, refused = Record.open(built).lines, 0
    for nth in calls(writer):
        case, said, _ = attempt(faulty, built, tmp_path / "try", writer, nth, errno.EIO)
        assert_holds(case, faulty)
        assert_told(said, case, before, nth)
        assert len(unnamed(case)) <= 1
        refused += said.code == 2
    assert refused > 5


def test_a_disk_that_refuses_after_the_commit_is_told_as_such(built, faulty, calls, tmp_path):
    """The last wait for the folder fails: the entry stands, and nobody is told otherwise."""
    before, told = len(Record.open(built).lines), []
    for nth in calls("enter")[-5:]:
        case, said, _ = attempt(faulty, built, tmp_path / "try", "enter", nth, errno.EIO)
        if said.code == 2 and len(Record.open(case).lines) > before:
            told.append(said.err)
    assert told
    assert all("stands there, but the disk does not answer for it" in err for err in told)


@pytest.mark.parametrize("writer", WRITERS)
def test_death_at_each_call_in_turn_leaves_the_old_record_or_the_new(
    writer, built, faulty, calls, tmp_path
):
    before, hot = Record.open(built).lines, 0
    for nth in calls(writer):
        case, said, _ = attempt(faulty, built, tmp_path / "try", writer, nth, SIGKILL)
        assert said is None
        hot += case.joinpath("ledger.sqlite-journal").exists()
        assert_holds(case, faulty)
        lines = Record.open(case).lines
        assert lines[: len(before)] == before
        assert len(lines) - len(before) in (0, 1)
        assert len(unnamed(case)) <= 1
    assert hot >= 3  # a journal was left behind, and rolled back


@pytest.mark.parametrize("writer", WRITERS)
def test_a_disk_that_is_full_from_some_call_on_is_told(writer, built, faulty, calls, tmp_path):
    before, full = Record.open(built).lines, 0
    for nth in calls(writer)[::2]:
        case, said, _ = attempt(
            faulty, built, tmp_path / "try", writer, nth, errno.ENOSPC, lasting=True
        )
        assert_holds(case, faulty)
        assert_told(said, case, before, nth)
        full += said.code == 2 and ("disk is full" in said.err or "No space left" in said.err)
    assert full


@pytest.fixture
def shut(built: Path) -> Iterator[Path]:
    """A case in a folder that everybody may read and nobody may write."""
    with tempfile.TemporaryDirectory() as place:
        Path(place).chmod(0o755)
        case = Path(shutil.copytree(built, Path(place) / "case"))
        for path in (case, *case.rglob("*")):
            path.chmod(0o555 if path.is_dir() else 0o444)
        yield case
        for path in (case, *case.rglob("*")):
            path.chmod(path.stat().st_mode | stat.S_IWUSR)


@pytest.mark.parametrize("writer", WRITERS)
def test_a_folder_that_may_not_be_written_to_is_told_and_can_be_checked(
    writer, shut, warm, tmp_path
):
    user = NOBODY if os.geteuid() == 0 else None
    with tempfile.TemporaryDirectory() as place:
        Path(place).chmod(0o755)
        said, _ = warm.run(*Actions(writer, shut, Path(place)).next(), user=user)
    assert said is not None
    assert said.code == 2
    assert len(said.err.splitlines()) <= 3
    assert "Check who owns the folder" in said.err or "allow writing" in said.err, said.err
    assert warm.run("check", shut, user=user)[0].code == 0

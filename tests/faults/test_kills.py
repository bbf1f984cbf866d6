"""SIGKILL at any moment of a write: what was acknowledged is there, and the case checks.

`--kills N` for more of them. A kill shows what a dying process leaves; it shows no power cut.
"""

import random
import shutil
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from evidence.case import Record
from evidence.witness import SampleAuthority
from tests.faults.running import (
    SIGKILL,
    Actions,
    Fault,
    assert_holds,
    unnamed,
)
from tests.serving import replying, served

WRITERS = ("enter", "intake", "witness")
A_CASE_FOR = 12
"""Rounds on one case, before a fresh copy is taken: a long record is slow to check."""


@pytest.mark.parametrize("writer", WRITERS)
def test_what_a_killed_writer_acknowledged_is_there(writer, built, warm, tmp_path, request):
    rounds = max(2, request.config.getoption("--kills") // len(WRITERS))
    chance = random.Random(f"{writer} 9162")
    died = 0
    for number in range(rounds):
        if number % A_CASE_FOR == 0:
            case = Path(shutil.copytree(built, tmp_path / f"case-{number}"))
            files = tmp_path / f"files-{number}"
            files.mkdir()
            actions = Actions(writer, case, files)
        commands = [actions.next() for _ in range(3)]
        if warm.faulty and number % 2:  # at a call that changes something on the disk
            how = {"fault": Fault(case, chance.randrange(1, 70), SIGKILL)}
        else:  # at any moment
            how = {"seconds": chance.uniform(0.0, 0.4)}
        ((said, seen),) = warm.together([commands], **how)
        died += seen is None
        assert all(row.code == 0 for row in said)
        assert_holds(case, warm, said)
        left = unnamed(case)
        assert len(left) <= 1, left
        handed_in = tmp_path / "new.txt"
        handed_in.write_text(f"{writer}, round {number}")
        taken, _ = warm.run("intake", case, handed_in, "--json")
        assert set(taken.json["cleared"]) == left
        assert unnamed(case) == set()
        if number % 4 == 0:
            assert_holds(case, warm, [*said, taken])
    assert died >= rounds // 3  # else the moments are chosen badly


class SlowAuthority:
    """Thinks for some seconds over every request: `asked` have come, `thought` of them are over."""

    def __init__(self, authority: SampleAuthority, seconds: float) -> None:
        self.asked = self.thought = 0
        self._authority, self._seconds = authority, seconds

    def reply(self, query: bytes) -> bytes:
        self.asked += 1
        time.sleep(self._seconds)
        self.thought += 1
        return self._authority.reply(query, datetime.now(UTC))


def test_a_writer_killed_while_an_authority_thinks_leaves_nothing_half(
    built, warm, tmp_path, request
):
    rounds = max(4, request.config.getoption("--kills") // 6)
    chance = random.Random("slow 3161")
    authority = SampleAuthority.create(datetime.now(UTC))
    waited = 0
    for number in range(rounds):
        if number % A_CASE_FOR == 0:
            case = Path(shutil.copytree(built, tmp_path / f"case-{number}"))
        held, left = len(Record.open(case).lines), unnamed(case)
        slow = SlowAuthority(authority, chance.uniform(0.2, 0.5))
        with served(replying(slow.reply)) as url:
            ask = ["witness", case, "--tsa", url, "--json"]
            ((said, seen),) = warm.together([[ask, ask]], seconds=chance.uniform(0.1, 0.7))
            waiting = seen is None and slow.asked > slow.thought
        assert all(row.code == 0 for row in said)
        assert_holds(case, warm, said)
        if waiting:
            waited += 1
            assert len(Record.open(case).lines) == held + len(said)
            assert unnamed(case) == left
    assert waited >= rounds // 2  # else the moments are chosen badly
    with served(replying(SlowAuthority(authority, 0.0).reply)) as url:
        again, _ = warm.run("witness", case, "--tsa", url, "--json")
    assert again.code == 0
    assert_holds(case, warm, [again])

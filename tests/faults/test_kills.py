"""SIGKILL at any moment of a write: what was acknowledged is there, and the case checks.

`--kills N` for more of them. A kill shows what a dying process leaves; it shows no power cut.
"""

import random
import shutil
from pathlib import Path

import pytest

from tests.faults.running import (
    SIGKILL,
    Actions,
    Fault,
    assert_holds,
    unnamed,
)

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

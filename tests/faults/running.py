"""Commands in children that may fail at a chosen call, or die there (`warm.py`, `faults.c`)."""

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Self

from evidence.case import Record
from evidence.envelope import read_entry
from tests.conftest import PROJECT

HERE = Path(__file__).parent
SIGKILL = -1
"""In the place of an errno: the process dies."""


@dataclass(frozen=True)
class Said:
    """What a command said that came to its end."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@dataclass(frozen=True)
class Fault:
    """The `nth` call that changes something below a folder fails with an errno."""

    below: Path
    nth: int
    code: int
    lasting: bool = False


class Warm:
    """The warmed process."""

    def __init__(self, process: "subprocess.Popen[str]", *, faulty: bool) -> None:
        self._process = process
        self.faulty = faulty

    @classmethod
    def start(cls, case: Path, library: Path | None) -> Self:
        """Start it; `case` is written on to import all that is needed."""
        process = subprocess.Popen(
            [sys.executable, str(HERE / "warm.py"), str(case)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=PROJECT,
            env={
                **os.environ,
                "PYTHONPATH": str(PROJECT),
                "LD_PRELOAD": "" if library is None else str(library),
                "no_proxy": "*",
            },
        )
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
        return cls(process, faulty=library is not None)

    def stop(self) -> None:
        self._process.communicate()

    def together(
        self,
        runs: Sequence[Sequence[Sequence[object]]],
        *,
        fault: Fault | None = None,
        seconds: float | None = None,
        user: int | None = None,
    ) -> list[tuple[list[Said], int | None]]:
        """Children at once, each with its commands: what they said, and how many calls passed.

        The number is None for a child that did not come to its end.
        """
        armed = None if fault is None else [str(fault.below), fault.nth, fault.code, fault.lasting]
        request = {
            "runs": [[[str(word) for word in words] for words in commands] for commands in runs],
            "fault": armed,
            "seconds": seconds,
            "user": user,
        }
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(request) + "\n")
        self._process.stdin.flush()
        answers = json.loads(self._process.stdout.readline())
        return [
            (
                [Said(*line) for line in lines if isinstance(line, list)],
                next((line for line in lines if isinstance(line, int)), None),
            )
            for lines in answers
        ]

    def run(self, *words: object, **more: Any) -> tuple[Said | None, int | None]:
        """One command in one child; nothing where it died."""
        ((said, seen),) = self.together([[words]], **more)
        return (said[0] if said else None), seen


class Actions:
    """Commands that write, each time with a file of its own: `name` is enter, intake or witness."""

    def __init__(self, name: str, case: Path, files: Path) -> None:
        self._name, self._case, self._files, self._made = name, case, files, 0

    def next(self) -> list[object]:
        """The next command."""
        self._made += 1
        if self._name == "witness":
            return ["witness", self._case]
        path = self._files / f"{self._name}-{self._made}.txt"
        path.write_text(f"handed in as number {self._made}, by {self._name}\n" * 40)
        if self._name == "intake":
            return ["intake", self._case, path, "--json"]
        words = ("wash", "when=2025-09-01", "zones=rail-left", "--photo", path, "--json")
        return ["enter", self._case, *words]


def unnamed(case: Path) -> set[str]:
    """The originals that no entry names; parts of copies, which have no such name, aside."""
    record = Record.open(case)
    named = {ref.sha256 for entry in record.entries for ref in entry.files}
    names = {path.name for path in record.originals.iterdir() if path.stem not in named}
    return {name for name in names if not name.startswith(".incoming-")}


def assert_holds(case: Path, warm: Warm, acknowledged: Sequence[Said] = ()) -> None:
    """The case checks, once a write that was cut off is taken back; every word given was kept."""
    said, _ = warm.run("check", case, "--json")
    assert said is not None
    if said.code == 2:  # only a writer may take back what the journal holds
        assert "the last write was cut off" in said.err
        assert warm.run("key", case)[0].code == 0
        said, _ = warm.run("check", case, "--json")
    assert (said.code, said.json["result"]) == (0, "unchanged"), (said.out, said.err)
    lines = Record.open(case).lines
    for said in acknowledged:
        for row in said.json.get("answers", [said.json]):
            entry = read_entry(lines[row["seq"]])
            assert row.get("sha256", entry.sha256) == entry.sha256

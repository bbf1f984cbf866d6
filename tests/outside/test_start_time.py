"""How soon the program starts: against the two libraries that it cannot do without."""

import subprocess
import sys
import time
from collections.abc import Sequence

import pytest

HELP = ("-m", "evidence", "--help")
LEAST = ("-c", "import click, pydantic")
RUNS = 5
TRIES = 4
"""Other programs may take the processor for a while."""

HEAVY = ("PIL", "cryptography", "exifread", "pikepdf", "pyhanko", "pypdf", "reportlab", "rich")


def run(arguments: Sequence[str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, *arguments], capture_output=True, text=True, check=True)


def best(arguments: Sequence[str]) -> float:
    """The shortest of several runs, in seconds."""
    times = []
    for _ in range(RUNS):
        began = time.perf_counter()
        run(arguments)
        times.append(time.perf_counter() - began)
    return min(times)


def test_help_comes_within_twice_the_time_that_its_libraries_take():
    tries = []
    for _ in range(TRIES):
        tries.append((best(HELP), best(LEAST)))
        if tries[-1][0] <= 2 * tries[-1][1]:
            return
    pytest.fail(f"seconds for --help and for the imports: {tries}")


IMPORTED = """
import sys
from evidence.cli import _run
assert _run(["--help"]) == 0
print(*sorted({name.partition(".")[0] for name in sys.modules}), sep="\\n", file=sys.stderr)
"""


def test_help_imports_nothing_heavy():
    modules = set(run(("-c", IMPORTED)).stderr.split())

    assert "evidence" in modules
    assert "click" in modules
    assert modules.isdisjoint(HEAVY)


def test_help_names_every_command():
    said = run(HELP).stdout

    for command in ("demo", "start", "enter", "intake", "standing", "dossier", "check", "export"):
        assert f"  {command} " in said

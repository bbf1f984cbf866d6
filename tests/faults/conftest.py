"""One warmed process for all tests of faults."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.conftest import needed
from tests.faults.running import HERE, Warm


@pytest.fixture(scope="session")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path | None:
    """The library that makes calls fail, compiled here; None where nothing compiles."""
    compiler = shutil.which("cc")
    if compiler is None or not sys.platform.startswith("linux"):
        return None
    out = tmp_path_factory.mktemp("library") / "faults.so"
    command = [compiler, "-shared", "-fPIC", "-O1", "-o", str(out), str(HERE / "faults.c"), "-ldl"]
    return out if subprocess.run(command, check=False).returncode == 0 else None


@pytest.fixture(scope="session")
def warm(
    built: Path, library: Path | None, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Warm]:
    if not hasattr(os, "fork"):
        pytest.skip("this system has no fork")
    case = Path(shutil.copytree(built, tmp_path_factory.mktemp("warm") / "case"))
    process = Warm.start(case, library)
    yield process
    process.stop()


@pytest.fixture
def faulty(warm: Warm) -> Warm:
    """The warmed process, with the library in it."""
    needed(warm.faulty, "a C compiler on Linux, for the library that makes calls fail")
    return warm

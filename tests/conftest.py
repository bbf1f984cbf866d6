"""What every test may ask for: the shared known answers, and the rule about absent ones."""

import os
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parent.parent
SHARED = PROJECT.parent / "shared"


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
def shared_weather() -> Path:
    return shared("weather")

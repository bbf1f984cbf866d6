"""A small record to test with: one signer, entries of one kind, a ledger of five entries."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from evidence.ledger import (
    START,
    Appended,
    Head,
    Link,
    SignedNote,
    Signer,
    Store,
    Tip,
    origin_of,
    seal,
    sign_head,
)
from evidence.times import utc_text

CASE_ID = "0f0e0d0c0b0a09080706050403020100"
ORIGIN = origin_of(CASE_ID)
START_OF_DAY = datetime(2025, 5, 30, tzinfo=UTC)
SIGNER = Signer.from_seed(ORIGIN, bytes(range(32)))


def sign(head: Head) -> SignedNote:
    return sign_head(head, SIGNER)


def entries(count: int, tip: Tip = START) -> list[bytes]:
    """`count` entries that follow `tip`, a minute apart, of two kinds in turn."""
    lines = []
    for _ in range(count):
        kind = ("wash", "trip")[tip.size % 2]
        logged = utc_text(START_OF_DAY + timedelta(minutes=tip.size))
        lines.append(seal(tip, kind, {"note": f"entry {tip.size}"}, "owner", [], logged))
        tip = tip.after(Link.read(lines[-1]))
    return lines


def add(store: Store, count: int = 1) -> Appended:
    return store.append(lambda tip: entries(count, tip), sign, ORIGIN)


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    """A closed ledger of five entries under heads of sizes 2, 4 and 5."""
    path = tmp_path / "ledger.sqlite"
    with Store.create(path) as store:
        for count in (2, 2, 1):
            add(store, count)
    return path


@pytest.fixture
def make_entries() -> Callable[..., list[bytes]]:
    return entries


@pytest.fixture
def append() -> Callable[..., Appended]:
    return add


@pytest.fixture
def signer() -> Signer:
    return SIGNER

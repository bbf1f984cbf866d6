"""One bit turned over anywhere: `check` says changed, says where, and leaves with 4.

`--flips N` turns over N bits in all, drawn from all those of their kind.
"""

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import accumulate, pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evidence.case import Record
from evidence.ledger import Head, SignedNote
from tests.faults.checking import assert_changed, checked
from tests.tampering import flipped, put_entries, put_heads


@pytest.fixture
def turned(request: pytest.FixtureRequest) -> Callable[[float, int, Callable[[int], None]], None]:
    """Calls a test with bits drawn from a number of them: this share of all the flips."""
    whole = request.config.getoption("--flips")

    def run(share: float, bits: int, test: Callable[[int], None]) -> None:
        @settings(
            max_examples=max(1, round(whole * share)),
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        )
        @given(st.integers(0, bits - 1))
        def turn(bit: int) -> None:
            test(bit)

        turn()

    return run


@pytest.fixture(scope="module")
def victim(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the small case that every flip leaves as it found it."""
    return Path(shutil.copytree(built, tmp_path_factory.mktemp("victim") / "case"))


@contextmanager
def put_back(path: Path) -> Iterator[bytes]:
    data = path.read_bytes()
    try:
        yield data
    finally:
        path.write_bytes(data)


def located(sizes: list[int], bit: int) -> tuple[int, int]:
    """Which of several pieces holds a bit of all of them, and which bit of it that is."""
    for at, (start, end) in enumerate(pairwise(accumulate(sizes, initial=0))):
        if bit < end * 8:
            return at, bit - start * 8
    raise IndexError(bit)


# Bits


def test_in_any_entry(victim, turned):
    record = Record.open(victim)
    lines = record.lines
    ends = [Head.parse(SignedNote.parse(note).text).size for note in record.heads]

    def test(bit: int) -> None:
        seq, inside = located([len(line) for line in lines], bit)
        unit = max((end for end in ends if end <= seq), default=0)
        with put_back(record.ledger):
            put_entries(victim, {seq: flipped(lines[seq], inside)})
            answer = checked(victim)
        assert_changed(answer)
        named = (f"entry {seq + 1}: ", f"no head fits from entry {unit + 1} on")
        assert any(name in answer.where for name in named), answer.where
        assert answer.document["ledger"]["first_bad_seq"] in range(unit, seq + 2)

    turned(0.25, 8 * sum(map(len, lines)), test)


def test_in_any_head(victim, turned):
    record = Record.open(victim)
    notes = [note.encode() for note in record.heads]
    sizes = [Head.parse(SignedNote.parse(note).text).size for note in record.heads]

    def test(bit: int) -> None:
        at, inside = located([len(note) for note in notes], bit)
        with put_back(record.ledger):
            put_heads(victim, {sizes[at]: flipped(notes[at], inside)})
            answer = checked(victim)
        assert_changed(answer)
        # What is no UTF-8 any more, SQLite itself refuses to hand out: it names the column.
        assert "head" in answer.where or "column 'note'" in answer.where

    turned(0.2, 8 * sum(map(len, notes)), test)


def test_in_any_byte_of_the_ledgers_file(victim, turned):
    record = Record.open(victim)
    held = record.contents

    def test(bit: int) -> None:
        with put_back(record.ledger) as data:
            record.ledger.write_bytes(flipped(data, bit))
            answer = checked(victim)
            if answer.code == 0:  # a byte that says nothing: all that was written reads the same
                assert Record.open(victim).contents == held
                return
        assert_changed(answer)

    turned(0.25, 8 * record.ledger.stat().st_size, test)


def test_in_the_text_of_a_definition_where_no_letter_is_left(victim):
    """SQLite quotes the damage in its message; Python cannot read that as text."""
    ledger = victim / "ledger.sqlite"
    start = ledger.read_bytes().index(b"CREATE TABLE entries")
    for byte in range(start, start + 20):
        with put_back(ledger) as data:
            ledger.write_bytes(flipped(data, byte * 8 + 7))
            answer = checked(victim)
        assert_changed(answer)
        assert "ledger.sqlite" in answer.changed[1]


def test_in_any_original(victim, turned):
    paths = sorted((victim / "originals").iterdir())

    def test(bit: int) -> None:
        at, inside = located([path.stat().st_size for path in paths], bit)
        with put_back(paths[at]) as data:
            paths[at].write_bytes(flipped(data, inside))
            answer = checked(victim)
        assert_changed(answer)
        assert paths[at].stem[:16] in answer.changed[7]
        assert answer.document["originals"]["changed"] == [paths[at].stem]

    turned(0.1, 8 * sum(path.stat().st_size for path in paths), test)


def test_anywhere_in_a_dossier(dossier, tmp_path, turned):
    data = dossier.read_bytes()
    copy = tmp_path / "claim.pdf"

    def test(bit: int) -> None:
        copy.write_bytes(flipped(data, bit))
        answer = checked(copy)
        assert_changed(answer)
        assert 9 in answer.changed

    turned(0.2, 8 * len(data), test)

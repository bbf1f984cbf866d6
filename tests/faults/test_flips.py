"""One bit turned over anywhere: `check` says changed, says where, and leaves with 4.

`--flips N` turns over N bits in all, drawn from all those of their kind.
"""

import json
import shutil
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, redirect_stderr, redirect_stdout
from dataclasses import dataclass, replace
from io import StringIO
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from evidence.case import Record
from evidence.cli import _run
from evidence.ledger import Head, SignedNote, guards
from tests.forging import Unsigned, as_bytes, issued_with_false_page, key_of_a_stranger
from tests.tampering import (
    altered,
    flipped,
    head_over,
    keep_first,
    key_body,
    opened_by_force,
    owner_of,
    put_entries,
    put_heads,
    rechained,
    stranger_to,
)


@dataclass(frozen=True)
class Answer:
    """What the program said: its exit code, its document, and what it wrote to standard error."""

    code: int
    document: dict[str, Any]
    errors: str

    @property
    def changed(self) -> dict[int, str]:
        """What the steps say that found a change, by number."""
        steps = self.document["steps"]
        return {step["n"]: step["detail"] for step in steps if step["result"] == "changed"}

    @property
    def where(self) -> str:
        return "\n".join(self.changed.values())


def checked(path: Path) -> Answer:
    guards._examined.clear()  # as a program does that was started just now
    out, err = StringIO(), StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        code = _run(["check", str(path), "--json"])
    return Answer(code, json.loads(out.getvalue() or "{}"), err.getvalue())


def assert_changed(answer: Answer) -> None:
    assert (answer.code, answer.document.get("result")) == (4, "changed"), answer.errors
    assert answer.changed
    assert answer.errors == ""


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


# What is no bit


def test_an_untouched_case_and_dossier_are_unchanged(victim, dossier):
    for path in (victim, dossier):
        answer = checked(path)
        assert (answer.code, answer.document["result"], answer.errors) == (0, "unchanged", "")


def test_an_original_that_is_gone_is_missing(case):
    path = next((case / "originals").glob("*.jpg"))
    path.unlink()
    answer = checked(case)

    assert (answer.code, answer.document["result"]) == (3, "incomplete")
    assert answer.document["originals"]["missing"] == [path.stem]
    (step,) = [step for step in answer.document["steps"] if step["result"] == "missing"]
    assert (step["n"], path.stem[:16] in step["detail"]) == (7, True)


def test_an_entry_taken_out_of_the_middle(case):
    with opened_by_force(case) as ledger:
        ledger.execute("DELETE FROM entries WHERE seq = 9")
    answer = checked(case)

    assert_changed(answer)
    assert answer.changed[1] == "entry 10: stands in the place of entry 11"
    assert answer.document["ledger"]["first_bad_seq"] == 9


def test_two_entries_that_changed_places(case):
    lines = Record.open(case).lines
    put_entries(case, {8: lines[10], 10: lines[8]})
    answer = checked(case)

    assert_changed(answer)
    assert answer.changed[1] == "entry 9: stands in the place of entry 11"


def test_the_last_entries_cut_off_with_their_heads_are_an_older_state_and_said_to_be_no_more(case):
    size = len(Record.open(case).lines)
    keep_first(case, size - 2)
    answer = checked(case)

    assert (answer.code, answer.document["result"]) == (0, "unchanged")
    assert answer.document["ledger"]["entries"] == size - 2
    said = json.dumps(answer.document)
    assert not any(word in said for word in ("complete", "whole record", "nothing is missing"))


def test_the_last_entries_cut_off_without_their_heads(case):
    size = len(Record.open(case).lines)
    with opened_by_force(case) as ledger:
        ledger.execute("DELETE FROM entries WHERE seq = ?", (size - 1,))
    answer = checked(case)

    assert_changed(answer)
    assert f"head of {size}: the entries from {size} on are not here" in answer.changed[3]


def test_an_entry_rewritten_with_the_whole_chain_behind_it(case):
    lines = list(Record.open(case).lines)
    lines[7] = altered(lines[7], by="insurer")
    put_entries(case, dict(enumerate(rechained(lines))))
    answer = checked(case)

    assert_changed(answer)
    assert set(answer.changed) == {3}
    assert "no head fits from entry 8 on" in answer.changed[3]


def _add(case: Path, line: bytes, note: str) -> None:
    with opened_by_force(case) as ledger:
        (size,) = ledger.execute("SELECT count(*) FROM entries").fetchone()
        ledger.execute("INSERT INTO entries VALUES (?, ?, ?)", (size, f"label {size}", line))
        ledger.execute("INSERT INTO heads VALUES (?, ?)", (size + 1, note))


def test_a_head_signed_with_a_strangers_key(case):
    record = Record.open(case)
    size = len(record.lines)
    put_heads(case, {size: head_over(record.lines, stranger_to(case)).encode()})
    answer = checked(case)

    assert_changed(answer)
    assert answer.changed == {4: f"head of {size}: is signed by none of the known keys"}


def test_a_key_that_a_stranger_adds_and_signs_with(case):
    from evidence.ledger import Tip, seal

    stranger, lines = stranger_to(case), Record.open(case).lines
    for _ in range(2):
        body = key_body(stranger)
        line = seal(Tip.of(lines), "key", body, "owner", [], "2025-09-01T12:00:00Z")
        lines = (*lines, line)
        _add(case, line, head_over(lines, stranger))
    answer = checked(case)

    assert_changed(answer)
    assert set(answer.changed) == {4}
    assert f"head of {len(lines) - 1}: is signed by none of the known keys" in answer.changed[4]


def test_a_ledger_made_anew_by_a_stranger_on_the_owners_entries(case):
    """Every head is thrown away, and one put in their place."""
    from evidence.ledger import Tip, seal

    stranger, lines = stranger_to(case), Record.open(case).lines
    lines = (
        *lines,
        seal(Tip.of(lines), "key", key_body(stranger), "owner", [], "2025-09-01T12:00:00Z"),
    )
    with opened_by_force(case) as ledger:
        ledger.execute("DELETE FROM heads")
    _add(case, lines[-1], head_over(lines, stranger))
    answer = checked(case)

    assert_changed(answer)
    assert 4 in answer.changed


@pytest.mark.parametrize(
    "statement",
    [
        "DROP TRIGGER entries_no_update",
        "CREATE TABLE more (a)",
        "CREATE VIEW looks AS SELECT * FROM entries",
        "PRAGMA user_version = 2",
        "PRAGMA application_id = 0",
    ],
)
def test_another_definition_in_the_ledger(case, statement):
    import sqlite3

    with closing(sqlite3.connect(case / "ledger.sqlite", isolation_level=None)) as ledger:
        ledger.execute(statement)
    answer = checked(case)

    assert_changed(answer)
    assert "ledger.sqlite" in answer.changed[1]


def test_a_ledger_without_entries(case):
    with opened_by_force(case) as ledger:
        ledger.execute("DELETE FROM entries")
        ledger.execute("DELETE FROM heads")
    answer = checked(case)

    assert_changed(answer)
    assert answer.changed == {1: "there are no entries"}


def test_the_owners_own_key_writes_no_second_history(case):
    """Both histories bear his signature; what an outsider saw of the first tells them apart."""
    owner, lines = owner_of(case), list(Record.open(case).lines)
    lines[7] = altered(lines[7], by="insurer")
    lines = rechained(lines)
    with opened_by_force(case) as ledger:
        sizes = [size for (size,) in ledger.execute("SELECT size FROM heads")]
    put_entries(case, dict(enumerate(lines)))
    put_heads(case, {size: head_over(lines[:size], owner).encode() for size in sizes})
    answer = checked(case)

    assert_changed(answer)
    assert set(answer.changed) == {5}
    assert "does not verify" in answer.changed[5]


# A dossier signed again


@pytest.fixture(scope="module")
def unsigned(built: Path, tmp_path_factory: pytest.TempPathFactory) -> Unsigned:
    folder = tmp_path_factory.mktemp("unsigned")
    return Unsigned.of(Path(shutil.copytree(built, folder / "case")), folder / "claim.pdf")


def test_a_dossier_signed_again_by_a_stranger(unsigned, tmp_path):
    answer = checked(unsigned.signed(tmp_path / "claim.pdf", {}, **key_of_a_stranger()))

    assert_changed(answer)
    assert answer.changed == {9: "signed with a certificate that the record does not name"}


def test_a_dossier_whose_measures_were_falsified_before_the_right_key_signed_it(unsigned, tmp_path):
    document = unsigned.measured()
    document["rules"][0]["longest"] = [8, 8]
    other = {"standing.json": as_bytes(document)}
    answer = checked(unsigned.signed(tmp_path / "claim.pdf", other))

    assert_changed(answer)
    assert answer.changed == {10: "standing.json: rules differs"}
    assert answer.document["dossier"]["figures_match"] == "no"


def test_a_dossier_whose_first_page_was_falsified_before_the_right_key_signed_it(case, tmp_path):
    def lying(summary):
        first, *rest = summary.figures
        return replace(summary, figures=(replace(first, value="1"), *rest))

    answer = checked(issued_with_false_page(case, tmp_path / "claim.pdf", lying))

    assert_changed(answer)
    assert set(answer.changed) == {10}
    assert "the summary does not state: 9 days before" in answer.changed[10]
    assert answer.document["dossier"]["figures_match"] == "no"


def test_a_dossier_that_carries_another_record(unsigned, tmp_path):
    record = unsigned.attached("record.jsonl").replace(b"EPDM", b"epdm").replace(b"branch", b"hail")
    answer = checked(unsigned.signed(tmp_path / "claim.pdf", {"record.jsonl": record}))

    assert_changed(answer)
    assert {2, 3, 10} <= set(answer.changed)

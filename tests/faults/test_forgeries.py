"""What somebody with SQL, a key or patience does to a record: `check` says so, and says where."""

import json
import shutil
import sqlite3
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from evidence.case import Record
from evidence.ledger import Tip, seal
from tests.faults.checking import assert_changed, checked
from tests.forging import Unsigned, as_bytes, issued_with_false_page, key_of_a_stranger
from tests.tampering import (
    LATER,
    altered,
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


def test_an_untouched_case_and_dossier_are_unchanged(built, dossier):
    for path in (built, dossier):
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
    stranger, lines = stranger_to(case), Record.open(case).lines
    for _ in range(2):
        body = key_body(stranger)
        line = seal(Tip.of(lines), "key", body, "owner", [], LATER)
        lines = (*lines, line)
        _add(case, line, head_over(lines, stranger))
    answer = checked(case)

    assert_changed(answer)
    assert set(answer.changed) == {4}
    assert f"head of {len(lines) - 1}: is signed by none of the known keys" in answer.changed[4]


def test_a_ledger_made_anew_by_a_stranger_on_the_owners_entries(case):
    """Every head is thrown away, and one put in their place."""
    stranger, lines = stranger_to(case), Record.open(case).lines
    lines = (
        *lines,
        seal(Tip.of(lines), "key", key_body(stranger), "owner", [], LATER),
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

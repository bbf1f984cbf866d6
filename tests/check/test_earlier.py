"""Two states of one record, each a story: continued, rolled back, forked, or another one."""

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.check import check_path
from evidence.check.comparison import Relation
from evidence.check.earlier import SeenRecord, compare, seen_heads
from evidence.check.record import check_record
from evidence.check.report import Result, as_json
from evidence.errors import RefusedError
from evidence.ledger import Head, check_consistency, leaf_hash, tree_root, tree_roots
from tests.tampering import (
    LATER,
    OPENING,
    Handed,
    altered,
    head_over,
    keep_first,
    key_body,
    owner_of,
    rechained,
    stranger_to,
)

NOTE = Path("earlier.txt")


def earlier(handed: Handed) -> SeenRecord:
    report = check_record(handed)
    return SeenRecord("case", report.case_id, handed.lines)


def cut(handed: Handed, size: int) -> Handed:
    """The record as it was when it had so many entries."""
    notes = tuple(note for note in handed.heads if int(note.split("\n")[1]) <= size)
    return replace(handed, lines=handed.lines[:size], heads=notes)


def by_heads(new: Handed, *notes: str, named=()):
    return compare(check_record(new), seen_heads(NOTE, "\n".join((*notes, "")).encode()), named)


# Continued


def test_a_record_that_was_continued_extends_its_earlier_state_and_lists_what_came(handed, owner):
    longer = handed.then("photos", {}, owner).then("photos", {"note": "more"}, owner)
    found = compare(check_record(longer), earlier(handed))

    assert (found.relation, found.size) == (Relation.EXTENDS, len(handed.lines))
    assert [(row.seq, row.kind, row.logged) for row in found.added] == [
        (len(handed.lines), "photos", LATER),
        (len(handed.lines) + 1, "photos", LATER),
    ]
    assert found.detail == "extends the earlier state by 2 entries"


def test_every_earlier_state_is_extended(handed):
    for size in range(OPENING, len(handed.lines) + 1):
        found = compare(check_record(handed), earlier(cut(handed, size)))
        assert found.relation is Relation.EXTENDS
        assert len(found.added) == len(handed.lines) - size


def test_the_same_state_is_itself(handed):
    found = compare(check_record(handed), earlier(handed))
    assert (found.relation, found.added) == (Relation.EXTENDS, ())
    assert found.detail == "is the earlier state itself"


def test_every_earlier_head_is_extended_with_a_proof_for_whoever_holds_the_two_heads_alone(handed):
    roots = list(tree_roots(leaf_hash(line) for line in handed.lines))
    for note in handed.heads:
        found = by_heads(handed, note)
        assert (found.relation, found.target) == (Relation.EXTENDS, "head")
        assert check_consistency(
            found.size, len(handed.lines), roots[found.size], roots[-1], found.proof
        )


# Rolled back


def test_a_rollback_to_an_older_file_holds_by_itself_and_is_caught_by_the_newer_one(case, tmp_path):
    """The owner puts last month's copy back, so that a bad look is gone."""
    shown = Path(shutil.copytree(case, tmp_path / "shown to the adjuster"))
    size = len(Record.open(case).lines)
    keep_first(case, size - 2)

    assert check_path(case).result is Result.UNCHANGED
    report = check_path(case, earlier=shown)
    assert report.earlier.relation is Relation.SHORTENED
    assert (report.result, report.exit_code) == (Result.CHANGED, 4)
    assert f"holds {size - 2} entries where the earlier state had {size}" in report.earlier.detail


def test_a_rollback_is_caught_by_the_newer_head_alone(handed):
    found = by_heads(cut(handed, OPENING), handed.heads[-1])
    assert found.relation is Relation.SHORTENED


def test_a_rollback_that_was_written_on_is_a_fork(handed, owner):
    longer = handed.then("photos", {"note": "the leak"}, owner)
    other = handed.then("photos", {"note": "all well"}, owner).then("photos", {}, owner)
    size = len(handed.lines)

    found = compare(check_record(other), earlier(longer))
    assert (found.relation, found.fork) == (Relation.FORKS, (size, size))
    found = by_heads(other, handed.heads[-1], longer.heads[-1])
    assert (found.relation, found.fork) == (Relation.FORKS, (size, size))


# Forked


def test_a_case_that_was_continued_on_two_machines_is_found_and_not_merged(case, tmp_path):
    """A copy went to the tablet; both were written on. Each holds by itself."""
    tablet = Path(shutil.copytree(case, tmp_path / "tablet"))
    signer, size = owner_of(case), len(Record.open(case).lines)
    for folder, note in ((case, "from the laptop"), (tablet, "from the tablet")):
        Record.open(folder).write([Draft("photos", {"note": note}, "owner")], signer)
    before = Record.open(case).contents

    for new, old in ((case, tablet), (tablet, case)):
        assert check_path(new).result is Result.UNCHANGED
        report = check_path(new, earlier=old)
        assert report.earlier.relation is Relation.FORKS
        assert report.earlier.fork == (size, size)
        assert f"forks at entry {size + 1}" in report.earlier.detail
        assert report.exit_code == 4
    assert Record.open(case).contents == before


def test_a_head_tells_of_a_fork_only_that_it_lies_below(handed, owner):
    lines = list(handed.lines)
    lines[7] = altered(lines[7], by="insurer")
    lines = rechained(lines)
    sizes = [int(note.split("\n")[1]) for note in handed.heads]
    other = Handed(lines, tuple(head_over(lines[:n], owner) for n in sizes), handed.files)

    found = by_heads(other, handed.heads[-1])
    assert (found.relation, found.fork) == (Relation.FORKS, (0, len(lines) - 1))
    assert f"before entry {len(lines) + 1}" in found.detail

    found = by_heads(other, *handed.heads)  # all the heads tell how far the two agree
    assert found.fork == (7, 7)
    found = by_heads(other, handed.heads[0], handed.heads[-1])
    assert found.fork == (OPENING, len(lines) - 1)
    assert f"behind entry {OPENING}" in found.detail
    found = compare(check_record(other), earlier(handed))
    assert found.fork == (7, 7)


def test_two_heads_of_one_size_that_the_owner_signed_are_a_fork_by_themselves(handed, owner):
    lines = (*handed.lines[:-1], altered(handed.lines[-1], by="insurer"))
    found = by_heads(handed, handed.heads[-1], head_over(lines, owner))
    assert found.relation is Relation.FORKS


def test_an_altered_first_entry_is_a_fork_and_a_record_that_cannot_be_read_is_compared(handed):
    broken = handed.with_line(8, b"{}")
    found = compare(check_record(broken), earlier(handed))
    assert (found.relation, found.fork) == (Relation.FORKS, (8, 8))
    assert "what cannot be read" in found.detail
    found = compare(check_record(handed.with_line(0, b"{}")), earlier(handed))
    assert (found.relation, found.fork) == (Relation.FORKS, (0, 0))


# Another record


def test_another_case_is_unrelated_and_leaves_with_2(case, dossier, tmp_path):
    from evidence.story import build_story
    from tests.making import write_story

    other = build_story(write_story(tmp_path / "told"), tmp_path / "other").folder
    report = check_path(other, earlier=case)
    assert report.earlier.relation is Relation.UNRELATED
    assert (report.result, report.exit_code) == (Result.UNCHANGED, 2)
    head = tmp_path / "head.txt"
    head.write_text(Record.open(case).heads[-1])
    assert check_path(other, earlier=head).earlier.relation is Relation.UNRELATED


def test_a_record_made_anew_under_the_same_name_is_told_by_the_key_of_the_earlier_head(
    handed, owner, stranger
):
    """The same case id, other keys: a stranger's copy from the first entry on."""
    _, second, *_ = handed.of_kind("key")
    lines = list(handed.lines)
    for seq in (second - 1, second):
        lines[seq] = altered(lines[seq], body=key_body(stranger))
    lines = rechained(lines)
    anew = Handed(lines, (head_over(lines, stranger),), handed.files)

    found = by_heads(anew, handed.heads[-1])
    assert found.relation is Relation.UNRELATED
    assert "none of its keys signed the earlier head" in found.detail
    found = by_heads(anew, handed.heads[-1], named=(owner.verifier,))
    assert found.relation is Relation.FORKS


# What measures nothing


def test_an_earlier_head_that_a_key_signed_which_might_not_is_not_taken(handed, stranger):
    """Else a thief with a lost key could make any honest record look forked."""
    forged = head_over((*handed.lines[:-1], handed.lines[0]), stranger)
    assert by_heads(handed, forged).relation is Relation.UNRELATED


def test_an_earlier_head_with_a_spoilt_signature_is_refused(handed):
    spoilt = handed.heads[-1].replace(handed.heads[-1].split("\n")[2], "A" * 43 + "=")
    with pytest.raises(RefusedError, match="does not belong to this text"):
        by_heads(handed, spoilt)


def test_an_earlier_state_that_was_changed_itself_measures_nothing(case, built):
    size = len(Record.open(case).lines)
    path = next((case / "originals").glob("*.jpg"))
    path.write_bytes(path.read_bytes() + b"more")
    with pytest.raises(RefusedError, match=r"was changed itself.*step 7"):
        check_path(built, earlier=case)
    assert len(Record.open(case).lines) == size


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"a letter",
        b"\xff\xfe",
        b"PK\x05\x06" + bytes(18),  # an empty ZIP
        (Head("x", 0, bytes(32)).text() + "\n\u2014 x AAAAAAA=\n").encode(),
    ],
)
def test_what_is_neither_a_case_a_dossier_nor_a_head_is_refused(data, built, tmp_path):
    path = tmp_path / "earlier"
    path.write_bytes(data)
    with pytest.raises(RefusedError, match="is neither a case, a pack, a dossier nor a signed"):
        check_path(built, earlier=path)
    with pytest.raises(RefusedError, match="cannot be read"):
        check_path(built, earlier=tmp_path / "absent")


# Every form that an earlier state comes in


def test_a_dossier_is_an_earlier_state_of_its_case_and_the_case_of_the_dossier(
    case, dossier, tmp_path
):
    """The dossier's own `issued` entry came behind what it carries."""
    # `dossier` was issued from a copy of the case, so the copy at hand is what it carries.
    size = len(Record.open(case).lines)
    report = check_path(case, earlier=dossier)
    assert (report.earlier.relation, report.earlier.size) == (Relation.EXTENDS, size)
    assert report.earlier.target == "dossier"
    Record.open(case).write([Draft("photos", {}, "owner")], owner_of(case))
    report = check_path(dossier, earlier=case)
    assert report.earlier.relation is Relation.SHORTENED
    heads = tmp_path / "heads.txt"
    heads.write_text("".join(f"{note}\n" for note in Record.open(case).heads[:-1]))
    assert check_path(dossier, earlier=heads).earlier.detail == "is the earlier state itself"


def test_the_document_says_how_the_two_stand(handed, owner):
    longer = handed.then("photos", {}, owner)
    report = check_record(longer)
    from evidence.check.report import Report

    whole = Report("case", report, report.steps, earlier=compare(report, earlier(handed)))
    row = as_json(whole)["earlier"]
    assert row == {
        "target": "case",
        "result": "extends",
        "size": len(handed.lines),
        "root": tree_root([leaf_hash(line) for line in handed.lines]).hex(),
        "detail": "extends the earlier state by 1 entry",
        "added": [{"seq": len(handed.lines), "kind": "photos", "logged": LATER}],
        "fork": None,
        "consistency": [node.hex() for node in whole.earlier.proof],
    }
    assert as_json(Report("case", report, report.steps))["earlier"] is None


def test_a_ledger_that_cannot_be_read_is_not_compared(handed):
    from evidence.check.record import unreadable
    from evidence.errors import ChangedError

    report = unreadable(ChangedError("ledger.sqlite", "its pages were altered"))
    assert compare(report, earlier(handed)) is None


def test_a_stranger_s_head_of_another_case_is_no_measure(handed, built):
    other = stranger_to(built)
    note = head_over(handed.lines, replace(other, name="roof-evidence/" + "0" * 32))
    assert by_heads(handed, note).relation is Relation.UNRELATED

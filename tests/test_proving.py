import pytest

from evidence.case import Record
from evidence.errors import ChangedError
from evidence.ledger import (
    Head,
    SignedNote,
    check_consistency,
    check_inclusion,
    leaf_hash,
    tree_roots,
)
from evidence.proving import Proofs, sizes_needed
from tests.tampering import owner_of


@pytest.fixture
def record(built):
    return Record.open(built)


def test_each_proof_holds_under_the_newest_root(record):
    lines, roots = record.lines, list(tree_roots(map(leaf_hash, record.lines)))
    kept, sizes = [0, 3, 7, 16], [6, 9]

    proofs = Proofs.of(lines, kept, sizes)

    assert proofs.size == len(lines)
    assert [row.seq for row in proofs.inclusion] == kept
    assert [row.size for row in proofs.consistency] == sizes
    for row in proofs.inclusion:
        leaf = leaf_hash(lines[row.seq])
        assert check_inclusion(row.seq, len(lines), leaf, row.nodes, roots[-1])
    for row in proofs.consistency:
        assert check_consistency(row.size, len(lines), roots[row.size], roots[-1], row.nodes)


def test_what_is_written_is_read_back(record):
    proofs = Proofs.of(record.lines, [0, 5], [6])

    assert Proofs.read(proofs.data()) == proofs


@pytest.mark.parametrize(
    "data",
    [b"", b"[]", b"{}", b'{"size":1,"inclusion":[],"consistency":[],"more":1}',
     b'{"size":-1,"inclusion":[],"consistency":[]}',
     b'{"size":1,"inclusion":[{"seq":0,"proof":["00"]}],"consistency":[]}',
     b'{"size":1,"size":2,"inclusion":[],"consistency":[]}'],
)  # fmt: skip
def test_what_holds_no_proofs_is_refused(data):
    with pytest.raises(ChangedError, match="holds no proofs that can be read"):
        Proofs.read(data)


def test_the_heads_needed_are_the_first_those_over_keys_those_answered_and_the_newest(record):
    sizes = [Head.parse(SignedNote.parse(note).text).size for note in record.heads]

    needed = sizes_needed(record.entries, sizes)

    answered = {e.body.size for e in record.entries if e.kind == "witness"}
    assert needed == sorted({sizes[0], sizes[-1], *answered})
    assert set(sizes) - set(needed)


def test_the_first_head_over_a_later_key_is_needed_too(case):
    from datetime import UTC, datetime

    from evidence.case import Draft
    from tests.tampering import key_body, stranger_to

    record, at = Record.open(case), datetime(2025, 10, 1, 12, tzinfo=UTC)
    for draft in (
        Draft("photos", {}, "owner"),
        Draft("key", key_body(stranger_to(case), "added", why="a second machine"), "owner"),
        Draft("photos", {}, "owner"),
    ):
        record.write([draft], owner_of(case), clock=lambda: at)

    sizes = sorted(record.notes)

    assert 20 in sizes_needed(record.entries, sizes)
    assert 19 not in sizes_needed(record.entries, sizes)

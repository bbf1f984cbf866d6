"""What holds for every record, whatever is in it and whatever is done to it."""

from hypothesis import given, settings
from hypothesis import strategies as st

from evidence.ledger.log import verify_chain
from evidence.ledger.tree import (
    check_consistency,
    check_inclusion,
    consistency_proof,
    inclusion_proof,
    leaf_hash,
    tree_root,
)
from tests.ledger.conftest import entries

RECORD = tuple(entries(12))
LEAVES = st.lists(st.binary(max_size=3).map(leaf_hash), min_size=1, max_size=70)


@settings(deadline=None)
@given(LEAVES, st.data())
def test_every_leaf_is_proved_under_its_root_and_nothing_else_is(leaves, data):
    index = data.draw(st.integers(0, len(leaves) - 1))
    root, proof = tree_root(leaves), inclusion_proof(index, leaves)
    assert check_inclusion(index, len(leaves), leaves[index], proof, root)
    other = data.draw(st.integers(0, len(leaves)))
    leaf = data.draw(st.sampled_from([*leaves, leaf_hash(b"never in")]))
    if check_inclusion(other, len(leaves), leaf, proof, root):
        assert leaves[other] == leaf


@settings(deadline=None)
@given(LEAVES, LEAVES, st.data())
def test_a_tree_is_consistent_with_each_of_its_beginnings_and_with_no_other(leaves, others, data):
    first = data.draw(st.integers(1, len(leaves)))
    proof = consistency_proof(first, leaves)
    root = tree_root(leaves)
    assert check_consistency(first, len(leaves), tree_root(leaves[:first]), root, proof)
    strange = tree_root(others)
    if strange != tree_root(leaves[:first]):
        assert not check_consistency(first, len(leaves), strange, root, proof)


@settings(deadline=None)
@given(LEAVES, st.data())
def test_a_tree_is_its_sequence_of_leaves(leaves, data):
    other = data.draw(st.permutations(leaves))
    assert (tree_root(other) == tree_root(leaves)) == (list(other) == leaves)


@st.composite
def edited(draw: st.DrawFn) -> list[bytes]:
    """The record after somebody took out, doubled or moved entries, or changed a byte of one."""
    lines = list(RECORD)
    for _ in range(draw(st.integers(1, 4))):
        place = draw(st.integers(0, len(lines) - 1))
        match draw(st.sampled_from(("out", "twice", "moved", "byte"))):
            case "out" if len(lines) > 1:
                del lines[place]
            case "twice":
                lines.insert(place, lines[place])
            case "moved":
                lines.insert(draw(st.integers(0, len(lines) - 1)), lines.pop(place))
            case _:
                at = draw(st.integers(0, len(lines[place]) - 1))
                line = bytearray(lines[place])
                line[at] ^= 1 << draw(st.integers(0, 7))
                lines[place] = bytes(line)
    return lines


@settings(deadline=None)
@given(edited())
def test_what_is_no_beginning_of_the_record_is_found_by_its_chain_or_its_root(lines):
    beginning = tuple(lines) == RECORD[: len(lines)]
    same_root = tree_root(map(leaf_hash, lines)) == tree_root(map(leaf_hash, RECORD[: len(lines)]))
    assert same_root == beginning
    if beginning:
        assert verify_chain(lines) == []
    elif tuple(lines[:-1]) != RECORD[: len(lines) - 1]:  # the last is for the head to vouch for
        assert verify_chain(lines) != []

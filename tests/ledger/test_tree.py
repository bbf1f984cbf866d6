"""RFC 9162 section 2.1: outside answers, and a slow reference straight from the RFC's text."""

import json
from base64 import b64decode
from functools import cache
from hashlib import sha256

import pytest

from evidence.errors import RefusedError
from evidence.ledger.tree import (
    EMPTY_ROOT,
    Frontier,
    check_consistency,
    check_inclusion,
    consistency_proof,
    inclusion_proof,
    leaf_hash,
    node_hash,
    tree_root,
    tree_roots,
)

# transparency-dev/merkle testonly/constants.go and certificate-transparency merkle_test.py
LEAVES = [
    bytes.fromhex(leaf)
    for leaf in (
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    )
]
ROOTS = [
    bytes.fromhex(root)
    for root in (
        "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
        "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
        "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
        "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
        "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
        "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
        "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
        "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
    )
]
HASHES = [leaf_hash(leaf) for leaf in LEAVES]

SIZES = range(1, 201)
MANY = tuple(leaf_hash(b"%d" % place) for place in range(SIZES[-1]))


# The reference: RFC 9162 sections 2.1.1, 2.1.3.1 and 2.1.4.1, word for word over leaf hashes.


def k_below(n: int) -> int:
    k = 1
    while k * 2 < n:
        k *= 2
    return k


@cache
def mth(d: tuple[bytes, ...]) -> bytes:
    if not d:
        return sha256(b"").digest()
    if len(d) == 1:
        return d[0]
    k = k_below(len(d))
    return sha256(b"\x01" + mth(d[:k]) + mth(d[k:])).digest()


def path(m: int, d: tuple[bytes, ...]) -> list[bytes]:
    if len(d) == 1:
        return []
    k = k_below(len(d))
    if m < k:
        return [*path(m, d[:k]), mth(d[k:])]
    return [*path(m - k, d[k:]), mth(d[:k])]


def subproof(m: int, d: tuple[bytes, ...], b: bool) -> list[bytes]:  # noqa: FBT001 - the RFC's
    if m == len(d):
        return [] if b else [mth(d)]
    k = k_below(len(d))
    if m <= k:
        return [*subproof(m, d[:k], b), mth(d[k:])]
    return [*subproof(m - k, d[k:], b=False), mth(d[:k])]


def test_roots_are_those_of_two_other_implementations():
    assert list(tree_roots(HASHES)) == ROOTS
    assert [tree_root(HASHES[:size]) for size in range(9)] == ROOTS
    assert ROOTS[0] == EMPTY_ROOT


def test_hashes_of_a_leaf_and_a_node_are_those_of_another_implementation(shared_vectors):
    # transparency-dev/merkle: one leaf and one node more
    known = json.loads((shared_vectors / "merkle_rfc6962_8_leaves.json").read_text())
    leaf, node = known["extra_leaf"], known["extra_node"]
    assert leaf_hash(bytes.fromhex(leaf["input_hex"])).hex() == leaf["hash_hex"]
    left, right = bytes.fromhex(node["left_hex"]), bytes.fromhex(node["right_hex"])
    assert node_hash(left, right).hex() == node["hash_hex"]
    assert [leaf.hex() for leaf in HASHES] == known["leaf_hashes_hex"]


def test_every_proof_over_eight_leaves_is_the_known_one(shared_vectors):
    known = json.loads((shared_vectors / "merkle_8_leaves_all_proofs.json").read_text())
    for row in known["inclusion"]:
        proof = inclusion_proof(row["index"], HASHES[: row["size"]])
        assert [node.hex() for node in proof] == row["proof_hex"]
    for row in known["consistency"]:
        proof = consistency_proof(row["first"], HASHES[: row["second"]])
        assert [node.hex() for node in proof] == row["proof_hex"]


def probes(folder, name):
    rows = [json.loads(line) for line in (folder / name).read_text().splitlines()]
    assert len(rows) == 98
    return rows


def test_all_98_inclusion_probes_are_answered_as_their_makers_say(shared_vectors):
    # transparency-dev/merkle testdata/inclusion
    for row in probes(shared_vectors, "merkle_inclusion_probes.jsonl"):
        answer = check_inclusion(
            row["leafIdx"],
            row["treeSize"],
            b64decode(row["leafHash"] or ""),
            [b64decode(node) for node in row["proof"] or []],
            b64decode(row["root"] or ""),
        )
        assert answer is not row["wantErr"], row["file"]


def test_all_98_consistency_probes_are_answered_as_their_makers_say(shared_vectors):
    # transparency-dev/merkle testdata/consistency
    for row in probes(shared_vectors, "merkle_consistency_probes.jsonl"):
        answer = check_consistency(
            row["size1"],
            row["size2"],
            b64decode(row["root1"] or ""),
            b64decode(row["root2"] or ""),
            [b64decode(node) for node in row["proof"] or []],
        )
        assert answer is not row["wantErr"], row["file"]


def test_roots_at_every_size_equal_the_slow_reference():
    assert list(tree_roots(MANY)) == [mth(MANY[:size]) for size in range(len(MANY) + 1)]


def test_every_leaf_of_every_tree_to_200_is_proved_as_the_rfc_says():
    for size in SIZES:
        leaves = MANY[:size]
        for index in range(size):
            proof = inclusion_proof(index, leaves)
            assert proof == path(index, leaves)
            assert check_inclusion(index, size, leaves[index], proof, mth(leaves))


def test_every_two_sizes_to_200_are_proved_consistent_as_the_rfc_says():
    for second in SIZES:
        leaves = MANY[:second]
        for first in range(1, second + 1):
            proof = consistency_proof(first, leaves)
            assert proof == subproof(first, leaves, b=True)
            assert check_consistency(first, second, mth(MANY[:first]), mth(leaves), proof)


def flipped(proof: list[bytes]) -> list[list[bytes]]:
    """The proof with one bit turned, once for each of its hashes, and one cut and one grown."""
    turned = [
        [*proof[:place], bytes([node[0] ^ 1]) + node[1:], *proof[place + 1 :]]
        for place, node in enumerate(proof)
    ]
    return [*turned, *([proof[:-1], proof[1:]] if proof else []), [*proof, MANY[0]]]


@pytest.mark.parametrize("size", [1, 2, 3, 7, 8, 21])
def test_an_altered_inclusion_proof_shows_nothing(size):
    leaves, root = MANY[:size], mth(MANY[:size])
    for index in range(size):
        proof = inclusion_proof(index, leaves)
        for altered in flipped(proof):
            assert not check_inclusion(index, size, leaves[index], altered, root)
        for elsewhere in {*range(-1, size + 2)} - {index}:
            assert not check_inclusion(elsewhere, size, leaves[index], proof, root)
        assert not check_inclusion(index, size, leaf_hash(b"other"), proof, root)


@pytest.mark.parametrize("second", [1, 2, 3, 7, 8, 21])
def test_an_altered_consistency_proof_shows_nothing(second):
    root = mth(MANY[:second])
    for first in range(1, second + 1):
        earlier = mth(MANY[:first])
        proof = consistency_proof(first, MANY[:second])
        for altered in flipped(proof):
            assert not check_consistency(first, second, earlier, root, altered)
        assert not check_consistency(first, second, leaf_hash(b"other"), root, proof)
        assert not check_consistency(first, second, earlier, leaf_hash(b"other"), proof)
        assert not check_consistency(0, second, EMPTY_ROOT, root, proof)
        assert not check_consistency(second + 1, second, earlier, root, proof)


def test_a_hash_of_another_length_is_never_part_of_a_proof():
    root = node_hash(MANY[0], MANY[1])
    assert check_inclusion(0, 2, MANY[0], [MANY[1]], root)
    assert not check_inclusion(0, 2, MANY[0] + MANY[1][:1], [MANY[1][1:]], root)
    short = MANY[1][1:]
    assert not check_inclusion(0, 2, MANY[0], [short], node_hash(MANY[0], short))
    assert not check_consistency(1, 2, MANY[0], node_hash(MANY[0], short), [short])


def test_a_proof_longer_than_the_tree_is_deep_shows_nothing_though_its_hashes_fit():
    above = node_hash(MANY[1], MANY[0])
    assert not check_inclusion(0, 1, MANY[0], [MANY[1]], above)
    two = node_hash(MANY[0], MANY[1])
    too_high = node_hash(MANY[2], two)
    assert not check_consistency(1, 2, MANY[0], too_high, [MANY[1], MANY[2]])


def test_proofs_of_what_is_not_there_are_refused():
    for index in (-1, 3):
        with pytest.raises(RefusedError, match="not in a tree of 3 leaves"):
            inclusion_proof(index, MANY[:3])
    for first in (-1, 0, 4):
        with pytest.raises(RefusedError, match="not an earlier size"):
            consistency_proof(first, MANY[:3])


def test_a_frontier_remembers_one_hash_for_each_bit_of_its_size():
    frontier = Frontier()
    for leaf in MANY:
        frontier = frontier.append(leaf)
        assert len(frontier.peaks) == frontier.size.bit_count()


def test_growing_a_frontier_leaves_the_old_one_as_it_was():
    frontier = Frontier().append(MANY[0])
    frontier.append(MANY[1])
    assert frontier.root() == MANY[0]

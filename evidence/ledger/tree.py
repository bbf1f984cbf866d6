"""The Merkle tree over the entries (RFC 9162 § 2.1, the tree of RFC 6962).

Pure arithmetic over leaf hashes: no file, no clock, no key. A *root* stands for all leaves in
order. An *inclusion proof* shows that one leaf is under a root; a *consistency proof* shows that a
later root holds everything that an earlier one held, in the same order.

    leaf = SHA-256(00 ‖ data)      node = SHA-256(01 ‖ left ‖ right)      empty = SHA-256("")

A tree of n > 1 leaves splits at k, the largest power of two below n.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from itertools import accumulate

from evidence.errors import RefusedError

HASH_BYTES = 32
EMPTY_ROOT = sha256(b"").digest()


def leaf_hash(data: bytes) -> bytes:
    """The hash of a leaf's bytes (RFC 9162 § 2.1.1)."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """The hash of two subtrees side by side (RFC 9162 § 2.1.1)."""
    return sha256(b"\x01" + left + right).digest()


@dataclass(frozen=True, slots=True)
class Frontier:
    """All that a growing tree needs to remember: the roots of its complete subtrees.

    `peaks` holds one hash for each bit set in `size`, largest subtree first: at most log2(n) + 1.
    """

    size: int = 0
    peaks: tuple[bytes, ...] = ()

    def append(self, leaf: bytes) -> "Frontier":
        """The frontier with one more leaf hash: like adding 1 in binary, a carry joins two."""
        peaks, node, carry = list(self.peaks), leaf, self.size
        while carry & 1:
            node = node_hash(peaks.pop(), node)
            carry >>= 1
        return Frontier(self.size + 1, (*peaks, node))

    def root(self) -> bytes:
        """MTH over all leaves so far (RFC 9162 § 2.1.1), 32 bytes."""
        if not self.peaks:
            return EMPTY_ROOT
        node = self.peaks[-1]
        for left in reversed(self.peaks[:-1]):
            node = node_hash(left, node)
        return node


def tree_roots(leaf_hashes: Iterable[bytes]) -> Iterator[bytes]:
    """The root at every size 0, 1, … n, in one pass: `list(tree_roots(leaves))[size]`."""
    frontiers = accumulate(leaf_hashes, Frontier.append, initial=Frontier())
    return (frontier.root() for frontier in frontiers)


def tree_root(leaf_hashes: Iterable[bytes]) -> bytes:
    """The root over all `leaf_hashes` (RFC 9162 § 2.1.1), 32 bytes."""
    frontier = Frontier()
    for leaf in leaf_hashes:
        frontier = frontier.append(leaf)
    return frontier.root()


class Tree:
    """The tree over leaf hashes, for taking proofs: however many, each node is hashed once."""

    def __init__(self, leaf_hashes: Sequence[bytes]) -> None:
        self._leaves = leaf_hashes
        self._nodes: dict[tuple[int, int], bytes] = {}

    def inclusion(self, index: int) -> list[bytes]:
        """PATH(index, leaves), the deepest sibling first (RFC 9162 § 2.1.3.1).

        Raises:
            RefusedError: there is no leaf `index`.
        """
        first, end = 0, len(self._leaves)
        if not 0 <= index < end:
            raise RefusedError(f"leaf {index}", f"is not in a tree of {end} leaves")
        path = []
        while end - first > 1:
            middle = first + _split(end - first)
            if index < middle:
                path.append(self._node(middle, end))
                end = middle
            else:
                path.append(self._node(first, middle))
                first = middle
        return path[::-1]

    def consistency(self, earlier: int) -> list[bytes]:
        """PROOF(earlier, leaves): from the tree of `earlier` leaves to all (RFC 9162 § 2.1.4.1).

        Raises:
            RefusedError: `earlier` is not between 1 and the number of leaves.
        """
        first, end = 0, len(self._leaves)
        if not 1 <= earlier <= end:
            why = f"is not an earlier size of a tree of {end} leaves"
            raise RefusedError(f"size {earlier}", why)
        path = []
        while earlier < end:
            middle = first + _split(end - first)
            if earlier <= middle:
                path.append(self._node(middle, end))
                end = middle
            else:
                path.append(self._node(first, middle))
                first = middle
        # At 0 the checker holds this subtree's root already: b of SUBPROOF(m, D, b).
        return [self._node(first, end), *path[::-1]] if first else path[::-1]

    def _node(self, first: int, end: int) -> bytes:
        """MTH over the leaves from `first` to before `end`."""
        if end - first == 1:
            return self._leaves[first]
        place = (first, end)
        if place not in self._nodes:
            middle = first + _split(end - first)
            self._nodes[place] = node_hash(self._node(first, middle), self._node(middle, end))
        return self._nodes[place]


def inclusion_proof(index: int, leaf_hashes: Sequence[bytes]) -> list[bytes]:
    """One proof of `Tree.inclusion`; errors likewise."""
    return Tree(leaf_hashes).inclusion(index)


def check_inclusion(
    index: int, size: int, leaf: bytes, proof: Sequence[bytes], root: bytes
) -> bool:
    """True if `proof` shows that `leaf` is leaf `index` under `root` (RFC 9162 § 2.1.3.2).

    Beyond the RFC, hashes must be 32 bytes long: its text alone takes an empty leaf hash for the
    tree of one leaf whose root is empty too.

    Args:
        index: the leaf's place, counting from 0.
        size: how many leaves the tree has.
        leaf: the *hash* of the leaf.
        proof: the siblings, deepest first.
        root: the root at `size`.
    """
    if not 0 <= index < size or not _all_hashes([leaf, *proof]):
        return False
    fn, sn, node = index, size - 1, leaf
    for sibling in proof:
        if sn == 0:
            return False
        if fn & 1 or fn == sn:
            node = node_hash(sibling, node)
            fn, sn = _up_to_a_right_child(fn, sn)
        else:
            node = node_hash(node, sibling)
        fn, sn = fn >> 1, sn >> 1
    return sn == 0 and node == root


def consistency_proof(first: int, leaf_hashes: Sequence[bytes]) -> list[bytes]:
    """One proof of `Tree.consistency`; errors likewise."""
    return Tree(leaf_hashes).consistency(first)


def check_consistency(
    first: int, second: int, first_root: bytes, second_root: bytes, proof: Sequence[bytes]
) -> bool:
    """True if `proof` shows that the later tree extends the earlier (RFC 9162 § 2.1.4.2).

    Beyond the RFC, `first` must be at least 1: every tree extends the empty one, so a proof from
    there would show nothing. The hashes of the proof must be 32 bytes long.

    Args:
        first: the earlier size.
        second: the later size.
        first_root: the root at `first`.
        second_root: the root at `second`.
        proof: the nodes of `consistency_proof`.
    """
    if not 1 <= first <= second or not _all_hashes(proof):
        return False
    if first == second:
        return not proof and first_root == second_root
    if not proof:
        return False
    whole = first & (first - 1) == 0  # a power of two: the earlier root is itself a node
    start, *rest = [first_root, *proof] if whole else proof
    fn, sn = first - 1, second - 1
    while fn & 1:
        fn, sn = fn >> 1, sn >> 1
    fr = sr = start
    for sibling in rest:
        if sn == 0:
            return False
        if fn & 1 or fn == sn:
            fr, sr = node_hash(sibling, fr), node_hash(sibling, sr)
            fn, sn = _up_to_a_right_child(fn, sn)
        else:
            sr = node_hash(sr, sibling)
        fn, sn = fn >> 1, sn >> 1
    return sn == 0 and fr == first_root and sr == second_root


def _up_to_a_right_child(fn: int, sn: int) -> tuple[int, int]:
    """Skip the levels at which the last node has no sibling and moves up unchanged."""
    while fn and not fn & 1:
        fn, sn = fn >> 1, sn >> 1
    return fn, sn


def _split(size: int) -> int:
    """The largest power of two below `size`, for `size` > 1."""
    return 1 << ((size - 1).bit_length() - 1)


def _all_hashes(values: Iterable[bytes]) -> bool:
    return all(len(value) == HASH_BYTES for value in values)

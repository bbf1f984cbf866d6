"""What proves an excerpt: `proofs.json`, and the heads that it needs (RFC 9162 §§ 2.1.3, 2.1.4).

Every entry of an excerpt is shown to be under the newest signed head at its place. Every earlier
head that is needed is shown to be continued by the newest one: so each entry below its size is
under it, too.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence

from pydantic import ValidationError

from evidence.carried import json_bytes
from evidence.entries import Key, Witness
from evidence.envelope import Entry
from evidence.errors import ChangedError, EvidenceError
from evidence.ledger import Tree, leaf_hash, parse
from evidence.packed import PROOFS_NAME
from evidence.shapes import Strict
from evidence.words import Seq, Sha256


class _Proof(Strict):
    proof: tuple[Sha256, ...]

    @property
    def nodes(self) -> list[bytes]:
        """The hashes of the proof, 32 bytes each."""
        return [bytes.fromhex(node) for node in self.proof]


class InclusionRow(_Proof):
    """That an entry stands under the newest head at its place."""

    seq: Seq


class ConsistencyRow(_Proof):
    """That the newest head continues the one over `size` entries."""

    size: Seq


class Proofs(Strict):
    """`proofs.json`; `size` is that of the newest head."""

    size: Seq
    inclusion: tuple[InclusionRow, ...]
    consistency: tuple[ConsistencyRow, ...]

    @classmethod
    def of(cls, lines: Sequence[bytes], kept: Iterable[int], sizes: Iterable[int]) -> "Proofs":
        """The proofs for the entries `kept` and for the earlier heads of these sizes.

        Args:
            lines: every entry of the record.
            kept: the places of those that the excerpt holds, in order.
            sizes: the sizes of its heads but the newest, in order.
        """
        tree = Tree([leaf_hash(line) for line in lines])
        return cls(
            size=len(lines),
            inclusion=tuple(InclusionRow(seq=seq, proof=_hex(tree.inclusion(seq))) for seq in kept),
            consistency=tuple(
                ConsistencyRow(size=size, proof=_hex(tree.consistency(size))) for size in sizes
            ),
        )

    @classmethod
    def read(cls, data: bytes) -> "Proofs":
        """Anybody's `proofs.json`.

        Raises:
            ChangedError: it is not such a file.
        """
        try:
            parse(data)  # refuses what two readers could read in two ways
            return cls.model_validate_json(data)
        except (EvidenceError, ValidationError) as error:
            raise ChangedError(PROOFS_NAME, "holds no proofs that can be read") from error

    def data(self) -> bytes:
        """The file."""
        return json_bytes(self.model_dump(mode="json"))


def _hex(nodes: Iterable[bytes]) -> tuple[str, ...]:
    return tuple(node.hex() for node in nodes)


def sizes_needed(entries: Iterable[Entry], sizes: Sequence[int]) -> list[int]:
    """The heads that an excerpt holds, by size: enough to follow its keys and its outsiders.

    The first; the first one over each key, which a key before it signed; each that an outsider
    answered; and the newest.

    Args:
        entries: the entries of the excerpt.
        sizes: the sizes of all heads, in order.
    """
    needed = {sizes[0], sizes[-1]}
    for entry in entries:
        if isinstance(entry.body, Key):
            needed.update(sizes[bisect_right(sizes, entry.seq) :][:1])
        elif isinstance(entry.body, Witness):
            needed.add(entry.body.size)
    return sorted(needed.intersection(sizes))

"""What became of an earlier state of a record: the answer of `check --earlier` (OUTPUTS § 3)."""

from dataclasses import dataclass
from enum import StrEnum

from pydantic import JsonValue


class Relation(StrEnum):
    """How the record at hand stands to the earlier state."""

    EXTENDS = "extends"
    """It holds all of the earlier state, in the same order, and perhaps more behind it."""
    SHORTENED = "shortened"
    """It lacks entries that the earlier state had: an older copy, or its end was cut off."""
    FORKS = "forks"
    """It holds something else in a place where the earlier state had an entry."""
    UNRELATED = "unrelated"
    """It is another record."""


@dataclass(frozen=True, slots=True)
class AddedEntry:
    """An entry that the earlier state did not have."""

    seq: int
    kind: str
    logged: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """The record at hand against an earlier state of it.

    Attributes:
        target: what the earlier state was taken from: case, dossier or head.
        relation: how the two stand to each other.
        size: the number of entries in the earlier state.
        root: its Merkle root, 32 bytes.
        detail: the same in one sentence without a full stop.
        added: what came since, where the record extends it.
        fork: the first and the last seq at which the two can part; a head alone tells no better.
        proof: the consistency proof from `size` to the whole (RFC 9162 § 2.1.4.1), for whoever
            holds the two heads and nothing else.
    """

    target: str
    relation: Relation
    size: int
    root: bytes
    detail: str
    added: tuple[AddedEntry, ...] = ()
    fork: tuple[int, int] | None = None
    proof: tuple[bytes, ...] = ()

    @property
    def contradicts(self) -> bool:
        """Whether what was shown earlier is not in the record any more."""
        return self.relation in (Relation.SHORTENED, Relation.FORKS)

    def as_json(self) -> dict[str, JsonValue]:
        """The field `earlier` of the document."""
        return {
            "target": self.target,
            "result": self.relation,
            "size": self.size,
            "root": self.root.hex(),
            "detail": self.detail,
            "added": [
                {"seq": entry.seq, "kind": entry.kind, "logged": entry.logged}
                for entry in self.added
            ],
            "fork": None if self.fork is None else list(self.fork),
            "consistency": [node.hex() for node in self.proof],
        }

"""Originals that arrived after their copies: linked by a `label`, never swapped (RECORD § 4).

A copy that came by messenger stands in the entry that was written with it, and stays there. The
original, sealed later, is named as its original wherever either is shown; where pictures are
counted the two are one. The entry's effective time rests on the files that it names (RECORD § 3:
"the union of its photos' relied-on capture intervals"), and the original is none of them: its clock
stands beside the copy and moves no entry. Whoever wants the original's clock to count writes a
new entry with it, in plain view.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from evidence.entries import Label


@dataclass(frozen=True)  # without slots: the way back is worked out once
class Links:
    """Which file (by its SHA-256) is the original of which copy; of each copy the last word counts.

    Attributes:
        original_of: copy → its original; one original may have several copies.
        told_in: copy → the entry (seq) that links it.
    """

    original_of: Mapping[str, str] = field(default_factory=dict)
    told_in: Mapping[str, int] = field(default_factory=dict)

    @cached_property
    def copies_of(self) -> Mapping[str, tuple[str, ...]]:
        """Original → its copies, in the order in which they were linked."""
        found: dict[str, tuple[str, ...]] = {}
        for copy, original in self.original_of.items():
            found[original] = (*found.get(original, ()), copy)
        return found

    def one_of(self, sha256: str) -> str:
        """What a file counts as: a copy as its original, every other file as itself."""
        seen = {sha256}
        while (original := self.original_of.get(sha256)) is not None and original not in seen:
            seen.add(sha256 := original)
        return sha256


def read_links(labels: Iterable[tuple[int, Label]]) -> Links:
    """The links that the labels make; they stand in order, each with its entry (seq)."""
    original_of: dict[str, str] = {}
    told_in: dict[str, int] = {}
    for seq, label in labels:
        if label.original_of is not None:
            original_of[label.original_of] = label.of[-1]
            told_in[label.original_of] = seq
    return Links(original_of, told_in)

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
    """Which file (by its SHA-256) is the original of which copy; the last word counts."""

    copy_of: Mapping[str, str] = field(default_factory=dict)
    """Original → its copy."""
    told_in: Mapping[str, int] = field(default_factory=dict)
    """Original → the entry (seq) that links it."""

    @cached_property
    def original_of(self) -> Mapping[str, str]:
        """Copy → its original; of several the one that was linked last."""
        return {copy: original for original, copy in self.copy_of.items()}

    def one_of(self, sha256: str) -> str:
        """What a file counts as: an original as its copy, every other file as itself."""
        seen = {sha256}
        while (copy := self.copy_of.get(sha256)) is not None and copy not in seen:
            seen.add(sha256 := copy)
        return sha256

    def are_one(self, one: str, other: str) -> bool:
        """Whether two files are the copy and the original of each other."""
        return self.one_of(one) == self.one_of(other)


def read_links(labels: Iterable[tuple[int, Label]]) -> Links:
    """The links that the labels make; they stand in order, each with its entry (seq)."""
    copy_of: dict[str, str] = {}
    told_in: dict[str, int] = {}
    for seq, label in labels:
        if label.original_of is not None:
            for digest in label.of:
                copy_of.pop(digest, None)  # told again, it stands last
                copy_of[digest], told_in[digest] = label.original_of, seq
    return Links(copy_of, told_in)

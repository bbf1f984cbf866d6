"""Between which outsiders' answers the entries lie, as runs of entries that share their bracket."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from evidence.upkeep.history import History
from evidence.upkeep.vouched import Vouched

Ends = tuple[datetime | None, datetime | None]
"""Not before, not after; None where no outsider that counts says so."""


@dataclass(frozen=True, slots=True)
class Bracket:
    """The entries from `first` to `last` (seq, both included) and the ends of their bracket."""

    first: int
    last: int
    ends: Ends


def bracket(history: History, seq: int) -> Ends:
    """The bracket of one entry (RECORD § 3)."""
    return history.outsiders.not_before(seq), history.outsiders.not_after(seq)


def brackets(history: History) -> Iterator[Bracket]:
    """Every entry's bracket, in order; neighbours that share theirs stand together.

    The entries that hold the answers which count are themselves the ends, and are left out.
    """
    answers = {answer.seq for answer in history.vouched if answer.counts}
    seqs = (seq for seq in range(history.size) if seq not in answers)
    for ends, run in groupby(seqs, lambda seq: bracket(history, seq)):
        shared = list(run)
        yield Bracket(shared[0], shared[-1], ends)


def widest(history: History) -> Vouched | None:
    """The answer that counts over the most entries; of several over as many, the earliest.

    So its time is the "not after" of the last entry that it holds.
    """
    counted = [answer for answer in history.vouched if answer.counts]
    most = max((answer.size for answer in counted), default=0)
    return min((a for a in counted if a.size == most), key=lambda a: (a.time, a.seq), default=None)


def first_known(history: History) -> Vouched | None:
    """The answer by which an outsider that counts first knew of the record."""
    counted = [answer for answer in history.vouched if answer.counts]
    return min(counted, key=lambda answer: (answer.time, answer.seq), default=None)

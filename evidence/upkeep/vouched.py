"""Outsiders' answers inside the chain, as far as they were verified."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import accumulate

from evidence.entries import Witness
from evidence.envelope import Entry
from evidence.times import parse_utc
from evidence.witness import Trust


@dataclass(frozen=True, slots=True)
class Vouched:
    """An outsider's answer inside the chain: it held the first `size` entries at `time`.

    `certificate_ends` is when the certificate that signed it ends; None where it has none.
    """

    seq: int
    type: str
    size: int
    time: datetime
    name: str
    trust: Trust
    certificate_ends: datetime | None = None

    @property
    def counts(self) -> bool:
        """Trusted by the reader; a sample's authority counts in a sample, shown as such."""
        return self.trust in (Trust.TRUSTED, Trust.SAMPLE)


class Outsiders:
    """Between which answers an entry stands.

    Args:
        answers: those that count, in the order of the chain.
    """

    def __init__(self, answers: Sequence[Vouched]) -> None:
        self._seqs = [answer.seq for answer in answers]
        self._latest = list(accumulate((answer.time for answer in answers), max))
        by_size = sorted(answers, key=lambda answer: answer.size)
        self._sizes = [answer.size for answer in by_size]
        # The first answer over each head or a larger one.
        self._first = list(accumulate((answer.time for answer in reversed(by_size)), min))[::-1]
        widest = {answer.type: answer.size for answer in by_size}
        self._types = [
            frozenset(name for name, over in widest.items() if over >= size) for size in self._sizes
        ]

    def not_before(self, seq: int) -> datetime | None:
        """The latest answer that the chain holds ahead of entry `seq`."""
        at = bisect_left(self._seqs, seq)
        return self._latest[at - 1] if at else None

    def not_after(self, seq: int) -> datetime | None:
        """The first answer over a head that holds entry `seq`."""
        at = bisect_right(self._sizes, seq)
        return self._first[at] if at < len(self._first) else None

    def before(self, seq: int, moment: datetime | None) -> bool:
        """Whether an answer over a head that holds entry `seq` was given by `moment`."""
        first = self.not_after(seq)
        return moment is not None and first is not None and first <= moment

    def types_over(self, seq: int) -> frozenset[str]:
        """The types of the answers over a head that holds entry `seq`."""
        at = bisect_right(self._sizes, seq)
        return self._types[at] if at < len(self._types) else frozenset()

    def first_later(self, moment: datetime) -> int | None:
        """The entry that holds the first answer later than `moment`.

        What stands behind it had not been written at `moment`, whatever its own clock says.
        """
        at = bisect_right(self._latest, moment)
        return self._seqs[at] if at < len(self._seqs) else None


def counting(answers: Iterable[Vouched]) -> Outsiders:
    """Those of the answers that count."""
    return Outsiders([answer for answer in answers if answer.counts])


def read_vouched(
    entries: Sequence[Entry], trust: Mapping[int, Trust], ends: Mapping[int, datetime]
) -> tuple[Vouched, ...]:
    """The answers that were verified, in the order of the chain (see `read_history`)."""
    return tuple(
        Vouched(
            seq=entry.seq,
            type=body.type,
            size=body.size,
            time=parse_utc(body.time),
            name=body.name,
            trust=trust[entry.seq],
            certificate_ends=ends.get(entry.seq),
        )
        for entry in entries
        if isinstance(body := entry.body, Witness) and entry.seq in trust
    )

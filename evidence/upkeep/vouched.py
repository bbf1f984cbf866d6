"""Outsiders' answers inside the chain, as far as they were verified."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from evidence.entries import Witness
from evidence.times import parse_utc
from evidence.upkeep.items import Item
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


def read_vouched(
    items: Sequence[Item], trust: Mapping[int, Trust], ends: Mapping[int, datetime]
) -> tuple[Vouched, ...]:
    """The answers that were verified, in the order of the chain (see `read_history`)."""
    return tuple(
        Vouched(
            seq=item.seq,
            type=body.type,
            size=body.size,
            time=parse_utc(body.time),
            name=body.name,
            trust=trust[item.seq],
            certificate_ends=ends.get(item.seq),
        )
        for item in items
        if isinstance(body := item.body, Witness) and item.seq in trust
    )

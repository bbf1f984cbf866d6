"""The looks at one zone, in the order in which they certainly ended."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from datetime import UTC, datetime
from functools import cached_property
from itertools import accumulate

from evidence.entries import Inspection
from evidence.upkeep.items import Item

LookAt = tuple[Item, Inspection]

_NEVER = datetime.min.replace(tzinfo=UTC)


def means_of(looks: Iterable[Item]) -> tuple[str, ...]:
    """The means of some looks, each once."""
    bodies = (item.body for item in looks)
    return tuple(dict.fromkeys(b.means.value for b in bodies if isinstance(b, Inspection)))


class Looks(list[LookAt]):
    """Looks at one zone in order of their latest end, then as they were written."""

    def ended_before(self, moment: datetime) -> int:
        """How many had ended before `moment`: they stand first."""
        return bisect_left(self, moment, key=lambda look: look[0].time.latest)

    def begun_from(self, moment: datetime) -> int:
        """From which of them on every one began at `moment` or later."""
        return bisect_left(self._begun, moment)

    def told_by(self, moment: datetime, size: int) -> int:
        """How many of the first, all of them, were known by `moment` and stand below `size`."""
        known, seqs = self._told
        return min(bisect_right(known, moment), bisect_left(seqs, size))

    @cached_property
    def _told(self) -> tuple[list[datetime], list[int]]:
        """The latest `known_from` and the highest seq among the looks up to each."""
        return (
            list(accumulate((item.known_from for item, _ in self), max)),
            list(accumulate((item.seq for item, _ in self), max)),
        )

    @cached_property
    def _begun(self) -> list[datetime]:
        """The earliest start of each look and all that ended after it."""
        starts = [item.time.earliest or _NEVER for item, _ in reversed(self)]
        return list(accumulate(starts, min))[::-1]

"""Who held the rig when: bands without holes (OUTPUTS § 2)."""

from dataclasses import dataclass
from datetime import date, timedelta

from evidence.times import parse_day
from evidence.upkeep.history import History

NOBODY = "nobody on record"
DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Band:
    """A span of days in one hand; `party` is None where nobody is on record.

    A closed band counts both end days; the open band counts to the date asked for, exclusive.
    """

    party: str | None
    from_: date
    to: date | None
    record: str
    days: int


def measure_custody(history: History) -> tuple[Band, ...]:
    """The bands from the first ownership on record to the history's date."""
    held = sorted(history.ownerships(), key=lambda row: row[1].from_)
    bands: list[Band] = []
    free_from: date | None = None
    for index, (_, ownership, last) in enumerate(held):
        start = parse_day(ownership.from_)
        if index + 1 < len(held) and last is None:
            # One hand follows another: the next one's first day ends an ownership left open.
            last = parse_day(held[index + 1][1].from_) - DAY  # noqa: PLW2901
        if free_from is not None and start > free_from:
            bands.append(_closed(None, free_from, start - DAY, NOBODY))
        if last is None:
            days = max(0, (history.on - start).days)
            bands.append(Band(ownership.party, start, None, ownership.known_by.value, days))
            return tuple(bands)
        bands.append(_closed(ownership.party, start, last, ownership.known_by.value))
        free_from = last + DAY
    if free_from is not None and history.on >= free_from:
        bands.append(Band(None, free_from, None, NOBODY, (history.on - free_from).days))
    return tuple(bands)


def _closed(party: str | None, first: date, last: date, record: str) -> Band:
    return Band(party, first, last, record, (last - first).days + 1)

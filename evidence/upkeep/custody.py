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


@dataclass(frozen=True, slots=True)
class _Held:
    party: str
    first: date
    last: date | None
    record: str


def measure_custody(history: History) -> tuple[Band, ...]:
    """The bands from the first ownership on record to the history's date, by their first day."""
    bands: list[Band] = []
    free_from: date | None = None
    for held in _held(history):
        if free_from is not None and held.first > free_from:
            bands.append(_closed(None, free_from, held.first - DAY, NOBODY))
        if held.last is None:
            days = max(0, (history.on - held.first).days)
            bands.append(Band(held.party, held.first, None, held.record, days))
            free_from = date.max
        else:
            bands.append(_closed(held.party, held.first, held.last, held.record))
            free_from = held.last + DAY if free_from is None else max(free_from, held.last + DAY)
    if free_from is not None and history.on >= free_from:
        bands.append(Band(None, free_from, None, NOBODY, (history.on - free_from).days))
    return tuple(bands)


def _held(history: History) -> list[_Held]:
    """Every ownership by its first day.

    A last day that still lies ahead has not ended it. One hand follows another: an ownership left
    open ended when one with a later first day began. Those that began together are held together.
    """
    stated = sorted(history.ownerships(), key=lambda row: row[1].from_)
    firsts = [parse_day(body.from_) for _, body, _ in stated]
    held = []
    for (_, body, stated_last), first in zip(stated, firsts, strict=True):
        last = None if stated_last is None or stated_last > history.on else stated_last
        following = min((other for other in firsts if other > first), default=None)
        if stated_last is None and following is not None:
            last = following - DAY
        held.append(_Held(body.party, first, last, body.known_by.value))
    return held


def _closed(party: str | None, first: date, last: date, record: str) -> Band:
    return Band(party, first, last, record, (last - first).days + 1)

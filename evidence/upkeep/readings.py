"""Moisture readings, spot by spot, in order of time (OUTPUTS § 2)."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from evidence.entries import Reading
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.words import Scale


class Band(StrEnum):
    """The bands used on leisure vehicles, per cent of wood moisture (TRADE § 5 [S34])."""

    NORMAL = "normal"
    RE_TEST = "re-test"
    INVESTIGATE = "investigate"
    POSSIBLY_STRUCTURAL = "possibly-structural"


_UP_TO = ((150, Band.NORMAL), (200, Band.RE_TEST), (300, Band.INVESTIGATE))
"""Tenths of a per cent. 0-15, 15-20, 20-30, over 30: a value on an edge is in the lower band."""


@dataclass(frozen=True, slots=True)
class ReadingPoint:
    """One reading: its value and same-day dry reference as decimal text, in per cent.

    `band` is None where the scale is the meter's own and not wood moisture.
    """

    seq: int
    date: date
    value: str
    reference: str | None
    band: Band | None
    scale: str
    meter: str


@dataclass(frozen=True, slots=True)
class Series:
    """All readings at one spot of one zone."""

    zone: str
    spot: str
    points: tuple[ReadingPoint, ...]


def measure_readings(history: History) -> tuple[Series, ...]:
    """Every spot that was read, in the order of the first reading."""
    spots: dict[tuple[str, str], list[tuple[Item, Reading]]] = defaultdict(list)
    for item, body in history.of(Reading):
        spots[body.zone, body.spot].append((item, body))
    return tuple(
        Series(zone, spot, tuple(_point(item, body) for item, body in sorted(rows, key=_in_order)))
        for (zone, spot), rows in spots.items()
    )


def band_of(value_pct10: int) -> Band:
    """The band of a wood-moisture value in tenths of a per cent."""
    return next((band for up_to, band in _UP_TO if value_pct10 <= up_to), Band.POSSIBLY_STRUCTURAL)


def _in_order(row: tuple[Item, Reading]) -> tuple[date, date, int]:
    return (*row[0].bounds, row[0].seq)


def _point(item: Item, body: Reading) -> ReadingPoint:
    wood = body.scale is Scale.WOOD_MC
    return ReadingPoint(
        seq=item.seq,
        date=item.dates[0],
        value=_per_cent(body.value_pct10),
        reference=None if body.reference_pct10 is None else _per_cent(body.reference_pct10),
        band=band_of(body.value_pct10) if wood else None,
        scale=body.scale,
        meter=body.meter,
    )


def _per_cent(tenths: int) -> str:
    return f"{tenths // 10}.{tenths % 10}"

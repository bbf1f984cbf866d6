"""Moisture readings, spot by spot, in order of time (OUTPUTS § 2)."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date

from evidence.entries import Reading
from evidence.trade import Band, Catalogue
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.words import Scale


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


def measure_readings(history: History, catalogue: Catalogue) -> tuple[Series, ...]:
    """Every spot that was read, in the order of the first reading."""
    return tuple(
        Series(zone, spot, tuple(_point(item, body, catalogue) for item, body in rows))
        for (zone, spot), rows in by_spot(history).items()
    )


def by_spot(history: History) -> dict[tuple[str, str], list[tuple[Item, Reading]]]:
    """The readings of every spot (zone, spot), each in order of time."""
    spots: dict[tuple[str, str], list[tuple[Item, Reading]]] = defaultdict(list)
    for item, body in history.of(Reading):
        spots[body.zone, body.spot].append((item, body))
    return {spot: sorted(rows, key=_in_order) for spot, rows in spots.items()}


def is_raised(body: Reading, catalogue: Catalogue) -> bool:
    """Whether a reading lies over its dry reference, or over the driest band of wood."""
    over = body.reference_pct10 is not None and body.value_pct10 > body.reference_pct10
    wood = body.scale is Scale.WOOD_MC
    return over or (wood and catalogue.band(body.value_pct10) is not Band.NORMAL)


def _in_order(row: tuple[Item, Reading]) -> tuple[date, date, int]:
    return (*row[0].bounds, row[0].seq)


def _point(item: Item, body: Reading, catalogue: Catalogue) -> ReadingPoint:
    wood = body.scale is Scale.WOOD_MC
    return ReadingPoint(
        seq=item.seq,
        date=item.dates[0],
        value=per_cent(body.value_pct10),
        reference=None if body.reference_pct10 is None else per_cent(body.reference_pct10),
        band=catalogue.band(body.value_pct10) if wood else None,
        scale=body.scale,
        meter=body.meter,
    )


def per_cent(tenths: int) -> str:
    """Tenths of a per cent as decimal text."""
    return f"{tenths // 10}.{tenths % 10}"

"""Each spot's readings beside what the air and a dry place explain, and their trend."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from evidence.entries import Reading
from evidence.errors import RefusedError
from evidence.times import Pair, days_apart
from evidence.trade import Catalogue, Limit
from evidence.trade.moisture import Beside, Taken, beside
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.upkeep.readings import by_spot
from evidence.words import nearest


class Way(StrEnum):
    """Which way a spot went."""

    RISING = "rising"
    FALLING = "falling"
    LEVEL = "no change that a meter can tell"


@dataclass(frozen=True, slots=True)
class SpotReading:
    """One reading of a spot, in per cent; `like_last` where meter, scale and setting are alike."""

    seq: int
    date: date
    body: Reading
    beside: Beside
    like_last: bool


@dataclass(frozen=True, slots=True)
class Trend:
    """From the first to the last reading taken alike: days, and the change in per cent.

    `over_reference` is the change of what the spot shows above a dry place, where both have one;
    the trend goes by that, since it leaves the weather out.
    """

    first: int
    last: int
    days: Pair
    change: float
    over_reference: float | None
    way: Way


@dataclass(frozen=True, slots=True)
class Spot:
    """A spot, its readings in order of time, and the trend of those taken like the last one."""

    zone: str
    spot: str
    readings: tuple[SpotReading, ...]
    trend: Trend | None


def measure_spots(
    history: History, catalogue: Catalogue, zone: str | None = None, spot: str | None = None
) -> tuple[Spot, ...]:
    """Every spot that was read, or those of one zone or one name.

    Raises:
        RefusedError: the rig has no such zone, or nobody read a spot of that name there.
    """
    if zone is not None:
        history.place(zone)
    read = {key: rows for key, rows in by_spot(history).items() if zone in (None, key[0])}
    names = dict.fromkeys(name for _, name in read)
    if spot is not None and spot not in names:
        why = "is no spot that was read" + ("" if zone is None else f" in {zone}")
        raise RefusedError(f"spot {spot!r}", why, nearest(spot, names) if names else "")
    return tuple(
        _spot(*key, rows, catalogue) for key, rows in read.items() if spot in (None, key[1])
    )


def _spot(zone: str, spot: str, rows: Sequence[tuple[Item, Reading]], catalogue: Catalogue) -> Spot:
    last = rows[-1][1]
    alike = [(item, body) for item, body in rows if _manner(body) == _manner(last)]
    readings = tuple(
        SpotReading(
            item.seq,
            item.dates[0],
            body,
            beside(taken_from(body), catalogue),
            _manner(body) == _manner(last),
        )
        for item, body in rows
    )
    return Spot(zone, spot, readings, _trend(alike, catalogue) if len(alike) > 1 else None)


def taken_from(body: Reading) -> Taken:
    """A reading of the record as the sums take it."""
    return Taken(
        value_pct10=body.value_pct10,
        scale=body.scale,
        meter=body.meter,
        air_c=None if body.temp_dC is None else body.temp_dC / 10,
        humidity_pct=body.humidity_pct,
        reference_pct10=body.reference_pct10,
    )


def _manner(body: Reading) -> tuple[str | None, ...]:
    return body.scale, body.meter, body.meter_id, body.setting


def _trend(rows: Sequence[tuple[Item, Reading]], catalogue: Catalogue) -> Trend:
    (first, before), (last, after) = rows[0], rows[-1]
    tenths = after.value_pct10 - before.value_pct10
    over = None
    if before.reference_pct10 is not None and after.reference_pct10 is not None:
        over = tenths - (after.reference_pct10 - before.reference_pct10)
    counted = tenths if over is None else over
    least = catalogue.limits[Limit.CHANGE].value * 10
    way = Way.LEVEL if abs(counted) < least else Way.RISING if counted > 0 else Way.FALLING
    return Trend(
        first=first.seq,
        last=last.seq,
        days=days_apart(first.dates, last.dates),
        change=tenths / 10,
        over_reference=None if over is None else over / 10,
        way=way,
    )

"""Reseals held against the trade's table of which sealant suits which place."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from evidence.entries import Reseal, Rig
from evidence.shapes import Zone
from evidence.times import parse_day
from evidence.trade import Catalogue
from evidence.trade.sealing import Place
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.words import Extent, Family, OldBead, Slope, Surface

UNFIT = "N"


@dataclass(frozen=True, slots=True)
class ResealFit:
    """One zone of one reseal: the family used, where, and how it suits."""

    seq: int
    zone: str
    family: str
    surface: str
    slope: str
    fit: str
    source: str


def zone_of(rig: Rig, zone_id: str) -> Zone | None:
    """The zone of that id on the rig as stated then."""
    return next((zone for zone in rig.zones if zone.id == zone_id), None)


def surface_and_slope(rig: Rig, zone_id: str) -> tuple[Surface, Slope | None]:
    """The zone's own surface, else the rig's; its slope where one is on record."""
    zone = zone_of(rig, zone_id)
    surface = rig.surface if zone is None or zone.surface is None else zone.surface
    return surface, None if zone is None else zone.slope


def fits(seq: int, rig: Rig, reseal: Reseal, catalogue: Catalogue) -> list[ResealFit]:
    """The fit of a reseal in each of its zones."""
    rows = []
    for zone_id in reseal.zones:
        surface, slope = surface_and_slope(rig, zone_id)
        fit = catalogue.fit(reseal.family, surface, slope)
        rows.append(
            ResealFit(
                seq, zone_id, reseal.family, surface, slope or "unknown", fit.letter, fit.source
            )
        )
    return rows


def fitting_zones(rig: Rig, reseal: Reseal, catalogue: Catalogue) -> frozenset[str]:
    """The zones of a reseal whose sealant suits them: all but those with fit N."""
    return frozenset(row.zone for row in fits(0, rig, reseal, catalogue) if row.fit != UNFIT)


def measure_reseals(history: History, catalogue: Catalogue) -> tuple[ResealFit, ...]:
    """Every reseal of the record, zone by zone."""
    return tuple(
        row
        for item, body in history.of(Reseal)
        for row in fits(item.seq, item.rig, body, catalogue)
    )


def not_replaced(reseals: Sequence[ResealFit]) -> Iterator[ResealFit]:
    """The reseals that do not suit their place, and that no later one there that does replaced."""
    for row in reseals:
        if row.fit == UNFIT and not any(
            other.zone == row.zone and other.seq > row.seq and other.fit != UNFIT
            for other in reseals
        ):
            yield row


@dataclass(frozen=True, slots=True)
class OldLot:
    """Sealant that was used from a lot whose day has passed."""

    seq: int
    product: str | None
    lot: str | None
    expired: date


def place_to_seal(history: History, zone_id: str) -> Place:
    """What the record knows of a place that is to be sealed.

    Raises:
        RefusedError: the rig has no such zone.
    """
    place = history.place(zone_id).zone
    surface, slope = surface_and_slope(history.rig, zone_id)
    return Place(surface, slope, place.type, old_family(history, zone_id))


def old_family(history: History, zone_id: str) -> Family | None:
    """The family that lies there now; `unknown` where it is mixed, None where nobody said."""
    laid = [(item, body) for item, body in history.of(Reseal) if zone_id in body.zones]
    if not laid:
        return _stated(history.rig, zone_id)
    laid.sort(key=_in_order)
    family = _stated(laid[0][0].rig, zone_id)
    for _, body in laid:
        before = body.old_family or family
        bare = body.extent is Extent.STRIP or body.old_bead in (OldBead.REMOVED, OldBead.NONE)
        family = body.family if bare or before is body.family else Family.UNKNOWN
    return family


def expired_lots(history: History) -> tuple[OldLot, ...]:
    """Every lot on record whose last day lies before the history's own, by that day."""
    found: dict[tuple[str | None, str | None], OldLot] = {}
    for item, body in history.of(Reseal):
        if body.expires is not None and parse_day(body.expires) < history.on:
            lot = OldLot(item.seq, body.product, body.lot, parse_day(body.expires))
            found.setdefault((body.product, body.lot), lot)
    return tuple(sorted(found.values(), key=lambda lot: (lot.expired, lot.seq)))


def _stated(rig: Rig, zone_id: str) -> Family | None:
    zone = zone_of(rig, zone_id)
    return None if zone is None else zone.sealant


def _in_order(row: tuple[Item, Reseal]) -> tuple[date, date, int]:
    return (*row[0].bounds, row[0].seq)

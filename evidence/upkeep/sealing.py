"""Reseals held against the trade's table of which sealant suits which place."""

from dataclasses import dataclass

from evidence.entries import Reseal, Rig
from evidence.shapes import Zone
from evidence.trade import Catalogue
from evidence.upkeep.history import History
from evidence.words import Slope, Surface

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

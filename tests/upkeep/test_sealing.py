"""Reseals held against the table of TRADE § 2."""

from typing import Any

import pytest

from evidence.trade import load_catalogue
from evidence.upkeep.sealing import (
    expired_lots,
    place_to_seal,
    surface_and_slope,
    zone_of,
)
from evidence.words import Family, Slope, Surface
from tests.scenarios.build import RIG, ZONES, Told, history, measured, starter, tell


def reseal(*zones: str, family: str = "self-levelling") -> Told:
    body = {"when": "2025-03-01", "zones": list(zones), "extent": "spot", "family": family}
    return tell("reseal", body, "2025-03-01T20:00:00Z")


def test_each_zone_of_a_reseal_has_its_own_fit():
    """Self-levelling: flat Y, vertical N (runs); TPO Y."""
    rows = measured([reseal("skylight", "rail-left")], "2025-04-01").reseals
    assert [(row.zone, row.surface, row.slope, row.fit) for row in rows] == [
        ("skylight", "tpo", "flat", "Y"),
        ("rail-left", "tpo", "vertical", "N"),
    ]


def test_the_zones_own_surface_counts_before_the_rigs():
    """Polyurethane on a vertical aluminium rail: Y and Y; on TPO it is C (primer)."""
    rails = [
        zone | {"surface": "aluminium"} if zone["id"] == "rail-left" else zone for zone in ZONES
    ]
    told = [*starter(rig=RIG | {"zones": rails}), reseal("rail-left", family="polyurethane")]
    (row,) = measured(told, "2025-04-01").reseals
    assert (row.surface, row.fit) == ("aluminium", "Y")


def test_a_slope_that_is_not_on_record_is_said_to_be_unknown():
    (row,) = measured([reseal("ceiling")], "2025-04-01").reseals
    assert row.slope == "unknown"


def test_it_is_held_against_the_rig_as_it_was_then():
    told = [
        reseal("skylight", family="silicone"),
        tell("rig", RIG | {"surface": "gelcoat"}, "2025-03-10T20:00:00Z"),
    ]
    (row,) = measured(told, "2025-04-01").reseals
    assert (row.surface, row.fit) == ("tpo", "N")


# --- what lies there now, and what is past its day -------------------------------------------


def place_now(*told: Told, rig: Told | None = None):
    zones = [
        zone | {"sealant": "self-levelling"} if zone["id"] == "skylight" else zone for zone in ZONES
    ]
    told = (*starter(rig=rig or RIG | {"zones": zones}), *told)
    return place_to_seal(measured(list(told), "2025-06-01").history, "skylight")


def laid(when: str, **body: Any) -> Told:
    whole = {"when": when, "zones": ["skylight"], "extent": "strip", "family": "self-levelling"}
    return tell("reseal", whole | body, f"{when}T20:00:00Z")


def test_without_a_reseal_the_old_bead_is_as_the_rig_has_it():
    place = place_now()
    assert (place.surface, place.slope, place.zone_type) == ("tpo", "flat", "Z11")
    assert place.old_family == "self-levelling"


@pytest.mark.parametrize(
    ("body", "family"),
    [
        ({"extent": "strip", "family": "hybrid"}, "hybrid"),
        ({"extent": "overlay", "family": "self-levelling"}, "self-levelling"),
        ({"extent": "overlay", "family": "hybrid"}, "unknown"),
        ({"extent": "overlay", "family": "hybrid", "old_family": "hybrid"}, "hybrid"),
        ({"extent": "overlay", "family": "hybrid", "old_bead": "removed"}, "hybrid"),
        ({"extent": "spot", "family": "hybrid"}, "unknown"),
        ({"extent": "spot", "family": "self-levelling"}, "self-levelling"),
    ],
)
def test_what_was_laid_over_another_family_is_mixed(body: Told, family: str):
    assert place_now(laid("2025-03-01", **body)).old_family == family


def test_reseals_count_in_order_of_their_own_time():
    """The strip of May was logged before the overlay of March was."""
    late = tell(
        "reseal",
        {"when": "2025-03-01", "zones": ["skylight"], "extent": "overlay", "family": "hybrid"},
        "2025-05-20T20:00:00Z",
    )
    assert place_now(laid("2025-05-01", family="polyurethane"), late).old_family == "polyurethane"


def test_lots_whose_day_has_passed_are_named_once():
    told = [
        laid("2025-03-01", product="lap", lot="A1", expires="2025-05-31"),
        laid("2025-03-02", product="lap", lot="A1", expires="2025-05-31"),
        laid("2025-03-03", product="lap", lot="B2", expires="2025-06-01"),
        laid("2025-03-04", product="lap"),
    ]
    lots = expired_lots(measured(told, "2025-06-01").history)
    assert [(lot.lot, lot.expired.isoformat()) for lot in lots] == [("A1", "2025-05-31")]


def test_the_row_of_a_reseal_says_what_was_used_and_on_whose_word_it_suits():
    told = [reseal("skylight", family="silicone")]
    (row,) = measured(told, "2025-04-01").reseals
    cell = load_catalogue().fit(Family.SILICONE, Surface.TPO, Slope.FLAT)
    assert (row.seq, row.family, row.source) == (6, "silicone", cell.source)
    assert row.source


def test_a_place_that_the_rig_has_not_counts_as_of_its_surface_and_of_no_known_slope():
    rig = history([], "2025-04-01").rig
    assert zone_of(rig, "x") is None
    assert surface_and_slope(rig, "x") == (Surface.TPO, None)

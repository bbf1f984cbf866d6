"""Reseals held against the table of TRADE § 2."""

from evidence.trade import load_catalogue
from evidence.upkeep.sealing import surface_and_slope, zone_of
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

"""From the places on the plan to the order of the walk."""

from evidence.dossier.pocket.route import next_round
from evidence.trade import load_catalogue
from evidence.upkeep.rounds import Part
from tests.dossier.pocket.rigs import bare, forty_zones, standing_of

EDGES = [
    "ladder", "corner-rl", "rail-left", "corner-fl", "strip-front", "corner-fr", "rail-right",
    "corner-rr", "strip-rear",
]  # fmt: skip


def walked(zones, part):
    planned = next_round(standing_of(zones), load_catalogue())
    return [stop.place.id for stop in planned.stops if stop.part is part]


def test_a_measured_rig_is_walked_from_its_ladder_at_the_rear_left():
    assert walked(forty_zones(), Part.EDGE) == EDGES
    middle = walked(forty_zones(), Part.MIDDLE)
    assert middle[0] == "vent-19"  # the rearmost of the left half
    assert middle[-1] == "vent-17"  # and of the right half
    assert walked(forty_zones(), Part.BELOW) == ["ceiling", "wall"]


def test_without_a_measure_edges_and_fields_are_placed_by_kind_and_the_rest_comes_after():
    zones = bare(forty_zones())
    assert walked(zones, Part.EDGE) == [
        "strip-rear", "corner-rl", "rail-left", "corner-fl", "strip-front", "corner-fr",
        "rail-right", "corner-rr",
    ]  # fmt: skip
    assert walked(zones, Part.MIDDLE) == [
        "field-rc", "field-rl", "field-mc", "field-ml", "field-fc", "field-fl", "field-fr",
        "field-mr", "field-rr",
    ]  # fmt: skip
    assert walked(zones, Part.NO_PLACE)[:2] == ["ladder", "vent-0"]

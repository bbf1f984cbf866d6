"""The order in which a person walks a roof, by drawings made by hand."""

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from evidence.upkeep.walking import EDGE_SHARE, Roof, Spot, walk

ROOF = Roof(1000.0, 300.0)
"""Front at x = 0, left side at y = 0."""


def spot(name: str, x: float, y: float, **more: bool) -> Spot:
    return Spot(name, (x, y), **more)


CORNERS = [
    spot("fl", 10, 10), spot("fr", 10, 290), spot("rl", 990, 10), spot("rr", 990, 290),
]  # fmt: skip
SIDES = [spot("left", 500, 5), spot("right", 500, 295), spot("front", 5, 150)]


def test_the_walk_goes_once_round_the_edge_from_the_ladder_towards_the_nearer_corner():
    ladder = spot("ladder", 995, 220, ladder=True)
    walked = walk([*CORNERS, *SIDES, ladder], ROOF)
    assert walked.edge == ("ladder", "rr", "right", "fr", "front", "fl", "left", "rl")
    other = spot("ladder", 995, 80, ladder=True)
    walked = walk([*CORNERS, *SIDES, other], ROOF)
    assert walked.edge == ("ladder", "rl", "left", "fl", "front", "fr", "right", "rr")


def test_without_a_ladder_it_starts_in_the_middle_of_the_rear():
    walked = walk([*CORNERS, *SIDES], ROOF)
    assert walked.edge == ("rl", "left", "fl", "front", "fr", "right", "rr")


def test_a_ladder_in_the_middle_of_a_side_is_where_the_round_begins_and_ends():
    ladder = spot("ladder", 400, 295, ladder=True)
    walked = walk([*CORNERS, *SIDES, ladder], ROOF)
    assert walked.edge == ("ladder", "fr", "front", "fl", "left", "rl", "rr", "right")


def test_then_the_middle_is_walked_along_the_ladders_half_and_back_along_the_other():
    ladder = spot("ladder", 995, 220, ladder=True)
    inner = [
        spot("a", 800, 200), spot("b", 300, 210), spot("c", 200, 100), spot("d", 700, 90),
    ]  # fmt: skip
    walked = walk([*reversed(inner), ladder, *CORNERS], ROOF)
    assert walked.middle == ("a", "b", "c", "d")


def test_a_strip_belongs_to_the_edge_wherever_it_is_measured():
    assert walk([spot("strip", 500, 150, edge=True)], ROOF).edge == ("strip",)
    assert walk([spot("vent", 500, 150)], ROOF).middle == ("vent",)


spots = st.lists(
    st.builds(
        Spot,
        st.uuids().map(str),
        st.tuples(st.floats(-50, 1050), st.floats(-50, 350)),
        edge=st.booleans(),
        ladder=st.sampled_from([False, False, False, True]),
    ),
    max_size=25,
)


@given(spots)
def test_every_zone_is_walked_once_and_nobody_is_sent_from_the_middle_to_the_edge(found):
    walked = walk(found, ROOF)
    assert sorted((*walked.edge, *walked.middle)) == sorted(one.id for one in found)
    by_id = {one.id: one for one in found}
    for name in walked.middle:
        assert not by_id[name].edge
        assert ROOF.from_edge(by_id[name].at) >= EDGE_SHARE * ROOF.width


@given(spots, st.randoms())
def test_the_same_roof_always_gives_the_same_walk(found, chance):
    again = list(found)
    chance.shuffle(again)
    assert walk(again, ROOF) == walk(found, ROOF)


@given(spots)
def test_the_middle_is_passed_out_and_back_without_turning_twice(found):
    """A walk out and back turns at either end of the roof, nowhere else."""
    xs = [one.at[0] for name in walk(found, ROOF).middle for one in found if one.id == name]
    steps = [b - a for a, b in pairwise(xs) if b != a]
    turns = sum(a * b < 0 for a, b in pairwise(steps))
    assert turns <= 2

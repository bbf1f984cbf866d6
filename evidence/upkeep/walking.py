"""In which order a person walks a roof: once round its edge, then through its middle and back.

The walk starts and ends at the ladder. The edge comes first, looked at while it lies at one's side;
then the middle, out along one half and back along the other. From the middle nobody is sent to the
edge again, so nobody has a reason to step backwards towards it (TRADE § 8). The order itself is
common practice, no source.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

Point = tuple[float, float]
"""x along the length from the front, y across the width from the left side."""

EDGE_SHARE = 0.14
"""How near to the outline a zone's middle counts as the edge, over the roof's width: about an arm's
length short of where one may stand."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A zone on the walk.

    Attributes:
        id: the zone's id.
        at: its middle.
        edge: whether its kind lies at the edge wherever it is measured: strips, rails, corners.
        ladder: whether one climbs up there.
    """

    id: str
    at: Point
    edge: bool = False
    ladder: bool = False


@dataclass(frozen=True, slots=True)
class Roof:
    """A roof's size, in the unit of the spots."""

    length: float
    width: float

    def from_edge(self, at: Point) -> float:
        """How far a place lies from the nearest side."""
        x, y = at
        return min(x, self.length - x, y, self.width - y)

    def around(self, at: Point) -> float:
        """How far along the outline a place lies, moved straight out to its nearest side.

        Counted from the rear left corner, along the left side to the front, across to the right,
        along the right side to the rear and across to the left.
        """
        x, y = at
        sides = (
            (y, self.length - x),
            (x, self.length + y),
            (self.width - y, self.length + self.width + x),
            (self.length - x, 2 * self.length + 2 * self.width - y),
        )
        return min(sides)[1]

    def through(self, at: Point) -> float:
        """How far along the walk through the middle: up the left half, down the right one."""
        x, y = at
        return self.length - x if y <= self.width / 2 else self.length + x

    def left_first(self, at: Point) -> bool:
        """Whether the next corner along the outline lies nearer in the direction of `around`."""
        corners = (0.0, self.length, self.length + self.width, 2 * self.length + self.width)
        outline = 2 * (self.length + self.width)
        here = self.around(at)
        ahead = min((corner - here) % outline for corner in corners)
        return ahead <= min((here - corner) % outline for corner in corners)


@dataclass(frozen=True, slots=True)
class Walk:
    """The ids of the zones in the order in which a person walks past them."""

    edge: tuple[str, ...]
    middle: tuple[str, ...]


def walk(spots: Sequence[Spot], roof: Roof) -> Walk:
    """The order of the zones of a roof.

    It starts at the ladder towards the nearer corner; without a ladder on record, in the middle of
    the rear. Zones at the same place stand in order of their ids, so the same roof always gives the
    same walk.
    """
    ladders = sorted((spot for spot in spots if spot.ladder), key=lambda spot: spot.id)
    start = ladders[0].at if ladders else (roof.length, roof.width / 2)
    others = [spot for spot in spots if not spot.ladder]
    edge = [spot for spot in others if _at_edge(spot, roof)]
    middle = [spot for spot in others if not _at_edge(spot, roof)]
    onward = roof.left_first(start)
    outline, lanes = 2 * (roof.length + roof.width), 2 * roof.length
    around = _in_turn(edge, roof.around, start, outline, onward=onward)
    return Walk(
        edge=(*(spot.id for spot in ladders), *around),
        middle=_in_turn(middle, roof.through, start, lanes, onward=onward),
    )


def _at_edge(spot: Spot, roof: Roof) -> bool:
    return spot.edge or roof.from_edge(spot.at) < EDGE_SHARE * roof.width


def _in_turn(
    spots: Sequence[Spot],
    along: Callable[[Point], float],
    start: Point,
    whole: float,
    *,
    onward: bool,
) -> tuple[str, ...]:
    """Along a closed way from the start, in its own direction or the other, until back there."""
    begins = along(start)

    def walked(spot: Spot) -> float:
        there = along(spot.at)
        return (there - begins if onward else begins - there) % whole

    return tuple(spot.id for spot in sorted(spots, key=lambda spot: (walked(spot), spot.id)))

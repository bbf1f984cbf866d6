"""From the places on the plan to the order of the walk."""

from evidence.dossier.drawings import roof_plan
from evidence.figures.plan_zones import Form, Frame, Placed, place_zones
from evidence.trade import Catalogue
from evidence.upkeep import Standing
from evidence.upkeep.rounds import Round, plan_round
from evidence.upkeep.walking import Roof, Spot, Walk, walk

_LADDER = "Z20"
_LENGTH = 1000.0  # any will do: only the shape of the roof counts


def next_round(standing: Standing, catalogue: Catalogue) -> Round:
    """The next look at every zone, in walking order."""
    return plan_round(standing, catalogue, _walk(standing))


def _walk(standing: Standing) -> Walk:
    """The walk past every zone that the plan can place, measured or by its kind."""
    rig = standing.history.rig
    frame = Frame.of(rig.length_mm, rig.width_mm, 0.0, _LENGTH, 0.0)
    placed, _ = place_zones(roof_plan(standing, (), whole=True).zones, frame)
    return walk([_spot(zone, frame) for zone in placed], Roof(_LENGTH, frame.body.height))


def _spot(placed: Placed, frame: Frame) -> Spot:
    x, down = placed.box.centre
    return Spot(
        placed.zone.id,
        (x, frame.body.y1 - down),
        edge=placed.form is Form.EDGE,
        ladder=placed.zone.type == _LADDER,
    )

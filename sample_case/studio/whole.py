"""The whole roof, built from the plan that the story states for its rig."""

import json
from pathlib import Path

from studio import edges, fittings, roof
from studio.shapes import Point
from studio.surface import Surface

STORY = Path(__file__).resolve().parent.parent / "story.json"


def plan() -> dict[str, tuple[Point, Point]]:
    """Each zone's centre and size in mm, as (across from the left, along from the front)."""
    entries = json.loads(STORY.read_text(encoding="utf-8"))["entries"]
    rig = next(entry["body"] for entry in entries if entry["kind"] == "rig")
    zones = {}
    for zone in rig["zones"]:
        if "at" in zone:
            (x, y), (long, wide) = zone["at"], zone["size_mm"]
            zones[zone["id"]] = ((y + wide / 2, x + long / 2), (float(wide), float(long)))
    return zones


def whole_roof(step: float, seed: int, *, dirt: float = 1.0, broken_lid: bool = False) -> Surface:
    """The roof seen from above, front at the top; `step` mm a texel."""
    s = Surface(0, 0, 2400, 7400, step)
    roof.membrane(s, seed, dirt=dirt)
    s.raise_by(-18 * ((s.x - 1200) / 1200) ** 2)
    where = plan()
    edges.rail(s, 0, 1, (0, 7400), seed + 20)
    edges.rail(s, 2400, -1, (0, 7400), seed + 30)
    for name, y in (("strip-front", 62), ("strip-rear", 7338)):
        roof.bead(
            s,
            [(40, y), (2360, y)],
            seed + len(name),
            roof.Sealant(width=70, thick=5, age=0.6, screws=150),
        )
    fittings.skylight(s, *where["skylight"], seed + 40)
    fittings.lid(s, *where["vent-galley"], seed + 41, broken=broken_lid)
    fittings.air_conditioner(s, *where["ac"], seed + 42)
    fittings.fridge_vent(s, *where["fridge"], seed + 43)
    fittings.solar_panel(s, *where["solar"], seed + 44)
    for name, make in (("plumbing", fittings.pipe_cap), ("antenna", fittings.antenna)):
        centre, size = where[name]
        make(s, centre, size[0] / 2, seed + 45)
    edges.ladder(s, *where["ladder"])
    return s

"""Rigs to walk over: a long one with forty zones, measured, and the same with no measure at all."""

from io import BytesIO
from typing import Any

from evidence.dossier.pocket.route import next_round
from evidence.dossier.pocket.sheet import Sheet
from evidence.trade import load_catalogue
from evidence.upkeep import Standing
from tests.scenarios.build import RIG, Told, finding, look, measured, starter

ON = "2025-09-01"


def zone(name: str, kind: str, at: tuple[int, int], size: tuple[int, int], **more: Any) -> Told:
    label = more.pop("label", name.replace("-", " "))
    return {"id": name, "type": kind, "label": label, "at": [*at], "size_mm": [*size], **more}


def forty_zones() -> list[Told]:
    """A rig of 11 m: edges all round, nine fields, and twenty-one openings and feet."""
    edges = [
        zone("strip-front", "Z01", (0, 300), (150, 1900)),
        zone("corner-fl", "Z02", (0, 0), (300, 300), label="front corner, left"),
        zone("corner-fr", "Z02", (0, 2200), (300, 300), label="front corner, right"),
        zone("rail-left", "Z05", (300, 0), (10400, 90)),
        zone("rail-right", "Z06", (300, 2410), (10400, 90)),
        zone("strip-rear", "Z03", (10850, 300), (150, 1900)),
        zone("corner-rl", "Z04", (10700, 0), (300, 300), label="rear corner, left"),
        zone("corner-rr", "Z04", (10700, 2200), (300, 300), label="rear corner, right"),
        zone("ladder", "Z20", (10700, 500), (140, 420), label="ladder mounts"),
    ]
    fields = [
        zone(
            f"field-{along[0]}{across[0]}",
            "Z08",
            (400 + 3450 * nth, 150 + 740 * row),
            (3300, 700),
            label=f"field, {along} {across}",
        )
        for nth, along in enumerate(("front", "middle", "rear"))
        for row, across in enumerate(("left", "centre", "right"))
    ]
    openings = [
        zone(f"vent-{nth}", "Z13", (700 + 480 * nth, 350 + 640 * (nth % 3)), (300, 300))
        for nth in range(20)
    ]
    inside = [
        {"id": "ceiling", "type": "Z25", "label": "ceiling below vent 3"},
        {"id": "wall", "type": "Z26", "label": "upper wall at the bed"},
    ]
    return [*edges, *fields, *openings, *inside]


def bare(zones: list[Told]) -> list[Told]:
    """The same zones without a place or a size."""
    return [{k: v for k, v in one.items() if k not in ("at", "size_mm")} for one in zones]


def standing_of(
    zones: list[Told], *, on: str = ON, told: tuple[Told, ...] = (), **rig: Any
) -> Standing:
    whole = RIG | {"length_mm": 11000, "width_mm": 2500, "zones": zones} | rig
    return measured([*starter(rules=(), rig=whole), *told], on)


def looks(zones: list[Told]) -> tuple[Told, ...]:
    """A look at all zones but the last two, with a finding at every fifth."""
    seen = [one["id"] for one in zones[:-2]]
    found = [
        finding(f"f{nth}", name, grade=1 + nth % 4, length_mm=40 + nth, width_mm=3)
        for nth, name in enumerate(seen[::5])
    ]
    return (look("2025-07-14", dict.fromkeys(seen, 0), body={"findings": found}),)


def sheet(standing: Standing, paper: str = "letter", *, pictured: int = 0) -> Sheet:
    """The sheet of a standing, with grey pictures of its first zones."""
    planned = next_round(standing, load_catalogue())
    pictures = {stop.place.id: grey(stop.number) for stop in planned.stops[:pictured]}
    return Sheet(standing, planned, load_catalogue(), pictures, paper, "my-rig")


def grey(shade: int) -> bytes:
    from PIL import Image, ImageDraw

    image = Image.new("L", (230, 172), 90 + 3 * shade)
    ImageDraw.Draw(image).line((10, 150, 220, 20), fill=20, width=6)
    out = BytesIO()
    image.save(out, "JPEG")
    return out.getvalue()

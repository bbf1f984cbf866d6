"""The place that the limb struck, and its neighbours; each time from the same standpoint."""

from collections.abc import Callable
from functools import partial

import numpy as np
from PIL import Image

from studio import closeups, damage, decals, fittings, roof, things
from studio.lens import Film, View
from studio.light import Daylight
from studio.shapes import box
from studio.surface import Surface

Lay = Callable[[Surface], None]


def _nothing(_: Surface) -> None:
    return


def struck_place(
    light: Daylight,
    seed: int,
    lay: Lay = _nothing,
    *,
    film: Film | None = None,
    rule: float | None = 2.0,
) -> Image.Image:
    """The middle right of the field beside the galley vent's sealant; `lay` puts things on it."""
    s = Surface(-240, -195, 480, 385, 0.25)
    roof.membrane(s, 11)
    roof.bead(s, [(-158, -215), (-146, 215)], 31, roof.Sealant(screws=120, age=0.6))
    lay(s)
    if rule is not None:
        decals.lay(s, decals.ruler(20), (52, 114), 208, turn=rule)
    view = View((8, 190, 400), (5, 4), 44, roll=-1.5)
    return closeups.shoot(s, view, light, film or Film(focus=440, blur=0.8), seed)


def torn(s: Surface) -> None:
    """The tear as it was found, the limb still there."""
    damage.tear(s, 51, at=(-6, -6))
    things.limb(
        s, [(255, -20), (190, -62), (120, -84), (30, -92), (-60, -122)], 60, thick=15, tip=7
    )
    things.limb(s, [(130, -84), (96, -124), (70, -170)], 66, thick=6, tip=3)
    for x, y, size, turn, seed in (
        (-92, -118, 34, 200, 61),
        (62, -160, 30, 75, 62),
        (196, 26, 32, 310, 63),
    ):
        things.leaf(s, (x, y), size, turn, seed)
    things.crumbs(s, (20, 6), 58, 46, 9)
    roof.scratch(s, [(238, 96), (170, 40), (104, -8)], 68, width=2.2)


def cut_open(s: Surface) -> None:
    """The rubber cut back square to sound deck, ready for the patch."""
    damage.window_cut(s, (-6, -8), (232, 92), 53)


def patched(age: float) -> Lay:
    """The patch, `age` 0 on the day to 1 after some years."""
    return partial(damage.patch, centre=(-2, -6), size=(252, 138), turn=-1.5, seed=80, age=age)


def tear_close(light: Daylight, seed: int) -> Image.Image:
    """The tear alone, nearer, with the rule along it."""
    s = Surface(-140, -115, 280, 225, 0.145)
    roof.membrane(s, 11)
    damage.tear(s, 51, at=(0, -14))
    things.crumbs(s, (10, 0), 46, 18, 12)
    decals.lay(s, decals.ruler(20), (2, 58), 208, turn=-3)
    view = View((4, 105, 235), (0, 0), 46, roll=1)
    return closeups.shoot(s, view, light, Film(focus=255, blur=1.0), seed)


def scraped(light: Daylight, seed: int) -> Image.Image:
    """A scrape in the top layer, seen against the light."""
    s = Surface(-190, -150, 380, 300, 0.2)
    roof.membrane(s, 2500)
    roof.scratch(s, [(150, 44), (60, 8), (-20, -10), (-120, -52)], 2510, width=2.4)
    things.crumbs(s, (90, 20), 30, 9, 2520)
    closeups.rule(s, -30, 84, 1.5)
    view = View((0, 160, 290), (0, -4), 48, roll=1)
    return closeups.shoot(s, view, light, Film(focus=330, blur=0.9), seed)


def soft_spot(light: Daylight, seed: int) -> Image.Image:
    """The patch two thirds of a year on, with a pencilled outline of where the deck gives."""

    def lay(s: Surface) -> None:
        patched(0.45)(s)
        damage.pencil_ring(s, (84, 22), (96, 58), -8, 2910)
        decals.ink(s, decals.handwriting("3/28/26"), (122, 92), 66, turn=-6, strength=0.75)

    return struck_place(light, seed, lay, rule=None, film=Film(focus=440, blur=0.8))


def galley_lid(
    light: Daylight, seed: int, *, broken: bool = False, film: Film | None = None
) -> Image.Image:
    """The galley vent's lid from the ladder at the right rail."""
    s = Surface(-430, -370, 860, 720, 0.42)
    roof.membrane(s, 2600)
    fittings.lid(s, (-10, -20), (430, 430), 2610, age=0.6, broken=broken)
    if broken:
        rng = np.random.default_rng(2620)
        for _ in range(9):
            x, y = rng.normal((150, 190), (90, 60))
            _shard(s, float(x), float(y), float(rng.uniform(8, 26)), float(rng.uniform(0, 180)))
        things.leaf(s, (250, 60), 44, 120, 2630)
        things.limb(s, [(420, 120), (330, 20), (260, -80), (180, -200)], 2640, thick=12, tip=5)
        things.crumbs(s, (180, 90), 90, 30, 2650)
    view = View((40, 420, 640), (0, 6), 50, roll=-1)
    return closeups.shoot(s, view, light, film or Film(focus=760, blur=0.8), seed)


def _shard(s: Surface, x: float, y: float, size: float, turn: float) -> None:
    part = s.window((x, y), size * 2)
    mask = part.soft(
        box(part, (x, y), (size * 1.7, size), turn=turn, corner=1)
        + 0.2 * size * part.noise(size, int(size * 1e3)),
        0.6,
    )
    part.level(mask, 4)
    part.paint(mask, (0.64, 0.63, 0.57), 0.3)


def tarped(light: Daylight, seed: int) -> Image.Image:
    """The blue sheet over the place, its edges taped, weighted by sandbags."""
    s = Surface(-1000, -1350, 2000, 2000, 0.95)
    roof.membrane(s, 3000)
    fittings.lid(s, (-390, -240), (430, 430), 2610, age=0.6, broken=True)
    things.tarp(s, (-20, -60), (1240, 900), 4, 3010)
    things.tape(s, [(-700, 356), (600, 440)], 3020, width=74)
    things.tape(s, [(632, -520), (572, 440)], 3030, width=74)
    for k, (x, y, turn) in enumerate(((-470, 210, 12), (330, 250, -20), (400, -330, 60))):
        things.sandbag(s, (x, y), turn, 3040 + k)
    things.drops(s, 3050, size=3.2)
    view = View((60, 1000, 980), (0, -10), 56, roll=-1)
    return closeups.shoot(s, view, light, Film(focus=1350, blur=0.6), seed)

"""Close pictures of one place; the same place always from the same standpoint."""

from collections.abc import Callable

import numpy as np
from PIL import Image

from studio import decals, fittings, roof, things
from studio.light import Daylight, shade
from studio.lens import Film, View, photograph
from studio.shapes import box
from studio.surface import Surface

MORNING = Daylight(azimuth=35, elevation=40)
NOON = Daylight(azimuth=118, elevation=58, sun=(1.0, 0.96, 0.9))
AFTERNOON = Daylight(azimuth=160, elevation=36, sun=(1.0, 0.93, 0.8))
EVENING = Daylight(azimuth=168, elevation=21, sun=(1.0, 0.86, 0.66), haze=0.15)
CLOUDED = Daylight(azimuth=150, elevation=42, sun=(0.62, 0.62, 0.62), sky=(0.50, 0.54, 0.60), haze=0.75)
STORM = Daylight(azimuth=160, elevation=30, sun=(0.50, 0.48, 0.46), sky=(0.46, 0.50, 0.55), haze=0.7)

Lay = Callable[[Surface], None]


def _nothing(_: Surface) -> None:
    return


def _rule(s: Surface, x: float, y: float, turn: float, *, cm: int = 15) -> None:
    decals.lay(s, decals.ruler(cm), (x, y), cm * 10 + 8.0, turn=turn)


def front_strip(light: Daylight, seed: int, *, sealed: bool) -> Image.Image:
    """The front termination strip with one screw head: bare, or under a dot of sealant."""
    s = Surface(-150, -125, 300, 245, 0.17)
    roof.membrane(s, 2100)
    roof.metal_strip(s, [(-170, -58), (170, -54)], 2120)
    roof.bead(s, [(-170, -32), (170, -28)], 2131, width=50, thick=4.0, age=0.75, screws=112)
    hole = s.soft(np.hypot(s.x - 6, s.y + 30) - 7.5 - 0.8 * s.noise(5, 2150), 1.2)
    if sealed:
        far = np.hypot(s.x - 6, s.y + 30) + 0.9 * s.noise(14, 2160)
        dome = np.clip(1 - far / 19, 0, 1)
        s.raise_by(4.4 * (1 - (1 - dome) ** 2.4) ** 0.8 + 1.0 * np.exp(-((far / 7) ** 2)))
        s.paint(s.soft((far - 19).astype(np.float32), 0.5), np.float32([0.70, 0.70, 0.69]), 0.5)
    else:
        s.level(hole, 2.6)
        s.paint(hole, (0.42, 0.42, 0.40), 0.2)
        s.stain(np.exp(-(((np.hypot(s.x - 6, s.y + 30) - 8) / 1.5) ** 2)).astype(np.float32) * 0.5, roof.DIRT)
        roof.screw(s, (6, -30), radius=4.6)
        _rule(s, -8, 38, -2.5)
    view = View((8, 135, 235), (2, -4), 46, roll=-1.5)
    return _shoot(s, view, light, Film(focus=272, blur=0.9), seed)


def skylight_bead(light: Daylight, seed: int, *, renewed: bool) -> Image.Image:
    """The sealant along one side of the skylight: chalky and crazed, or covered anew."""
    s = Surface(-165, -135, 330, 260, 0.18)
    roof.membrane(s, 2200)
    far = box(s, (0, -330), (560, 520), corner=18)
    along = s.x * 1.0
    mask = roof.seal(s, np.abs(far), along, 2231, width=48, thick=3.6, age=0.95, screws=95)
    if renewed:
        roof.seal(s, np.abs(far), along, 2240, width=62, thick=2.8, age=0.0, colour=(0.71, 0.71, 0.695))
    else:
        roof.crazing(s, mask, 2250, size=5.0)
    fittings.dome(s, box(s, (0, -330), (470, 446), corner=70), 190)
    view = View((-6, 150, 250), (0, -22), 46, roll=1)
    return _shoot(s, view, light, Film(focus=300, blur=1.0), seed)


def plumbing(light: Daylight, seed: int, *, sealed: bool) -> Image.Image:
    """The plumbing vent: a crack through its layered sealant, or a bead over it."""
    s = Surface(-165, -150, 330, 290, 0.18)
    roof.membrane(s, 2300, dirt=1.2)
    centre = (-20.0, -48.0)
    far = np.hypot(s.x - centre[0], s.y - centre[1])
    around = (np.arctan2(s.y - centre[1], s.x - centre[0]) * 88).astype(np.float32)
    roof.seal(s, np.abs(far - 84), around, 2331, width=64, thick=3.0, age=0.95, colour=(0.58, 0.565, 0.52))
    roof.seal(s, np.abs(far - 76), around, 2340, width=44, thick=2.4, age=0.8, screws=110)
    if sealed:
        arc = [(centre[0] + 79 * np.cos(a), centre[1] + 79 * np.sin(a)) for a in np.linspace(0.35, 1.75, 18)]
        roof.bead(s, arc, 2350, width=50, thick=3.2, age=0.0, colour=(0.71, 0.71, 0.695))
    else:
        roof.crack(s, (-5, 8), (48, 36), 2360, width=1.3, sway=5)
        roof.crack(s, (26, 22), (20, 46), 2370, width=0.6, sway=3)
        _rule(s, 14, 84, 2)
    pipe = s.soft((far - 50).astype(np.float32), 4)
    s.level(pipe, 58 + 7 * np.clip(1 - (far / 50) ** 2, 0, 1))
    s.paint(pipe, np.float32([0.55, 0.55, 0.53]) * (1 + 0.02 * s.noise(12, 2380))[..., None], 0.3)
    s.raise_by((-1.8 * np.exp(-(((far - 40) / 1.5) ** 2))).astype(np.float32) * pipe)
    view = View((10, 165, 270), (2, -6), 46, roll=-1)
    return _shoot(s, view, light, Film(focus=310, blur=0.9), seed)


def struck_place(light: Daylight, seed: int, lay: Lay = _nothing, *, film: Film | None = None, rule: float | None = 2.0) -> Image.Image:
    """The middle right of the field beside the galley vent's sealant; `lay` puts things on it."""
    s = Surface(-240, -195, 480, 385, 0.25)
    roof.membrane(s, 11)
    roof.bead(s, [(-158, -215), (-146, 215)], 31, screws=120, age=0.6)
    lay(s)
    if rule is not None:
        decals.lay(s, decals.ruler(20), (52, 114), 208, turn=rule)
    view = View((8, 190, 400), (5, 4), 44, roll=-1.5)
    return _shoot(s, view, light, film or Film(focus=440, blur=0.8), seed)


def torn(s: Surface) -> None:
    """The tear as it was found, the limb still there."""
    things.tear(s, 51, at=(-6, -6))
    things.limb(s, [(255, -20), (190, -62), (120, -84), (30, -92), (-60, -122)], 60, thick=15, tip=7)
    things.limb(s, [(130, -84), (96, -124), (70, -170)], 66, thick=6, tip=3)
    for x, y, size, turn, seed in ((-92, -118, 34, 200, 61), (62, -160, 30, 75, 62), (196, 26, 32, 310, 63)):
        things.leaf(s, (x, y), size, turn, seed)
    things.crumbs(s, (20, 6), 58, 46, 9)
    roof.scratch(s, [(238, 96), (170, 40), (104, -8)], 68, width=2.2)


def cut_open(s: Surface) -> None:
    """The rubber cut back square to sound deck, ready for the patch."""
    things.window_cut(s, (-6, -8), (232, 92), 53)


def patched(age: float) -> Lay:
    """The patch, `age` 0 on the day to 1 after some years."""
    return lambda s: things.patch(s, (-2, -6), (252, 138), -1.5, 80, age=age)


def tear_close(light: Daylight, seed: int) -> Image.Image:
    """The tear alone, nearer, with the rule along it."""
    s = Surface(-140, -115, 280, 225, 0.145)
    roof.membrane(s, 11)
    things.tear(s, 51, at=(0, -14))
    things.crumbs(s, (10, 0), 46, 18, 12)
    decals.lay(s, decals.ruler(20), (2, 58), 208, turn=-3)
    view = View((4, 105, 235), (0, 0), 46, roll=1)
    return _shoot(s, view, light, Film(focus=255, blur=1.0), seed)


def scraped(light: Daylight, seed: int) -> Image.Image:
    """A scrape in the top layer, seen against the light."""
    s = Surface(-190, -150, 380, 300, 0.2)
    roof.membrane(s, 2500)
    roof.scratch(s, [(150, 44), (60, 8), (-20, -10), (-120, -52)], 2510, width=2.4)
    things.crumbs(s, (90, 20), 30, 9, 2520)
    _rule(s, -30, 84, 1.5)
    view = View((0, 160, 290), (0, -4), 48, roll=1)
    return _shoot(s, view, light, Film(focus=330, blur=0.9), seed)


def galley_lid(light: Daylight, seed: int, *, broken: bool = False, film: Film | None = None) -> Image.Image:
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
    return _shoot(s, view, light, film or Film(focus=760, blur=0.8), seed)


def _shard(s: Surface, x: float, y: float, size: float, turn: float) -> None:
    part = s.window((x, y), size * 2)
    mask = part.soft(box(part, (x, y), (size * 1.7, size), turn=turn, corner=1) + 0.2 * size * part.noise(size, int(size * 1e3)), 0.6)
    part.level(mask, 4)
    part.paint(mask, (0.64, 0.63, 0.57), 0.3)


def right_rail(light: Daylight, seed: int, *, film: Film | None = None) -> Image.Image:
    """The right gutter rail with its insert and its bead."""
    s = Surface(-330, -330, 660, 520, 0.3)
    roof.membrane(s, 2700, dirt=1.3)
    turned_rail(s)
    view = View((30, 250, 330), (0, 4), 50, roll=1.5)
    return _shoot(s, view, light, film or Film(focus=410, blur=1.0), seed)


def turned_rail(s: Surface) -> None:
    """A rail that runs from left to right in the picture."""
    v = 120 - s.y
    metal = s.soft(v - 46, 0.5) * (v > -6)
    s.level(metal, 15)
    brushed = 1 + 0.03 * s.noise(1.1, 2710, stretch=25) + 0.03 * s.noise(80, 2711)
    s.paint(metal, np.float32(fittings.ALUMINIUM) * brushed[..., None], 0.42)
    insert = np.exp(-(((v - 18) / 9) ** 4)).astype(np.float32)
    s.raise_by(6 * insert)
    s.paint(insert, np.float32([0.68, 0.675, 0.65]) * (1 + 0.012 * s.noise(30, 2712))[..., None], 0.3)
    roof.bead(s, [(-340, 66), (340, 62)], 2720, width=24, thick=5.5, age=0.5)
    below = s.soft(v + 6, 0.8)
    s.level(below, -60)
    s.paint(below, (0.10, 0.105, 0.10), 0.1)


def rear_strip(light: Daylight, seed: int) -> Image.Image:
    """The rear termination strip and one foot of the ladder."""
    s = Surface(-300, -300, 600, 500, 0.3)
    roof.membrane(s, 2800)
    roof.metal_strip(s, [(-310, 50), (310, 44)], 2810)
    roof.bead(s, [(-310, 66), (310, 60)], 2820, width=62, thick=4.6, age=0.65, screws=118)
    fittings.ladder(s, (70, 0), (330, 60))
    view = View((-20, 230, 340), (0, 6), 50, roll=1)
    return _shoot(s, view, light, Film(focus=410, blur=1.0), seed)


def soft_spot(light: Daylight, seed: int) -> Image.Image:
    """The patch two thirds of a year on, with a pencilled outline of where the deck gives."""
    def lay(s: Surface) -> None:
        patched(0.45)(s)
        things.pencil_ring(s, (84, 22), (96, 58), -8, 2910)
        decals.ink(s, decals.handwriting("3/28/26"), (122, 92), 66, turn=-6, strength=0.75)

    return struck_place(light, seed, lay, rule=None, film=Film(focus=440, blur=0.8))


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
    return _shoot(s, view, light, Film(focus=1350, blur=0.6), seed)


def _shoot(s: Surface, view: View, light: Daylight, film: Film, seed: int) -> Image.Image:
    return photograph(s, shade(s, light, view.eye), view, film, seed)

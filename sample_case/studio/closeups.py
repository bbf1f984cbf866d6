"""Close pictures of one place; the same place always from the same standpoint."""

import numpy as np
from PIL import Image

from studio import decals, edges, fittings, roof
from studio.lens import Film, View, photograph
from studio.light import Daylight, shade
from studio.shapes import box
from studio.surface import Surface, tint

MORNING = Daylight(azimuth=35, elevation=40)
NOON = Daylight(azimuth=118, elevation=58, sun=(1.0, 0.96, 0.9))
AFTERNOON = Daylight(azimuth=160, elevation=36, sun=(1.0, 0.93, 0.8))
EVENING = Daylight(azimuth=168, elevation=21, sun=(1.0, 0.86, 0.66), haze=0.15)
CLOUDED = Daylight(
    azimuth=150, elevation=42, sun=(0.62, 0.62, 0.62), sky=(0.50, 0.54, 0.60), haze=0.75
)
STORM = Daylight(
    azimuth=160, elevation=30, sun=(0.50, 0.48, 0.46), sky=(0.46, 0.50, 0.55), haze=0.7
)


def rule(s: Surface, x: float, y: float, turn: float, *, cm: int = 15) -> None:
    """Lay the wooden rule."""
    decals.lay(s, decals.ruler(cm), (x, y), cm * 10 + 8.0, turn=turn)


def front_strip(light: Daylight, seed: int, *, sealed: bool) -> Image.Image:
    """The front termination strip with one screw head: bare, or under a dot of sealant."""
    s = Surface(-150, -125, 300, 245, 0.17)
    roof.membrane(s, 2100)
    roof.metal_strip(s, [(-170, -58), (170, -54)], 2120)
    roof.bead(
        s, [(-170, -32), (170, -28)], 2131, roof.Sealant(width=50, thick=4.0, age=0.75, screws=112)
    )
    hole = s.soft(np.hypot(s.x - 6, s.y + 30) - 7.5 - 0.8 * s.noise(5, 2150), 1.2)
    if sealed:
        far = np.hypot(s.x - 6, s.y + 30) + 0.9 * s.noise(14, 2160)
        dome = np.clip(1 - far / 19, 0, 1)
        s.raise_by(4.4 * (1 - (1 - dome) ** 2.4) ** 0.8 + 1.0 * np.exp(-((far / 7) ** 2)))
        s.paint(s.soft((far - 19).astype(np.float32), 0.5), tint(0.70, 0.70, 0.69), 0.5)
    else:
        s.level(hole, 2.6)
        s.paint(hole, (0.42, 0.42, 0.40), 0.2)
        s.stain(
            np.exp(-(((np.hypot(s.x - 6, s.y + 30) - 8) / 1.5) ** 2)).astype(np.float32) * 0.5,
            roof.DIRT,
        )
        roof.screw(s, (6, -30), radius=4.6)
        rule(s, -8, 38, -2.5)
    view = View((8, 135, 235), (2, -4), 46, roll=-1.5)
    return shoot(s, view, light, Film(focus=272, blur=0.9), seed)


def skylight_bead(light: Daylight, seed: int, *, renewed: bool) -> Image.Image:
    """The sealant along one side of the skylight: chalky and crazed, or covered anew."""
    s = Surface(-185, -215, 370, 320, 0.19)
    roof.membrane(s, 2200)
    far = box(s, (0, -330), (560, 520), corner=18)
    along = s.x * 1.0
    mask = roof.seal(
        s, np.abs(far), along, 2231, roof.Sealant(width=48, thick=3.6, age=0.95, screws=95)
    )
    if renewed:
        roof.seal(
            s,
            np.abs(far),
            along,
            2240,
            roof.Sealant(width=62, thick=2.8, age=0.0, colour=(0.71, 0.71, 0.695)),
        )
    else:
        roof.crazing(s, mask, 2250, size=5.0)
    fittings.dome(s, box(s, (0, -330), (470, 446), corner=70), 190)
    view = View((-6, 92, 228), (0, -54), 46, roll=1)
    return shoot(s, view, light, Film(focus=270, blur=1.0), seed)


def plumbing(light: Daylight, seed: int, *, sealed: bool) -> Image.Image:
    """The plumbing vent: a crack through its layered sealant, or a bead over it."""
    s = Surface(-165, -150, 330, 290, 0.18)
    roof.membrane(s, 2300, dirt=1.2)
    centre = (-20.0, -48.0)
    far = np.hypot(s.x - centre[0], s.y - centre[1])
    around = (np.arctan2(s.y - centre[1], s.x - centre[0]) * 88).astype(np.float32)
    roof.seal(
        s,
        np.abs(far - 84),
        around,
        2331,
        roof.Sealant(width=64, thick=3.0, age=0.95, colour=(0.58, 0.565, 0.52)),
    )
    roof.seal(
        s, np.abs(far - 76), around, 2340, roof.Sealant(width=44, thick=2.4, age=0.8, screws=110)
    )
    if sealed:
        arc = [
            (centre[0] + 79 * np.cos(a), centre[1] + 79 * np.sin(a))
            for a in np.linspace(0.35, 1.75, 18)
        ]
        roof.bead(
            s, arc, 2350, roof.Sealant(width=50, thick=3.2, age=0.0, colour=(0.71, 0.71, 0.695))
        )
    else:
        roof.crack(s, (-5, 8), (48, 36), 2360, width=1.3, sway=5)
        roof.crack(s, (26, 22), (20, 46), 2370, width=0.6, sway=3)
        rule(s, 14, 84, 2)
    pipe = s.soft((far - 50).astype(np.float32), 4)
    s.level(pipe, 58 + 7 * np.clip(1 - (far / 50) ** 2, 0, 1))
    s.paint(pipe, tint(0.55, 0.55, 0.53) * (1 + 0.02 * s.noise(12, 2380))[..., None], 0.3)
    s.raise_by((-1.8 * np.exp(-(((far - 40) / 1.5) ** 2))).astype(np.float32) * pipe)
    view = View((10, 165, 270), (2, -6), 46, roll=-1)
    return shoot(s, view, light, Film(focus=310, blur=0.9), seed)


def right_rail(light: Daylight, seed: int, *, film: Film | None = None) -> Image.Image:
    """The right gutter rail with its insert and its bead."""
    s = Surface(-330, -330, 660, 520, 0.3)
    roof.membrane(s, 2700, dirt=1.3)
    edges.lengthwise_rail(s)
    view = View((30, 250, 330), (0, 4), 50, roll=1.5)
    return shoot(s, view, light, film or Film(focus=410, blur=1.0), seed)


def rear_strip(light: Daylight, seed: int) -> Image.Image:
    """The rear termination strip and one foot of the ladder."""
    s = Surface(-300, -300, 600, 500, 0.3)
    roof.membrane(s, 2800)
    roof.metal_strip(s, [(-310, 50), (310, 44)], 2810)
    roof.bead(
        s, [(-310, 66), (310, 60)], 2820, roof.Sealant(width=62, thick=4.6, age=0.65, screws=118)
    )
    edges.ladder(s, (70, 0), (330, 60))
    view = View((-20, 230, 340), (0, 6), 50, roll=1)
    return shoot(s, view, light, Film(focus=410, blur=1.0), seed)


def shoot(s: Surface, view: View, light: Daylight, film: Film, seed: int) -> Image.Image:
    """Light the surface and photograph it."""
    return photograph(s, shade(s, light, view.eye), view, film, seed)

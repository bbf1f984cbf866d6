"""Wide pictures: the whole roof from a ladder, a pole, a drone, a neighbour's step."""

import numpy as np
from PIL import Image

from studio import damage, outdoors, things
from studio.lens import Backdrop, Film, View, photograph
from studio.light import Daylight, shade
from studio.surface import Surface
from studio.whole import whole_roof

LADDER_REAR = View((1660, 8150, 1480), (1180, 3900), 62, roll=0.8)
"""From the ladder at the rear, looking forward."""
TREE_SIDE = View((3350, 6650, 1250), (1500, 3850), 50, roll=-1.5)
"""From beside the right rear corner, above the rail."""


def along_the_roof(
    season: outdoors.Season, light: Daylight, seed: int, *, dirt: float = 1.0, leaves: int = 0,
    view: View = LADDER_REAR, film: Film | None = None,
) -> Image.Image:  # fmt: skip
    """The whole roof from one end; with `leaves` lying on it."""
    s = whole_roof(2.6, 900, dirt=dirt)
    if leaves:
        strew(s, leaves, seed)
    return _shoot(s, view, light, film or Film(), outdoors.place(season, 3), seed)


def strew(s: Surface, count: int, seed: int) -> None:
    """Fallen leaves, more of them in the lee of what stands up."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        x, y = float(rng.uniform(90, 2310)), float(rng.beta(1.6, 1.2) * 7200 + 100)
        shade_of = rng.uniform(0.7, 1.4)
        red, green, blue = (float(c * shade_of) for c in things.AUTUMN)
        things.leaf(
            s,
            (x, y),
            float(rng.uniform(38, 62)),
            float(rng.uniform(0, 360)),
            int(rng.integers(1 << 30)),
            colour=(red, green, blue),
        )


def half_washed(light: Daylight, seed: int) -> Image.Image:
    """Washing day: the front half is done and wet, the rear still grey."""
    s = whole_roof(2.6, 900, dirt=3.2)
    clean = whole_roof(2.6, 900, dirt=0.25)
    edge = 5350 + 160 * s.noise(500, seed + 1) + 40 * s.noise(90, seed + 2)
    done = np.clip((edge - s.y) / 60, 0, 1)
    s.rgb += done[..., None] * (clean.rgb * 0.93 - s.rgb)
    wet = done * np.clip(0.55 + 0.5 * s.noise(260, seed + 3), 0, 1)
    s.gloss += wet * (0.42 - s.gloss)
    foam = np.clip(s.noise(60, seed + 4) + 0.5 * s.noise(14, seed + 5) + 0.1, 0, 1)
    foam *= np.exp(-(((s.y - edge - 60) / 170) ** 2))
    s.paint(np.clip(foam * 1.3, 0, 0.9), (0.86, 0.87, 0.88), 0.1)
    s.raise_by(6 * foam * (1 + 0.4 * s.noise(8, seed + 6)))
    return _shoot(s, LADDER_REAR, light, Film(), outdoors.place(outdoors.SPRING, 3), seed)


def under_ice(seed: int) -> Image.Image:
    """Old snow and glaze ice, seen from the top of the ladder."""
    s = whole_roof(2.6, 900, dirt=1.4)
    things.snow(s, 0.35, 4)
    light = Daylight(
        azimuth=140, elevation=24, sun=(0.75, 0.72, 0.68), sky=(0.50, 0.55, 0.63), haze=0.55
    )
    view = View((1500, 7900, 900), (1150, 4200), 62, roll=1.6)
    return _shoot(s, view, light, Film(exposure=0.74), outdoors.place(outdoors.SNOW, 3), seed)


def from_the_pole(seed: int, *, near: bool) -> Image.Image:
    """A small camera on a painter's pole: steep, tilted, a little soft."""
    s = whole_roof(2.4 if near else 2.6, 900, dirt=1.8)
    if not near:
        patches = np.clip((s.noise(420, seed) + 0.4 * s.noise(110, seed + 1) - 1.15) * 3, 0, 1)
        s.raise_by(22 * patches)
        s.paint(patches, (0.86, 0.88, 0.92), 0.1)
    light = Daylight(azimuth=62, elevation=34, sun=(0.9, 0.86, 0.8), haze=0.35)
    view = (
        View((3050, 4900, 1350), (1650, 3900), 74, roll=5)
        if near
        else View((3000, 7000, 1900), (1050, 3900), 74, roll=-6)
    )
    film = Film(exposure=0.92, warmth=-0.03, vignette=0.45, grain=0.016, contrast=1.06)
    return _shoot(s, view, light, film, outdoors.place(outdoors.WINTER, 3), seed)


def from_the_drone(seed: int) -> Image.Image:
    """From above, the patch beside the galley vent in view."""
    s = whole_roof(2.6, 900, dirt=1.3)
    damage.patch(s, (1950, 4090), (138, 252), 88, 80, age=0.4)
    view = View((1750, 4350, 7500), (1200, 3720), 62, roll=78)
    light = Daylight(azimuth=60, elevation=27, sun=(1.0, 0.92, 0.8))
    film = Film(exposure=0.84, vignette=0.12, grain=0.005)
    return _shoot(s, view, light, film, outdoors.place(outdoors.WINTER, 5, soft=1.5), seed)


def limb_down(seed: int, *, size: tuple[int, int]) -> Image.Image:
    """The limb across the right side of the roof, as a neighbour saw it."""
    s = whole_roof(2.6, 900, broken_lid=True)
    damage.tear(s, 51, at=(1960, 4080))
    things.limb(
        s,
        [(2950, 3150), (2560, 3420), (2250, 3700), (1990, 3930), (1800, 4230), (1700, 4600)],
        3100,
        thick=62,
        tip=20,
    )
    for k, side in enumerate(
        (
            [(2330, 3620), (2140, 3330), (2050, 3060)],
            [(2000, 3910), (1760, 3620), (1680, 3300)],
            [(1860, 4130), (1960, 4420), (2080, 4750)],
        )
    ):
        things.limb(s, side, 3110 + k, thick=22, tip=9)
    rng = np.random.default_rng(seed)
    for x, y in rng.normal((1930, 3900), (210, 480), (85, 2)):
        things.leaf(
            s,
            (float(np.clip(x, 1620, 2330)), float(y)),
            float(rng.uniform(50, 84)),
            float(rng.uniform(0, 360)),
            int(rng.integers(1 << 30)),
        )
    light = Daylight(
        azimuth=165, elevation=28, sun=(0.52, 0.5, 0.48), sky=(0.46, 0.5, 0.56), haze=0.7
    )
    film = Film(exposure=0.95, grain=0.012, size=size)
    return _shoot(s, TREE_SIDE, light, film, outdoors.place(outdoors.STORM, 3), seed)


def in_the_bay(seed: int) -> Image.Image:
    """The roof at the dealer's, from the platform."""
    s = whole_roof(2.6, 900, dirt=0.5)
    light = Daylight(
        azimuth=100, elevation=70, sun=(0.55, 0.56, 0.55), sky=(0.55, 0.57, 0.58), haze=0.8
    )
    return _shoot(s, LADDER_REAR, light, Film(warmth=0.02, grain=0.011), outdoors.workshop(3), seed)


def _shoot(
    s: Surface, view: View, light: Daylight, film: Film, behind: Backdrop, seed: int
) -> Image.Image:
    return photograph(s, shade(s, light, view.eye), view, film, seed, behind)

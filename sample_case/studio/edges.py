"""The edges of the roof: the gutter rails and the top of the ladder."""

import numpy as np

from studio import roof
from studio.fittings import ALUMINIUM
from studio.shapes import Point, disc, line
from studio.surface import Surface, tint


def rail(s: Surface, at: float, inward: int, length: tuple[float, float], seed: int) -> None:
    """A side rail along y at x=`at`, its vinyl insert and the bead against the membrane."""
    u = (s.x - at) * inward
    along = (s.y > length[0]) & (s.y < length[1])
    metal = s.soft(u - 42, 1) * along
    s.level(metal, 15 + 0 * u)
    s.paint(metal, tint(*ALUMINIUM) * (1 + 0.03 * s.noise(90, seed))[..., None], 0.38)
    insert = np.exp(-(((u - 20) / 8) ** 4)) * along
    s.raise_by(5 * insert)
    s.paint(insert, tint(0.66, 0.655, 0.62), 0.25)
    middle = np.abs(u - 52 - 2 * s.noise(200, seed + 1)).astype(np.float32)
    roof.seal(
        s,
        np.where(along, middle, 1e4).astype(np.float32),
        s.y * 1.0,
        seed + 2,
        roof.Sealant(width=26, thick=5, age=0.5),
    )


def lengthwise_rail(s: Surface) -> None:
    """A rail that runs from left to right in the picture."""
    v = 120 - s.y
    metal = s.soft(v - 46, 0.5) * (v > -6)
    s.level(metal, 15)
    brushed = 1 + 0.03 * s.noise(1.1, 2710, stretch=25) + 0.03 * s.noise(80, 2711)
    s.paint(metal, tint(*ALUMINIUM) * brushed[..., None], 0.42)
    insert = np.exp(-(((v - 18) / 9) ** 4)).astype(np.float32)
    s.raise_by(6 * insert)
    s.paint(insert, tint(0.68, 0.675, 0.65) * (1 + 0.012 * s.noise(30, 2712))[..., None], 0.3)
    roof.bead(s, [(-340, 66), (340, 62)], 2720, roof.Sealant(width=24, thick=5.5, age=0.5))
    below = s.soft(v + 6, 0.8)
    s.level(below, -60)
    s.paint(below, (0.10, 0.105, 0.10), 0.1)


def ladder(s: Surface, centre: Point, size: Point) -> None:
    """The top of a tubular ladder that comes over the rear edge."""
    for side in (-0.42, 0.42):
        x = centre[0] + side * size[0]
        far, _ = line(s, [(x, centre[1] - size[1] * 0.5), (x, centre[1] + size[1] * 3)])
        tube = s.soft(far - 13, 2)
        s.level(tube, 8 + 22 * np.sqrt(np.clip(1 - (far / 13.5) ** 2, 0, 1)))
        s.paint(tube, (0.55, 0.56, 0.57), 0.65)
        end = (x, centre[1] - size[1] * 0.5)
        ring = disc(s, end, 34)
        roof.seal(
            s,
            np.abs(ring).astype(np.float32),
            s.x * 1.0,
            int(x) + 9000,
            roof.Sealant(width=24, thick=2.6, age=0.6),
        )
        foot = s.soft(ring.astype(np.float32), 1) * (1 - tube)
        s.level(foot, 5)
        s.paint(foot, (0.45, 0.46, 0.47), 0.5)

"""What a rubber roof is made of: membrane, sealant beads, screws, metal strip, dirt, cracks."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from studio.shapes import Point, cells, disc, line, turned, wander
from studio.surface import Colour, Grid, Surface, tint

WHITE: Colour = (0.60, 0.61, 0.595)
BEAD: Colour = (0.66, 0.655, 0.62)
DIRT: Colour = (0.34, 0.31, 0.26)
ZINC: Colour = (0.62, 0.62, 0.60)
RUST: Colour = (0.25, 0.10, 0.04)


def membrane(s: Surface, seed: int, *, dirt: float = 1.0, colour: Colour = WHITE) -> None:
    """Sheet rubber over plywood: fine grain, chalky blots, faint runs of dirt, specks."""
    s.rgb[:] = colour
    tone = (
        0.020 * s.noise(0.5, seed)
        + 0.016 * s.noise(2.5, seed + 1)
        + 0.020 * s.noise(28, seed + 2)
        + 0.022 * s.noise(160, seed + 3)
    )
    s.rgb *= (1 + tone)[..., None]
    runs = np.clip(s.noise(9, seed + 4, stretch=5) + 0.4 * s.noise(60, seed + 5), 0, 3)
    s.stain(np.clip(0.035 * dirt * runs, 0, 1), DIRT)
    blots = np.clip(s.noise(45, seed + 6) + 0.6 * s.noise(12, seed + 7) - 0.6, 0, 2)
    s.stain(np.clip(0.085 * dirt * blots, 0, 1), DIRT)
    flow = s.noise(55, seed + 12, stretch=7) + 0.8 * s.noise(700, seed + 13)
    s.stain(np.clip(0.045 * dirt * np.clip(flow, 0, 3), 0, 1), DIRT)
    _specks(s, seed + 8, dirt)
    s.raise_by(
        0.022 * s.noise(0.7, seed + 9)
        + 0.035 * s.noise(4, seed + 10)
        + 0.5 * s.noise(170, seed + 11)
    )
    s.gloss[:] = 0.05


def _specks(s: Surface, seed: int, dirt: float) -> None:
    first, _ = cells(s, 5.5, seed)
    size = 0.16 + 0.26 * np.clip(s.noise(9, seed + 1) - 0.4, 0, 3)
    strength = np.clip(0.7 + 0.3 * s.noise(3, seed + 2), 0, 1) * min(1.0, 0.75 * dirt)
    s.stain(s.soft(first - size, 0.35) * strength, (0.16, 0.13, 0.10))
    first, _ = cells(s, 38, seed + 3)
    size = 0.5 + 0.5 * np.clip(s.noise(30, seed + 4), -0.6, 2)
    s.stain(
        s.soft(first - size + 0.25 * s.noise(1.2, seed + 5), 0.6) * 0.55 * dirt, (0.22, 0.19, 0.13)
    )


@dataclass(frozen=True, slots=True)
class Sealant:
    """How sealant was laid.

    Attributes:
        width: across the bead, mm.
        thick: at its middle, mm.
        colour: its albedo.
        age: 0 is this morning's, 1 is some years old.
        screws: mm between the heads that it covers; 0 for none.
    """

    width: float = 42
    thick: float = 3.4
    colour: Colour = BEAD
    age: float = 0.5
    screws: float = 0.0


def bead(s: Surface, points: Sequence[Point], seed: int, kind: Sealant) -> Grid:
    """A run of self-levelling sealant along `points`; returns its mask."""
    far, along = line(s, points)
    return seal(s, far, along, seed, kind)


def seal(s: Surface, far: Grid, along: Grid, seed: int, kind: Sealant) -> Grid:
    """Sealant laid where `far` (mm from its middle line) is small; returns its mask."""
    width, age = kind.width, kind.age
    edge = width / 2 + 0.045 * width * s.noise(width * 1.1, seed) + 0.35 * s.noise(9, seed + 1)
    inner = np.clip(1 - far / edge, 0, 1)
    dome = (1 - (1 - inner) ** 2.6) ** 0.75
    mask = s.soft(far - edge, 0.5)
    s.level(mask, s.blur(s.height, width * 0.09))  # sealant bridges the steps below it
    body = kind.thick * dome * (1 + 0.08 * s.noise(30, seed + 2)) + 0.10 * dome * s.noise(
        9, seed + 3
    )
    body += 0.025 * (0.3 + age) * s.noise(1.1, seed + 9) * mask
    if kind.screws:
        to_screw = np.abs((along + kind.screws / 2) % kind.screws - kind.screws / 2)
        body += 1.9 * np.exp(-(((to_screw**2 + far**2) / 8.5**2) ** 1.4))
    s.raise_by(body)
    tone = 1 + 0.022 * s.noise(18, seed + 4) + 0.012 * (0.4 + age) * s.noise(1.5, seed + 5)
    s.paint(mask, (tint(*kind.colour) * tone[..., None]), 0.30 - 0.22 * age)
    rim = np.exp(-(((far - edge - 0.6) / 1.6) ** 2)) * np.clip(
        0.75 + 0.5 * s.noise(14, seed + 6), 0, 1.5
    )
    s.stain(np.clip(0.62 * age * rim, 0, 0.9), DIRT)
    s.stain(np.clip(0.12 * age * mask * np.clip(s.noise(22, seed + 7), 0, 2), 0, 1), DIRT)
    pits, _ = cells(s, 17, seed + 8)
    pit = s.soft(pits - 0.55, 0.5) * mask * (s.noise(25, seed + 10) > 0.3)
    s.raise_by(-0.35 * pit)
    s.stain(0.45 * age * pit, DIRT)
    return mask


def screw(
    s: Surface, centre: Point, *, radius: float = 4.3, turn: float = 20, rust: float = 0
) -> None:
    """A pan-head screw with a cross recess, bright or rusted."""
    s = s.window(centre, radius * 3)
    far = disc(s, centre, 0)
    inside = np.clip(1 - far / radius, 0, 1)
    mask = s.soft(far - radius, 0.3)
    u, v = turned(s, centre, turn)
    cross = np.minimum(
        np.maximum(np.abs(u) - 2.3, np.abs(v) - 0.55), np.maximum(np.abs(v) - 2.3, np.abs(u) - 0.55)
    )
    recess = s.soft(cross, 0.35)
    s.raise_by(1.9 * np.sqrt(inside * (2 - inside)) - 1.3 * recess * mask)
    sheen = 0.78 + 0.22 * np.sin(np.arctan2(v, u) * 2 + 0.6)
    s.paint(mask, tint(*ZINC) * sheen[..., None], 0.55)
    s.stain(0.8 * recess * mask, (0.25, 0.22, 0.2))
    ring = np.exp(-(((far - radius - 0.5) / 0.9) ** 2))
    s.stain(0.55 * ring, DIRT)
    if rust:
        blotch = mask * np.clip(0.5 + 0.6 * s.noise(2.2, 77), 0, 1) * rust
        s.paint(blotch, RUST, 0.05)


def metal_strip(s: Surface, points: Sequence[Point], seed: int, *, width: float = 28) -> Grid:
    """A flat bar of mill aluminium, brushed along its length."""
    far, _ = line(s, points)
    mask = s.soft(far - width / 2, 0.4)
    s.level(mask, 2.6 + 0.015 * s.noise(1.2, seed, stretch=20))
    tone = 1 + 0.05 * s.noise(1.0, seed + 1, stretch=30) + 0.05 * s.noise(60, seed + 2)
    s.paint(mask, tint(0.52, 0.53, 0.535) * tone[..., None], 0.42)
    s.stain(mask * np.clip(0.25 * s.noise(25, seed + 3), 0, 0.35), DIRT)
    return mask


def crazing(s: Surface, where: Grid, seed: int, *, size: float = 6.0, depth: float = 0.16) -> None:
    """Fine lines without depth over the masked place, as on chalky sealant."""
    first, second = cells(s, size, seed)
    gap = second - first + 0.30 * np.abs(s.noise(2.5, seed + 1))
    patchy = np.clip(0.45 + 0.7 * s.noise(size * 5, seed + 2), 0, 1) * where
    lines = s.soft(gap - 0.30, 0.28) * patchy
    s.raise_by(-depth * lines)
    s.stain(0.72 * lines, (0.30, 0.26, 0.21))
    chalk = where * np.clip(0.25 + 0.35 * s.noise(5, seed + 3), 0, 1)
    s.paint(0.35 * chalk, (0.74, 0.74, 0.71))


def crack(
    s: Surface, start: Point, end: Point, seed: int, *, width: float = 0.9, sway: float = 4
) -> Grid:
    """A crack through: dark, with lips that stand up a little and dirt along it."""
    far, along = line(s, wander(start, end, sway, seed))
    total = float(np.hypot(end[0] - start[0], end[1] - start[1]))
    taper = np.clip(np.sin(np.pi * np.clip(along / total, 0.02, 0.98)), 0, 1) ** 0.6
    half = np.float32(width / 2) * taper * (1 + 0.35 * s.noise(3, seed + 1))
    open_place = s.soft(far - half, 0.22)
    s.raise_by(0.35 * taper * np.exp(-(((far - half) / 1.3) ** 2)))
    s.raise_by(-2.6 * open_place)
    s.paint(open_place, (0.03, 0.027, 0.022), 0.0)
    s.stain(0.5 * taper * np.exp(-((far / 2.4) ** 2)) * (1 - open_place), DIRT)
    return open_place


def scratch(s: Surface, points: Sequence[Point], seed: int, *, width: float = 2.0) -> None:
    """A scrape of the top layer: bared paler rubber, a bruised dark edge, broken here and there."""
    far, along = line(s, points)
    kept = np.clip(0.75 + 0.6 * s.noise(16, seed), 0, 1) * np.clip(along / 12, 0, 1)
    for offset, share in ((0.0, 1.0), (3.4, 0.45)):
        edge = np.abs(far - offset)
        groove = s.soft(edge - width / 2 * share - 0.15 * s.noise(2, seed + 1), 0.5) * kept * share
        s.raise_by(0.25 * np.exp(-(((edge - width * share) / 0.8) ** 2)) * kept - 0.4 * groove)
        s.paint(0.6 * groove, (0.72, 0.71, 0.69))
        rubbed = groove * np.clip(0.35 + 0.5 * s.noise(4, seed + 2), 0, 1)
        s.stain(0.8 * rubbed, (0.30, 0.27, 0.22))

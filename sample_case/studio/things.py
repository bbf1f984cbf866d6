"""What lies on a roof for a while: twigs, leaves, drops, tarp, tape, sandbags, snow."""

from collections.abc import Sequence

import numpy as np

from studio.shapes import FAR, Point, box, cells, line, turned
from studio.surface import Colour, Grid, Surface, tint

BARK: Colour = (0.155, 0.130, 0.105)
HEARTWOOD: Colour = (0.56, 0.43, 0.26)
GREEN: Colour = (0.085, 0.17, 0.035)
AUTUMN: Colour = (0.34, 0.19, 0.045)


def limb(
    s: Surface, points: Sequence[Point], seed: int, *, thick: float = 16, tip: float = 5
) -> Grid:
    """A broken limb: bark furrowed along it, the first end torn to pale wood."""
    far, along = line(s, points)
    total = max(float(along[far < FAR].max(initial=1.0)), 1.0)
    radius = thick + (tip - thick) * along / total + 0.5 * s.noise(14, seed)
    inside = np.clip(1 - (far / radius) ** 2, 0, 1)
    mask = s.soft(far - radius, 0.5)
    furrows = s.noise(2.2, seed + 1, stretch=3) + 0.7 * s.noise(6, seed + 2, stretch=3)
    body = (
        s.blur(s.height, 1.5 * thick)
        + radius * (0.55 + np.sqrt(inside))
        + 0.5 * furrows * np.sqrt(inside)
    )
    s.height[:] = np.where(mask > 0.4, np.maximum(s.height, body), s.height)
    tone = np.clip(1 + 0.28 * furrows + 0.18 * s.noise(20, seed + 3), 0.25, 2.2)
    s.paint(mask, tint(*BARK) * tone[..., None], 0.03)
    lichen = mask * np.clip(s.noise(9, seed + 4) - 1.0, 0, 1)
    s.paint(0.6 * lichen, (0.34, 0.38, 0.28))
    torn = mask * s.soft(along - 16 - 5 * s.noise(3, seed + 5), 3)
    fibres = 1 + 0.2 * s.noise(1.0, seed + 6, stretch=5)
    s.paint(torn, tint(*HEARTWOOD) * fibres[..., None], 0.02)
    return mask


def leaf(
    s: Surface, centre: Point, size: float, turn: float, seed: int, *, colour: Colour = GREEN
) -> None:
    """A maple leaf of five pointed lobes, a little curled."""
    s = s.window(centre, size * 1.3)
    u, v = turned(s, centre, turn)
    angle, far = np.arctan2(v, u), np.hypot(u, v)
    turns = angle * 5 / (2 * np.pi)
    lobes = 1 - 2 * np.abs(turns - np.round(turns))
    lobes += 0.10 * np.abs(np.sin(9.5 * angle)) + 0.03 * np.sin(23 * angle)
    long = 1 - 0.32 * np.clip((np.abs(angle) - 1.4) / 1.7, 0, 1)
    edge = size * (0.40 + 0.60 * lobes**1.3) * long + 0.05 * size * s.noise(size * 0.06, seed)
    edge = np.where(np.abs(angle) > 2.85, size * 0.14, edge)
    mask = s.soft(far - edge, 0.5)
    vein = np.abs(np.sin(2.5 * angle)) * far
    curl = 0.05 * size + 0.10 * size * (far / size) ** 2 * (1 + 0.5 * s.noise(size, seed + 1))
    s.height[:] = np.where(mask > 0.3, np.maximum(s.height, curl), s.height)
    tone = 1 + 0.16 * s.noise(size * 0.5, seed + 2) + 0.10 * s.noise(1.2, seed + 3)
    s.paint(mask, np.asarray(colour, np.float32) * tone[..., None], 0.16)
    s.paint(0.45 * mask * s.soft(vein - 0.35, 0.6), tint(*colour) * 1.7)
    stalk, _ = line(s, [centre, _polar(centre, size * 1.15, turn + 180)])
    s.paint(s.soft(stalk - 0.8, 0.5), (0.26, 0.16, 0.07), 0.1)


def _polar(centre: Point, far: float, turn: float) -> Point:
    return (
        centre[0] + far * float(np.cos(np.radians(turn))),
        centre[1] + far * float(np.sin(np.radians(turn))),
    )


def crumbs(s: Surface, centre: Point, spread: float, count: int, seed: int) -> None:
    """Bits of bark thrown about a point."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        x, y = rng.normal(centre, spread)
        size, turn = rng.uniform(0.6, 2.2) ** 1.6, rng.uniform(0, 180)
        part = s.window((float(x), float(y)), size * 4 + 4)
        ragged = 0.35 * size * part.noise(size, int(rng.integers(1 << 30)))
        mask = part.soft(
            box(part, (x, y), (2.6 * size, size), turn=turn, corner=size / 2) + ragged, 0.4
        )
        part.level(mask, size * 0.6)
        part.paint(mask, tint(*BARK) * np.float32(rng.uniform(0.6, 1.9)), 0.02)


def drops(s: Surface, seed: int, *, size: float = 2.6) -> None:
    """Rain standing in drops, the rubber between them damp."""
    first, _ = cells(s, size * 4.2, seed)
    radius = size * np.clip(0.55 + 0.45 * s.noise(size * 4, seed + 1), 0, 1.6)
    mask = s.soft(first - radius, 0.4)
    dome = np.sqrt(np.clip(1 - (first / np.maximum(radius, 0.1)) ** 2, 0, 1))
    s.raise_by(0.55 * radius * dome * mask)
    s.rgb *= 0.86
    s.stain(0.12 * mask, (0.4, 0.42, 0.45))
    np.maximum(s.gloss, 0.18 + 0.7 * mask, out=s.gloss)


def tarp(s: Surface, centre: Point, size: Point, turn: float, seed: int) -> Grid:
    """A woven blue sheet with creases, wrinkles that run to its corners, and an edge hem."""
    far = box(s, centre, size, turn=turn, corner=6) + 4 * s.noise(120, seed)
    mask = s.soft(far, 0.8)
    u, v = turned(s, centre, turn)
    ridge = np.exp(-((s.noise(150, seed + 1, stretch=2.2) / 0.35) ** 2))
    fold = np.exp(-(((np.abs(u) - size[0] * 0.22) / 5) ** 2)) + np.exp(-((v / 5) ** 2))
    weave = np.sin(u * 2 * np.pi / 2.6) * np.sin(v * 2 * np.pi / 2.6)
    under = s.blur(s.height, 12)
    lumps = 3 + 4.5 * ridge + 2.0 * s.noise(220, seed + 2) + 0.35 * s.noise(26, seed + 4) + 2 * fold
    s.level(mask, under + np.maximum(lumps, 0.8) + 0.10 * weave)
    tone = 1 + 0.10 * weave + 0.06 * s.noise(50, seed + 3)
    s.paint(mask, tint(0.030, 0.125, 0.36) * tone[..., None], 0.34)
    hem = np.exp(-(((far + 12) / 1.2) ** 2))
    s.raise_by(0.8 * hem * mask)
    return mask


def tape(
    s: Surface,
    points: Sequence[Point],
    seed: int,
    *,
    width: float = 50,
    colour: Colour = (0.66, 0.67, 0.66),
) -> None:
    """A strip of tape pressed down over whatever lies there, with small wrinkles."""
    far, along = line(s, points)
    mask = s.soft(far - width / 2 + 0.2 * s.noise(3, seed), 0.5)
    under = s.blur(s.height, 4)
    wrinkle = np.clip(s.noise(7, seed + 1, stretch=2.4) - 0.9, 0, 2)
    s.level(mask, under + 0.5 + 0.45 * wrinkle)
    tone = 1 + 0.02 * s.noise(2, seed + 2) + 0.03 * np.sin(along * 1.9)
    s.paint(mask, tint(*colour) * tone[..., None], 0.30)


def snow(s: Surface, amount: float, seed: int) -> None:
    """Old snow in drifts, with glaze ice in its place where it has gone."""
    drift = s.noise(900, seed) + 0.5 * s.noise(300, seed + 1) + 0.25 * s.noise(90, seed + 2)
    deep = np.clip((drift + amount) / 0.6, 0, 1)
    s.raise_by(deep * (38 + 14 * drift) + deep * 1.2 * s.noise(25, seed + 3))
    s.paint(deep, tint(0.86, 0.88, 0.92) * (1 + 0.03 * s.noise(40, seed + 4))[..., None], 0.08)
    ice = (1 - deep) * np.clip(0.6 + 0.5 * s.noise(160, seed + 5), 0, 1)
    s.stain(0.25 * ice, (0.55, 0.62, 0.70))
    s.gloss += ice * (0.75 - s.gloss)
    s.raise_by(1.5 * ice * np.clip(s.noise(70, seed + 6), 0, 2))


def sandbag(s: Surface, centre: Point, turn: float, seed: int) -> None:
    """A filled bag of coarse cloth, lying flat."""
    s = s.window(centre, 260)
    far = box(s, centre, (330, 190), turn=turn, corner=60) + 6 * s.noise(60, seed)
    mask = s.soft(far, 1.5)
    inward = np.clip(-far / 70, 0, 1)
    weave = s.noise(2.2, seed + 1)
    s.level(mask, 12 + 66 * (1 - (1 - inward) ** 2.2) + 4 * s.noise(70, seed + 2) + 0.5 * weave)
    tone = 1 + 0.10 * weave + 0.08 * s.noise(40, seed + 3)
    s.paint(mask, tint(0.40, 0.33, 0.22) * tone[..., None], 0.03)

"""What happens to a roof and what is done about it: tear, cut, patch, pencil outline."""

from collections.abc import Sequence

import numpy as np

from studio import roof
from studio.shapes import Point, box, polygon, turned, wander
from studio.surface import Grid, Surface, tint


def tear(s: Surface, seed: int, *, scale: float = 1.0, at: Point = (0, 0)) -> None:
    """A three-cornered tear, about 190 x 28 mm: deck wood, black core of the rubber, a flap."""
    s = s.window(at, 130 * scale)

    def place(points: Sequence[Point]) -> list[Point]:
        return [(at[0] + x * scale, at[1] + y * scale) for x, y in points]

    upper = place(
        [*wander((-96, 22), (4, -12), 2.4, seed), *wander((6, -13), (94, -27), 1.9, seed + 1)[1:]]
    )
    lower = place(
        [
            *wander((94, -27), (18, 15), 2.0, seed + 2),
            *wander((17, 15), (-96, 22), 1.6, seed + 3)[1:],
        ]
    )
    hole = polygon(s, [*upper, *lower[1:-1]])
    inside = s.soft(hole, 0.25)
    _deck(s, inside, seed + 4)
    rim = np.exp(-(((hole + 0.45) / 0.5) ** 2)) * inside
    s.paint(rim, (0.012, 0.012, 0.013), 0.12)
    s.level(rim, -0.5)
    lip = np.exp(-((np.maximum(hole, 0) / 5.5) ** 2)) * (1 - inside)
    s.raise_by(1.5 * lip * np.clip(0.8 + 0.4 * s.noise(22, seed + 5), 0, 2))
    bright = np.exp(-(((hole - 0.35) / 0.4) ** 2)) * (1 - inside)
    s.paint(0.7 * bright, (0.80, 0.80, 0.78))
    tongue = [
        *wander((20, 14), (49, 41), 1.8, seed + 7),
        *wander((56, 42), (101, 10), 2.2, seed + 8),
    ]
    _flap(s, place([(94, -27), *tongue]), seed + 6)


def _deck(s: Surface, mask: Grid, seed: int) -> None:
    """Bare plywood: grain along x, a few dark pores, splinters."""
    grain = s.noise(1.3, seed, stretch=18) + 0.8 * s.noise(7, seed + 1, stretch=9)
    s.level(mask, -3.0 + 0.16 * grain)
    tone = np.clip(1 + 0.13 * grain + 0.07 * s.noise(25, seed + 2), 0.4, 1.6)
    s.paint(mask, tint(0.47, 0.33, 0.185) * tone[..., None], 0.02)
    pores = np.clip(s.noise(0.9, seed + 3, stretch=9) - 1.5, 0, 1) * mask
    s.stain(0.8 * pores, (0.35, 0.24, 0.14))


def _flap(s: Surface, points: Sequence[Point], seed: int) -> None:
    """The torn tongue, folded back: its black underside, curling up from the fold."""
    (ax, ay), (bx, by) = points[0], points[1]
    far = polygon(s, points) + 0.7 * s.noise(5, seed + 4)
    mask = s.soft(far, 0.35)
    long = float(np.hypot(bx - ax, by - ay))
    away = np.abs((s.x - ax) * (by - ay) - (s.y - ay) * (bx - ax)) / long
    rise = 1.3 + 4.4 * (1 - np.exp(-away / 13)) - 0.05 * away + 0.35 * s.noise(16, seed)
    s.level(mask, rise + 0.12 * s.noise(1.5, seed + 5))
    tone = 1 + 0.16 * s.noise(3, seed + 1) + 0.25 * s.noise(20, seed + 2)
    s.paint(mask, tint(0.026, 0.026, 0.028) * tone[..., None], 0.22)
    fibres = mask * np.clip(
        s.noise(1.1, seed + 3, stretch=4) + 0.5 * s.noise(9, seed + 6) - 2.0, 0, 1
    )
    s.paint(0.6 * fibres, (0.38, 0.28, 0.17), 0.02)
    cut = np.exp(-(((far + 0.4) / 0.35) ** 2)) * (away > 3)
    s.paint(0.8 * cut, (0.48, 0.48, 0.47))


def window_cut(s: Surface, centre: Point, size: Point, seed: int) -> None:
    """A clean four-sided cut through the rubber down to the deck."""
    far = box(s, centre, size, turn=-1.5, corner=3)
    inside = s.soft(far, 0.25)
    _deck(s, inside, seed)
    rim = np.exp(-(((far + 0.5) / 0.5) ** 2)) * inside
    s.paint(rim, (0.014, 0.014, 0.015), 0.1)
    s.level(rim, -0.6)
    for x, y in ((-70, 4), (74, -12)):
        roof.screw(s, (centre[0] + x, centre[1] + y), radius=3.6)
    damp = inside * np.clip(0.25 + 0.5 * s.noise(60, seed + 9), 0, 0.55)
    s.stain(damp, (0.62, 0.55, 0.46))


def patch(s: Surface, centre: Point, size: Point, turn: float, seed: int, *, age: float) -> None:
    """A patch of new rubber, rolled down, its edge sealed with a thin bead."""
    s = s.window(centre, max(size) * 0.75)
    far = box(s, centre, size, turn=turn, corner=16)
    mask = s.soft(far, 0.5)
    under = s.blur(s.height, 10)
    s.level(mask, under + 1.5 + 0.03 * s.noise(1.0, seed) + 0.10 * s.noise(26, seed + 1))
    tone = 1 + 0.015 * s.noise(0.8, seed + 2) + 0.02 * s.noise(50, seed + 3)
    s.paint(mask, tint(0.655, 0.66, 0.65) * tone[..., None] * (1 - 0.05 * age), 0.10)
    edge = np.abs(far) - 8.5 - 0.8 * s.noise(26, seed + 4) - 0.25 * s.noise(7, seed + 8)
    inner = np.clip(-edge / 8.5, 0, 1)
    s.raise_by(2.3 * (1 - (1 - inner) ** 2) ** 0.7)
    sealed = s.soft(edge, 0.5)
    tone = 1 + 0.02 * s.noise(12, seed + 5)
    s.paint(sealed, tint(*roof.BEAD) * tone[..., None], 0.40 - 0.26 * age)
    rim = np.exp(-(((edge - 0.5) / 1.3) ** 2)) * np.clip(0.6 + 0.5 * s.noise(14, seed + 6), 0, 1.4)
    s.stain(np.clip(0.55 * age * rim, 0, 0.8), roof.DIRT)


def pencil_ring(s: Surface, centre: Point, size: Point, turn: float, seed: int) -> None:
    """A hand-drawn oval in soft pencil."""
    u, v = turned(s, centre, turn)
    oval = (np.hypot(u / size[0] * 2, v / size[1] * 2) - 1) * min(size) / 2
    far = np.abs(oval + 1.6 * s.noise(45, seed) + 0.25 * s.noise(5, seed + 1))
    grit = np.clip(0.75 + 0.4 * s.noise(0.6, seed + 2), 0.2, 1)
    s.stain(0.72 * s.soft(far - 0.55, 0.6) * grit, (0.22, 0.22, 0.24))

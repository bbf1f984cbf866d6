"""Signed distances in millimetres to simple shapes: below 0 inside, above 0 outside."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from studio.surface import Grid, Mask, Surface

Point = tuple[float, float]


def disc(s: Surface, centre: Point, radius: float) -> Grid:
    """A filled circle."""
    return np.asarray(np.hypot(s.x - centre[0], s.y - centre[1]) - radius, np.float32)


def box(s: Surface, centre: Point, size: Point, *, turn: float = 0.0, corner: float = 0.0) -> Grid:
    """A rectangle with rounded corners, turned by `turn` degrees."""
    u, v = turned(s, centre, turn)
    a = np.abs(u) - (size[0] / 2 - corner)
    b = np.abs(v) - (size[1] / 2 - corner)
    outside = np.hypot(np.maximum(a, 0), np.maximum(b, 0))
    return (outside + np.minimum(np.maximum(a, b), 0) - corner).astype(np.float32)


def turned(s: Surface, centre: Point, turn: float) -> tuple[Grid, Grid]:
    """Coordinates along and across an axis through `centre`, turned by `turn` degrees."""
    c, n = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    dx, dy = s.x - centre[0], s.y - centre[1]
    return (dx * c + dy * n).astype(np.float32), (dy * c - dx * n).astype(np.float32)


FAR = 1e4
"""Stands for the distance of places too far away to be worked out."""


def line(s: Surface, points: Sequence[Point], reach: float = 60) -> tuple[Grid, Grid]:
    """Distance to a line through `points`, and how far along it (mm) the nearest place lies.

    Places more than `reach` mm away from the line's box are `FAR`.
    """
    best = np.full(s.shape, FAR, np.float32)
    along = np.zeros(s.shape, np.float32)
    near = _near(s, points, reach)
    best[near], along[near] = _nearest(s.x[near], s.y[near], points)
    return best, along


def _near(s: Surface, points: Sequence[Point], reach: float) -> tuple[slice, slice]:
    xs, ys = zip(*points, strict=True)
    rows, columns = s.shape
    left, right = (np.array([min(xs) - reach, max(xs) + reach]) - s.left) / s.step
    upper, lower = (np.array([min(ys) - reach, max(ys) + reach]) - s.top) / s.step
    return (
        slice(int(np.clip(upper, 0, rows)), int(np.clip(lower + 1, 0, rows))),
        slice(int(np.clip(left, 0, columns)), int(np.clip(right + 1, 0, columns))),
    )


def _nearest(x: Grid, y: Grid, points: Sequence[Point]) -> tuple[Grid, Grid]:
    best = np.full(x.shape, FAR, np.float32)
    along = np.zeros(x.shape, np.float32)
    walked = 0.0
    for (ax, ay), (bx, by) in pairwise(points):
        length = max(float(np.hypot(bx - ax, by - ay)), 1e-6)
        ux, uy = (bx - ax) / length, (by - ay) / length
        t = np.clip((x - ax) * ux + (y - ay) * uy, 0, length)
        far = np.hypot(x - ax - t * ux, y - ay - t * uy)
        nearer = far < best
        best = np.where(nearer, far, best)
        along = np.where(nearer, walked + t, along)
        walked += length
    return best, along


def polygon(s: Surface, points: Sequence[Point]) -> Grid:
    """A filled polygon."""
    edges = [*points, points[0]]
    far, _ = line(s, edges)
    near = _near(s, edges, 1)
    x, y = s.x[near], s.y[near]
    inside = np.zeros(x.shape, bool)
    for (ax, ay), (bx, by) in pairwise(edges):
        if ay == by:
            continue
        crosses = (y < ay) != (y < by)
        inside ^= crosses & (x < ax + (y - ay) * (bx - ax) / (by - ay))
    far[near] = np.where(inside, -far[near], far[near])
    return far


def wander(start: Point, end: Point, sway: float, seed: int, *, pieces: int = 14) -> list[Point]:
    """A line from `start` to `end` that sways by about `sway` mm, as a hand or a crack does."""
    rng = np.random.default_rng(seed)
    t = np.linspace(0, 1, pieces + 1)
    walk = np.cumsum(rng.standard_normal(pieces + 1))
    walk -= walk[0] + (walk[-1] - walk[0]) * t
    walk *= sway / (np.abs(walk).max() + 1e-9)
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = float(np.hypot(dx, dy))
    return [
        (float(start[0] + dx * a - dy / length * b), float(start[1] + dy * a + dx / length * b))
        for a, b in zip(t, walk, strict=True)
    ]


def cells(s: Surface, size: float, seed: int) -> tuple[Grid, Grid]:
    """Distances to the nearest and the second-nearest of scattered points, one per `size` mm."""
    rng = np.random.default_rng(seed)
    rows, columns = int(s.depth / size) + 4, int(s.width / size) + 4
    jitter = rng.random((rows, columns, 2)).astype(np.float32)
    column = ((s.x - s.left) / size).astype(int) + 1
    row = ((s.y - s.top) / size).astype(int) + 1
    first = np.full(s.shape, 1e6, np.float32)
    second = first.copy()
    for down in (-1, 0, 1):
        for right in (-1, 0, 1):
            r, c = row + down, column + right
            px = (c - 1 + jitter[r, c, 0]) * size + s.left
            py = (r - 1 + jitter[r, c, 1]) * size + s.top
            far = np.hypot(s.x - px, s.y - py)
            second = np.minimum(second, np.maximum(first, far))
            first = np.minimum(first, far)
    return first, second


def crossing(u: Grid, pitch: float, width: float) -> Mask:
    """True on lines `width` mm wide that recur every `pitch` mm."""
    return np.asarray(np.abs((u + pitch / 2) % pitch - pitch / 2) < width / 2)

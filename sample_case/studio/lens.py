"""From a lit surface to a picture: perspective by walking each ray, depth of field, film."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from PIL import Image

from studio.surface import Grid, Mask, Surface, blur, tint

WIDTH, HEIGHT = 1280, 960
Vector = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class View:
    """A camera at `eye` (mm: right, down the surface, above it) that looks at `at` on the plane.

    `field` is the horizontal angle in degrees, `roll` the tilt of the horizon in degrees.
    """

    eye: Vector
    at: tuple[float, float]
    field: float = 52.0
    roll: float = 0.0

    def rays(self, width: int, height: int) -> Grid:
        """Unit directions, one per pixel: right, down the surface, up."""
        forward = np.array([self.at[0] - self.eye[0], self.at[1] - self.eye[1], -self.eye[2]])
        forward = forward / np.linalg.norm(forward)
        # The surface's y runs down: seen from above, (right, down, up) is a left-handed frame.
        right = np.array([-forward[1], forward[0], 0.0])
        if np.hypot(right[0], right[1]) < 1e-6:
            right = np.array([1.0, 0.0, 0.0])
        right = right / np.linalg.norm(right)
        up = np.cross(forward, right)
        if up[2] < 0 or (abs(up[2]) < 1e-6 and up[1] > 0):
            up = -up
        c, n = np.cos(np.radians(self.roll)), np.sin(np.radians(self.roll))
        right, up = right * c + up * n, up * c - right * n
        half = np.tan(np.radians(self.field / 2))
        u = ((np.arange(width) + 0.5) / width * 2 - 1) * half
        v = (1 - (np.arange(height) + 0.5) / height * 2) * half * height / width
        rays = forward + u[None, :, None] * right + v[:, None, None] * up
        return np.asarray(rays / np.linalg.norm(rays, axis=2, keepdims=True), np.float32)


@dataclass(frozen=True, slots=True)
class Film:
    """What the camera makes of the light.

    `focus` is the distance in mm that is sharp, `blur` how fast sharpness is lost around it.
    """

    exposure: float = 0.88
    warmth: float = 0.0
    vignette: float = 0.22
    grain: float = 0.007
    contrast: float = 1.0
    focus: float | None = None
    blur: float = 0.0
    size: tuple[int, int] = (WIDTH, HEIGHT)


Backdrop = Callable[[Grid, View], Grid]


def photograph(
    s: Surface,
    lit: Grid,
    view: View,
    film: Film,
    seed: int,
    backdrop: Backdrop | None = None,
) -> Image.Image:
    """The picture that `film` makes of the lit surface, seen from `view`."""
    width, height = film.size[0] * 3 // 2, film.size[1] * 3 // 2
    rays = view.rays(width, height)
    far, hit = _walk(s, view.eye, rays)
    seen = _sampled(s, lit, view.eye, rays, far)
    if backdrop is not None:
        seen = np.where(hit[..., None], seen, backdrop(rays, view))
    if film.focus is not None and film.blur > 0:
        seen = _defocused(seen, np.where(hit, far, 9e3), film)
    return _developed(seen, film, seed)


def _walk(s: Surface, eye: Vector, rays: Grid) -> tuple[Grid, Mask]:
    """How far along each ray the surface lies, and whether it lies inside the patch."""
    high, low = float(s.height.max()) + 0.01, float(s.height.min())
    sinking = np.where(rays[..., 2] < -1e-4, -rays[..., 2], np.float32(1e-4))
    start, end = (eye[2] - high) / sinking, (eye[2] - low) / sinking
    steps = int(np.clip((high - low) / s.step / 2.0, 10, 110))
    far = end.copy()
    open_rays = np.flatnonzero(rays[..., 2] < -1e-3)
    flat = rays.reshape(-1, 3)[open_rays]
    t0, t1 = start.ravel()[open_rays], end.ravel()[open_rays]
    found = t1.copy()
    walking = np.arange(open_rays.size)
    for k in range(1, steps + 1):
        t = t0[walking] + (t1 - t0)[walking] * np.float32(k / steps)
        z = eye[2] + flat[walking, 2] * t
        under = z <= _height_at(s, eye, flat[walking], t)
        found[walking[under]] = t[under]
        walking = walking[~under]
    far.ravel()[open_rays] = _refined(s, eye, flat, found, (t1 - t0) / steps)
    x, y = eye[0] + rays[..., 0] * far, eye[1] + rays[..., 1] * far
    inside = (x > s.left) & (x < s.left + s.width) & (y > s.top) & (y < s.top + s.depth)
    return far, inside & (rays[..., 2] < -1e-3)


def _refined(s: Surface, eye: Vector, rays: Grid, found: Grid, stride: Grid) -> Grid:
    low, high = found - stride, found
    for _ in range(5):
        middle = (low + high) / 2
        under = eye[2] + rays[:, 2] * middle <= _height_at(s, eye, rays, middle)
        high = np.where(under, middle, high)
        low = np.where(under, low, middle)
    return high


def _height_at(s: Surface, eye: Vector, rays: Grid, t: Grid) -> Grid:
    column = ((eye[0] + rays[:, 0] * t - s.left) / s.step).astype(np.int32)
    row = ((eye[1] + rays[:, 1] * t - s.top) / s.step).astype(np.int32)
    rows, columns = s.shape
    outside = (column < 0) | (column >= columns) | (row < 0) | (row >= rows)
    height = s.height[np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)]
    return np.where(outside, np.float32(-1e9), height)


def _sampled(s: Surface, lit: Grid, eye: Vector, rays: Grid, far: Grid) -> Grid:
    """The light at each hit, between texels; coarser copies where a pixel covers many."""
    footprint = far * np.float32(0.9 / rays.shape[1]) / np.clip(-rays[..., 2], 0.08, 1) ** 0.5
    level = np.clip(np.log2(np.maximum(footprint / s.step, 1)), 0, 5)
    column = (eye[0] + rays[..., 0] * far - s.left) / s.step
    row = (eye[1] + rays[..., 1] * far - s.top) / s.step
    out = np.zeros((*far.shape, 3), np.float32)
    copy = lit
    for k in range(6):
        share = np.clip(1 - np.abs(level - k), 0, 1)
        chosen = np.flatnonzero(share > 0)
        if chosen.size:
            scale = 2**k
            value = _between(copy, row.ravel()[chosen] / scale, column.ravel()[chosen] / scale)
            out.reshape(-1, 3)[chosen] += share.ravel()[chosen, None] * value
        if min(copy.shape[:2]) < 4:
            break
        copy = _halved(copy)
    return out


def _halved(grid: Grid) -> Grid:
    rows, columns = grid.shape[0] // 2 * 2, grid.shape[1] // 2 * 2
    g = grid[:rows, :columns]
    return (g[::2, ::2] + g[1::2, ::2] + g[::2, 1::2] + g[1::2, 1::2]) / 4


def _between(grid: Grid, row: Grid, column: Grid) -> Grid:
    row = np.clip(row - 0.5, 0, grid.shape[0] - 1.001)
    column = np.clip(column - 0.5, 0, grid.shape[1] - 1.001)
    r, c = row.astype(np.int32), column.astype(np.int32)
    v, u = (row - r)[:, None], (column - c)[:, None]
    upper = grid[r, c] * (1 - u) + grid[r, c + 1] * u
    lower = grid[r + 1, c] * (1 - u) + grid[r + 1, c + 1] * u
    return np.asarray(upper * (1 - v) + lower * v, np.float32)


def _defocused(seen: Grid, far: Grid, film: Film) -> Grid:
    """Blend with blurred copies by the distance from the sharp plane."""
    focus = film.focus or 1.0
    amount = film.blur * np.abs(far - focus) / np.maximum(far, 1) * 12
    amount = blur(np.clip(amount, 0, 9), 3)
    out, before = seen, 0.0
    for radius in (1.5, 3.5, 8.0):
        share = np.clip((amount - before) / (radius - before), 0, 1)[..., None]
        out = out * (1 - share) + blur(seen, radius) * share
        before = radius
    return out


def _developed(light: Grid, film: Film, seed: int) -> Image.Image:
    """Expose, fall off to the corners, roll off the highlights, add grain, make it smaller."""
    rows, columns = light.shape[:2]
    v = np.linspace(-1, 1, rows, dtype=np.float32)[:, None]
    u = np.linspace(-1, 1, columns, dtype=np.float32)[None, :]
    light = light * (film.exposure * (1 - film.vignette * (u * u + v * v) / 2))[..., None]
    light = light * tint(1 + film.warmth, 1.0, 1 - film.warmth)
    light = light + 0.012 * blur(light, 18)
    a, b, c, d, e = 2.51, 0.03, 2.43, 0.59, 0.14  # a widely used filmic curve
    bright = np.clip(light * 0.72, 0, None)
    curve = np.clip(bright * (a * bright + b) / (bright * (c * bright + d) + e), 0, 1)
    curve = np.clip((curve - 0.18) * film.contrast + 0.18, 0, 1)
    tone = np.where(curve <= 0.0031308, curve * 12.92, 1.055 * curve ** (1 / 2.4) - 0.055)
    large = Image.fromarray((tone * 255 + 0.5).astype(np.uint8))
    small = np.asarray(large.resize(film.size, Image.Resampling.LANCZOS), np.float32) / 255
    rng = np.random.default_rng(seed)
    luma = rng.standard_normal((*small.shape[:2], 1), np.float32)
    chroma = blur(rng.standard_normal(small.shape, np.float32), 0.8)
    small = small + film.grain * (0.8 * luma + 0.5 * chroma) * (1.25 - small)
    return Image.fromarray((np.clip(small, 0, 1) * 255 + 0.5).astype(np.uint8))

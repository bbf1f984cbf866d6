"""A patch of roof as arrays: its height, its colour and how glossy it is, on a grid in millimetres.

Everything that the pictures show is laid onto such a patch with masks between 0 and 1; light and
lens come afterwards. x runs to the right, y down the picture, the height towards the viewer.
"""

from copy import copy
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

Grid = NDArray[np.floating[Any]]
Mask = NDArray[np.bool_]
Colour = tuple[float, float, float]


@dataclass(slots=True)
class Surface:
    """A patch of `width` x `depth` mm whose upper left corner lies at (`left`, `top`).

    Attributes:
        step: millimetres from one texel to the next.
        height: height above the plane, in mm.
        rgb: albedo, linear light, 0..1.
        gloss: 0 (dull) .. 1 (mirror).
    """

    left: float
    top: float
    width: float
    depth: float
    step: float
    x: Grid = field(init=False, repr=False)
    y: Grid = field(init=False, repr=False)
    height: Grid = field(init=False, repr=False)
    rgb: Grid = field(init=False, repr=False)
    gloss: Grid = field(init=False, repr=False)

    def __post_init__(self) -> None:
        columns, rows = round(self.width / self.step), round(self.depth / self.step)
        along = (self.left + (np.arange(columns) + 0.5) * self.step).astype(np.float32)
        down = (self.top + (np.arange(rows) + 0.5) * self.step).astype(np.float32)
        self.x = np.broadcast_to(along, (rows, columns))
        self.y = np.broadcast_to(down[:, None], (rows, columns))
        self.height = np.zeros((rows, columns), np.float32)
        self.rgb = np.zeros((rows, columns, 3), np.float32)
        self.gloss = np.zeros((rows, columns), np.float32)

    def window(self, centre: tuple[float, float], reach: float) -> "Surface":
        """The part within `reach` mm of `centre`: what is laid there is laid here too."""
        rows, columns = self.shape
        first = max(0, int((centre[0] - reach - self.left) / self.step))
        last = min(columns, max(first + 2, int((centre[0] + reach - self.left) / self.step) + 1))
        upper = max(0, int((centre[1] - reach - self.top) / self.step))
        lower = min(rows, max(upper + 2, int((centre[1] + reach - self.top) / self.step) + 1))
        first, upper = min(first, columns - 2), min(upper, rows - 2)
        part = copy(self)
        part.left, part.top = self.left + first * self.step, self.top + upper * self.step
        part.width, part.depth = (last - first) * self.step, (lower - upper) * self.step
        for name in ("x", "y", "height", "rgb", "gloss"):
            setattr(part, name, getattr(self, name)[upper:lower, first:last])
        return part

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return self.height.shape[0], self.height.shape[1]

    def noise(self, scale: float, seed: int, *, stretch: float = 1.0) -> Grid:
        """Smooth noise of unit spread whose blots are about `scale` mm (x times `stretch`)."""
        return smooth_noise(self.shape, scale / self.step, seed, stretch=stretch)

    def blur(self, grid: Grid, radius: float) -> Grid:
        """`grid` blurred by `radius` mm."""
        return blur(grid, radius / self.step)

    def soft(self, distance: Grid, edge: float | None = None) -> Grid:
        """A mask from a signed distance in mm: 1 inside, 0 outside, `edge` mm wide between."""
        width = self.step if edge is None else max(edge, self.step)
        return np.asarray(np.clip(0.5 - distance / width, 0, 1), np.float32)

    def paint(self, mask: Grid, colour: Colour | Grid, gloss: float | None = None) -> None:
        """Lay a colour (and a gloss) over the masked place."""
        self.rgb += mask[..., None] * (np.asarray(colour, np.float32) - self.rgb)
        if gloss is not None:
            self.gloss += mask * (gloss - self.gloss)

    def stain(self, mask: Grid, colour: Colour) -> None:
        """Let a thin film of `colour` darken what lies under it."""
        self.rgb *= 1 - mask[..., None] * (1 - np.asarray(colour, np.float32))

    def level(self, mask: Grid, height: Grid | float) -> None:
        """Bring the masked place to `height` mm."""
        self.height += mask * (height - self.height)

    def raise_by(self, amount: Grid) -> None:
        """Add `amount` mm to the height."""
        self.height += amount.astype(np.float32)


def tint(red: float, green: float, blue: float) -> Grid:
    """A colour as an array, to be multiplied by tones."""
    return np.array((red, green, blue), np.float32)


def smooth_noise(shape: tuple[int, int], scale: float, seed: int, *, stretch: float = 1.0) -> Grid:
    """Gaussian noise of unit spread with blots of `scale` texels, the same for the same seed."""
    rng = np.random.default_rng(seed)
    if scale < 1:
        return rng.standard_normal(shape, np.float32)
    # Blots far larger than a texel are made on a coarser grid and enlarged: as good, and quick.
    coarse = max(1, int(scale // 6))
    rows, columns = (-(-side // coarse) + 2 for side in shape)
    white = rng.standard_normal((rows, columns), np.float32)
    sigma = scale / coarse / 2.5
    fy = np.fft.fftfreq(rows)[:, None]
    fx = np.fft.rfftfreq(columns)[None, :]
    keep = np.exp(-2 * (np.pi * sigma) ** 2 * (fy**2 + (fx * stretch) ** 2))
    made = np.fft.irfft2(np.fft.rfft2(white) * keep, s=(rows, columns)).astype(np.float32)
    made = (made - made.mean()) / (made.std() + 1e-9)
    return enlarge(made, coarse, shape)


def enlarge(grid: Grid, factor: int, shape: tuple[int, int]) -> Grid:
    """A grid enlarged by a whole factor between its texels, cut to `shape`."""
    if factor == 1:
        return grid[: shape[0], : shape[1]]
    down = np.arange(shape[0]) / factor
    along = np.arange(shape[1]) / factor
    row, column = down.astype(int), along.astype(int)
    v = (down - row).astype(np.float32)[:, None]
    u = (along - column).astype(np.float32)[None, :]
    v, u = v * v * (3 - 2 * v), u * u * (3 - 2 * u)
    upper = grid[row][:, column] * (1 - u) + grid[row][:, column + 1] * u
    lower = grid[row + 1][:, column] * (1 - u) + grid[row + 1][:, column + 1] * u
    return np.asarray(upper * (1 - v) + lower * v, np.float32)


def blur(grid: Grid, radius: float) -> Grid:
    """A Gaussian-like blur of `radius` texels: three running means, edges held."""
    width = max(1, round(radius * 1.9) | 1)
    if width == 1:
        return grid
    for _ in range(3):
        for axis in (0, 1):
            grid = _running_mean(grid, width, axis)
    return grid


def _running_mean(grid: Grid, width: int, axis: int) -> Grid:
    half = width // 2
    pads = [(0, 0)] * grid.ndim
    pads[axis] = (half + 1, half)
    total = np.cumsum(np.pad(grid, pads, mode="edge"), axis=axis, dtype=np.float64)
    size = grid.shape[axis]
    ends = [slice(None)] * grid.ndim
    starts = [slice(None)] * grid.ndim
    ends[axis], starts[axis] = slice(width, width + size), slice(0, size)
    return ((total[tuple(ends)] - total[tuple(starts)]) / width).astype(np.float32)

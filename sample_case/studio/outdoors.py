"""What lies behind and below the roof: sky, a line of trees, grass or snow, or a workshop."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from studio.lens import View
from studio.surface import Colour, Grid, blur, smooth_noise, tint

GROUND = -2950.0
"""Height of the ground below the roof, in mm."""


@dataclass(frozen=True, slots=True)
class Season:
    """The colours of a place at a time of year."""

    sky: Colour = (0.62, 0.74, 0.92)
    haze: Colour = (0.86, 0.90, 0.94)
    leaves: Colour = (0.060, 0.115, 0.030)
    bark: Colour = (0.10, 0.09, 0.075)
    grass: Colour = (0.120, 0.190, 0.055)
    gravel: Colour = (0.40, 0.37, 0.32)
    thin: float = 0.0


SUMMER = Season()
SPRING = Season(leaves=(0.10, 0.14, 0.05), grass=(0.13, 0.20, 0.06), thin=0.25)
AUTUMN = Season(leaves=(0.20, 0.105, 0.030), grass=(0.16, 0.17, 0.07), thin=0.3)
STORM = Season(
    sky=(0.42, 0.47, 0.53),
    haze=(0.66, 0.69, 0.70),
    leaves=(0.045, 0.085, 0.030),
    grass=(0.085, 0.14, 0.05),
)
WINTER = Season(
    sky=(0.66, 0.75, 0.88),
    haze=(0.88, 0.90, 0.93),
    leaves=(0.13, 0.115, 0.10),
    grass=(0.30, 0.26, 0.16),
    thin=0.6,
)
SNOW = Season(
    sky=(0.74, 0.78, 0.84), haze=(0.86, 0.88, 0.90), leaves=(0.15, 0.14, 0.13),
    grass=(0.82, 0.85, 0.90),
    gravel=(0.78, 0.80, 0.84), thin=0.6,
)  # fmt: skip


def place(season: Season, seed: int, *, soft: float = 1.8) -> Callable[[Grid, View], Grid]:
    """A backdrop of this season, `soft` pixels out of focus."""
    near = smooth_noise((512, 512), 3, seed)
    wide = smooth_noise((512, 512), 30, seed + 1)

    def look(rays: Grid, view: View) -> Grid:
        bearing = np.arctan2(rays[..., 0], -rays[..., 1])
        climb = np.arcsin(np.clip(rays[..., 2], -1, 1))
        out = _sky(climb, season)
        _trees(out, bearing, climb, season, near, wide)
        _ground(out, rays, view, season, near, wide)
        _walls(out, rays, view, wide)
        return blur(out, soft)

    return look


def _sky(climb: Grid, season: Season) -> Grid:
    up = np.clip(climb / 0.55, 0, 1)[..., None] ** 0.6
    return np.asarray((tint(*season.haze) * (1 - up) + tint(*season.sky) * up) * 1.15)


def _trees(out: Grid, bearing: Grid, climb: Grid, season: Season, near: Grid, wide: Grid) -> None:
    """Two lines of trees: far and hazy, nearer and darker."""
    for far, height, shift in ((1.0, 0.045, 40), (0.0, 0.095, 300)):
        crowns = _at(wide, climb * 200 + shift, bearing * 330 + shift)
        leaf = _at(near, climb * 480 + shift, bearing * 480) + 0.7 * _at(
            wide, climb * 900, bearing * 900
        )
        tops = height * (1 + 0.38 * crowns) + 0.007 * leaf
        gaps = season.thin * np.clip(0.8 * leaf + 2.2 * climb / height - 0.7, 0, 1)
        mask = (np.clip((tops - climb) / 0.005, 0, 1) * (1 - gaps))[..., None]
        colour = tint(*season.leaves) * np.clip(1 + 0.30 * leaf + 0.2 * crowns, 0.2, 2.4)[..., None]
        colour = colour * (1 - 0.5 * far) + tint(*season.haze) * 0.30 * far
        out += mask * (colour - out)


def _ground(out: Grid, rays: Grid, view: View, season: Season, near: Grid, wide: Grid) -> None:
    sinking = np.minimum(rays[..., 2], -1e-3)
    far = (GROUND - view.eye[2]) / sinking
    x, y = view.eye[0] + rays[..., 0] * far, view.eye[1] + rays[..., 1] * far
    fade = np.clip(1 - far / 14000, 0, 1)
    tuft = 1.5 * _at(near, y / 24, x / 24) * fade + 0.5 * _at(wide, y / 60, x / 60)
    patchy = _at(wide, y / 320, x / 320)
    pad = np.clip(1.7 - np.abs(x - 1200) / 1700 + 0.15 * tuft + 0.2 * patchy, 0, 1)
    pad *= np.clip((y + 1800) / 900 + 0.2 * tuft, 0, 1)
    base = tint(*season.grass) * (1 - pad[..., None]) + tint(*season.gravel) * pad[..., None]
    colour = base * np.clip(1 + 0.22 * tuft + 0.06 * patchy, 0.3, 2)[..., None]
    hazy = np.clip(far / 260000, 0, 0.35)[..., None]
    colour = colour * (1 - hazy) + tint(*season.haze) * 0.7 * hazy
    beside = np.hypot(
        np.clip(np.abs(x - 1200) - 1200, 0, None), np.clip(np.abs(y - 3700) - 3700, 0, None)
    )
    colour *= (0.45 + 0.55 * np.clip(beside / 900, 0, 1))[..., None]
    mask = (rays[..., 2] < -2e-3)[..., None]
    out[:] = np.where(mask, colour, out)


def _walls(out: Grid, rays: Grid, view: View, wide: Grid) -> None:
    """The trailer's right side and rear below the roof: pale skin, a stripe, a window."""
    for axis, at in ((0, 2398.0), (1, 7398.0)):
        moving = np.where(rays[..., axis] < -1e-4, rays[..., axis], np.float32(-1e-4))
        far = (at - view.eye[axis]) / moving
        along = view.eye[1 - axis] + rays[..., 1 - axis] * far
        z = view.eye[2] + rays[..., 2] * far
        length = 7400 if axis == 0 else 2400
        hit = (
            (far > 0)
            & (along > 0)
            & (along < length)
            & (z < 4)
            & (z > -2450)
            & (rays[..., axis] < -1e-4)
        )
        tone = 1 + 0.03 * _at(wide, z / 40, along / 40) + 0.10 * np.clip(z / 300, -1, 0)
        colour = tint(0.40, 0.41, 0.41) * tone[..., None]
        stripe = np.abs(z + 1500 - 0.05 * along) < 120
        colour = np.where(stripe[..., None], tint(0.10, 0.17, 0.16), colour)
        glass = (np.abs(z + 850) < 270) & (np.abs(along - length * 0.34) < 420)
        colour = np.where(glass[..., None], tint(0.035, 0.045, 0.055), colour)
        out[:] = np.where(hit[..., None], colour, out)


def _at(noise: Grid, row: Grid, column: Grid) -> Grid:
    """Noise between its texels, repeated without end by mirroring."""
    size = noise.shape[0] - 1
    row, column = (size - np.abs(np.abs(v) % (2 * size) - size) for v in (row, column))
    r, c = np.minimum(row.astype(int), size - 1), np.minimum(column.astype(int), size - 1)
    v, u = (row - r).astype(np.float32), (column - c).astype(np.float32)
    upper = noise[r, c] * (1 - u) + noise[r, c + 1] * u
    lower = noise[r + 1, c] * (1 - u) + noise[r + 1, c + 1] * u
    return np.asarray(upper * (1 - v) + lower * v)


def workshop(seed: int) -> Callable[[Grid, View], Grid]:
    """A heated bay: ribbed steel wall, strip lights, a concrete floor."""
    wide = smooth_noise((512, 512), 40, seed)

    def look(rays: Grid, view: View) -> Grid:
        bearing = np.arctan2(rays[..., 0], -rays[..., 1])
        climb = np.arcsin(np.clip(rays[..., 2], -1, 1))
        ribs = 1 + 0.10 * np.sign(np.sin(bearing * 210)) * np.clip(
            np.abs(np.sin(bearing * 210)) * 4, 0, 1
        )
        wall = (
            tint(0.40, 0.42, 0.42) * (ribs * (0.75 + 0.5 * np.clip(climb / 0.4, -1, 1)))[..., None]
        )
        sinking = np.minimum(rays[..., 2], -1e-3)
        far = (GROUND - view.eye[2]) / sinking
        x, y = view.eye[0] + rays[..., 0] * far, view.eye[1] + rays[..., 1] * far
        mottled = wide[(y / 30 % 511).astype(int), (x / 30 % 511).astype(int)]
        floor = tint(0.26, 0.255, 0.24) * (1 + 0.10 * mottled)[..., None]
        out = np.where((climb < -0.13)[..., None], floor, wall)
        door = (np.abs(bearing - 0.42) < 0.17) & (climb < 0.10) & (climb > -0.13)
        out = np.where(door[..., None], tint(0.52, 0.54, 0.53), out)
        for row in (0.045, 0.075):
            lamp = (np.abs(climb - row) < 0.004) & (np.abs((bearing + 0.2) % 0.5 - 0.25) < 0.16)
            out = np.where(lamp[..., None], tint(2.6, 2.6, 2.4), out)
        return blur(out.astype(np.float32), 2)

    return look

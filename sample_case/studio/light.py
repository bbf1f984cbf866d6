"""Daylight on a surface: sun with shadows, sky with its dimming in corners, gloss."""

from dataclasses import dataclass

import numpy as np

from studio.surface import Colour, Grid, Surface, blur, tint


@dataclass(frozen=True, slots=True)
class Daylight:
    """Where the light comes from.

    `azimuth` is in degrees, 0 from the right edge of the surface, 90 from its upper edge;
    `elevation` in degrees above the plane; `haze` 0 (hard shadows) .. 1 (overcast).
    """

    azimuth: float
    elevation: float
    sun: Colour = (1.0, 0.95, 0.86)
    sky: Colour = (0.42, 0.47, 0.55)
    haze: float = 0.1

    @property
    def towards(self) -> tuple[float, float, float]:
        """The unit vector towards the sun: right, down the picture, up from the plane."""
        azimuth, elevation = np.radians(self.azimuth), np.radians(self.elevation)
        flat = np.cos(elevation)
        return (
            float(flat * np.cos(azimuth)),
            float(-flat * np.sin(azimuth)),
            float(np.sin(elevation)),
        )


def shade(s: Surface, light: Daylight, eye: tuple[float, float, float]) -> Grid:
    """The light that leaves each texel towards `eye` (mm), linear, three channels."""
    nx, ny, nz = _normals(s)
    lx, ly, lz = light.towards
    facing = np.clip(nx * lx + ny * ly + nz * lz, 0, None)
    sun = facing * (1 - _shadow(s, light) * (1 - 0.55 * light.haze)) * (1 - 0.6 * light.haze)
    sky = (0.62 + 0.38 * nz) * _openness(s) * (1 + 0.9 * light.haze)
    lit = sun[..., None] * tint(*light.sun) + sky[..., None] * tint(*light.sky)
    out = s.rgb * lit
    vx, vy, vz = eye[0] - s.x, eye[1] - s.y, eye[2] - s.height
    far = np.sqrt(vx * vx + vy * vy + vz * vz)
    vx, vy, vz = vx / far, vy / far, vz / far
    hx, hy, hz = lx + vx, ly + vy, lz + vz
    half = np.sqrt(hx * hx + hy * hy + hz * hz)
    aligned = np.clip((nx * hx + ny * hy + nz * hz) / half, 0, 1)
    power = 6 + 300 * s.gloss**2
    spot = aligned**power * (0.06 + 2.2 * s.gloss) * s.gloss * np.clip(sun, 0, 1)
    out += spot[..., None] * tint(*light.sun)
    grazing = (1 - np.clip(nx * vx + ny * vy + nz * vz, 0, 1)) ** 4
    mirrored = (0.05 + 0.75 * grazing) * s.gloss * (0.55 + 0.45 * ny)
    out += mirrored[..., None] * tint(*light.sky) * 1.6
    return np.asarray(out, np.float32)


def _normals(s: Surface) -> tuple[Grid, Grid, Grid]:
    dy, dx = np.gradient(s.height, s.step)
    long = 1 / np.sqrt(dx * dx + dy * dy + 1)
    return -dx * long, -dy * long, long


def _shadow(s: Surface, light: Daylight) -> Grid:
    """How far each texel lies in shadow, 0..1, the soft edge growing with the distance."""
    lx, ly, lz = light.towards
    flat = float(np.hypot(lx, ly))
    rise = lz / flat
    reach = min(float(s.height.max() - s.height.min()) / rise, max(s.width, s.depth))
    dark = np.zeros(s.shape, np.float32)
    count = int(min(90, max(6, reach / s.step)))
    for far in np.geomspace(1.5 * s.step, max(reach, 2 * s.step), count):
        moved = _moved(s.height, lx / flat * far / s.step, ly / flat * far / s.step)
        above = moved - s.height - far * rise
        softness = 0.15 * s.step + far * (0.015 + 0.35 * light.haze)
        np.maximum(dark, np.clip(above / softness, 0, 1), out=dark)
    return blur(dark, 0.6)


def _moved(grid: Grid, right: float, down: float) -> Grid:
    """The grid as seen from (right, down) texels away, edges held."""
    rows = np.clip(np.arange(grid.shape[0]) + round(down), 0, grid.shape[0] - 1)
    columns = np.clip(np.arange(grid.shape[1]) + round(right), 0, grid.shape[1] - 1)
    return grid[rows][:, columns]


def _openness(s: Surface) -> Grid:
    """How much sky a texel sees: corners and hollows see less."""
    seen = np.ones(s.shape, np.float32)
    for texels in (2, 5, 12, 30):
        hollow = blur(s.height, texels) - s.height
        seen -= 0.5 * np.clip(hollow / (texels * s.step), 0, 0.35)
    return np.clip(seen, 0.12, 1)

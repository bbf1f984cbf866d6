"""What is mounted on the roof: lids, skylight, air conditioner, solar panel, vents."""

import numpy as np

from studio import roof
from studio.shapes import Point, box, crossing, disc, line, polygon, turned, wander
from studio.surface import Colour, Grid, Surface, tint

PLASTIC: Colour = (0.63, 0.62, 0.585)
ALUMINIUM: Colour = (0.50, 0.51, 0.515)


def flange(
    s: Surface, centre: Point, size: Point, seed: int, *, age: float, width: float = 44
) -> None:
    """The sealant round a fitting's flange, over its screws."""
    far = box(s, centre, size, corner=18)
    u, v = turned(s, centre, 0)
    around = np.where(np.abs(u) / size[0] > np.abs(v) / size[1], v, u)
    roof.seal(
        s,
        np.abs(far),
        around.astype(np.float32),
        seed,
        roof.Sealant(width=width, age=age, screws=95),
    )


def lid(
    s: Surface, centre: Point, size: Point, seed: int, *, age: float = 0.5, broken: bool = False
) -> None:
    """A ceiling vent with its lid down; broken, a corner is gone and cracks run from it."""
    s = s.window(centre, max(size) * 0.95)
    flange(s, centre, size, seed, age=age)
    cover = (size[0] * 0.86, size[1] * 0.86)
    far = box(s, centre, cover, corner=34)
    mask = s.soft(far, 4)
    inward = np.clip(-far, 0, None)
    rib = np.exp(-(((inward - 46) / 5) ** 2)) + 0.8 * np.exp(-(((inward - 92) / 5) ** 2))
    body = 46 + 9 * (1 - np.exp(-inward / 7)) + 5 * np.clip(inward / 120, 0, 1) + 2.6 * rib
    s.level(mask, body + 0.05 * s.noise(1.2, seed + 1))
    tone = 1 + 0.018 * s.noise(40, seed + 2) + 0.012 * s.noise(1.5, seed + 3)
    yellowed = tint(*PLASTIC) * tint(1.0, 0.985, 0.93)
    s.paint(mask, yellowed * tone[..., None], 0.32)
    s.stain(mask * np.clip(0.05 * s.noise(25, seed + 4), 0, 1), roof.DIRT)
    for side in (-0.24, 0.24):
        hinge = box(
            s, (centre[0] + side * size[0], centre[1] - cover[1] / 2 - 6), (46, 22), corner=5
        )
        s.level(s.soft(hinge, 0.6), 34.0)
        s.paint(s.soft(hinge, 0.6), (0.36, 0.36, 0.35), 0.3)
    if broken:
        _break(s, centre, cover, seed + 7)


def _break(s: Surface, centre: Point, cover: Point, seed: int) -> None:
    """A corner of the lid knocked in: screen and dark below it, cracks, bright chipped edges."""
    w, d = cover[0] / 2, cover[1] / 2
    shape = [
        (0.30, 0.99),
        (0.34, 0.55),
        (0.06, 0.36),
        (0.28, 0.02),
        (0.62, -0.10),
        (0.99, 0.06),
        (1.05, 1.05),
    ]
    corners = [(centre[0] + a * w, centre[1] + b * d) for a, b in shape]
    ragged: list[Point] = []
    for k, (start, end) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True)):
        ragged += wander(start, end, 3.0, seed + k, pieces=9)[:-1]
    far = polygon(s, ragged)
    lid_area = box(s, centre, cover, corner=34)
    gone = s.soft(np.maximum(far, lid_area), 0.6)
    mesh = (np.abs(np.sin(s.x * np.pi / 2.4)) < 0.30) | (np.abs(np.sin(s.y * np.pi / 2.4)) < 0.30)
    s.level(gone, 14 + 0.4 * mesh.astype(np.float32))
    s.paint(gone, np.where(mesh[..., None], tint(0.12, 0.12, 0.115), np.float32(0.018)), 0.05)
    chipped = np.exp(-(((far - 1.0) / 0.9) ** 2)) * (lid_area < 0)
    s.paint(0.85 * chipped, (0.86, 0.86, 0.83), 0.1)
    for k, (a, b) in enumerate(((-0.85, 0.75), (-0.55, -0.80), (0.45, -0.95))):
        start = corners[(2, 2, 4)[k]]
        end = (centre[0] + a * w, centre[1] + b * d)
        course, _ = line(s, wander(start, end, 9, seed + 20 + k))
        split = s.soft(course - 0.55, 0.4) * (lid_area < -2)
        s.raise_by(-2.5 * split)
        s.stain(0.9 * split, (0.2, 0.19, 0.17))
        s.paint(0.5 * np.exp(-(((course - 1.4) / 0.8) ** 2)) * (lid_area < -2), (0.80, 0.80, 0.77))


def skylight(
    s: Surface, centre: Point, size: Point, seed: int, *, age: float = 0.5, width: float = 44
) -> None:
    """A moulded acrylic dome on its flange."""
    s = s.window(centre, max(size) * 0.75)
    flange(s, centre, size, seed, age=age, width=width)
    inner = (size[0] * 0.84, size[1] * 0.84)
    far = box(s, centre, inner, corner=70)
    mask = s.soft(far, 3)
    dome(s, far, min(inner) / 2)
    tone = 1 + 0.03 * s.noise(90, seed + 1)
    s.rgb *= 1 + (tone[..., None] - 1) * mask[..., None]
    s.stain(mask * np.clip(0.06 * s.noise(8, seed + 2), 0, 1), roof.DIRT)


def dome(s: Surface, far: Grid, half: float) -> None:
    """Smoky acrylic that rises from a white frame; `far` is the distance from its edge."""
    frame = s.soft(far, 3)
    s.level(frame, 11)
    s.paint(frame, tint(0.62, 0.62, 0.61), 0.3)
    glass = s.soft(far + 16, 1)
    inward = np.clip((-far - 16) / half, 0, 1)
    s.level(glass, 7 + 95 * (1 - (1 - inward) ** 2.6))
    s.paint(glass, tint(0.34, 0.36, 0.37), 0.62)


def air_conditioner(s: Surface, centre: Point, size: Point, seed: int) -> None:
    """A moulded shroud that slopes down to louvres at its rear."""
    s = s.window(centre, max(size) * 0.8)
    far = box(s, centre, size, corner=110)
    mask = s.soft(far, 2)
    inward = np.clip(-far, 0, None)
    _, v = turned(s, centre, 0)
    back = np.clip((v - size[1] * 0.18) / (size[1] * 0.32), 0, 1)
    front = np.clip((-v - size[1] * 0.28) / (size[1] * 0.22), 0, 1)
    body = (1 - np.exp(-inward / 22)) * (300 - 165 * back - 120 * front**1.5)
    s.level(mask, 20 + body)
    tone = 1 + 0.02 * s.noise(60, seed)
    s.paint(mask, tint(*PLASTIC) * tint(0.98, 1.0, 1.02) * tone[..., None], 0.30)
    u, _ = turned(s, centre, 0)
    slot = (
        (np.sin(v * 2 * np.pi / 34) > 0.35)
        & (np.abs(u) < size[0] * 0.36)
        & (back > 0.15)
        & (back < 0.95)
    )
    louvre = s.blur(slot.astype(np.float32), 1.5)
    s.raise_by(-14 * louvre)
    s.paint(0.92 * louvre, (0.06, 0.06, 0.06), 0.05)
    groove = np.exp(-(((np.abs(u) - size[0] * 0.26) / 4) ** 2)) * (back <= 0.02) * mask
    s.raise_by(-5 * groove)
    s.stain(mask * np.clip(0.05 * s.noise(50, seed + 1, stretch=0.4), 0, 1), roof.DIRT)


def fridge_vent(s: Surface, centre: Point, size: Point, seed: int, *, age: float = 0.5) -> None:
    """A low cap with slits all round."""
    s = s.window(centre, max(size) * 0.9)
    flange(s, centre, size, seed, age=age)
    far = box(s, centre, (size[0] * 0.82, size[1] * 0.82), corner=40)
    mask = s.soft(far, 1.2)
    inward = np.clip(-far, 0, None)
    s.level(mask, 30 + 85 * (1 - np.exp(-inward / 26)))
    s.paint(mask, tint(0.55, 0.55, 0.54) * (1 + 0.02 * s.noise(30, seed + 1))[..., None], 0.28)
    slits = s.soft(np.abs(np.abs(inward - 22) - 8) - 2.6, 1.0) * mask
    s.paint(0.9 * slits, (0.05, 0.05, 0.05), 0.02)
    s.raise_by(-9 * slits)


def pipe_cap(s: Surface, centre: Point, radius: float, seed: int, *, age: float = 0.5) -> None:
    """A plumbing vent: a round flange in sealant, the pipe and its cap."""
    s = s.window(centre, radius * 2.4)
    far = disc(s, centre, 0)
    angle = np.arctan2(s.y - centre[1], s.x - centre[0]) * radius
    roof.seal(
        s,
        np.abs(far - radius),
        angle.astype(np.float32),
        seed,
        roof.Sealant(width=radius * 0.62, age=age, screws=radius * 1.57),
    )
    cap = s.soft(far - radius * 0.66, 4)
    s.level(cap, 62 + 8 * np.clip(1 - (far / (radius * 0.66)) ** 2, 0, 1))
    s.paint(cap, tint(0.56, 0.56, 0.54) * (1 + 0.02 * s.noise(12, seed + 1))[..., None], 0.3)
    ring = np.exp(-(((far - radius * 0.52) / 1.6) ** 2))
    s.raise_by(-2.0 * ring * cap)


def antenna(s: Surface, centre: Point, radius: float, seed: int, *, age: float = 0.5) -> None:
    """A flat radome in a ring of sealant."""
    s = s.window(centre, radius * 2)
    far = disc(s, centre, 0)
    angle = np.arctan2(s.y - centre[1], s.x - centre[0]) * radius
    roof.seal(
        s,
        np.abs(far - radius * 0.95),
        angle.astype(np.float32),
        seed,
        roof.Sealant(width=36, age=age, screws=90),
    )
    mask = s.soft(far - radius * 0.86, 1)
    s.level(mask, 8 + 62 * np.sqrt(np.clip(1 - (far / (radius * 0.9)) ** 2, 0, 1)))
    s.paint(mask, tint(0.70, 0.70, 0.69), 0.4)


def solar_panel(s: Surface, centre: Point, size: Point, seed: int) -> None:
    """A framed panel on feet, dark cells with pale lines between them."""
    s = s.window(centre, max(size) * 0.6)
    far = box(s, centre, size, corner=6)
    mask = s.soft(far, 1)
    s.level(mask, 48)
    s.paint(mask, ALUMINIUM, 0.4)
    glass = s.soft(far + 26, 1)
    u, v = turned(s, centre, 0)
    s.paint(glass, tint(0.016, 0.024, 0.050) * (1 + 0.15 * s.noise(70, seed))[..., None], 0.72)
    pitch = (size[0] - 60) / 4
    gaps = crossing(u, pitch, 2.6) | crossing(v, pitch, 2.6)
    s.paint(glass * gaps * 0.9, (0.40, 0.41, 0.42))
    s.paint(glass * crossing(u + pitch / 4, pitch / 3, 1.3) * 0.4, (0.30, 0.31, 0.32))
    s.level(s.soft(np.abs(far + 13) - 13, 1), 51)

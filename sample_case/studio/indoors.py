"""Pictures taken inside: the galley ceiling, papers on the table, parts on the bench."""

import numpy as np
from PIL import Image

from studio import damage, decals, roof, things
from studio.lens import Film, View, photograph
from studio.light import Daylight, shade
from studio.shapes import box, crossing, line, polygon, turned, wander
from studio.surface import Grid, Surface, tint

LAMP = Daylight(azimuth=70, elevation=34, sun=(0.72, 0.66, 0.56), sky=(0.42, 0.41, 0.39), haze=0.55)
WINDOW = Daylight(
    azimuth=175, elevation=26, sun=(0.66, 0.66, 0.64), sky=(0.40, 0.41, 0.42), haze=0.5
)


def ceiling(
    reading: str,
    seed: int,
    *,
    light: Daylight = LAMP,
    stain: float = 0.0,
    dates: tuple[str, ...] = (),
) -> Image.Image:
    """The panel below the middle right of the field, the meter's pins pressed in at the mark.

    `stain` 0 is none, 1 the full one; `dates` are pencilled beside its outline.
    """
    s = Surface(-260, -205, 520, 410, 0.27)
    _panel(s)
    if stain:
        _stain(s, stain)
        damage.pencil_ring(s, (-58, -22), (196, 138), 9, 4010)
        for k, text in enumerate(dates):
            decals.ink(
                s, decals.handwriting(text, 5 + k), (-80, -112 - 26 * k), 74, turn=-4, strength=0.8
            )
    else:
        damage.pencil_ring(s, (-58, -22), (13, 13), 0, 4020)
    _meter(s, reading)
    view = View((-16, 170, 420), (2, 2), 46, roll=-2)
    film = Film(exposure=0.98, warmth=0.035, vignette=0.3, grain=0.011, focus=445, blur=0.7)
    return photograph(s, shade(s, light, view.eye), view, film, seed)


def _panel(s: Surface) -> None:
    """A vinyl-faced board with a linen print, and the batten over its joint."""
    weave = 0.5 * s.noise(0.7, 4001, stretch=9) + 0.5 * s.noise(0.7, 4002, stretch=0.12)
    s.rgb[:] = (0.62, 0.605, 0.57)
    s.rgb *= (1 + 0.018 * weave + 0.012 * s.noise(90, 4003))[..., None]
    s.raise_by(0.030 * weave + 0.35 * s.noise(150, 4004))
    s.gloss[:] = 0.08
    far = np.abs(s.x - 178 - 0.02 * s.y)
    batten = s.soft((far - 21).astype(np.float32), 0.6)
    s.level(batten, 4.5 * np.clip(1 - (far / 24) ** 4, 0, 1))
    s.paint(batten, tint(0.66, 0.645, 0.61) * (1 + 0.01 * s.noise(30, 4005))[..., None], 0.16)
    for y in (-150, 0, 150):
        roof.screw(s, (178 + 0.02 * y, y), radius=3.4)


def _stain(s: Surface, amount: float) -> None:
    """One brownish outline, paler within, the board a little swollen."""
    u, v = turned(s, (-58, -22), 9)
    far = (np.hypot(u / 84, v / 56) - 1) * 62 + 7 * s.noise(60, 4030) + 2.2 * s.noise(14, 4031)
    inside = s.soft(far, 7)
    s.stain(
        amount * 0.26 * inside * np.clip(0.8 + 0.3 * s.noise(36, 4032), 0, 1.4), (0.62, 0.47, 0.26)
    )
    rim = np.exp(-(((far + 2.5) / 3.6) ** 2)) * np.clip(0.75 + 0.4 * s.noise(30, 4033), 0, 1.3)
    s.stain(np.clip(amount * 0.58 * rim, 0, 0.9), (0.55, 0.36, 0.16))
    s.raise_by(amount * (2.6 * np.clip(-far / 50, 0, 1) + 0.35 * inside * s.noise(11, 4034)))


def _meter(s: Surface, reading: str) -> None:
    """A pin meter seen from below, its two pins in the board at the marked spot."""
    face = decals.meter_face(reading, "WOOD 1")
    for x in (-70, -46):
        pin, _ = line(s, [(x + 40, 42), (x, -22)])
        mask = s.soft(pin - 0.9, 0.4)
        s.level(mask, 9)
        s.paint(mask, (0.55, 0.56, 0.57), 0.7)
    decals.lay(
        s, face, (18, 118), 86, plate=decals.Plate(thick=27, corner=12, gloss=0.16), turn=-17
    )


def on_the_table(paper: Image.Image, width: float, seed: int, *, turn: float) -> Image.Image:
    """A receipt on the kitchen table, curling a little, photographed from above."""
    depth = width * paper.height / paper.width
    s = Surface(-depth * 0.82, -depth * 0.62, depth * 1.64, depth * 1.24, depth / 1150)
    _table(s)
    mask = decals.lay(
        s, paper, (0, 0), width, plate=decals.Plate(thick=0.5, corner=0.5, gloss=0.1), turn=turn
    )
    _, v = turned(s, (0, 0), turn)
    creases = np.exp(-(((v - 0.17 * depth) / 2.2) ** 2)) - 0.7 * np.exp(
        -(((v + 0.16 * depth) / 2.5) ** 2)
    )
    curl = 9 * np.clip((np.abs(v) - depth * 0.30) / (depth * 0.2), 0, 1) ** 2
    s.raise_by((mask * (curl + 0.7 * creases + 0.8 * s.noise(60, seed))).astype(np.float32))
    view = View((depth * 0.01, depth * 0.24, depth * 1.22), (0, 2), 58, roll=1.5)
    film = Film(exposure=0.98, warmth=0.03, vignette=0.35, grain=0.010)
    return photograph(s, shade(s, WINDOW, view.eye), view, film, seed)


def _table(s: Surface) -> None:
    grain = s.noise(1.6, 4101, stretch=22) + 0.8 * s.noise(9, 4102, stretch=10)
    s.rgb[:] = (0.21, 0.115, 0.058)
    s.rgb *= np.clip(1 + 0.20 * grain + 0.08 * s.noise(70, 4103), 0.3, 2)[..., None]
    s.raise_by(0.03 * grain)
    s.gloss[:] = 0.22


def on_the_bench(seed: int) -> Image.Image:
    """The pieces of the lid, the end of the limb and a tag, laid out beside the rule."""
    s = Surface(-330, -260, 660, 520, 0.34)
    _boards(s)
    rng = np.random.default_rng(seed)
    places = (
        (-190, -120, 96, 12),
        (-60, -150, 62, 70),
        (40, -120, 78, -20),
        (-150, 20, 54, 40),
        (-50, -40, 40, 110),
    )
    for x, y, size, turn in places:
        _piece(s, (x, y), size, turn, int(rng.integers(1 << 30)))
    things.limb(s, [(-260, 120), (-120, 100), (60, 118), (250, 92)], 4210, thick=27, tip=19)
    things.crumbs(s, (-230, 130), 26, 16, 4220)
    tag = decals.handwriting("7/14/25", 9)
    picture = Image.new("RGB", (tag.width + 160, 330), (222, 196, 140))
    picture.paste(
        Image.composite(
            tag,
            Image.new("RGB", tag.size, (222, 196, 140)),
            tag.convert("L").point(lambda v: 255 - v),
        ),
        (110, 70),
    )
    decals.lay(
        s, picture, (196, -150), 150, plate=decals.Plate(thick=0.9, corner=9, gloss=0.03), turn=-9
    )
    decals.lay(s, decals.ruler(30), (-60, 190), 308, turn=-1.2)
    view = View((-6, 290, 520), (0, 28), 54, roll=1)
    film = Film(exposure=0.96, warmth=0.03, vignette=0.32, grain=0.011, focus=570, blur=0.8)
    return photograph(s, shade(s, WINDOW, view.eye), view, film, seed)


def _boards(s: Surface) -> None:
    grain = s.noise(1.8, 4201, stretch=20) + 0.9 * s.noise(12, 4202, stretch=8)
    s.rgb[:] = (0.30, 0.235, 0.16)
    s.rgb *= np.clip(1 + 0.17 * grain + 0.10 * s.noise(120, 4203), 0.3, 2)[..., None]
    s.stain(np.clip(0.3 * s.noise(40, 4204) - 0.2, 0, 0.5), (0.25, 0.22, 0.2))
    s.raise_by(0.10 * grain)
    joint = s.blur(crossing(s.y + 20, 138, 3.0).astype(np.float32), 0.6)
    s.raise_by(-5 * joint)
    s.stain(0.8 * joint, (0.12, 0.1, 0.08))
    s.gloss[:] = 0.04


def _piece(s: Surface, centre: tuple[float, float], size: float, turn: float, seed: int) -> None:
    """One fragment of the lid with its snapped edge."""
    s = s.window(centre, size * 1.3)
    rng = np.random.default_rng(seed)
    corners = [
        (centre[0] + size * r * np.cos(a), centre[1] + size * 0.7 * r * np.sin(a))
        for a, r in zip(
            np.radians(turn) + np.linspace(0, 5.4, 6), rng.uniform(0.55, 1.0, 6), strict=True
        )
    ]
    outline: list[tuple[float, float]] = []
    for k, (start, end) in enumerate(zip(corners, [*corners[1:], corners[0]], strict=True)):
        outline += wander(start, end, 2.2, seed + k, pieces=7)[:-1]
    far: Grid = polygon(s, outline)
    mask = s.soft(far, 0.5)
    s.level(mask, 3.4 + 1.2 * np.clip(-far / 12, 0, 1) + 0.05 * s.noise(1.2, seed))
    s.paint(mask, tint(0.63, 0.61, 0.54) * (1 + 0.03 * s.noise(20, seed + 9))[..., None], 0.3)
    s.paint(0.7 * np.exp(-(((far + 0.8) / 0.7) ** 2)), (0.82, 0.81, 0.76))
    rib = s.soft(np.abs(box(s, centre, (size, size * 0.8), turn=turn + 8)) - 2.4, 1.5) * mask
    s.raise_by(1.8 * rib)

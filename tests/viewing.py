"""A card on a flat roof as a camera at a known place sees it: every length is known.

A pinhole camera without any bending of lines. The plane's coordinates are the card's own, in
millimetres from the outer corner of its upper left mark.
"""

import math
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageFilter

from evidence.card_size import HEIGHT, MARGIN, PX_PER_MM, WIDTH

OUTER = ((0.0, 0.0), (WIDTH, 0.0), (WIDTH, HEIGHT), (0.0, HEIGHT))


@dataclass(frozen=True)
class View:
    """Looks at the middle of the card from so far off the straight (degrees), so turned.

    `px_per_mm` is the scale at the card's middle, `focal` in pixels: 0.75 of the picture's longer
    side is a telephone's. `around` is the middle of what is looked at, in the plane.
    """

    tilted: float = 0.0
    turned: float = 0.0
    px_per_mm: float = 2.1
    size: tuple[int, int] = (2000, 1500)
    around: tuple[float, float] = (WIDTH / 2, HEIGHT / 2)
    at: tuple[float, float] = (0.0, 0.0)

    @property
    def matrix(self) -> np.ndarray:
        """From the plane to the picture, 3 × 3."""
        focal = 0.75 * max(self.size)
        away = focal / self.px_per_mm
        turn, tilt = math.radians(self.turned), math.radians(self.tilted)
        about = np.array(
            [[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]]
        )
        over = np.array(
            [[1, 0, 0], [0, math.cos(tilt), -math.sin(tilt)], [0, math.sin(tilt), math.cos(tilt)]]
        )
        spun = over @ about
        shift = spun @ np.array([-self.around[0], -self.around[1], 0.0]) + np.array([0, 0, away])
        lens = np.array(
            [
                [focal, 0, self.size[0] / 2 + self.at[0]],
                [0, focal, self.size[1] / 2 + self.at[1]],
                [0, 0, 1],
            ]
        )
        return lens @ np.column_stack([spun[:, 0], spun[:, 1], shift])

    def pixel(self, point: tuple[float, float]) -> tuple[float, float]:
        """Where a place of the plane shows."""
        x, y, depth = self.matrix @ np.array([*point, 1.0])
        return float(x / depth), float(y / depth)

    def photo(
        self, card: Image.Image, *, blurred: float = 0.0, noise: float = 0.0, grey: int = 110
    ) -> Image.Image:
        """The picture: `card` as printed, on a roof of one grey."""
        # drawn twice as fine and made smaller, so that edges are as soft as a sensor's
        fine = np.diag([2.0, 2.0, 1.0]) @ self.matrix
        from_card = np.array(
            [[1 / PX_PER_MM, 0, -MARGIN], [0, 1 / PX_PER_MM, -MARGIN], [0, 0, 1.0]]
        )
        shrink = 4  # the card's own pixels are much finer than the picture's
        small = card.resize((card.width // shrink, card.height // shrink), Image.Resampling.BOX)
        whole = fine @ from_card @ np.diag([shrink, shrink, 1.0])
        back = np.linalg.inv(whole)
        back /= back[2, 2]
        wide, high = self.size[0] * 2, self.size[1] * 2
        data = tuple(back.ravel()[:8])
        how = (Image.Transform.PERSPECTIVE, data, Image.Resampling.BILINEAR)
        seen = small.transform((wide, high), *how, fillcolor=grey)
        there = Image.new("L", small.size, 255).transform((wide, high), *how, fillcolor=0)
        roof = Image.new("L", (wide, high), grey)
        roof.paste(seen, mask=there)
        shown = roof.resize(self.size, Image.Resampling.BOX)
        if blurred:
            shown = shown.filter(ImageFilter.GaussianBlur(blurred))
        if noise:
            rng = np.random.default_rng(7)
            grain = rng.normal(0.0, noise, (self.size[1], self.size[0]))
            shown = Image.fromarray(
                np.clip(np.asarray(shown, float) + grain, 0, 255).astype(np.uint8)
            )
        return shown

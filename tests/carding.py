"""Pictures in which a card lies on a roof, drawn on the spot."""

import io
import math
from pathlib import Path
from typing import Any

from PIL import Image, ImageFilter

from evidence.case import Record
from evidence.paper import CardPrint, card_of, card_png
from evidence.witness import Card


def face(printed: CardPrint) -> "Image.Image":
    """The card itself as pixels, in grey."""
    return Image.open(io.BytesIO(card_png(printed))).convert("L")


def printed_for(record: Record, zone: str | None = None, **changed: Any) -> CardPrint:
    """The record's next card; `answer`, `case_id` change what it carries."""
    from dataclasses import replace

    made = card_of(record, zone)
    return replace(made, card=replace(made.card, **changed)) if changed else made


def stranger(answer: str = "ab" * 32, zone: str | None = None) -> Card:
    """The card of some other case."""
    return Card(answer, "0123456789abcdef" * 2, zone)


def laid(
    card: "Image.Image",
    *,
    px_per_mm: float = 2.1,
    turned: float = 0.0,
    tilted: float = 0.0,
    blurred: float = 0.0,
    noise: float = 0.0,
    size: tuple[int, int] = (1600, 1200),
) -> "Image.Image":
    """The card on a grey roof. `px_per_mm` 2.1: 12 megapixels at 1.5 m (4,000 px over 1.9 m)."""
    wide, high = round(108 * px_per_mm), round(78 * px_per_mm)
    small = card.resize((wide, high), Image.Resampling.LANCZOS)
    if tilted:
        small = _tilted(small, tilted)
    if turned:
        small = small.rotate(turned, Image.Resampling.BICUBIC, expand=True, fillcolor=128)
    roof = Image.new("L", size, 128)
    roof.paste(small, ((size[0] - small.width) // 2, (size[1] - small.height) // 2))
    if blurred:
        roof = roof.filter(ImageFilter.GaussianBlur(blurred))
    if noise:
        roof = Image.blend(roof, Image.effect_noise(size, noise), 0.2)
    return roof


def _tilted(picture: "Image.Image", degrees: float) -> "Image.Image":
    """Seen at a slant: lower by the cosine, its far edge a tenth narrower."""
    import numpy as np

    wide, high = picture.size
    lower, inset = round(high * math.cos(math.radians(degrees))), wide / 20
    seen = [(inset, 0), (0, lower), (wide, lower), (wide - inset, 0)]
    true = [(0, 0), (0, high), (wide, high), (wide, 0)]
    rows, ends = [], []
    for (x, y), (u, v) in zip(seen, true, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        ends += [u, v]
    found = np.linalg.solve(np.array(rows, float), np.array(ends, float))
    return picture.transform(
        (wide, lower), Image.Transform.PERSPECTIVE, tuple(found),
        Image.Resampling.BICUBIC, fillcolor=128,
    )  # fmt: skip


def saved(
    picture: "Image.Image", path: Path, taken: str | None = None, offset: str = "-05:00"
) -> Path:
    """The picture as a camera's JPEG, its clock set to `taken` (Exif form)."""
    exif = Image.Exif()
    if taken is not None:
        inner = exif.get_ifd(0x8769)
        inner[0x9003], inner[0x9011] = taken, offset
    path.parent.mkdir(parents=True, exist_ok=True)
    picture.convert("RGB").save(path, quality=88, exif=exif)
    return path


def photo(
    record: Record, path: Path, taken: str | None = None, zone: str | None = None, **changed: Any
) -> Path:
    """A photo of the record's next card."""
    return saved(laid(face(printed_for(record, zone, **changed))), path, taken)

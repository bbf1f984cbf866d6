"""What the program sees of a picture's pixels. Runs inside the limited child.

Measures alone: what is asked about them stands in `seen`. They are taken from the original's bytes,
kept beside the previews, and can be taken again at any time; none of them stands in the record.
"""

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING

from evidence.photos import likeness
from evidence.photos.camera import ReadBy
from evidence.photos.exif_block import block_of
from evidence.photos.pictures import opened, reason
from evidence.photos.previews import not_shown, on_white
from evidence.photos.xmp import xmp_date
from evidence.shapes import Strict

if TYPE_CHECKING:
    from PIL.Image import Exif, Image

VERSION = 2
"""Counts up with every change of what is measured: older looks are taken again."""

_LONGEST_PX = 1024
_LAPLACE = (0, 1, 0, 1, -4, 1, 0, 1, 0)
_PARTS = 8  # a side
_ENDS = 3  # greys from either end that count as clipped
_FLAT = 2.0  # standard deviation of greys below which a picture has no shapes to compare
_DARK_BAR = 24  # a bar beside a small picture is darker than this, from memory
_FLASH, _THUMBNAIL, _THUMBNAIL_BYTES = 0x9209, 0x0201, 0x0202  # Exif 3.0 § 4.6


class Look(Strict):
    """One picture looked at; without `luma` it cannot be shown, and `why` says so.

    Attributes:
        read_by: the route by which its tags were read.
        luma: mean grey, 0 to 255.
        dark: the share of pixels at the black end.
        bright: the share of pixels at the white end.
        sharpness: variance of the Laplacian at 1,024 px.
        sharpest: the same of the sharpest of 64 parts.
        alike: the hash of `likeness` in eight orientations; empty for a picture without shapes.
        thumbnail: how far the small picture embedded in the tags agrees with it, −1 to 1.
        flash: whether a flash fired; None where the tags do not say.
        xmp_date: the date in its XMP packet, which nothing relies on.
    """

    version: int = VERSION
    read_by: ReadBy = ReadBy.NONE
    why: str | None = None
    luma: float | None = None
    dark: float = 0.0
    bright: float = 0.0
    sharpness: float = 0.0
    sharpest: float = 0.0
    alike: tuple[int, ...] = ()
    thumbnail: float | None = None
    flash: bool | None = None
    xmp_date: str | None = None


def look_at(path: Path) -> Look:
    """Measure a picture. No file makes this raise."""
    try:
        other = not_shown(path)
        return Look(why=f"cannot be shown: {other}") if other is not None else _looked(path)
    except Exception as error:  # noqa: BLE001 - decoders of strangers' files raise anything
        return Look(why=f"cannot be shown: {reason(error)}")


def _looked(path: Path) -> Look:
    from PIL import Image, ImageStat

    with opened(path) as picture:
        block, dated = block_of(picture), xmp_date(picture)
        picture.draft("L", (_LONGEST_PX, _LONGEST_PX))
        picture.thumbnail((_LONGEST_PX, _LONGEST_PX), reducing_gap=2.0)
        grey = picture if picture.mode == "L" else on_white(picture).convert("L")
        small = _small(grey)
        whole, sharpest = sharpness(grey)
        counts, pixels = grey.histogram(), grey.width * grey.height
        tags = Image.Exif()
        if block:
            tags.load(b"Exif\0\0" + block)
        return Look(
            luma=ImageStat.Stat(grey).mean[0],
            dark=sum(counts[:_ENDS]) / pixels,
            bright=sum(counts[-_ENDS:]) / pixels,
            sharpness=whole,
            sharpest=sharpest,
            alike=likeness.hashes(small.tobytes()) if _has_shapes(small) else (),
            thumbnail=_thumbnail(grey, tags, block),
            flash=_flash(tags),
            xmp_date=dated,
        )


def _small(grey: "Image") -> "Image":
    from PIL.Image import Resampling

    return grey.resize((likeness.SIDE, likeness.SIDE), Resampling.LANCZOS)


def _has_shapes(grey: "Image") -> bool:
    from PIL import ImageStat

    return ImageStat.Stat(grey).stddev[0] >= _FLAT


def sharpness(grey: "Image") -> tuple[float, float]:
    """Variance of the four-neighbour Laplacian: of the whole, and of the sharpest part of 64.

    Steps beyond ±127 are cut, far above any blur. A smooth roof in focus has little of it as a
    whole, and much at its edges: it is the sharpest part that tells.
    """
    from PIL import ImageFilter, ImageStat

    if min(grey.size) < 3 * _PARTS:
        return 0.0, 0.0
    steps = grey.filter(ImageFilter.Kernel((3, 3), _LAPLACE, scale=1, offset=128))
    steps = steps.crop((1, 1, grey.width - 1, grey.height - 1))
    parts = (ImageStat.Stat(steps.crop(box)).var[0] for box in _parts(*steps.size))
    return ImageStat.Stat(steps).var[0], max(parts)


def _parts(width: int, height: int) -> Iterator[tuple[int, int, int, int]]:
    for row in range(_PARTS):
        for column in range(_PARTS):
            left, right = (width * at // _PARTS for at in (column, column + 1))
            top, bottom = (height * at // _PARTS for at in (row, row + 1))
            yield left, top, right, bottom


# The tags that only a look needs


def _flash(tags: "Exif") -> bool | None:
    from PIL.ExifTags import IFD

    value = tags.get_ifd(IFD.Exif).get(_FLASH)
    return bool(value & 1) if isinstance(value, int) else None


def _thumbnail(grey: "Image", tags: "Exif", block: bytes) -> float | None:
    from PIL import Image
    from PIL.ExifTags import IFD

    place = tags.get_ifd(IFD.IFD1)
    start, size = place.get(_THUMBNAIL), place.get(_THUMBNAIL_BYTES)
    if not isinstance(start, int) or not isinstance(size, int):
        return None
    try:
        with Image.open(BytesIO(block[start : start + size]), formats=("JPEG",)) as small:
            return agreement(grey, small.convert("L"))
    except Exception:  # noqa: BLE001 - a broken small picture says nothing about the large one
        return None


def agreement(grey: "Image", small: "Image") -> float | None:
    """The best correlation of two pictures: bars trimmed or not, in four orientations.

    None where either has no shapes to compare.
    """
    from PIL.Image import Transpose

    picture = _small(grey)
    whole, trimmed = small, small.crop(_without_bars(small))
    if not _has_shapes(picture) or not _has_shapes(_small(whole)):
        return None
    turns = (None, Transpose.ROTATE_90, Transpose.ROTATE_180, Transpose.ROTATE_270)
    return max(
        _correlation(picture.tobytes(), _small(turned).tobytes())
        for one in (whole, trimmed, _cropped_like(grey, whole))
        for turned in (one if turn is None else one.transpose(turn) for turn in turns)
    )


def _without_bars(small: "Image") -> tuple[int, int, int, int]:
    """The box within dark bars at the edges; the whole picture where it is dark all over."""
    box = small.point(lambda grey: 255 if grey >= _DARK_BAR else 0).getbbox()
    return box or (0, 0, *small.size)


def _cropped_like(grey: "Image", small: "Image") -> "Image":
    """The middle of the small picture, in the proportions of the large one."""
    wide = grey.width / grey.height
    if (small.width > small.height) != (grey.width > grey.height):
        wide = 1 / wide
    width = min(small.width, max(1, round(small.height * wide)))
    height = min(small.height, max(1, round(small.width / wide)))
    left, top = (small.width - width) // 2, (small.height - height) // 2
    return small.crop((left, top, left + width, top + height))


def _correlation(one: bytes, other: bytes) -> float:
    """Pearson's, of two lists of greys; 0 where one of them is all alike."""
    first, second = (_centred(greys) for greys in (one, other))
    product = sum(a * b for a, b in zip(first, second, strict=True))
    size = (sum(a * a for a in first) * sum(b * b for b in second)) ** 0.5
    return product / size if size else 0.0


def _centred(greys: bytes) -> list[float]:
    mean = sum(greys) / len(greys)
    return [grey - mean for grey in greys]

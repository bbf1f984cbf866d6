"""Opening a picture that a stranger made. Runs inside the limited child."""

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image

MAX_PIXELS = 200_000_000
"""The largest phone sensors make 200 million pixels; more is refused before it is decoded."""

_FORMATS = ("JPEG", "MPO", "PNG", "HEIF", "AVIF", "WEBP", "TIFF", "GIF", "BMP")
"""What cameras and scanners write. Pillow knows more, some of it programs in their own right."""


@contextmanager
def opened(path: Path) -> "Iterator[Image]":
    """The picture at `path`, its pixels not yet decoded; Pillow's own errors come through."""
    import pillow_heif
    from PIL import Image

    pillow_heif.register_heif_opener()
    Image.init()
    Image.MAX_IMAGE_PIXELS = MAX_PIXELS
    formats = [name for name in _FORMATS if name in Image.OPEN]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        with Image.open(path, formats=formats) as picture:
            yield picture


def reason(error: Exception) -> str:
    """What went wrong with a picture, as the end of a sentence."""
    from PIL import Image, UnidentifiedImageError

    if isinstance(error, MemoryError):
        return "it needs more memory than a picture should"
    if isinstance(error, Image.DecompressionBombError | Image.DecompressionBombWarning):
        return f"it has more than {MAX_PIXELS // 1_000_000} million pixels"
    if isinstance(error, UnidentifiedImageError):
        return "it is not a picture in a format that this program knows"
    said = error.strerror or str(error) if isinstance(error, OSError) else repr(error)
    said = "".join(char for char in said if char.isprintable())[:200]
    return said if isinstance(error, OSError) and said else f"the reader gave up on it, {said}"

"""The Exif block of a picture, found by Pillow. Runs inside the limited child."""

import re
from pathlib import Path
from typing import TYPE_CHECKING

from evidence.photos.pictures import opened

if TYPE_CHECKING:
    from PIL.Image import Image

_PREFIX = b"Exif\x00\x00"
_PROFILES = ("Raw profile type exif", "Raw profile type APP1")
"""PNG text chunks from before the chunk eXIf: a name, a length, and the block in hex (from memory
of what ImageMagick and ExifTool write)."""

_PROFILE = re.compile(r"\s*\w+\s+\d+\s([0-9A-Fa-f\s]+)", re.ASCII)
_MOST_TEXT = 1 << 20


def exif_block(path: Path) -> bytes:
    """The block from its byte order mark on; empty where there is none. Pillow's errors come out.

    WebP files carry it with and without the prefix of JPEG; PNG files in the chunk eXIf before or
    behind the pixels, or as hex in a text chunk.
    """
    with opened(path) as picture:
        block = block_of(picture)
        if not block and picture.format == "PNG":
            picture.load()  # what stands behind the pixels is read with them
            block = block_of(picture)
    return block


def block_of(picture: "Image") -> bytes:
    """The same of an opened picture, as far as Pillow has read it."""
    block = _held(picture)
    while block.startswith(_PREFIX):
        block = block.removeprefix(_PREFIX)
    return block


def _held(picture: "Image") -> bytes:
    block = picture.info.get("exif")
    if isinstance(block, bytes) and block:
        return block
    for name in _PROFILES:
        text = picture.info.get(name)
        found = _PROFILE.fullmatch(text[:_MOST_TEXT]) if isinstance(text, str) else None
        if found is not None:
            digits = "".join(found[1].split())
            return bytes.fromhex(digits[: len(digits) // 2 * 2])
    return b""

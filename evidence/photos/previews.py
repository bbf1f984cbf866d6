"""A small picture to look at. Runs inside the limited child.

It is derived: it can be made again, and it carries nothing but pixels.
"""

from pathlib import Path
from typing import TYPE_CHECKING

from evidence.photos.media import HEAD, media_type
from evidence.photos.pictures import opened, reason
from evidence.shapes import Strict

if TYPE_CHECKING:
    from PIL.Image import Image

_QUALITY = 82

_NOT_SHOWN = (
    ("video/", "it is a film"),
    ("audio/", "it is a sound"),
    ("application/pdf", "it is a PDF"),
)
"""What this program shows no preview of, whatever Pillow could make of it."""


class Preview(Strict):
    """Whether there is a preview, and if not, why not. True where there is one."""

    shown: bool
    why: str | None = None

    def __bool__(self) -> bool:
        return self.shown


def make_preview(path: Path, out: Path, longest_px: int = 1600) -> Preview:
    """Write a JPEG of at most `longest_px` a side to `out`: upright, RGB, without any metadata.

    Transparent parts become white; colour profiles are dropped, not converted. Of a file with
    several pictures the first is shown. `out` holds a whole picture or is not touched.
    """
    part = out.with_name(out.name + ".part")
    try:
        other = not_shown(path)
        if other is not None:
            return Preview(shown=False, why=f"cannot be shown: {other}")
        with opened(path) as picture:
            # a gap of 1 lets the JPEG decoder itself shrink as far as the size allows
            picture.thumbnail((longest_px, longest_px), reducing_gap=1.0)
            page = on_white(upright(picture))
        page.save(part, "JPEG", quality=_QUALITY)
        part.replace(out)
    except Exception as error:  # noqa: BLE001 - decoders of strangers' files raise anything
        part.unlink(missing_ok=True)
        return Preview(shown=False, why=f"cannot be shown: {reason(error)}")
    return Preview(shown=True)


def not_shown(path: Path) -> str | None:
    """What a file is that is no picture, as the end of a sentence; None for all others."""
    with path.open("rb") as file:
        kind = media_type(file.read(HEAD), path.name)
    return next((said for start, said in _NOT_SHOWN if kind.startswith(start)), None)


def upright(picture: "Image") -> "Image":
    """Turned as its Orientation tag says; as it stands where that tag cannot be read."""
    from PIL import ImageOps

    try:
        return ImageOps.exif_transpose(picture)
    except Exception:  # noqa: BLE001 - broken tags do not make the pixels unfit to show
        return picture


def on_white(picture: "Image") -> "Image":
    """The pixels alone, on a fresh white page: nothing of the source's metadata can come along."""
    from PIL import Image

    if picture.mode.startswith("I"):  # grey of 16 bits: the upper 8 are shown
        picture = picture.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    page = Image.new("RGB", picture.size, "white")
    if picture.has_transparency_data:
        with_alpha = picture.convert("RGBA")
        page.paste(with_alpha, mask=with_alpha.getchannel("A"))
    else:
        page.paste(picture.convert("RGB"))
    return page

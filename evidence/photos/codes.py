"""QR codes in a picture, as their text. Runs inside the limited child.

A picture is read as it is, then sharpened; a small one also at twice its size. In drawn pictures of
a card, blurred, tilted and noisy, at 1.5 to 3 pixels a millimetre, the first found 15 of 40, the
second 12 more, the third 5 more. A picture of 12 megapixels takes about half a second.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from evidence.photos.pictures import opened, reason
from evidence.shapes import Strict

if TYPE_CHECKING:
    from PIL.Image import Image

MOST = 4
"""Codes that are told of one picture; who shows more of them means no good."""

_WORKING_PIXELS = 16_000_000
_SMALL_PIXELS = 3_000_000


class CodesRead(Strict):
    """The texts of the codes that were sought; why a file could not be looked at, where so."""

    texts: tuple[str, ...] = ()
    unreadable: str | None = None


def read_codes(path: Path, start: str, longest: int) -> CodesRead:
    """The QR codes in the picture at `path` whose text is sought.

    Args:
        path: a file of any kind.
        start: how the text begins; codes of other programs are passed over.
        longest: characters of the longest text that is told; printable ASCII alone.
    """
    try:
        with opened(path) as picture:
            grey = _grey(picture)
        for tried in _ways(grey):
            found = _texts(tried, start, longest)
            if found:
                return CodesRead(texts=found[:MOST])
    except Exception as error:  # noqa: BLE001 - decoders of strangers' files raise anything
        return CodesRead(unreadable=reason(error))
    return CodesRead()


def _grey(picture: "Image") -> "Image":
    """The picture in 8 bits of grey, not larger than is worked with."""
    picture.draft("L", picture.size)  # a JPEG decodes straight to grey
    if picture.mode.startswith("I"):  # grey of 16 bits: the upper 8 are looked at
        picture = picture.convert("I").point(lambda value: value * (1 / 256))
    grey = picture.convert("L")
    pixels = grey.width * grey.height
    if pixels > _WORKING_PIXELS:
        side = (_WORKING_PIXELS / pixels) ** 0.5
        grey.thumbnail((round(grey.width * side), round(grey.height * side)))
    return grey


def _ways(grey: "Image") -> "Iterator[Image]":
    from PIL import Image, ImageFilter

    yield grey
    around = [-1] * 12
    yield grey.filter(ImageFilter.Kernel((5, 5), [*around, 32, *around], scale=8))
    if grey.width * grey.height <= _SMALL_PIXELS:
        twice = grey.resize((grey.width * 2, grey.height * 2), Image.Resampling.BILINEAR)
        yield twice.filter(ImageFilter.UnsharpMask(3, 250, 0))


def _texts(grey: "Image", start: str, longest: int) -> tuple[str, ...]:
    import zxingcpp

    codes = zxingcpp.read_barcodes(
        grey,
        formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode),
        text_mode=zxingcpp.TextMode.Plain,
    )
    texts = dict.fromkeys(code.text for code in codes if code.valid)
    return tuple(
        text
        for text in texts
        if text.startswith(start) and len(text) <= longest and text.isascii() and text.isprintable()
    )

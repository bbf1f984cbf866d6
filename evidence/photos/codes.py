"""QR codes in a picture, as their text. Runs inside the limited child.

A picture is read as it is, then sharpened; a small one also at twice that size. Of 40 drawn
pictures of a card, blurred, tilted and noisy, at 1.5 to 3 pixels a millimetre, the first way read
16, the first two 26, all three 30. A picture of 12 megapixels takes about a third of a second.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from evidence.photos.pictures import opened, reason
from evidence.shapes import Strict

if TYPE_CHECKING:
    from PIL.Image import Image
    from zxingcpp import Barcode, Position

Point = tuple[float, float]

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
            picture.draft("L", picture.size)  # a JPEG decodes straight to grey
            grey = _worked_with(grey_of(picture))
        for tried in _ways(grey):
            found = _texts(tried, start, longest)
            if found:
                return CodesRead(texts=found[:MOST])
    except Exception as error:  # noqa: BLE001 - decoders of strangers' files raise anything
        return CodesRead(unreadable=reason(error))
    return CodesRead()


def grey_of(picture: "Image") -> "Image":
    """The picture in 8 bits of grey."""
    if picture.mode.startswith("I"):  # grey of 16 bits: the upper 8 are looked at
        picture = picture.convert("I").point(lambda value: value * (1 / 256))
    return picture.convert("L")


def _worked_with(grey: "Image") -> "Image":
    """The grey picture; a smaller one of it where it is too large to work with."""
    pixels = grey.width * grey.height
    if pixels > _WORKING_PIXELS:
        side = (_WORKING_PIXELS / pixels) ** 0.5
        return grey.resize((round(grey.width * side), round(grey.height * side)), reducing_gap=2.0)
    return grey


def _ways(grey: "Image") -> "Iterator[Image]":
    from PIL import Image, ImageFilter

    yield grey
    around = [-1] * 12
    sharp = grey.filter(ImageFilter.Kernel((5, 5), [*around, 32, *around], scale=8))
    yield sharp
    if grey.width * grey.height <= _SMALL_PIXELS:
        yield sharp.resize((grey.width * 2, grey.height * 2), Image.Resampling.BILINEAR)


def _texts(grey: "Image", start: str, longest: int) -> tuple[str, ...]:
    return tuple(dict.fromkeys(code.text for code in _codes(grey, start, longest)))


def codes_in(
    grey: "Image", start: str, longest: int
) -> list[tuple[str, int, tuple[Point, Point, Point, Point]]]:
    """Each sought code in a picture in grey: its text, its version, its corners in pixels.

    The corners stand from the code's own upper left one on, clockwise on the paper, in whole
    pixels of the picture or, where it was looked at in another size, nearly.
    """
    size = grey.size
    for tried in _ways(_worked_with(grey)):
        share = size[0] / tried.width
        found = [
            (code.text, _version(code), _corners(code.position, share))
            for code in _codes(tried, start, longest)
        ]
        if found:
            return found
    return []


def _codes(grey: "Image", start: str, longest: int) -> "list[Barcode]":
    import zxingcpp

    codes = zxingcpp.read_barcodes(
        grey,
        formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode),
        text_mode=zxingcpp.TextMode.Plain,
    )
    return [
        code
        for code in codes
        if code.valid
        and code.text.startswith(start)
        and len(code.text) <= longest
        and code.text.isascii()
        and code.text.isprintable()
    ]


def _corners(position: "Position", share: float) -> tuple[Point, Point, Point, Point]:
    a, b, c, d = (
        ((corner.x + 0.5) * share, (corner.y + 0.5) * share)
        for corner in (
            position.top_left, position.top_right, position.bottom_right, position.bottom_left
        )
    )  # fmt: skip
    return a, b, c, d


def _version(code: "Barcode") -> int:
    """1 to 40: how many modules a side it has (ISO/IEC 18004 § 5.3.1)."""
    told = dict(code.extra) if isinstance(code.extra, dict) else {}
    return int(told["Version"])

"""A date that only the XMP packet of a picture holds. Runs inside the limited child.

It is told and never relied on: RECORD § 5 rests on what the device wrote as Exif, and any program
that touches a picture writes XMP (ISO 16684-1). Of the pictures tried, one had an Exif date five
months after its XMP date.
"""

import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image

_NAMES = (b"exif:DateTimeOriginal", b"xmp:CreateDate", b"photoshop:DateCreated")
"""In the order in which they are looked for: the moment of the picture first."""

_DATE = rb"""\s*(?:=\s*["']|>)\s*(\d{4}-\d\d(?:-\d\d(?:T[0-9:.]{5,19})?)?(?:Z|[+-]\d\d:\d\d)?)"""
_MOST = 1 << 20
_INFO = ("xmp", "XML:com.adobe.xmp")
_TIFF_TAG = 700  # XMP specification, part 3, § 2.3: TIFF


def xmp_date(picture: "Image") -> str | None:
    """The date as it stands in the packet of an opened picture; None where there is none."""
    packet = _packet(picture)[:_MOST]
    for name in _NAMES:
        found = re.search(name + _DATE, packet, re.ASCII)
        if found is not None:
            return found[1].decode("ascii")
    return None


def _packet(picture: "Image") -> bytes:
    held = next((found for name in _INFO if (found := picture.info.get(name))), None)
    if held is None:
        held = getattr(picture, "tag_v2", {}).get(_TIFF_TAG)
    if isinstance(held, str):
        return held.encode("utf-8", "replace")
    return held if isinstance(held, bytes) else b""

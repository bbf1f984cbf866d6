"""What the device wrote into a picture, as text. Runs inside the limited child.

Tag names: Exif 3.0 (CIPA DC-008-2023). exifread reads; where it finds nothing or gives up, Pillow
looks for the Exif block (`exif_block`) and exifread reads that. Films are read by `film`.
"""

import os
from collections.abc import Callable, Mapping
from enum import StrEnum
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO

from evidence.photos.exif_block import exif_block
from evidence.photos.film import read_film
from evidence.photos.media import HEAD, media_type
from evidence.photos.pictures import reason
from evidence.photos.raw import raw
from evidence.shapes import Camera, Raw, Strict

if TYPE_CHECKING:
    from exifread.core.ifd_tag import IfdTag

_OTHER_NAMES = {"PixelXDimension": "ExifImageWidth", "PixelYDimension": "ExifImageLength"}
"""Where exifread's name differs from Exif's; the GPS tags are read one by one."""

_UNDEFINED = 7  # Exif's field type for bytes without a meaning of their own


class ReadBy(StrEnum):
    """Which route the tags came by."""

    EXIFREAD = "exifread"
    PILLOW_EXIFREAD = "pillow+exifread"
    MEDIAINFO = "mediainfo"
    NONE = "none"


class CameraReading(Strict):
    """The tags of one file; `unreadable` says what was wrong where they could not be read.

    A file without tags that is sound, or that is no picture at all, has neither.
    """

    camera: Camera | None = None
    read_by: ReadBy = ReadBy.NONE
    unreadable: str | None = None


def read_camera(path: Path) -> CameraReading:
    """Read the tags of RECORD § 5. No file makes this raise."""
    try:
        with path.open("rb") as file:
            if os.fstat(file.fileno()).st_size == 0:
                return CameraReading(unreadable="the file is empty")
            kind = media_type(file.read(HEAD), path.name)
            if kind.startswith("video/"):
                return _of_film(path)
            camera, trouble = _attempt(lambda: _camera(_tags(file)))
        if camera is not None:
            return CameraReading(camera=camera, read_by=ReadBy.EXIFREAD)
        camera, second_trouble = _attempt(lambda: _camera(_tags_by_pillow(path)))
    except OSError as error:
        return CameraReading(unreadable=reason(error))
    if camera is not None:
        return CameraReading(camera=camera, read_by=ReadBy.PILLOW_EXIFREAD)
    is_picture = kind.startswith("image/")
    return CameraReading(unreadable=trouble or second_trouble if is_picture else None)


def _of_film(path: Path) -> CameraReading:
    camera, trouble = _attempt(lambda: read_film(path))
    read_by = ReadBy.NONE if camera is None else ReadBy.MEDIAINFO
    return CameraReading(camera=camera, read_by=read_by, unreadable=trouble)


def _attempt(read: Callable[[], Camera | None]) -> tuple[Camera | None, str | None]:
    """The camera's tags or None where there are none, and what went wrong."""
    try:
        return read(), None
    except Exception as error:  # noqa: BLE001 - readers raise anything on broken files
        return None, f"its tags cannot be read: {reason(error)}"


def _tags(file: BinaryIO) -> "Mapping[str, IfdTag]":
    import exifread

    # with details, a corrupt count in a maker's note can keep it busy for minutes
    tags = exifread.process_file(file, details=False, extract_thumbnail=False)
    return {key: tag for key, tag in tags.items() if hasattr(tag, "values")}


def _tags_by_pillow(path: Path) -> "Mapping[str, IfdTag]":
    block = exif_block(path)
    return _tags(BytesIO(block)) if block else {}


def _camera(tags: "Mapping[str, IfdTag]") -> Camera | None:
    found: dict[str, Raw | None] = {}
    for name in Camera.model_fields:
        key = _OTHER_NAMES.get(name, name)
        tag = tags.get(f"EXIF {key}") or tags.get(f"Image {key}")
        found[name] = _raw(tag, _decimal if name == "FNumber" else str)
    found["GPSDateStamp"] = _raw(tags.get("GPS GPSDate"))
    found["GPSTimeStamp"] = _time_of_day(tags.get("GPS GPSTimeStamp"))
    for name, sides in (("GPSLatitude", "NS"), ("GPSLongitude", "EW")):
        found[name] = _degrees(tags.get(f"GPS {name}"), tags.get(f"GPS {name}Ref"), sides)
    present = {name: value for name, value in found.items() if value is not None}
    return Camera(**present) if present else None


def _raw(tag: "IfdTag | None", shown: Callable[[Fraction], str] = str) -> Raw | None:
    """A tag's text as written; numbers as digits, several of them with spaces between.

    Exif text ends at its first NUL; blanks at the end are padding of fixed fields and dropped.
    """
    if tag is None:
        return None
    values = tag.values
    if isinstance(values, list):
        if tag.field_type == _UNDEFINED:
            values = bytes(values).split(b"\x00", 1)[0]
        else:
            values = " ".join(_number(value, shown) for value in values)
    data = values.encode("utf-8") if isinstance(values, str) else bytes(values)
    data = data.rstrip(b" ")
    return raw(data) if data else None


def _number(value: object, shown: Callable[[Fraction], str]) -> str:
    if isinstance(value, tuple):  # exifread hands out floats as struct does
        value = value[0]
    if isinstance(value, Fraction) and value.denominator:
        return shown(value)
    return str(value)


def _decimal(value: Fraction) -> str:
    """`2.8` for 28/10; the fraction itself where it has no short decimal form."""
    text = f"{float(value):.6f}".rstrip("0").rstrip(".")
    return text if Fraction(text) == value else str(value)


def _time_of_day(tag: "IfdTag | None") -> Raw | None:
    """GPSTimeStamp, three rationals, as `HH:MM:SS[.fff]`; as written where it is no time of day."""
    parts = _fractions(tag)
    if parts is None or len(parts) != 3:
        return _raw(tag)
    total_ms = int(sum(part * 60 ** (2 - place) for place, part in enumerate(parts)) * 1000)
    if not 0 <= total_ms < 86_400_000:
        return _raw(tag)
    seconds, ms = divmod(total_ms, 1000)
    text = f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}"
    return f"{text}.{ms:03}" if ms else text


def _degrees(tag: "IfdTag | None", hemisphere: "IfdTag | None", sides: str) -> str | None:
    """Signed decimal degrees to 7 places (1 cm); None where value or hemisphere is missing."""
    parts = _fractions(tag)
    side = "" if hemisphere is None else str(hemisphere.values)[:1].upper()
    if not parts or len(parts) > 3 or not side or side not in sides:
        return None
    degrees = sum(part / 60**place for place, part in enumerate(parts))
    return f"{float(round(degrees if side == sides[0] else -degrees, 7)):.7f}"


def _fractions(tag: "IfdTag | None") -> list[Fraction] | None:
    """A tag's rationals; None where there are none, or one is divided by zero."""
    if tag is None or not isinstance(tag.values, list):
        return None
    values = [value for value in tag.values if isinstance(value, Fraction) and value.denominator]
    return values if values and len(values) == len(tag.values) else None

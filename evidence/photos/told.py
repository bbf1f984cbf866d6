"""What a camera's tags tell of time and place, read from their raw text. Pure."""

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from evidence.photos.place import Atlas
from evidence.shapes import Camera, Raw

EAST, WEST = timedelta(hours=14), timedelta(hours=-12)
"""The largest and the smallest offset in use on earth."""

_EXIF_TIME = re.compile(r"(\d{4})[:-](\d\d)[:-](\d\d)[ T](\d\d):(\d\d):(\d\d)", re.ASCII)
_EXIF_OFFSET = re.compile(r"([+-])(\d\d):([0-5]\d)", re.ASCII)
_DEGREES = re.compile(r"-?\d{1,3}(\.\d{1,12})?", re.ASCII)
_YEARS = range(1900, 2200)  # those of `times.parse_utc`


@dataclass(frozen=True, slots=True)
class Clock:
    """A local time that a device wrote, and what may tell its zone.

    `film`: a film's time without an offset is UTC by the standard and local time by many cameras.
    """

    local: datetime
    offset: timedelta | None
    gps: datetime | None
    position: tuple[float, float] | None
    home: ZoneInfo
    travels: tuple[ZoneInfo, ...]
    atlas: Atlas | None
    film: bool

    @property
    def zones(self) -> tuple[ZoneInfo, ...]:
        """Where the rig goes: home first."""
        return (self.home, *self.travels)


def text(tag: Raw | None) -> str | None:
    """A tag that is clean text; None for bytes and for a tag that is not there."""
    return tag if isinstance(tag, str) else None


def local_time(written: str) -> datetime | None:
    """`YYYY:MM:DD HH:MM:SS` (Exif 3.0 § 4.6.6.4), or with hyphens as some programs write it."""
    match = _EXIF_TIME.fullmatch(written)
    if match is None:
        return None
    try:
        year, month, day, hour, minute, second = map(int, match.groups())
        local = datetime(year, month, day, hour, minute, second)  # noqa: DTZ001 - no zone is known
    except ValueError:
        return None
    return local if local.year in _YEARS else None


def offset_of(camera: Camera) -> timedelta | None:
    """OffsetTimeOriginal. OffsetTime belongs to DateTime, the last change, and is not used."""
    match = _EXIF_OFFSET.fullmatch(text(camera.OffsetTimeOriginal) or "")
    if match is None:
        return None
    size = timedelta(hours=int(match[2]), minutes=int(match[3]))
    offset = -size if match[1] == "-" else size
    return offset if WEST <= offset <= EAST else None


def satellite_time(camera: Camera) -> datetime | None:
    """GPSDateStamp and GPSTimeStamp together, UTC; None where either is missing or unfit."""
    day, clock = text(camera.GPSDateStamp), text(camera.GPSTimeStamp)
    return None if day is None or clock is None else local_time(f"{day} {clock.partition('.')[0]}")


def position_of(camera: Camera) -> tuple[float, float] | None:
    """Latitude and longitude in degrees; None for 0/0, which receivers write without a fix."""
    parts = [text(camera.GPSLatitude) or "", text(camera.GPSLongitude) or ""]
    if not all(_DEGREES.fullmatch(part) for part in parts):
        return None
    latitude, longitude = map(float, parts)
    within = abs(latitude) <= 90 and abs(longitude) <= 180
    return (latitude, longitude) if within and (latitude or longitude) else None


def subsecond(camera: Camera) -> str:
    """The fraction of the second as the camera wrote its digits; empty where it wrote none."""
    digits = text(camera.SubSecTimeOriginal) or ""
    return digits if digits.isascii() and digits.isdigit() else ""

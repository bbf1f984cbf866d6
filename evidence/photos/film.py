"""What a device wrote into a film (MP4, QuickTime), as text. Runs inside the limited child.

MediaInfo reads the container. Its creation time is UTC by the standard (ISO 14496-12 § 8.2.2), yet
many cameras write local time there, and a copy made by a messenger bears the time of copying. So it
stands as DateTimeOriginal only where the container also names the device that filmed; else as
DateTimeDigitized, when the file was made. Apple's `com.apple.quicktime.creationdate` is the moment
of capture with its offset. Dates are kept in the spelling of Exif (`clock` says what they support).
"""

import re
from collections.abc import Mapping
from pathlib import Path

from evidence.photos.raw import raw
from evidence.shapes import Camera, Raw

_CREATION_DATE = "comapplequicktimecreationdate"
_MADE = "encoded_date"
_DEVICE = {
    "Make": ("comapplequicktimemake", "comandroidmanufacturer", "make"),
    "Model": ("comapplequicktimemodel", "comandroidmodel", "model"),
    "Software": ("comapplequicktimesoftware", "comandroidversion"),
}
_POSITION = ("comapplequicktimelocationiso6709", "xyz", "recorded_location")

_MOMENT = re.compile(
    r"(\d{4})-(\d\d)-(\d\d)[T ](\d\d:\d\d:\d\d)(?:\.\d+)?(?:([+-]\d\d):?(\d\d)|Z| UTC)?", re.ASCII
)
_ISO6709 = re.compile(r"([+-]\d{2}(?:\.\d+)?)([+-]\d{3}(?:\.\d+)?)(?:[+-][\d.]+)?/?", re.ASCII)


def read_film(path: Path) -> Camera | None:
    """The tags of a film; None where it has none. What MediaInfo raises comes through."""
    from pymediainfo import MediaInfo

    found = MediaInfo.parse(path, parse_speed=0)
    general = next((track.to_data() for track in found.tracks), {})
    return camera_of({str(key): value for key, value in general.items()})


def camera_of(general: Mapping[str, object]) -> Camera | None:
    """The tags by MediaInfo's names for its `General` part."""
    tags: dict[str, Raw | None] = {}
    for name, keys in _DEVICE.items():
        tags[name] = next((_text(general[key]) for key in keys if general.get(key)), None)
    tags |= _dates(general, named=any(tags.values()))
    place = _ISO6709.fullmatch(_first(general, _POSITION))
    if place is not None:
        for name, degrees in zip(("GPSLatitude", "GPSLongitude"), place.groups(), strict=True):
            tags[name] = f"{float(degrees):.7f}"
    present = {name: value for name, value in tags.items() if value is not None}
    return Camera(**present) if present else None


def _dates(general: Mapping[str, object], *, named: bool) -> dict[str, Raw | None]:
    taken = _MOMENT.fullmatch(_first(general, (_CREATION_DATE,)))
    if taken is not None:
        hours, minutes = taken[5], taken[6]
        offset = f"{hours}:{minutes}" if hours else None
        return {"DateTimeOriginal": _exif(taken), "OffsetTimeOriginal": offset}
    made = _MOMENT.fullmatch(_first(general, (_MADE,)))
    if made is None:
        return {}
    return {"DateTimeOriginal" if named else "DateTimeDigitized": _exif(made)}


def _exif(moment: re.Match[str]) -> str:
    return f"{moment[1]}:{moment[2]}:{moment[3]} {moment[4]}"


def _first(general: Mapping[str, object], keys: tuple[str, ...]) -> str:
    return next((str(general[key]) for key in keys if general.get(key)), "")


def _text(value: object) -> Raw:
    return raw(str(value).encode("utf-8", "surrogateescape"))

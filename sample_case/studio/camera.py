"""The cameras of the sample case and what each of them writes into a picture."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from PIL import Image
from PIL.TiffImagePlugin import IFDRational

Place = tuple[float, float]
HOME: Place = (42.87914, -90.89627)
"""An invented yard in open country; the cameras scatter a few metres about it."""

# Tag numbers of Exif 2.32, tables 4 to 15
MAKE, MODEL, ORIENTATION, SOFTWARE, DATE_TIME = 271, 272, 274, 305, 306
EXPOSURE, F_NUMBER, ISO, ORIGINAL, DIGITIZED = 33434, 33437, 34855, 36867, 36868
OFFSET, OFFSET_ORIGINAL, SUBSEC_ORIGINAL = 36880, 36881, 37521
PIXELS_X, PIXELS_Y, SERIAL = 40962, 40963, 42033
EXIF_IFD, GPS_IFD = 0x8769, 0x8825


@dataclass(frozen=True, slots=True)
class Camera:
    """A camera: its names, and whether it writes an offset, fractions of a second, a place."""

    make: str
    model: str
    software: str | None = None
    serial: str | None = None
    offset: bool = False
    fractions: bool = False
    f_number: str = "1.8"
    quality: int = 88


PHONE = Camera("Lumen", "Field 3", "F3.4.1.0", offset=True, fractions=True)
POCKET = Camera("Tarn", "K20", "Ver.1.02", serial="K2041187", f_number="3.3", quality=86)
POLE = Camera("Perrin", "P1 Stick", f_number="2.4", quality=82)
DRONE = Camera("Merle", "M2", "02.11.07", serial="M2A00913", offset=True, f_number="2.8")


@dataclass(frozen=True, slots=True)
class Exposure:
    """What the camera wrote about one picture.

    `taken` is in ISO 8601 with its offset, as the camera's clock had it; `speed` is one part of a
    second; `at` is where the position fix lay, None where there was none.
    """

    taken: str
    speed: int = 500
    iso: int = 50
    at: Place | None = None
    fix_age: int = 2


def save(picture: Image.Image, path: Path, camera: Camera | None, shot: Exposure | None) -> None:
    """Write the JPEG; without a camera it carries no tags, as a scan or a forwarded copy."""
    if camera is None or shot is None:
        picture.save(path, quality=84, optimize=True)
        return
    picture.save(path, quality=camera.quality, optimize=True, exif=_tags(picture, camera, shot))


def _tags(picture: Image.Image, camera: Camera, shot: Exposure) -> Image.Exif:
    moment = datetime.fromisoformat(shot.taken)
    local = moment.strftime("%Y:%m:%d %H:%M:%S")
    tags = Image.Exif()
    tags[MAKE], tags[MODEL], tags[ORIENTATION], tags[DATE_TIME] = (
        camera.make,
        camera.model,
        1,
        local,
    )
    if camera.software:
        tags[SOFTWARE] = camera.software
    inner = tags.get_ifd(EXIF_IFD)
    inner[EXPOSURE] = IFDRational(1, shot.speed)
    inner[F_NUMBER] = IFDRational(round(float(camera.f_number) * 10), 10)
    inner[ISO] = shot.iso
    inner[ORIGINAL] = inner[DIGITIZED] = local
    inner[PIXELS_X], inner[PIXELS_Y] = picture.size
    if camera.offset:
        inner[OFFSET] = inner[OFFSET_ORIGINAL] = moment.isoformat()[-6:]
    if camera.fractions:
        inner[SUBSEC_ORIGINAL] = f"{moment.microsecond // 1000:03d}"
    if camera.serial:
        inner[SERIAL] = camera.serial
    if shot.at is not None:
        tags.get_ifd(GPS_IFD).update(_position(shot.at, moment, shot.fix_age))
    return tags


def _position(at: Place, moment: datetime, fix_age: int) -> dict[int, object]:
    """GPS tags: the position, and the time of the fix in UTC, a little before the picture."""
    fix = moment.astimezone(UTC).replace(microsecond=0) - timedelta(seconds=fix_age)
    return {
        0: bytes((2, 3, 0, 0)),
        1: "N" if at[0] >= 0 else "S",
        2: _degrees(at[0]),
        3: "E" if at[1] >= 0 else "W",
        4: _degrees(at[1]),
        7: (IFDRational(fix.hour, 1), IFDRational(fix.minute, 1), IFDRational(fix.second, 1)),
        29: fix.strftime("%Y:%m:%d"),
    }


def _degrees(value: float) -> tuple[IFDRational, IFDRational, IFDRational]:
    hundredths = round(abs(value) * 360_000)
    return (
        IFDRational(hundredths // 360_000, 1),
        IFDRational(hundredths // 6_000 % 60, 1),
        IFDRational(hundredths % 6_000, 100),
    )

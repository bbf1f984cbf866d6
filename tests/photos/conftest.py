"""Pictures made on the spot, so that every tag in them is known."""

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from evidence.photos import Worker
from tests.carding import face
from tests.conftest import needed
from tests.paper.printing import PRINTED

# Exif 3.0 § 4.6: tag numbers
EXIF_IFD, GPS_IFD = 0x8769, 0x8825
IMAGE_TAGS = {"Make": 0x010F, "Model": 0x0110, "Orientation": 0x0112, "DateTime": 0x0132}
EXIF_TAGS = {
    "ExposureTime": 0x829A,
    "FNumber": 0x829D,
    "ISOSpeedRatings": 0x8827,
    "DateTimeOriginal": 0x9003,
    "OffsetTime": 0x9010,
    "OffsetTimeOriginal": 0x9011,
    "SubSecTimeOriginal": 0x9291,
}
GPS_TAGS = {
    "GPSLatitudeRef": 1,
    "GPSLatitude": 2,
    "GPSLongitudeRef": 3,
    "GPSLongitude": 4,
    "GPSTimeStamp": 7,
    "GPSDateStamp": 29,
}

Make = Callable[..., Path]


@pytest.fixture
def make(tmp_path: Path) -> Make:
    """`make("a.jpg", {"DateTimeOriginal": …}, size=(40, 30), mode="RGB")` writes a picture."""

    def made(
        name: str,
        tags: Mapping[str, object] | None = None,
        *,
        size: tuple[int, int] = (40, 30),
        mode: str = "RGB",
        **save: object,
    ) -> Path:
        import pillow_heif
        from PIL import Image

        pillow_heif.register_heif_opener()
        exif = Image.Exif()
        for tag, value in (tags or {}).items():
            if tag in IMAGE_TAGS:
                exif[IMAGE_TAGS[tag]] = value
            elif tag in EXIF_TAGS:
                exif.get_ifd(EXIF_IFD)[EXIF_TAGS[tag]] = value
            else:
                exif.get_ifd(GPS_IFD)[GPS_TAGS[tag]] = value
        path = tmp_path / name
        Image.new(mode, size).save(path, **({"exif": exif.tobytes()} if tags else {}), **save)
        return path

    return made


@pytest.fixture(scope="session")
def exiftool() -> str:
    found = shutil.which("exiftool")
    needed(found is not None, "exiftool")
    return str(found)


@pytest.fixture(scope="module")
def worker():
    """The limited child, one for all the tests of a module."""
    with Worker() as started:
        yield started


@pytest.fixture(scope="module")
def card():
    """A card as pixels."""
    return face(PRINTED)

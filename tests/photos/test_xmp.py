"""A date that stands in the XMP packet alone: told, and never relied on."""

import pytest
from PIL import Image

from evidence.photos.camera import read_camera
from evidence.photos.look import look_at

PACKET = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:Description %s/></x:xmpmeta>'


def saved(path, attributes):
    image = Image.linear_gradient("L").convert("RGB")
    image.save(path, xmp=PACKET % attributes)
    return path


@pytest.mark.parametrize(
    ("attributes", "date"),
    [
        (b'xmp:CreateDate="2025-05-30T12:10:05-05:00"', "2025-05-30T12:10:05-05:00"),
        (b'xmp:CreateDate="2024-01-01" exif:DateTimeOriginal="2025-05-30T12:10:05"',
         "2025-05-30T12:10:05"),
        (b"photoshop:DateCreated='2025-05'", "2025-05"),
        (b'xmp:CreateDate="yesterday"', None),
        (b'xmp:ModifyDate="2025-05-30"', None),
    ],
)  # fmt: skip
@pytest.mark.parametrize("suffix", ["jpg", "webp"])
def test_the_date_is_read_as_it_stands_and_the_moment_of_the_picture_goes_first(
    attributes, date, suffix, tmp_path
):
    assert look_at(saved(tmp_path / f"a.{suffix}", attributes)).xmp_date == date


def test_no_tag_of_the_record_comes_from_it(tmp_path):
    path = saved(tmp_path / "a.jpg", b'exif:DateTimeOriginal="2025-05-30T12:10:05"')
    assert read_camera(path).camera is None


def test_of_the_open_pictures_some_have_such_dates_beside_their_tags(shared_photos):
    """As `exiftool -xmp:all` shows them, for two of the files."""
    looked = {
        name: look_at(shared_photos / "open" / name).xmp_date
        for name in ("exif-samples__jolla.jpg", "exifr__png_with_exif_and_gps.png")
    }
    assert looked == {
        "exif-samples__jolla.jpg": "2014-09-21T16:00:56.000000+02:00",
        "exifr__png_with_exif_and_gps.png": None,
    }

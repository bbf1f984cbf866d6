import csv
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL.TiffImagePlugin import IFDRational

from evidence.photos.camera import ReadBy, read_camera
from evidence.shapes import Hex

NOON = {"DateTimeOriginal": "2025:05:30 12:10:05"}


def read(make, **tags):
    reading = read_camera(make("a.jpg", tags))
    assert reading.unreadable is None
    return reading.camera


def test_the_manifest_of_real_photos_agrees_tag_by_tag(shared_photos):
    with (shared_photos / "MANIFEST.tsv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file, delimiter="\t"))
    assert len(rows) > 30
    for row in rows:
        reading = read_camera(shared_photos / row["file"])
        assert reading.unreadable is None, row["file"]
        found = reading.camera.model_dump(exclude_none=True) if reading.camera else {}
        told = {
            "DateTimeOriginal": row["DateTimeOriginal"],
            "OffsetTimeOriginal": row["OffsetTimeOriginal"],
            "Model": row["Model"],
        }
        assert {name: found.get(name, "") for name in told} == told, row["file"]
        place = [float(part) for part in row["GPSPosition"].split()]
        mine = [float(found[name]) for name in ("GPSLatitude", "GPSLongitude") if name in found]
        assert mine == pytest.approx(place, abs=1e-6), row["file"]
        if row["GPSDateTime"]:
            day, clock = row["GPSDateTime"].removesuffix("Z").split(" ")
            assert found["GPSDateStamp"] == day
            whole, _, fraction = clock.partition(".")
            fraction = f".{fraction:0<3}" if fraction else ""
            assert found["GPSTimeStamp"] == whole + fraction


def test_the_route_by_which_tags_were_read_is_told(shared_photos):
    routes = {
        "exif-samples__jolla.jpg": ReadBy.EXIFREAD,
        "metadata-extra__Issue_649.avif": ReadBy.PILLOW_EXIFREAD,  # exifread: AssertionError
        "metadata-extra__Nikon_D1X.webp": ReadBy.PILLOW_EXIFREAD,  # exifread: finds nothing
        "test-assets__empty_gps.jpg": ReadBy.PILLOW_EXIFREAD,
        "c2pa-python__C.jpg": ReadBy.NONE,
    }
    found = {name: read_camera(shared_photos / "open" / name).read_by for name in routes}
    assert found == routes


@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.webp", "a.tiff", "a.heic", "a.avif"])
def test_tags_are_read_from_every_kind_of_picture(make, name):
    reading = read_camera(make(name, NOON))
    assert reading.camera.DateTimeOriginal == "2025:05:30 12:10:05"


def test_a_picture_of_several_frames_gives_the_tags_of_its_first(make):
    from PIL import Image

    second = Image.new("RGB", (40, 30), "red")
    path = make("a.jpg", NOON, format="MPO", save_all=True, append_images=[second])
    assert read_camera(path).camera.DateTimeOriginal == "2025:05:30 12:10:05"


def test_exposure_is_a_fraction_and_the_stop_a_decimal(make):
    camera = read(
        make,
        ExposureTime=IFDRational(10, 1250),
        FNumber=IFDRational(28, 10),
        ISOSpeedRatings=400,
        Orientation=6,
    )
    assert (camera.ExposureTime, camera.FNumber) == ("1/125", "2.8")
    assert (camera.ISOSpeedRatings, camera.Orientation) == ("400", "6")


def test_a_fraction_without_a_short_decimal_and_one_over_zero_stay_fractions(make):
    camera = read(make, FNumber=IFDRational(12, 7), ExposureTime=IFDRational(1, 0))
    assert (camera.FNumber, camera.ExposureTime) == ("12/7", "1/0")


def test_a_position_is_signed_decimal_degrees(make):
    camera = read(
        make,
        GPSLatitude=(33.0, 51.0, 54.5),
        GPSLatitudeRef="S",
        GPSLongitude=(151.0, 12.0, 36.0),
        GPSLongitudeRef="E",
    )
    # 33 + 51/60 + 54.5/3600 = 33.86513888…; 151 + 12/60 + 36/3600 = 151.21
    assert (camera.GPSLatitude, camera.GPSLongitude) == ("-33.8651389", "151.2100000")


def test_a_position_without_its_hemisphere_is_left_out(make):
    camera = read(make, GPSLatitude=(33.0, 51.0, 54.5), **NOON)
    assert camera.GPSLatitude is None


@pytest.mark.parametrize("side", ["W", "X"])
def test_a_position_in_no_hemisphere_of_its_own_is_left_out(make, side):
    camera = read(make, GPSLatitude=(33.0, 51.0, 54.5), GPSLatitudeRef=side, **NOON)
    assert camera.GPSLatitude is None


def test_a_position_divided_by_zero_is_left_out(make):
    zero = IFDRational(0, 0)
    camera = read(make, GPSLatitude=(zero, zero, zero), GPSLatitudeRef="N", **NOON)
    assert camera.GPSLatitude is None


@pytest.mark.parametrize(
    ("parts", "text"),
    [
        ((7.0, 5.0, 9.0), "07:05:09"),
        ((16.0, 4.0, 21.01), "16:04:21.010"),
        ((99.0, 0.0, 0.0), "99 0 0"),  # no time of day: as written
    ],
)
def test_the_satellite_time_is_a_time_of_day(make, parts, text):
    assert read(make, GPSTimeStamp=parts, GPSDateStamp="2025:05:30").GPSTimeStamp == text


def test_padding_is_dropped_and_leading_blanks_stay(make):
    assert read(make, Make=" ACME    ", **NOON).Make == " ACME"


def test_a_tag_of_blanks_is_absent_and_a_blank_date_is_not(make):
    camera = read(make, Model="    ", DateTimeOriginal="    :  :     :  :  ")
    assert camera.Model is None
    assert camera.DateTimeOriginal == "    :  :     :  :"


def test_a_tag_that_is_not_clean_text_is_kept_as_its_bytes(make):
    path = make("a.jpg", {"Model": "cafe-", **NOON})
    path.write_bytes(path.read_bytes().replace(b"cafe-", b"caf\xe9-"))
    assert read_camera(path).camera.Model == Hex(hex=b"caf\xe9-".hex())


def test_a_picture_without_tags_has_neither_camera_nor_trouble(make):
    reading = read_camera(make("a.jpg"))
    assert (reading.camera, reading.read_by, reading.unreadable) == (None, ReadBy.NONE, None)


def test_what_is_no_picture_has_neither_camera_nor_trouble(tmp_path):
    (tmp_path / "letter.txt").write_text("Dear Sir")
    reading = read_camera(tmp_path / "letter.txt")
    assert (reading.camera, reading.unreadable) == (None, None)


def test_an_empty_file_is_said_to_be_empty(tmp_path):
    (tmp_path / "a.jpg").touch()
    assert read_camera(tmp_path / "a.jpg").unreadable == "the file is empty"


def test_a_file_that_is_gone_is_said_to_be_unreadable(tmp_path):
    assert "No such file" in read_camera(tmp_path / "gone.jpg").unreadable


def test_a_picture_in_name_only_is_said_to_be_unreadable(tmp_path):
    (tmp_path / "a.jpg").write_bytes(b"no picture at all")
    assert re.search(
        "cannot be read: it is not a picture", read_camera(tmp_path / "a.jpg").unreadable
    )


def test_a_picture_cut_off_behind_its_tags_still_gives_them(make):
    path = make("a.jpg", NOON, size=(400, 300))
    path.write_bytes(path.read_bytes()[:400])
    assert read_camera(path).camera.DateTimeOriginal == "2025:05:30 12:10:05"


def test_a_picture_cut_off_anywhere_never_stops_the_reading(make):
    path = make("a.jpg", {**NOON, "Make": "ACME", "GPSDateStamp": "2025:05:30"})
    whole = path.read_bytes()
    for size in range(1, len(whole), 3):
        path.write_bytes(whole[:size])
        reading = read_camera(path)
        assert reading.camera or reading.unreadable, size


@settings(
    deadline=None, max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_changed_bytes_never_stop_the_reading(make, data):
    path = make("a.jpg", {**NOON, "FNumber": IFDRational(28, 10), "GPSTimeStamp": (7.0, 5.0, 9.0)})
    changed = bytearray(path.read_bytes())
    for _ in range(data.draw(st.integers(1, 8))):
        changed[data.draw(st.integers(2, 300))] = data.draw(st.integers(0, 255))
    path.write_bytes(changed)
    read_camera(path)

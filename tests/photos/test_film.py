import json
import subprocess
from datetime import datetime

import pytest

from evidence.photos.camera import ReadBy, read_camera
from evidence.photos.film import camera_of
from evidence.photos.worker import Worker
from tests.photos.filming import EPOCH, film

MADE = datetime(2023, 7, 1, 17, 10, 5)  # noqa: DTZ001 - as the header counts
APPLE = {
    "com.apple.quicktime.make": "Lumen",
    "com.apple.quicktime.model": "Field 3",
    "com.apple.quicktime.software": "17.1",
    "com.apple.quicktime.creationdate": "2023-07-01T12:10:05-0500",
    "com.apple.quicktime.location.ISO6709": "+41.9000-087.6000+180.000/",
}


def tags(path):
    reading = read_camera(path)
    assert reading.unreadable is None
    return {} if reading.camera is None else reading.camera.model_dump(exclude_none=True)


def test_a_moment_of_capture_with_its_offset_is_taken_with_device_and_place(tmp_path):
    path = film(tmp_path / "a.mov", MADE, APPLE)
    assert tags(path) == {
        "DateTimeOriginal": "2023:07:01 12:10:05",
        "OffsetTimeOriginal": "-05:00",
        "Make": "Lumen",
        "Model": "Field 3",
        "Software": "17.1",
        "GPSLatitude": "41.9000000",
        "GPSLongitude": "-87.6000000",
    }
    assert read_camera(path).read_by is ReadBy.MEDIAINFO


def test_exiftool_reads_the_same(tmp_path, exiftool):
    path = film(tmp_path / "a.mov", MADE, APPLE)
    asked = ("-CreationDate", "-CreateDate", "-Make", "-Model", "-GPSLatitude#", "-GPSLongitude#")
    said = subprocess.run(
        [exiftool, "-json", *asked, path], capture_output=True, check=True, text=True
    ).stdout
    (theirs,) = json.loads(said)
    ours = tags(path)
    assert theirs["CreationDate"] == ours["DateTimeOriginal"] + ours["OffsetTimeOriginal"]
    assert (theirs["Make"], theirs["Model"]) == (ours["Make"], ours["Model"])
    assert theirs["GPSLatitude"] == pytest.approx(float(ours["GPSLatitude"]))
    assert theirs["GPSLongitude"] == pytest.approx(float(ours["GPSLongitude"]))
    assert theirs["CreateDate"] == "2023:07:01 17:10:05"


def test_the_header_s_time_is_of_the_capture_where_the_device_is_named(tmp_path):
    found = tags(film(tmp_path / "a.mp4", MADE, {"com.android.version": "14"}))
    assert found == {"DateTimeOriginal": "2023:07:01 17:10:05", "Software": "14"}


def test_the_header_s_time_alone_is_when_the_file_was_made(tmp_path):
    assert tags(film(tmp_path / "a.mp4", MADE)) == {"DateTimeDigitized": "2023:07:01 17:10:05"}


def test_a_header_without_a_time_says_nothing(tmp_path):
    assert tags(film(tmp_path / "a.mp4", EPOCH)) == {}


@pytest.mark.parametrize(
    ("said", "offset"),
    [
        ("2023-07-01T12:10:05+0545", "+05:45"),
        ("2023-07-01T12:10:05.123-05:00", "-05:00"),
        ("2023-07-01T12:10:05Z", None),  # who writes Z often means that no zone was known
    ],
)
def test_offsets_are_kept_in_the_spelling_of_exif(said, offset):
    camera = camera_of({"comapplequicktimecreationdate": said})
    assert camera.DateTimeOriginal == "2023:07:01 12:10:05"
    assert camera.OffsetTimeOriginal == offset


@pytest.mark.parametrize("said", ["yesterday", "", "2023-07-01"])
def test_a_date_of_another_form_is_left_out(said):
    assert camera_of({"comapplequicktimecreationdate": said}) is None


def test_a_film_cut_off_anywhere_never_stops_the_reading(tmp_path):
    whole = film(tmp_path / "a.mov", MADE, APPLE).read_bytes()
    with Worker() as worker:
        for size in range(12, len(whole), 41):
            (tmp_path / "cut.mov").write_bytes(whole[:size])
            reading = worker.camera(tmp_path / "cut.mov")
            assert "broke" not in (reading.unreadable or ""), size


def test_a_film_has_no_preview_and_says_so(tmp_path):
    path = film(tmp_path / "a.mov", MADE, APPLE)
    with Worker() as worker:
        shown = worker.preview(path, tmp_path / "a.jpg")
    assert (shown.shown, shown.why) == (False, "cannot be shown: it is a film")


def test_a_long_film_is_read_by_its_header_alone(tmp_path):
    path = film(tmp_path / "a.mp4", MADE)
    whole = path.read_bytes()
    with path.open("wb") as file:  # two gigabytes of nothing between the parts
        file.write(whole[:20] + (2**31 + 72).to_bytes(4, "big") + whole[24:92])
        file.seek(2**31, 1)
        file.write(whole[92:])
    with Worker(seconds=10) as worker:
        reading = worker.camera(path)
    assert reading.camera.DateTimeDigitized == "2023:07:01 17:10:05"

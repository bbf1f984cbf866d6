import pytest

from evidence.photos.diary import asked_of_diary, frame_of
from evidence.photos.signals import Signal
from tests.photos.shooting import shot

ZONE = {"OffsetTimeOriginal": "-05:00"}


def raised(*shots):
    return [(q.signal, q.sha256, dict(q.about)) for q in asked_of_diary(shots)]


def roll(*numbers, **more):
    return [shot(f"LF_{n:04}.jpg", f"2025:05:30 12:{n - 500:02}:00", **more) for n in numbers]


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("LF_0531.jpg", ("LF_", 531)),
        ("DSC00012.JPG", ("DSC", 12)),
        ("20250530_121005.jpg", None),  # a telephone's name by date: no roll
        ("roof.jpg", None),
    ],
)
def test_a_frame_is_read_from_a_camera_s_name(name, found):
    frame = frame_of(name, shot().camera)
    assert (None if frame is None else (frame[0].letters, frame[1])) == found
    assert frame_of(name, None) is None


def test_numbers_missing_within_a_day_are_named_at_the_next_picture():
    assert raised(*roll(531, 533, 536)) == [
        (Signal.FRAMES_MISSING, "LF_0533.jpg", {"frames": "LF_0532"}),
        (Signal.FRAMES_MISSING, "LF_0536.jpg", {"frames": "LF_0534 to LF_0535"}),
    ]


def test_numbers_missing_between_days_and_those_sealed_elsewhere_are_not_asked_about():
    next_day = shot("LF_0540.jpg", "2025:05:31 09:00:00", seq=7)
    assert raised(*roll(531), next_day) == []
    assert raised(*roll(531, 533), shot("LF_0532.jpg", "2025:05:30 12:32:00", seq=9)) == []


def test_another_camera_and_a_messenger_s_copy_have_rolls_of_their_own():
    other = shot("LF_0535.jpg", "2025:05:30 12:35:00", BodySerialNumber="7")
    copy = shot("LF_0536.jpg", "2025:05:30 12:36:00", copied=True)
    assert raised(*roll(531), other, copy) == []


def test_a_clock_that_runs_backward_along_the_numbers_is_asked_about():
    first = shot("LF_0531.jpg", "2025:05:30 12:10:05", **ZONE)
    second = shot("LF_0532.jpg", "2025:05:30 12:10:04", **ZONE)
    assert raised(first, second) == [
        (Signal.CLOCK_BACKWARD, "LF_0532.jpg", {"other": "LF_0531.jpg"})
    ]


@pytest.mark.parametrize(
    ("second", "asked"),
    [("2025:05:30 09:10:05", False), ("2025:05:30 09:10:04", True)],
)
def test_a_clock_without_a_zone_may_be_set_back_by_three_hours(second, asked):
    found = raised(shot("LF_0531.jpg"), shot("LF_0532.jpg", second))
    assert bool(found) is asked


def test_a_traveller_s_clock_goes_back_and_time_does_not():
    west = shot("LF_0532.jpg", "2025:05:30 11:20:00", OffsetTimeOriginal="-06:00")
    assert raised(shot("LF_0531.jpg", **ZONE), west) == []


def test_a_roll_that_started_again_is_not_asked_about():
    old, new = shot("LF_9990.jpg"), shot("LF_0003.jpg", "2025:07:01 09:00:00")
    assert raised(old, new) == []


def satellites(name, clock, at):
    return shot(name, clock, GPSDateStamp="2025:05:30", GPSTimeStamp=at, **ZONE)


@pytest.mark.parametrize(("second", "asked"), [("17:09:00", False), ("17:08:50", True)])
def test_a_clock_that_moves_against_the_satellites_is_asked_about(second, asked):
    first = satellites("LF_0100.jpg", "2025:05:30 09:00:00", "14:01:00")  # a minute behind
    last = satellites("LF_0101.jpg", "2025:05:30 12:10:00", second)
    found = raised(first, last)
    assert bool(found) is asked
    if asked:
        about = {"other": "LF_0100.jpg", "seconds": 130}
        assert found == [(Signal.CLOCK_DRIFT, "LF_0101.jpg", about)]


def test_a_stale_satellite_time_is_no_drift():
    first = satellites("LF_0100.jpg", "2025:05:30 09:00:00", "13:00:00")
    last = satellites("LF_0101.jpg", "2025:05:30 12:10:00", "17:10:00")
    assert raised(first, last) == []

from datetime import date

import pytest

from evidence.photos.look import Look
from evidence.photos.seen import asked_of_looks, hints
from evidence.photos.signals import FROM_PIXELS, Signal
from tests.photos.shooting import shot

GOOD = Look(luma=120, sharpness=300, sharpest=900, alike=(0x0123456789ABCDEF,) * 8, flash=False)
LATER = (date(2025, 7, 1), date(2025, 7, 1))
NIGHT = {
    "OffsetTimeOriginal": "-05:00", "GPSLatitude": "41.9000000", "GPSLongitude": "-87.6000000",
    "FNumber": "8", "ExposureTime": "1/125", "ISOSpeedRatings": "100",
}  # fmt: skip
"""Chicago; EV100 = log2(64 * 125) = 13: the light of a dull day."""


def look(**more):
    return GOOD.model_copy(update=more)


def raised(taken, seen):
    return {q.signal for q in asked_of_looks((taken,), {taken.sha256: seen})}


@pytest.mark.parametrize(
    ("more", "signals"),
    [
        ({}, []),
        ({"sharpness": 19.9, "sharpest": 19.9}, [Signal.BLURRED]),
        ({"sharpness": 19.9, "sharpest": 20.0}, []),  # a smooth surface with an edge in focus
        ({"sharpness": 0.0, "sharpest": 0.0, "alike": ()}, []),  # nothing in it to be sharp
        ({"luma": 29.9}, [Signal.DARK]),
        ({"luma": 30.0}, []),
        ({"dark": 0.5}, [Signal.DARK]),
        ({"bright": 0.5}, [Signal.BRIGHT]),
        ({"bright": 0.49}, []),
        ({"luma": None, "why": "cannot be shown: it is a film"}, []),
    ],
)
def test_hints_follow_the_thresholds(more, signals):
    assert list(hints(look(**more))) == signals


def test_a_small_picture_that_shows_something_else_is_asked_about():
    assert raised(shot(), look(thumbnail=0.79)) == {Signal.THUMBNAIL}
    assert raised(shot(), look(thumbnail=0.8)) == set()


def test_daylight_at_a_time_of_night_is_asked_about():
    night = shot(local="2025:05:30 00:30:00", **NIGHT)
    assert raised(night, GOOD) == {Signal.NIGHT}


@pytest.mark.parametrize(
    ("local", "tags", "seen"),
    [
        ("2025:05:30 12:30:00", {}, {}),  # by day
        ("2025:05:30 00:30:00", {"OffsetTimeOriginal": "soon"}, {}),  # some of 26 hours is day
        ("2025:05:30 00:30:00", {"ExposureTime": "1/15"}, {}),  # EV 9.9
        ("2025:05:30 00:30:00", {"ISOSpeedRatings": "0"}, {}),
        ("2025:05:30 00:30:00", {"GPSLatitude": "0", "GPSLongitude": "0"}, {}),
        ("2025:05:30 00:30:00", {}, {"flash": True}),
        ("2025:05:30 00:30:00", {}, {"flash": None}),
        ("2025:05:30 00:30:00", {}, {"luma": 59.9}),  # the moon, small in a black sky
    ],
)
def test_whatever_leaves_room_for_doubt_is_not_asked_about(local, tags, seen):
    assert Signal.NIGHT not in raised(shot(local=local, **(NIGHT | tags)), look(**seen))


def test_pictures_of_different_days_that_look_alike_are_asked_about_once():
    taken = [shot("a.jpg", seq=1), shot("b.jpg", seq=5, dates=LATER), shot("c.jpg", seq=6)]
    near = look(alike=(GOOD.alike[0] ^ 0b111111,) * 8)  # 6 bits
    seen = {"a.jpg": GOOD, "b.jpg": near, "c.jpg": look(alike=(0,) * 8)}
    (question,) = asked_of_looks(taken, seen)
    assert (question.signal, question.sha256) == (Signal.ALIKE, "b.jpg")
    assert question.about == {"others": "a.jpg in entry 2"}


def test_a_copy_and_its_linked_original_are_not_asked_about():
    taken = [shot("a.jpg", seq=1, original="b.jpg"), shot("b.jpg", seq=5, dates=LATER)]
    seen = {"a.jpg": GOOD, "b.jpg": GOOD}
    assert list(asked_of_looks(taken, seen)) == []
    assert len(list(asked_of_looks([shot("a.jpg", seq=1), taken[1]], seen))) == 1


def test_pictures_of_one_day_may_look_alike():
    taken = [shot("a.jpg", seq=1), shot("b.jpg", seq=5)]
    assert list(asked_of_looks(taken, {"a.jpg": GOOD, "b.jpg": GOOD})) == []


def test_all_that_is_asked_of_pixels_is_known_to_be():
    night = shot("n.jpg", "2025:05:30 00:30:00", dates=LATER, **NIGHT)
    bad = look(thumbnail=0.1, dark=0.6, bright=0.6, sharpness=1, sharpest=1)
    found = {q.signal for q in asked_of_looks((shot(), night), {"LF_0531.jpg": bad, "n.jpg": bad})}
    assert found == FROM_PIXELS

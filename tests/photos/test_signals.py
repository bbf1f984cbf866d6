from datetime import date, timedelta

import pytest

from evidence.photos import Atlas
from evidence.photos.signals import FROM_PIXELS, Signal, asked_of_tags
from evidence.times import parse_utc
from tests.photos.shooting import shot

EDITORS = ("gimp", "photoshop")
LATER = (date(2025, 7, 1), date(2025, 7, 1))


def raised(*shots):
    return {q.signal: dict(q.about) for q in asked_of_tags(shots, EDITORS)}


def test_an_ordinary_picture_raises_nothing():
    whole = shot(
        OffsetTimeOriginal="-05:00", DateTime="2025:05:30 12:10:05", Software="F3.4.1.0",
        GPSDateStamp="2025:05:30", GPSTimeStamp="17:10:00",
    )  # fmt: skip
    assert raised(whole, shot("LF_0532.jpg")) == {}


@pytest.mark.parametrize("software", ["GIMP 2.10.36", "Adobe Photoshop 7.0"])
def test_a_program_that_changes_pictures_is_asked_about(software):
    assert raised(shot(Software=software)) == {Signal.EDITOR: {"software": software}}


@pytest.mark.parametrize(
    ("changed", "asked"),
    [
        ("2025:05:30 12:11:05", False),  # a minute to write the file
        ("2025:05:30 12:11:06", True),
        ("2023-09-27T14:30:13+02:00", True),  # as one program writes it
        ("0000:00:00 00:00:00", False),
    ],
)
def test_a_file_changed_after_it_was_taken_is_asked_about(changed, asked):
    assert (Signal.CHANGED_LATER in raised(shot(DateTime=changed))) is asked


@pytest.mark.parametrize(
    ("offset", "day", "clock", "asked"),
    [
        ("-05:00", "2025:05:30", "17:13:05", False),  # 3 minutes
        ("-05:00", "2025:05:30", "17:13:06", True),
        (None, "2025:05:30", "17:13:05", False),
        (None, "2025:05:30", "17:14:00", True),
        (None, "2025:05:30", "22:10:00", False),  # -10, in use on earth
        (None, "2025:05:31", "17:10:00", True),  # a day off: never folded
        (None, "2018:07:25", "17:10:00", True),
    ],
)
def test_a_clock_that_satellites_contradict_is_asked_about(offset, day, clock, asked):
    tags = {"GPSDateStamp": day, "GPSTimeStamp": clock}
    if offset:
        tags["OffsetTimeOriginal"] = offset
    assert (Signal.CLOCK_GPS in raised(shot(**tags))) is asked


def test_a_contradiction_of_zones_is_asked_about_once():
    atlas = Atlas("test", lambda *_: "America/Denver")
    found = raised(
        shot(
            atlas=atlas, OffsetTimeOriginal="-05:00", GPSDateStamp="2025:05:30",
            GPSTimeStamp="18:10:05", GPSLatitude="39.7400000", GPSLongitude="-104.9900000",
        )
    )  # fmt: skip
    assert found.keys() == {Signal.ZONES_DISAGREE}
    assert "its position lies in America/Denver" in found[Signal.ZONES_DISAGREE]["said"]


def test_one_file_for_two_days_is_asked_about_where_it_stands_again():
    first, again = shot(), shot(seq=9, dates=LATER)
    (question,) = asked_of_tags((first, again), EDITORS)
    assert (question.signal, question.seq, question.about) == (Signal.USED_TWICE, 9, {"other": 5})


def test_one_file_for_one_day_or_without_a_day_is_not_asked_about():
    assert raised(shot(), shot(seq=9)) == {}
    assert raised(shot(dates=None), shot(seq=9, dates=LATER)) == {}


def test_a_clock_before_the_card_in_the_picture_is_asked_about():
    taken = {"OffsetTimeOriginal": "-05:00"}
    card = parse_utc("2025-05-30T17:10:06Z")
    assert raised(shot(card=card, **taken)) == {Signal.CARD_CLOCK: {}}
    assert raised(shot(card=card - timedelta(seconds=1), **taken)) == {}
    assert raised(shot(card=card)) == {}  # anywhere on earth, some of it is later


def test_what_pixels_raise_stands_last_in_the_list():
    order = list(Signal)
    assert order[-len(FROM_PIXELS) :] == [one for one in order if one in FROM_PIXELS]

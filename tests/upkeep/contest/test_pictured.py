"""What is said of the pictures: copies, clocks, and numbers missing in a camera's roll."""

import pytest

from evidence.upkeep.challenge import Challenge, Grave, How, Kind, Step
from tests.dossier.claims import after, before, incident
from tests.scenarios.build import Told, look, photo, tell
from tests.upkeep.contest.arguing import against, answered, kinds, only, pictures, the


def copy(name: str) -> Told:
    return photo(None, via="messenger", zone="field-mr", name=name)


def test_a_copy_from_a_messenger_is_held_against_it_until_the_original_is_linked():
    first, second = copy("message_1.jpg"), copy("message_2.jpg")
    original = photo("2025:06:08 17:45:00", offset="-05:00", name="LF_0535.jpg")
    told = (before(), incident(), after(files=[first]), pictures("2025-06-10T12:00:00Z", second))
    assert the(Kind.COPY_ONLY, *told) == Challenge(
        Kind.COPY_ONLY,
        Grave.WEIGHT,
        (8, 9),
        (),
        (Step.ASK_ORIGINAL,),
        {"names": ("message_1.jpg", "message_2.jpg")},
    )
    sealed = pictures("2025-06-10T12:00:00Z", original)
    label = {"of": [original["sha256"]], "original_of": first["sha256"]}
    linked = (sealed, tell("label", label, "2025-06-10T12:00:00Z"))
    found = the(Kind.COPY_ONLY, *told, *linked)
    assert (found.entries, found.grave) == ((9,), Grave.QUESTION)


def test_a_name_that_is_not_text_stands_as_an_empty_one():
    odd = copy("message_1.jpg") | {"name": {"hex": "ff0a"}}
    assert the(Kind.COPY_ONLY, before(files=[odd]), incident()).about["names"] == ("",)


def test_clocks_that_are_not_relied_on_are_named_and_another_picture_of_the_look_answers():
    """A clock that starts anew in 2016 lies before the rig was built."""
    reset = photo("2016:01:01 00:00:00", name="one.jpg")
    sound = photo("2025:05:30 12:10:31", offset="-05:00", name="two.jpg")
    told = (
        before(files=[reset, sound]),
        before("2025-06-01", files=[reset | {"name": "three.jpg"}]),
        incident(),
        after(files=[photo(None, name="four.jpg")]),
    )
    assert the(Kind.CLOCK_NOT_RELIED_ON, *told) == Challenge(
        Kind.CLOCK_NOT_RELIED_ON,
        Grave.QUESTION,
        (6, 7),
        answered(How.CAMERA, 6),
        (Step.TEST_CLOCK, Step.ASK_ORIGINAL),
        {"names": ("one.jpg", "three.jpg")},
    )


# The roll


def frame(
    number: int, taken: str | None = "2025:06:08 17:4", roll: str = "LF_", **more: object
) -> Told:
    """Picture `number` of a roll; a `taken` that is cut short ends with the number's last digit."""
    camera = {"Make": "Lumen"} | more.pop("camera", {})
    if taken is not None and len(taken) == len("2025:06:08 17:4"):
        taken += f"{number % 10}:00"
    shot = photo(taken, offset="-05:00", name=f"{roll}{number:04}.jpg", **more)
    return shot | {"camera": shot.get("camera", {}) | camera}


def test_numbers_missing_in_a_cameras_roll_are_a_question():
    taken = [frame(number) for number in (531, 533, 534, 538)]
    assert the(Kind.MISSING_FRAMES, before(), incident(), after(files=taken)) == Challenge(
        Kind.MISSING_FRAMES,
        Grave.QUESTION,
        (8,),
        (),
        (Step.SEAL_FRAMES,),
        {"frames": ("LF_0532", "LF_0535 to LF_0537")},
    )


def test_a_roll_of_bare_numbers_is_told_by_its_numbers():
    taken = [frame(number, roll="") for number in (531, 533)]
    found = the(Kind.MISSING_FRAMES, incident(), after(files=taken))
    assert found.about["frames"] == ("0532",)


def test_what_is_missing_of_one_roll_on_several_days_is_told_together():
    early = [frame(number, "2025:05:30 12:1") for number in (531, 533)]
    late = [frame(number) for number in (541, 543)]
    found = the(Kind.MISSING_FRAMES, before(files=early), incident(), after(files=late))
    assert (found.entries, found.about["frames"]) == ((6, 8), ("LF_0532", "LF_0542"))


@pytest.mark.parametrize(
    "taken",
    [
        [photo(f"2025:06:08 17:4{n}:00", offset="-05:00", name=f"IMG_20250608_17450{n}.jpg")
         for n in (1, 3)],
        [frame(531, via="messenger"), frame(533, via="messenger")],
        [frame(531), frame(533, camera={"Make": "Other"})],
        [frame(531), frame(533, camera={"Model": "Field 3"})],
        [frame(531), frame(533, camera={"BodySerialNumber": "7"})],
    ],
    ids=["names are times", "copies", "another make", "another model", "another body"],
)  # fmt: skip
def test_names_that_are_no_numbers_of_one_roll_raise_no_question(taken):
    assert Kind.MISSING_FRAMES not in kinds(incident(), after(files=taken))


def test_a_number_sealed_elsewhere_is_not_missing():
    other = pictures("2025-06-10T12:00:00Z", frame(532))
    told = (incident(), after(files=[frame(531), frame(533)]), other)
    assert Kind.MISSING_FRAMES not in kinds(*told)


def covered(files: list[Told]) -> Told:
    body = {"when": "2025-06-08", "zones": ["vent"], "what": "sheet", "incidents": ["i1"]}
    return tell("cover", body, "2025-06-08T23:00:00Z", files=files)


@pytest.mark.parametrize(
    ("sealed", "asked"),
    [
        (lambda files: after(files=files), True),
        (covered, True),
        (lambda files: pictures("2025-06-09T12:00:00Z",
                                *(file | {"incidents": ["i1"]} for file in files)), True),
        (lambda files: pictures("2025-06-09T12:00:00Z", *files), False),
        (lambda files: look("2025-06-20", {"vent": 0}, files=files), False),
    ],
    ids=["a look after", "an entry that names it", "pictures of it", "pictures", "another look"],
)  # fmt: skip
def test_only_pictures_around_the_incident_are_asked_about(sealed, asked):
    told = (before(), incident(), sealed([frame(531), frame(533)]))
    assert (Kind.MISSING_FRAMES in kinds(*told)) is asked


def test_the_last_look_before_is_asked_about_too():
    shots = [frame(number, "2025:05:30 12:1") for number in (531, 533)]
    assert only(Kind.MISSING_FRAMES, against(before(files=shots), incident())).entries == (6,)


@pytest.mark.parametrize(
    ("first", "second", "asked"),
    [
        ("2025:06:08 18:30:00", "2025:06:08 19:30:00", True),
        ("2025:06:08 18:30:00", "2025:06:10 12:00:00", False),
        ("2025:06:08 20:00:00", "2025:06:09 08:00:00", False),
        (None, None, True),
    ],
    ids=["a day at home, two in UTC", "two days", "two days at home, one in UTC", "undated"],
)
def test_a_roll_is_followed_over_one_calendar_day_by_the_camera_else_by_the_entry(
    first, second, asked
):
    shots = [frame(531, first, incidents=["i1"]), frame(533, second, incidents=["i1"])]
    told = (incident(), pictures("2025-06-11T12:00:00Z", *shots))
    assert (Kind.MISSING_FRAMES in kinds(*told)) is asked

"""What could be entered of pictures: complete but for what only a person can say."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from evidence.case import Record
from evidence.intake import take_in
from evidence.proposing import AskKind, labels_of
from tests.carding import photo
from tests.making import picture
from tests.tampering import owner_of

AUTUMN = datetime(2025, 9, 1, 12, tzinfo=UTC)


@pytest.fixture
def record(case: Path) -> Record:
    return Record.open(case)


def proposals(record, *paths):
    found = take_in(record, paths, "owner", owner_of(record.folder), clock=lambda: AUTUMN)
    return found.proposals


def shot(path, taken, offset="-05:00", grey=180):
    return picture(path, taken, offset, grey)


def asked(proposal):
    return [ask.kind for ask in proposal.asks]


def test_a_look_has_its_time_from_the_pictures_and_leaves_open_what_they_do_not_say(
    record, tmp_path
):
    a = shot(tmp_path / "a.jpg", "2025:08:30 09:00:05")
    b = shot(tmp_path / "b.jpg", "2025:08:30 09:12:40", grey=90)
    (look,) = proposals(record, a, b)
    assert look.kind == "inspection"
    assert look.body == {
        "when": "2025-08-30T09:00-05:00/2025-08-30T09:12-05:00",
        "means": None, "occasion": None, "zones": [],
    }  # fmt: skip
    assert [file["name"] for file in look.files] == ["a.jpg", "b.jpg"]
    assert asked(look) == [AskKind.OPEN]


def test_nothing_is_entered_by_it(record, tmp_path):
    proposals(record, shot(tmp_path / "a.jpg", "2025:08:30 09:00:05"))
    assert record.entries[-1].kind == "photos"


def test_a_card_gives_the_zone_of_the_pictures_that_follow_it(record, tmp_path):
    ahead = shot(tmp_path / "1.jpg", "2025:08:30 09:00:00")
    card = photo(record, tmp_path / "2.jpg", "2025:08:30 09:01:00", "vent-1")
    behind = shot(tmp_path / "3.jpg", "2025:08:30 09:02:00", grey=60)
    # the cards drawn here name no camera: let all three be of one
    (look,) = proposals(record, ahead, card, behind)
    assert look.body["zones"] == [{"zone": "vent-1", "grade": None}]
    told = {file["name"]: file.get("zone") for file in look.files}
    assert (told["1.jpg"], told["2.jpg"]) == (None, "vent-1")
    assert AskKind.CAMERAS in asked(look)
    (label,) = labels_of(look)
    assert label.body["zone"] == "vent-1"


def test_a_clock_without_a_zone_proposes_its_own_day_and_asks(record, tmp_path):
    (look,) = proposals(record, shot(tmp_path / "a.jpg", "2025:08:30 09:00:00", None))
    assert look.body["when"] == "2025-08-30"
    assert asked(look) == [AskKind.OPEN, AskKind.NO_ZONE]


def test_a_look_past_midnight_is_one_look_of_two_days(record, tmp_path):
    a = shot(tmp_path / "a.jpg", "2025:08:30 23:50:00", None)
    b = shot(tmp_path / "b.jpg", "2025:08:31 00:10:00", None, grey=90)
    (look,) = proposals(record, a, b)
    assert look.body["when"] == "2025-08-30/2025-08-31"


def test_a_clock_that_a_card_contradicts_proposes_what_is_known_and_asks(record, tmp_path):
    """A camera set back to May, and the answer of 8 June, 22:51 UTC, in its picture."""
    (look,) = proposals(record, photo(record, tmp_path / "a.jpg", "2025:05:01 09:00:00"))
    assert look.body["when"] == "2025-06-08T17:51-05:00/2025-09-01T07:00-05:00"
    (_, ask) = look.asks
    assert (ask.kind, ask.about) == (AskKind.CARD_LATER, {"clock": "2025-05-01"})


def test_pictures_without_a_time_are_described_by_the_card_in_them_alone(record, tmp_path):
    card = photo(record, tmp_path / "a.jpg", None, "vent-1")
    (label,) = proposals(record, card, shot(tmp_path / "b.jpg", None, grey=40))
    assert (label.kind, label.body["zone"], len(label.body["of"])) == ("label", "vent-1", 1)


def test_what_a_person_left_open_is_proposed_again_and_what_he_described_is_not(record, tmp_path):
    from evidence.case import Draft

    path = shot(tmp_path / "a.jpg", "2025:08:30 09:00:05")
    (look,) = proposals(record, path)
    assert proposals(record, path) == (look,)
    label = {"of": [look.files[0]["sha256"]], "zone": "vent-1"}
    record.write([Draft("label", label, "owner")], owner_of(record.folder), clock=lambda: AUTUMN)
    assert proposals(record, path) == ()


def test_the_form_is_that_of_a_file_to_enter(record, tmp_path):
    (look,) = proposals(record, shot(tmp_path / "a.jpg", "2025:08:30 09:00:05"))
    document = look.as_json(["What?"])
    assert document.keys() == {"kind", "body", "by", "files", "asks"}
    assert (document["kind"], document["by"], document["asks"]) == (
        "inspection",
        "owner",
        ["What?"],
    )

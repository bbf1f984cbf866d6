"""Which pictures a dossier shows, in which order, and what stands under each."""

from itertools import islice

import pytest

from evidence.dossier.exhibits import (
    clock_words,
    file_name,
    letter,
    of_zone,
    pair,
    pictures_of,
)
from tests.dossier.claims import after, before, claim, incident
from tests.scenarios.build import RIG, Told, look, photo


def taken(name: str, **more: object) -> Told:
    return photo("2025:05:30 12:10:31", offset="-05:00", name=name, **more)


def names(pictures):
    return [picture.file.name for picture in pictures]


def test_letters_go_on_after_z():
    assert [letter(n) for n in (0, 1, 25, 26, 27, 51, 52, 701, 702)] == [
        "A", "B", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip


def test_no_two_exhibits_share_a_letter():
    assert len({letter(place) for place in range(2000)}) == 2000


@pytest.mark.parametrize(
    ("more", "shown"),
    [
        ({"role": "close"}, True),
        ({}, True),
        ({"role": "scan"}, False),
        ({"role": "card"}, False),
        ({"type": "video/mp4", "role": "video"}, False),
        ({"type": "application/pdf"}, False),
    ],
)
def test_scans_cards_and_what_is_no_picture_are_no_exhibits(more, shown):
    standing, _ = claim(
        before(files=[taken("a.jpg", zone="field-mr", **more)]), incident(), after()
    )
    ((_, picture),) = standing.history.pictures()
    assert picture.of_roof is shown


def test_the_telling_pictures_of_a_zone_come_first():
    files = [
        taken("wide.jpg", zone="field-mr", role="wide"),
        taken("other.jpg", zone="field-mr", role="other"),
        taken("close.jpg", zone="field-mr", role="close"),
        taken("vent.jpg", zone="vent", role="close"),
        taken("middle.jpg", zone="field-mr", role="middle"),
        taken("card.jpg", zone="field-mr", role="card"),
    ]
    _, facts = claim(before(files=files), incident(), after())
    look_before = facts.zones[0].before
    assert look_before is not None
    assert names(of_zone(look_before.item, "field-mr")) == [
        "middle.jpg", "close.jpg", "wide.jpg", "other.jpg",
    ]  # fmt: skip


def shown_pair(first: list[Told], second: list[Told]) -> list[object]:
    _, facts = claim(before(files=first), incident(), after(files=second))
    zone = facts.zones[0]
    return [None if p is None else p.file.name for p in pair(zone.before, zone.after, zone.zone)]


def later(name: str, role: str | None) -> Told:
    more = {} if role is None else {"role": role}
    return photo("2025:06:08 17:45:00", offset="-05:00", name=name, zone="field-mr", **more)


def test_the_pair_is_of_the_same_kind_where_both_looks_have_one():
    first = [taken(f"{r}.jpg", zone="field-mr", role=r) for r in ("middle", "close")]
    second = [later("after-wide.jpg", "wide"), later("after-close.jpg", "close")]
    assert shown_pair(first, second) == ["close.jpg", "after-close.jpg"]


def test_else_each_look_gives_its_most_telling_picture():
    first = [taken(f"{r}.jpg", zone="field-mr", role=r) for r in ("wide", "middle")]
    second = [later("after-close.jpg", "close"), later("plain.jpg", None)]
    assert shown_pair(first, second) == ["middle.jpg", "after-close.jpg"]


def test_a_look_without_a_picture_of_the_zone_leaves_its_side_empty():
    assert shown_pair([taken("vent.jpg", zone="vent")], [later("b.jpg", "close")]) == [
        None,
        "b.jpg",
    ]


def test_without_any_look_the_pair_is_empty():
    assert pair(None, None, "field-mr") == (None, None)


def test_further_pictures_are_of_cited_entries_and_of_the_zones_named_and_stand_once():
    files = [
        taken("pair.jpg", zone="field-mr", role="close"),
        taken("second.jpg", zone="field-mr", role="wide"),
        taken("vent.jpg", zone="vent"),
        taken("scan.jpg", zone="field-mr", role="scan"),
    ]
    standing, facts = claim(
        before(files=files),
        incident(),
        after(
            files=[
                later("second.jpg", "wide"),
                photo("2025:06:08 17:46:00", name="found.jpg", zone="vent", finding="f3"),
                photo("2025:06:08 17:47:00", name="told.jpg", incidents=["i1"]),
            ]
        ),
        look("2025-07-01", {"field-mr": 4}, files=[taken("uncited.jpg", zone="field-mr")]),
    )
    used = [files[0]["sha256"]]
    rows = pictures_of(standing.history, facts, [6, 8], used)
    assert [(item.seq, picture.file.name) for item, picture in rows] == [
        (6, "second.jpg"),
        (8, "found.jpg"),
        (8, "told.jpg"),
    ]


@pytest.mark.parametrize(
    ("picture", "words"),
    [
        (photo("2025:05:30 12:10:31", offset="-05:00"), "30 May 2025 12:10, zone by the camera"),
        (photo("2025:05:30 12:10:31"), "zone unknown"),
    ],
)
def test_the_caption_says_what_the_clock_supports_and_why(picture, words):
    standing, _ = claim(before(files=[picture]), incident(), after())
    ((_, shown),) = islice(standing.history.pictures(), 1)
    said = clock_words(shown, standing.history)
    assert said.startswith("camera clock: ")
    assert said.endswith(words)


def test_a_date_that_is_not_relied_on_is_shown_raw_with_the_reason():
    standing, _ = claim(before(files=[photo("2016:02:03 14:03:22")]), incident(), after())
    ((_, shown),) = islice(standing.history.pictures(), 1)
    assert clock_words(shown, standing.history) == (
        "time as stated (The camera's date 2016:02:03 14:03:22 is not relied on: it lies before "
        "the rig was built)"
    )
    assert RIG["built"] == "2023-03-01"


def test_without_a_tag_the_time_is_as_stated():
    standing, _ = claim(before(files=[photo(None)]), incident(), after())
    ((_, shown),) = islice(standing.history.pictures(), 1)
    assert clock_words(shown, standing.history) == "time as stated"


def test_a_name_that_is_not_text_is_said_to_be_none():
    odd = taken("a.jpg") | {"name": {"hex": "ff41"}}
    standing, _ = claim(before(files=[odd]), incident(), after())
    ((_, shown),) = islice(standing.history.pictures(), 1)
    assert file_name(shown) == "(the name is not text)"

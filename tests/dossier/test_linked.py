"""A copy and its original, in words: each named beside the other."""

from evidence.dossier.linked import link_words, linked_pairs
from tests.scenarios.build import history, look, photo, tell

COPY = photo(None, name="message_1.jpg", via="messenger", zone="skylight")
ORIGINAL = photo("2025:03:01 10:00:00", offset="-06:00", name="LF_0500.jpg")
LATE = "2025-03-20T12:00:00Z"
LINK = {"of": [ORIGINAL["sha256"]], "original_of": COPY["sha256"]}
TOLD = [
    look("2025-03-01", files=[COPY]),
    tell("photos", {}, LATE, files=[ORIGINAL]),
    tell("label", LINK, LATE),
]


def words(told, name):
    found = history(told, "2025-04-01")
    return [link_words(p, found) for _, p in found.pictures() if p.file.name == name]


def test_the_copy_names_its_original_and_the_original_its_copy():
    assert words(TOLD, "message_1.jpg") == [
        ["a copy, its original is LF_0500.jpg in entry 8, linked in entry 9"]
    ]
    assert words(TOLD, "LF_0500.jpg") == [
        ["the original of message_1.jpg in entry 7, linked in entry 9"]
    ]


def test_without_a_link_nothing_is_said():
    assert words(TOLD[:2], "message_1.jpg") == [[]]
    assert list(linked_pairs(history(TOLD[:2], "2025-04-01"))) == []


def test_a_copy_whose_entry_was_withdrawn_is_a_file_that_is_not_shown():
    gone = tell("correction", {"of": 6, "withdraw": True, "why": "wrong roof"}, LATE)
    (said,) = words([*TOLD, gone], "LF_0500.jpg")
    assert said == ["the original of a file that this record does not show, linked in entry 9"]
    (pair,) = linked_pairs(history([*TOLD, gone], "2025-04-01"))
    assert pair.startswith("a file that this record does not show is a copy")

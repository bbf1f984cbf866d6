"""A copy and its original: linked, named beside each other, counted once, and no entry moves."""

import pytest

from evidence.errors import RefusedError
from evidence.upkeep import as_json
from evidence.upkeep.linked import Links, read_links
from tests.scenarios.build import history, look, measured, photo, tell

COPY = photo(None, name="message_1.jpg", via="messenger", zone="skylight")
ORIGINAL = photo("2025:03:01 10:00:00", offset="-06:00", name="LF_0500.jpg")
LATE = "2025-03-20T12:00:00Z"


def linked(*labels):
    entries = [
        look("2025-03-01", files=[COPY]),
        tell("photos", {}, LATE, files=[ORIGINAL]),
        *(tell("label", label, LATE) for label in labels),
    ]
    return [*entries]


LINK = {"of": [ORIGINAL["sha256"]], "original_of": COPY["sha256"]}


def test_a_label_links_both_ways_and_names_its_entry():
    links = history(linked(LINK), "2025-04-01").links
    assert links.original_of == {COPY["sha256"]: ORIGINAL["sha256"]}
    assert links.copies_of == {ORIGINAL["sha256"]: (COPY["sha256"],)}
    assert links.told_in == {COPY["sha256"]: 8}


def test_the_standing_shows_the_link_and_no_figure_moves():
    told = [as_json(measured(linked(*labels), "2025-04-01")) for labels in ((), (LINK,))]
    assert [one.pop("links") for one in told] == [
        [],
        [{"copy": COPY["sha256"], "original": ORIGINAL["sha256"], "seq": 8}],
    ]
    for one in told:
        one.pop("case")
        one["entries"] = [row for row in one["entries"] if row["kind"] != "label"]
    assert told[0] == told[1]


def test_the_originals_clock_does_not_move_the_entry_of_the_copy():
    """RECORD § 3: "its photos'" are the files that the entry names; the original is none."""
    item = history(linked(LINK), "2025-04-01").item(6)
    assert item is not None
    assert (item.span.basis, item.conflict) == ("stated", False)
    assert [picture.file.name for picture in item.pictures] == ["message_1.jpg"]


def test_a_link_that_is_withdrawn_is_gone():
    withdrawn = tell("correction", {"of": 8, "withdraw": True, "why": "another day"}, LATE)
    assert history([*linked(LINK), withdrawn], "2025-04-01").links == Links()


def test_the_last_word_on_a_copy_counts_and_an_original_may_have_several():
    class Label:
        def __init__(self, original, copy):
            self.of, self.original_of = (original,), copy

    links = read_links([(1, Label("o1", "c1")), (2, Label("o1", "c2")), (3, Label("o2", "c1"))])
    assert links.original_of == {"c1": "o2", "c2": "o1"}
    assert links.copies_of == {"o2": ("c1",), "o1": ("c2",)}
    assert links.told_in["c1"] == 3


@pytest.mark.parametrize(
    ("pairs", "one", "counts_as"),
    [
        ({"c": "o"}, "c", "o"),
        ({"c": "o"}, "o", "o"),
        ({"c": "o"}, "x", "x"),
        ({"c": "o", "o": "q"}, "c", "q"),
    ],
)
def test_a_copy_counts_as_its_original(pairs, one, counts_as):
    assert Links(pairs).one_of(one) == counts_as


def test_two_files_that_are_said_to_be_the_originals_of_each_other_end_somewhere():
    assert Links({"a": "b", "b": "a"}).one_of("a") in {"a", "b"}


@pytest.mark.parametrize(
    ("label", "said"),
    [
        ({"of": [COPY["sha256"]], "original_of": COPY["sha256"]}, "not the original of itself"),
        ({"of": [ORIGINAL["sha256"], "ab" * 32], "original_of": COPY["sha256"]}, "one original"),
    ],
)
def test_a_link_that_makes_no_sense_is_refused(label, said):
    other = photo("2025:03:01 10:00:00", name="x.jpg") | {"sha256": "ab" * 32}
    told = [*linked(), tell("photos", {}, LATE, files=[other]), tell("label", label, LATE)]
    with pytest.raises(RefusedError, match=said):
        history(told, "2025-04-01")

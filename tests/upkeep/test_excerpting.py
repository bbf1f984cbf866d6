"""What an excerpt about a branch at the skylight holds, and what it withholds."""

from collections.abc import Sequence
from typing import Any

import pytest

from evidence.errors import RefusedError
from evidence.upkeep.excerpting import WHOLE_KINDS, Excerpt, excerpt
from tests.scenarios.build import Told, build, finding, look, photo, starter, tell

STRIKE: Told = tell(
    "incident",
    {"id": "i1", "stated_cause": "branch", "when": "2025-06-08T16:40-05:00", "known": "seen",
     "zones": ["skylight"]},
    "2025-06-08T22:00:00Z",
)  # fmt: skip
JULY, AUGUST = "2025-07-01T12:00:00Z", "2025-08-01T12:00:00Z"


def of(*entries: Told, before: Sequence[Told] = ()) -> Excerpt:
    """The excerpt of a record that starts, tells `before`, the strike and `entries`."""
    return excerpt(build([*starter(), *before, STRIKE, *entries]), "i1")


def held(*entries: Told, before: Sequence[Told] = ()) -> list[bool]:
    """Whether each entry told is in the excerpt, those before the strike first."""
    whole = [*starter(), *before, STRIKE, *entries]
    kept = of(*entries, before=before).entries
    told = range(len(whole) + 1)  # the case entry stands ahead
    first = len(starter()) + 1
    return [seq in kept for seq in told[first:] if seq != first + len(before)]


def seen(one: Told) -> Told:
    """A look that finds something after the strike."""
    return look("2025-06-09", {one["zone"]: one["grade"]}, body={"findings": [one]})


def cost(**body: Any) -> Told:
    return tell("cost", {"when": "2025-06-20", "amount": "10.00", "currency": "USD",
                         "what": "sealant", **body}, JULY)  # fmt: skip


def paper(**body: Any) -> Told:
    return tell("paper", {"type": "receipt", "title": "Receipt", **body}, JULY)


def test_what_the_record_stands_on_is_held_whole():
    entries = build([*starter(), STRIKE])

    kept = excerpt(entries, "i1").entries

    assert {e.seq for e in entries if e.kind in WHOLE_KINDS} <= kept
    assert len(entries) == len(kept)


def test_an_incident_that_is_not_on_record_is_refused():
    with pytest.raises(RefusedError, match="On record: i1"):
        excerpt(build([*starter(), STRIKE]), "i2")
    with pytest.raises(RefusedError, match="On record: none"):
        excerpt(build(starter()), "i1")


def test_every_look_at_its_zones_is_held_whenever_it_was_and_no_other():
    looks = [
        look("2025-02-01"),
        look("2025-03-01", {"vent": 0}),
        look("2025-04-01", {"vent": 1, "skylight": 2}),
    ]

    assert held(look("2025-09-01"), look("2025-09-02", {"vent": 0}), before=looks) == [
        True, False, True, True, False,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "body", "kept"),
    [
        ("wash", {"when": "2025-06-20", "zones": "all"}, True),
        ("wash", {"when": "2025-06-20", "zones": ["vent"]}, False),
        ("treatment", {"when": "2025-06-20", "zones": ["skylight"], "product": "x",
                       "treats": "uv"}, True),
        ("deferral", {"when": "2025-06-20", "task": "inspection", "why": "ill"}, True),
        ("deferral", {"when": "2025-06-20", "task": "inspection", "why": "ill",
                      "zones": ["vent"]}, False),
        ("trip", {"id": "t1", "out": "2025-06-20"}, False),
        ("ownership", {"id": "o1", "party": "owner", "from": "2025-01-05",
                       "known_by": "own-record"}, False),
        ("notice", {"when": "2025-06-20", "direction": "sent", "party": "insurer", "type": "loss",
                    "incidents": ["i1"]}, True),
        ("notice", {"when": "2025-06-20", "direction": "sent", "party": "insurer",
                    "type": "query"}, False),
        ("reading", {"when": "2025-06-20", "zone": "ceiling", "spot": "a", "value_pct10": 120,
                     "scale": "wood-mc", "meter": "pin"}, False),
        ("reading", {"when": "2025-06-20", "zone": "ceiling", "spot": "a", "value_pct10": 120,
                     "scale": "wood-mc", "meter": "pin", "incidents": ["i1"]}, True),
        ("custody", {"when": "2025-06-20", "item": "lens", "action": "kept",
                     "incidents": ["i1"]}, True),
    ],
)  # fmt: skip
def test_what_speaks_of_the_incident_or_its_zones_is_held(kind, body, kept):
    assert held(tell(kind, body, JULY)) == [kept]


def test_another_incident_at_the_same_place_is_held_and_one_elsewhere_is_not():
    def strike(name: str, zone: str) -> Told:
        return tell("incident", {**STRIKE["body"], "id": name, "zones": [zone]}, JULY)

    assert held(strike("i2", "skylight"), strike("i3", "vent")) == [True, False]


def test_findings_in_its_zones_are_followed_wherever_they_are_spoken_of():
    opened = look("2025-06-09", {"skylight": 3}, body={"findings": [finding("f1")]})
    settled = tell(
        "repair",
        {"when": "2025-06-20", "zones": ["vent"], "what": "patch", "settles": ["f1"]},
        JULY,
    )

    assert held(opened, settled) == [True, True]


def test_related_findings_and_those_that_name_the_incident_are_held_too():
    first = seen(finding("f1"))
    near = seen(finding("f2", "vent", 2, related=["f1"]))
    named = seen(finding("f3", "vent", 2, attribution=["i1"]))
    other = seen(finding("f4", "vent", 2, attribution="undetermined"))
    far = seen(finding("f5", "rail-left", 2, related=["f2"]))

    assert held(first, near, named, other, far) == [True, True, True, False, True]


def test_corrections_go_with_what_they_correct():
    at = len(starter()) + 2
    told = held(
        look("2025-06-20", {"vent": 0}),
        look("2025-06-21"),
        tell("correction", {"of": at, "withdraw": True, "why": "another rig"}, AUGUST),
        tell(
            "correction", {"of": at + 1, "set": {"when": "2025-06-20"}, "why": "mistyped"}, AUGUST
        ),
        tell("correction", {"of": at + 3, "set": {"why": "a slip"}, "why": "a word"}, AUGUST),
    )

    assert told == [False, True, False, True, True]


def test_a_correction_that_took_a_zone_away_hides_nothing():
    at = len(starter()) + 2
    away = {"of": at, "set": {"zones": [{"zone": "vent", "grade": 0}]}, "why": "it was the vent"}

    assert held(look("2025-06-20"), tell("correction", away, AUGUST)) == [True, True]


def test_papers_that_are_cited_or_speak_of_what_is_held_go_with_it():
    at = len(starter()) + 2
    told = held(
        paper(), paper(), paper(),
        cost(papers=[at], incidents=["i1"]),
        cost(papers=[at + 1]),
        paper(about=[at + 3]),
        paper(about=[at + 4]),
    )  # fmt: skip

    assert told == [True, False, False, True, False, True, False]


def test_files_that_show_another_place_stay_behind():
    whole, elsewhere, unknown = (
        photo(None, name="s"),
        photo(None, name="v", zone="vent"),
        photo(None, name="u"),
    )
    shown = {**whole, "zone": "skylight"}
    sealed = look("2025-06-20", files=[shown, elsewhere, unknown])

    found = of(sealed)

    assert {shown["sha256"], unknown["sha256"]} <= found.files
    assert found.left_out == {elsewhere["sha256"]}
    assert not found.files & found.left_out


def test_pictures_sealed_unseen_are_held_once_a_label_says_that_they_show_the_place():
    first, second = photo(None, name="a"), photo(None, name="b")
    sealed = tell("photos", {}, "2025-06-10T12:00:00Z", files=[first])
    others = tell("photos", {}, "2025-06-11T12:00:00Z", files=[second])
    label = tell("label", {"of": [first["sha256"]], "zone": "skylight"}, JULY)
    elsewhere = tell("label", {"of": [second["sha256"]], "zone": "vent"}, JULY)

    assert held(sealed, others, label, elsewhere) == [True, False, True, False]


def test_a_label_over_a_file_that_is_held_goes_with_it():
    shown = photo(None, name="a")
    sealed = look("2025-06-20", files=[shown])
    label = tell("label", {"of": [shown["sha256"]], "role": "close"}, JULY)

    assert held(sealed, label) == [True, True]

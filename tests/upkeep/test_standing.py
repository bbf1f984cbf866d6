"""What each entry is supported by, and what was logged after an incident (OUTPUTS § 2)."""

import pytest

from tests.scenarios.build import Told, finding, look, photo, shown, tell
from tests.upkeep.telling import handed_over

# Support


def support(told: list[Told], seq: int) -> list[str]:
    return shown(told, "2025-12-31")["entries"][seq]["support"]


@pytest.mark.parametrize(
    ("file", "found"),
    [
        (photo(None, name="a.jpg"), ["photo"]),
        (photo(None, name="a.mp4", type="video/mp4"), ["photo"]),
        (photo(None, name="a.jpg", role="scan"), []),
        (photo(None, name="a.pdf", type="application/pdf"), []),
    ],
)
def test_a_picture_supports_and_a_scan_does_not(file: Told, found: list[str]):
    assert support([look("2025-03-01", files=[file])], 6) == found


def test_a_receipt_supports_what_it_is_about_until_it_is_withdrawn():
    receipt = {"type": "receipt", "title": "soap", "about": [6]}
    told = [
        tell("wash", {"when": "2025-03-01", "zones": "all"}, "2025-03-01T20:00:00Z"),
        tell("paper", receipt, "2025-03-02T20:00:00Z"),
    ]
    gone = tell("correction", {"of": 7, "withdraw": True, "why": "x"}, "2025-03-03T20:00:00Z")
    assert support(told, 6) == ["receipt"]
    assert support([*told, gone], 6) == []


def test_an_outsiders_answer_supports_what_lies_under_its_head():
    told = [look("2025-03-01", witness=True), look("2025-03-02")]
    assert (support(told, 6), support(told, 8)) == (["witnessed"], [])


def test_another_persons_key_over_a_head_supports_as_such():
    body = {"type": "cosign", "size": 7, "root": "ab" * 32, "time": "2025-03-02T00:00:00Z"}
    told = [
        look("2025-03-01"),
        tell("witness", body | {"name": "A neighbour"}, "2025-03-02T00:00:00Z"),
    ]
    assert support(told, 6) == ["cosigned", "witnessed"]


# Logged after


def logged_after(told: list[Told], seq: int) -> list[str]:
    return shown(told, "2025-12-31")["entries"][seq]["logged_after"]


STRIKE = tell(
    "incident",
    {
        "id": "i1",
        "stated_cause": "branch",
        "when": "2025-06-08T16:40-05:00",
        "known": "seen",
        "zones": ["skylight"],
    },
    "2025-06-08T22:00:00Z",
)


def test_what_was_logged_after_an_incident_about_the_time_before_is_marked():
    wash = tell("wash", {"when": "2025-04-12", "zones": "all"}, "2025-06-09T15:00:00Z")
    assert logged_after([STRIKE, wash], 7) == ["i1"]


def test_what_may_be_about_the_time_before_is_marked_too():
    month = tell("wash", {"when": "2025-06", "zones": "all"}, "2025-06-30T15:00:00Z")
    open_ended = tell("wash", {"when": "../2025-06-20", "zones": "all"}, "2025-06-30T15:00:00Z")
    assert logged_after([STRIKE, month], 7) == logged_after([STRIKE, open_ended], 7) == ["i1"]


def test_what_was_corrected_after_an_incident_is_marked():
    fix = {"of": 6, "set": {"zones": [{"zone": "skylight", "grade": 0}]}, "why": "x"}
    told = [look("2025-06-01"), STRIKE, tell("correction", fix, "2025-06-09T15:00:00Z")]
    assert logged_after(told, 6) == ["i1"]


def test_what_was_logged_before_or_is_about_the_time_after_or_names_it_is_not_marked():
    told = [
        look("2025-06-01"),
        STRIKE,
        look("2025-06-09"),
        look("2025-06-08", body={"incidents": ["i1"]}),
    ]
    assert [logged_after(told, seq) for seq in (6, 7, 8, 9)] == [[], [], [], []]


# Timing


def test_timing_and_lag_are_counted_from_the_earliest_time():
    """10 June begins at 05:00 UTC; logged the next day at 05:00:01."""
    rows = shown([look("2025-06-10", logged="2025-06-11T05:00:01Z")], "2025-12-31")["entries"]
    assert (rows[6]["timing"], rows[6]["lag_days"]) == ("late", [1, 1])


def test_the_signed_hand_over_stands_in_the_document():
    found = look("2025-06-10", {"skylight": 3}, body={"findings": [finding("f1")]})
    doc = shown([found, handed_over("dealer", "owner")], "2025-12-31")
    assert doc["findings"][0]["at_delivery"] is True


def test_what_was_written_as_the_window_ended_or_began_as_it_began_is_not_marked():
    """From 21:40:00 to 21:40:59 UTC."""
    written = tell("wash", {"when": "2025-06-01", "zones": "all"}, "2025-06-08T21:40:59Z")
    begun = {"when": "2025-06-08T16:40:00-05:00/2025-06-09", "zones": "all"}
    told = [written, STRIKE, tell("wash", begun, "2025-06-10T12:00:00Z")]
    assert (logged_after(told, 6), logged_after(told, 8)) == ([], [])


def test_an_outsiders_answer_does_not_support_the_entry_that_holds_it():
    assert support([look("2025-03-01", witness=True)], 7) == []

"""TRADE § 10, cases 1, 7, 11 and 12: incidents, worked out by hand."""

import pytest

from tests.scenarios.build import LOOK_90, finding, look, measured, shown, starter, tell
from tests.scenarios.strike import branch_strike


def test_case_1_a_clean_branch_strike():
    """Sound on 30 May, struck on 8 June at 16:40: 8 + 1 = 9 days. Covered 17:30 − 16:40 = 50 min.

    The photo (12:10:31 at −05:00) makes the look's time that second. Notice on the 9th: 1 day.
    """
    doc = shown(branch_strike(), "2025-06-30")
    (incident,) = doc["incidents"]
    assert incident["window"] == {
        "earliest": "2025-06-08T21:40:00Z",
        "latest": "2025-06-08T21:40:59Z",
    }
    assert incident["zones"] == [
        {
            "zone": "field-mr",
            "before_state": "sound",
            "after_state": "finding",
            "before": {
                "seq": 6,
                "date": "2025-05-30",
                "grade": 0,
                "days": [9, 9],
                "support": "own-clock-before",
            },
            "after": {"seq": 9, "date": "2025-06-08", "grade": 4, "days": [0, 0]},
            "open_before": [],
            "found": ["f3"],
            "claimed_before": [],
            "straddling": [],
            "changed_since": [],
        }
    ]
    assert incident["covered"] == {"seq": 8, "minutes": [50, 50]}
    assert incident["notice"] == {"seq": 10, "days": [1, 1]}
    assert incident["last_routine_look"] == {"seq": 6, "days": [9, 9]}
    assert incident["first_look_after"] == {"seq": 9, "days": [0, 0]}
    before = doc["entries"][6]
    assert before["when"] == {
        "earliest": "2025-05-30T17:10:31Z",
        "latest": "2025-05-30T17:10:31Z",
        "basis": "camera",
    }
    assert (before["support"], before["timing"]) == (["photo"], "within-24h")


def test_case_1_names_no_cause_but_the_stated_one():
    (incident,) = shown(branch_strike(), "2025-06-30")["incidents"]
    assert incident["stated_cause"] == "branch"
    assert not [name for name in incident if "cause" in name and name != "stated_cause"]


def test_case_1_a_witnessed_look_is_supported_by_the_outsider():
    """The sample's authority answered on 30 May for a head that holds the look (entry 6)."""
    doc = shown(branch_strike(witnessed=True), "2025-06-30")
    before = doc["incidents"][0]["zones"][0]["before"]
    assert (before["seq"], before["support"]) == (6, "witnessed-before")
    assert doc["case"]["witnessed_up_to"] == {"size": 7, "time": "2025-05-30T18:23:07Z"}
    assert doc["entries"][6]["not_after"] == "2025-05-30T18:23:07Z"
    assert doc["entries"][8]["not_before"] == "2025-05-30T18:23:07Z"


def test_case_7_two_losses_at_one_vent():
    """Hail on 2 May, a branch on 20 May. The look of 10 May is after the first, before the second.

    10 − 2 = 8 days after the hail; 20 − 10 = 10 days before the branch. What the hail left (f1,
    grade 2) stood open when the branch came; f2 is only the second one's, and later to the first:
    21 − 2 = 19 days.
    """
    hail = {
        "id": "hail",
        "stated_cause": "hail",
        "when": "2025-05-02T15:00-05:00",
        "known": "seen",
        "zones": ["vent"],
    }
    branch = hail | {"id": "branch", "stated_cause": "branch", "when": "2025-05-20T15:00-05:00"}
    spatter = finding("f1", "vent", 2, type="D24", attribution=["hail"])
    lid = finding("f2", "vent", 4, type="D19", attribution="undetermined")
    doc = shown(
        [
            look("2025-04-20", {"vent": 0}),
            tell("incident", hail, "2025-05-02T21:00:00Z"),
            look("2025-05-10", {"vent": 2}, body={"incidents": ["hail"], "findings": [spatter]}),
            tell("incident", branch, "2025-05-20T21:00:00Z"),
            look("2025-05-21", {"vent": 4}, body={"incidents": ["branch"], "findings": [lid]}),
        ],
        "2025-06-01",
    )
    first, second = doc["incidents"]
    assert first["zones"][0]["after"]["seq"] == second["zones"][0]["before"]["seq"] == 8
    assert first["zones"][0]["after"]["days"] == [8, 8]
    assert second["zones"][0]["before"]["days"] == [10, 10]
    assert (first["zones"][0]["found"], second["zones"][0]["found"]) == (["f1"], ["f2"])
    assert (first["zones"][0]["before_state"], second["zones"][0]["before_state"]) == (
        "sound",
        "open",
    )
    assert second["zones"][0]["open_before"] == ["f1"]
    assert first["later"] == [{"finding": "f2", "days": [19, 19]}]
    assert [row["attribution"] for row in doc["findings"]] == [["hail"], ["undetermined"]]


def test_case_11_hail_in_storage():
    """Last look 20 May, hail 14 June, look 15 June: 11 + 14 = 25 days before; 1 day after.

    NOAA's listing is checked again 120 days after the hail: 14 June + 120 d = 12 October.
    """
    event = {**LOOK_90, "id": "after-event", "task": "after-event", "days": 2}
    hail = {
        "id": "i1",
        "stated_cause": "hail",
        "when": "2025-06-14T18:10-05:00",
        "known": "seen",
        "zones": ["skylight"],
    }
    dents = finding("f1", grade=2, type="D24")
    report = {
        "incident": "i1",
        "source": "storm reports",
        "status": "preliminary",
        "recheck": "2025-10-12",
        "reports": [{"size_in": "1.25", "place": "2 NW Alder"}],
    }
    doc = shown(
        [
            *starter(rules=[LOOK_90, event]),
            tell("storage", {"id": "s1", "from": "2025-05-21"}, "2025-05-21T15:00:00Z"),
            look("2025-05-20", logged="2025-05-21T16:00:00Z"),
            tell("incident", hail, "2025-06-15T00:00:00Z"),
            look(
                "2025-06-15",
                {"skylight": 2},
                body={"occasion": "after-event", "incidents": ["i1"], "findings": [dents]},
            ),
            tell("weather", report, "2025-06-20T15:00:00Z"),
        ],
        "2025-07-01",
    )
    (incident,) = doc["incidents"]
    assert incident["last_routine_look"]["days"] == [25, 25]
    assert incident["first_look_after"] == {"seq": 10, "days": [1, 1]}
    assert incident["weather"] == {"status": "preliminary", "recheck": "2025-10-12"}
    duty = next(row for row in doc["duties"] if row["rule"] == "after-event")
    assert (duty["trigger"], duty["from"], duty["by"]) == (9, "2025-06-14", "2025-06-16")
    assert (duty["done"], duty["days"], duty["met"]) == (10, [1, 1], "yes")


def test_case_12_rot_found_later():
    """Case 1 patched; on 21 March 2026 a soft spot, 24 % against 11 %.

    8 June → 21 March: 22 + 31 + 31 + 30 + 31 + 30 + 31 + 31 + 28 + 21 = 286 days after the strike.
    """
    patch = {"when": "2025-06-20", "zones": ["field-mr"], "what": "patch", "settles": ["f3"]}
    soft = finding("f7", "field-mr", 4, type="D17", related=["f3"])
    reading = {
        "when": "2026-03-21",
        "zone": "ceiling",
        "spot": "below the patch",
        "value_pct10": 240,
        "reference_pct10": 110,
        "scale": "wood-mc",
        "meter": "pin",
        "temp_dC": 140,
        "finding": "f7",
        "incidents": ["i1"],
    }
    doc = shown(
        [
            *branch_strike(),
            tell("repair", patch, "2025-06-20T20:00:00Z"),
            look("2026-03-21", {"field-mr": 4}, body={"findings": [soft]}),
            tell("reading", reading, "2026-03-21T23:59:30Z"),
        ],
        "2026-04-01",
    )
    assert doc["incidents"][0]["later"] == [{"finding": "f7", "days": [286, 286]}]
    torn, rot = doc["findings"]
    assert (torn["state"], torn["settled"], torn["days_open"]) == ("settled", 11, [12, 12])
    assert (rot["state"], rot["related"], rot["attribution"]) == ("open", ["f3"], [])
    assert doc["readings"] == [
        {
            "zone": "ceiling",
            "spot": "below the patch",
            "series": [
                {
                    "seq": 13,
                    "date": "2026-03-21",
                    "value": "24.0",
                    "reference": "11.0",
                    "band": "investigate",
                    "scale": "wood-mc",
                    "meter": "pin",
                }
            ],
        }
    ]


@pytest.mark.parametrize("on", ["2025-05-31", "2025-06-07"])
def test_before_the_strike_no_incident_was_known(on: str):
    assert measured(branch_strike(), on).incidents == ()

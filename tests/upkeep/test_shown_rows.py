"""Rows of the document of OUTPUTS § 2, whole, for a record worked out by hand."""

from tests.scenarios.build import LOOK_90, ROOT, Told, finding, look, shown, starter, tell
from tests.upkeep.telling import incident

AGAIN: Told = LOOK_90 | {"days": 30, "applies_from": "2025-06-01"}


def test_a_rule_and_the_one_that_took_its_place_each_tell_their_days():
    """5 January to 1 March: 55 days; from there to 31 May, its last day, 91; to 1 June, 92."""
    told = [look("2025-03-01"), tell("rule", AGAIN, "2025-05-20T12:00:00Z")]
    document = shown(told, "2025-06-10")
    (old,), (new,) = document["superseded_rules"], document["rules"]
    assert old == {
        "id": "look-90",
        "task": "inspection",
        "days": 90,
        "required": True,
        "basis": "owners-own",
        "authority": "maker's booklet, 2023 edition, p. 14",
        "logged": "2025-01-05T18:00:00Z",
        "applies_from": "2025-01-05",
        "in_force": {"from": "2025-01-05", "to": "2025-05-31"},
        "known_from": "2025-01-05T18:00:00Z",
        "gaps": [
            {
                "zone": "skylight", "from": "2025-01-05", "to": "2025-03-01", "days": [55, 55],
                "over": [0, 0], "open": False, "deferrals": [], "means": "on-roof",
            },
            {
                "zone": "skylight", "from": "2025-03-01", "to": "2025-05-31", "days": [91, 91],
                "over": [1, 1], "open": True, "deferrals": [], "means": None,
            },
        ],
        "longest": [91, 91],
        "met_as_stated": "no",
        "met_on_time": "no",
        "last": "2025-03-01",
        "due": None,
        "zones": [{"zone": "skylight", "last": "2025-03-01", "due": None, "longest": [91, 91]}],
    }  # fmt: skip
    assert (new["in_force"], new["known_from"]) == (
        {"from": "2025-06-01", "to": None},
        "2025-05-20T12:00:00Z",
    )
    assert new["zones"] == [
        {"zone": "skylight", "last": "2025-03-01", "due": "2025-03-31", "longest": [101, 101]}
    ]


def test_a_rule_that_covers_no_zone_has_no_gaps():
    (row,) = shown(starter(rules=[LOOK_90 | {"zones": ["Z03"]}]), "2025-06-10")["rules"]
    assert (row["gaps"], row["zones"]) == ([], [])


def test_the_onset_of_a_finding_runs_from_the_start_of_the_look_without_it():
    """In Chicago a day of March begins at 06:00 UTC, and of June at 05:00."""
    seen = look("2025-06-10", {"skylight": 3}, body={"findings": [finding("f1")]})
    (row,) = shown([look("2025-03-01"), seen], "2025-06-10")["findings"]
    assert row["onset"] == {"earliest": "2025-03-01T06:00:00Z", "latest": "2025-06-10T23:59:00Z"}
    (row,) = shown([seen], "2025-06-10")["findings"]
    assert row["onset"] == {"earliest": None, "latest": "2025-06-10T23:59:00Z"}


def test_a_look_before_an_incident_is_dated_by_its_first_day():
    """From 29 to 30 May: 9 to 10 days before 8 June."""
    told = [look("2025-05-29/2025-05-30", logged="2025-05-30T23:00:00Z"), incident()]
    (row,) = shown(told, "2025-07-01")["incidents"]
    assert row["zones"][0]["before"] == {
        "seq": 6,
        "date": "2025-05-29",
        "grade": 0,
        "days": [9, 10],
        "support": "own-clock-before",
    }


def test_the_record_is_witnessed_up_to_the_largest_head_that_an_outsider_holds():
    """A letter that came later holds three entries only."""
    letter = {"type": "letter", "size": 3, "root": ROOT, "time": "2025-06-01T12:00:00Z",
              "name": "Sample"}  # fmt: skip
    told = [look("2025-03-01", witness=True), tell("witness", letter, "2025-06-01T12:00:00Z")]
    case = shown(told, "2025-07-01")["case"]
    assert case["witnessed_up_to"] == {"size": 7, "time": "2025-03-02T00:00:00Z"}
    assert [row["size"] for row in case["witnesses"]] == [7, 3]

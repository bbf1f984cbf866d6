"""The document of OUTPUTS § 2: its keys and their types."""

import json
from typing import Any

from tests.scenarios.build import LOOK_90, Told, finding, look, shown, starter, tell
from tests.scenarios.strike import branch_strike
from tests.upkeep.telling import reading, reseal, rule, trip

# OUTPUTS § 2, word by word.
CONTRACT = json.loads("""
{"case":{"case_id":"…","title":"…","sample":true,"entries":41,"head":{"size":41,"root":"<hex>"},
  "witnessed_up_to":{"size":38,"time":"…"},"first_witnessed":"…"},
 "on":"2025-11-03",
 "rules":[{"id":"look-90","task":"inspection","days":90,"required":true,"basis":"paper-on-file",
   "authority":"…","logged":"…","applies_from":"2025-01-05",
   "gaps":[{"zone":"skylight-1","from":"2025-01-05","to":"2025-03-20","days":[74,74],"over":[0,0],
     "open":false,"deferrals":[],"means":"on-roof"}],
   "longest":[84,84],"met_as_stated":"yes","met_on_time":"yes","last":"2025-10-25",
   "due":"2026-01-23",
   "zones":[{"zone":"skylight-1","last":"2025-10-25","due":"2026-01-23","longest":[84,84]}]}],
 "duties":[{"rule":"after-trip","trigger":8,"from":"2025-06-01","by":"2025-06-08","done":9,
   "days":[2,2],"met":"yes"}],
 "missing_rules":["moisture"],
 "findings":[{"id":"f3","zone":"skylight-1","type":"D02","grade":3,"state":"open","opened":12,
   "settled":null,"at_delivery":false,"responsible":null,"promised":null,
   "last_without":{"seq":9,"earliest":"…","latest":"…"},
   "first_seen":{"seq":12,"earliest":"…","latest":"…"},"onset":{"earliest":"…","latest":"…"},
   "days_open":[148,148],"act_by":"2025-06-15","attribution":[],"related":[]}],
 "incidents":[{"id":"i1","stated_cause":"branch","window":{"earliest":"…","latest":"…"},
   "zones":[{"zone":"field-mr","before_state":"sound","after_state":"finding",
     "before":{"seq":9,"date":"2025-05-30","grade":0,"days":[9,9],"support":"own-clock-before"},
     "after":{"seq":12,"date":"2025-06-08","grade":4,"days":[0,0]},"open_before":[],
     "found":["f3"],"claimed_before":[],"straddling":[]}],
   "covered":{"seq":13,"minutes":[50,50]},"notice":{"seq":14,"days":[1,1]},
   "last_routine_look":{"seq":9,"days":[9,9]},"first_look_after":{"seq":12,"days":[0,0]},
   "rules":[{"rule":"look-90","met":"yes","over":[0,0]}],
   "later":[{"finding":"f7","days":[286,286]}],"costs":{"USD":"1234.50"},
   "weather":{"status":"preliminary","recheck":"2025-10-12"}}],
 "reseals":[{"seq":21,"zone":"skylight-1","family":"silicone","surface":"tpo","slope":"flat",
   "fit":"N","source":"…"}],
 "readings":[{"zone":"ceiling-3","spot":"…","series":[{"seq":30,"date":"…","value":"24.0",
   "reference":"11.0","band":"investigate"}]}],
 "clauses":[{"paper":5,"ref":"4.2","rule":"look-90","answered_by":[9,17],"met_on_time":"yes"}],
 "entries":[{"seq":9,"kind":"inspection",
   "when":{"earliest":"…","latest":"…","basis":"camera"},"conflict":false,"logged":"…",
   "lag_days":[0,0],"timing":"within-24h","support":["photo"],"not_before":null,
   "not_after":null,"logged_after":[],"corrected_by":[],"withdrawn_by":null}],
 "custody":[{"party":"owner","from":"2025-08-16","to":null,"record":"own-record","days":79}]}
""")

# What the document has besides; the contract allows more fields.
ADDED = {
    "cards",
    "links",
    "superseded_rules",
    "case.places",
    "case.witnesses",
    "rules.in_force",
    "rules.known_from",
    "duties.met_on_time",
    "duties.missing",
    "incidents.zones.changed_since",
    "readings.series.scale",
    "readings.series.meter",
    "clauses.met_as_stated",
}


def whole_story() -> list[Told]:
    """A story in which no list of the document is empty."""
    report = {
        "incident": "i1",
        "source": "reports",
        "status": "preliminary",
        "recheck": "2025-10-06",
        "reports": [],
    }
    cost = {
        "when": "2025-06-10",
        "amount": "1234.50",
        "currency": "USD",
        "what": "patch",
        "incidents": ["i1"],
    }
    clause = {"ref": "4.2", "text": "Inspect every 90 days.", "rule": "look-90"}
    paper = {"type": "warranty", "title": "booklet", "clauses": [clause]}
    crack = finding("f7", "field-mr", 3)
    owned = {"id": "o1", "party": "owner", "from": "2025-01-05", "known_by": "own-record"}
    covers_field = LOOK_90 | {"zones": ["field-mr"]}
    return [
        *starter(rules=[covers_field, rule("after-trip", 7, zones=["field-mr"])]),
        tell("ownership", owned, "2025-01-05T18:01:00Z"),
        tell("paper", paper, "2025-01-05T18:02:00Z"),
        *branch_strike(witnessed=True),
        trip("t1", "2025-06-10", "2025-06-12"),
        tell("weather", report, "2025-06-20T12:00:00Z"),
        tell("cost", cost, "2025-06-20T12:01:00Z"),
        look("2025-07-01", {"field-mr": 3}, body={"findings": [crack]}),
        reseal("2025-07-02", zones=["field-mr"], settles=[]),
        reading("2025-07-03", 240, reference_pct10=110),
    ]


def keys(value: Any, path: str = "") -> set[str]:
    """Every key of a document with its path; the rows of a list are taken together."""
    if isinstance(value, list):
        return {key for row in value for key in keys(row, path)}
    if not isinstance(value, dict):
        return set()
    found = set()
    for name, inner in value.items():
        here = f"{path}.{name}" if path else name
        found |= {here} | (set() if name == "costs" else keys(inner, here))
    return found


def test_the_document_has_the_keys_of_the_contract_and_those_that_were_added():
    """`superseded_rules` is empty here; its rows are those of `rules`."""
    doc = shown(whole_story(), "2025-07-10")
    extra = {key for key in keys(doc) if key.startswith(tuple(ADDED))}
    assert keys(doc) - extra == keys(CONTRACT)
    assert keys(doc) >= ADDED


def test_every_value_has_the_type_that_the_contract_shows():
    doc = shown(whole_story(), "2025-07-10")

    def compared(ours: Any, theirs: Any, path: str) -> None:
        if theirs is None or ours is None:
            return
        assert type(ours) is type(theirs), path
        if isinstance(theirs, dict):
            for name in theirs.keys() & ours.keys():
                compared(ours[name], theirs[name], f"{path}.{name}")
        elif isinstance(theirs, list) and theirs and ours:
            compared(ours[0], theirs[0], path)

    compared(json.loads(json.dumps(doc)), CONTRACT, "")


def test_the_document_is_plain_json_without_floats():
    def floats(value: Any) -> bool:
        if isinstance(value, dict):
            return any(floats(inner) for inner in value.values())
        if isinstance(value, list):
            return any(floats(inner) for inner in value)
        return isinstance(value, float)

    doc = json.loads(json.dumps(shown(whole_story(), "2025-07-10")))
    assert not floats(doc)


def test_the_case_says_what_it_is_and_what_outsiders_hold():
    doc = shown(whole_story(), "2025-07-10")
    assert doc["case"] == {
        "case_id": "0" * 32,
        "title": "A story",
        "sample": True,
        "entries": 21,
        "head": {"size": 21, "root": "ab" * 32},
        "witnessed_up_to": {"size": 10, "time": "2025-05-30T18:23:07Z"},
        "first_witnessed": "2025-05-30T18:23:07Z",
        "places": None,
        "witnesses": [{"seq": 10, "size": 10, "time": "2025-05-30T18:23:07Z", "trust": "sample"}],
    }


def test_standard_tasks_without_a_rule_are_missing():
    """TRADE § 5: seven tasks are standard; this record has a rule for two of them."""
    assert shown(whole_story(), "2025-07-10")["missing_rules"] == [
        "wash",
        "treatment",
        "moisture",
        "after-event",
        "before-storage",
        "out-of-storage",
    ]


def test_all_entries_are_listed_and_those_without_a_time_have_none():
    rows = shown(whole_story(), "2025-07-10")["entries"]
    assert [row["seq"] for row in rows] == list(range(21))
    plain = rows[0]
    assert (plain["kind"], plain["when"], plain["lag_days"], plain["timing"]) == (
        "case",
        None,
        None,
        None,
    )

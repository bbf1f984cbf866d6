"""TRADE § 10, cases 2 to 6 and 8 to 10: clocks, late logs, gaps, materials, hands.

Each docstring works the expected figures out by hand.
"""

from hashlib import sha256

from evidence.photos.clock import CaptureRule
from tests.scenarios.build import (
    LOOK_90,
    RIG,
    ZONES,
    finding,
    history,
    look,
    measured,
    photo,
    shown,
    starter,
    tell,
)


def test_case_2_no_zone_in_the_clock():
    """14:03:22 somewhere in the continental United States in October: −04:00 … −07:00.

    14:03:22 + 4 h = 18:03:22 UTC, + 7 h = 21:03:22 UTC. 2016 lies before the rig was built (2023).
    """
    zones = ["America/New_York", "America/Denver", "America/Los_Angeles"]
    taken = look(
        "2025-10-12",
        files=[photo("2025:10:12 14:03:22"), photo("2016:01:01 09:00:00")],
        logged="2025-10-12T23:00:00Z",
    )
    entries = [*starter(rig=RIG | {"travels": zones}), taken]
    told = history(entries, "2025-10-31")
    item = told.item(6)
    assert item is not None
    clock, reset = (picture.capture for picture in item.pictures)
    assert clock.rule is CaptureRule.TRAVELS
    assert clock.span is not None
    assert clock.span.as_json() == {
        "earliest": "2025-10-12T18:03:22Z",
        "latest": "2025-10-12T21:03:22Z",
    }
    assert (reset.rule, reset.relied_on) == (CaptureRule.NONE, False)
    assert shown(entries, "2025-10-31")["entries"][6]["when"] == {
        "earliest": "2025-10-12T18:03:22Z",
        "latest": "2025-10-12T21:03:22Z",
        "basis": "camera",
    }


def test_case_3_stripped_metadata():
    """A messenger's copy has no tags: the stated day counts, its end cut at `logged`, 23:59 UTC."""
    copy = photo(None, name="copy.jpg", via="messenger")
    original = photo("2025:03:01 10:00:00", offset="-06:00", name="original.jpg")
    link = {"of": [original["sha256"]], "original_of": copy["sha256"]}
    entries = [
        look("2025-03-01", files=[copy]),
        tell("photos", {}, "2025-03-20T12:00:00Z", files=[original]),
        tell("label", link, "2025-03-20T12:05:00Z"),
    ]
    when = shown(entries, "2025-04-01")["entries"][6]["when"]
    assert when == {
        "earliest": "2025-03-01T06:00:00Z",
        "latest": "2025-03-01T23:59:00Z",
        "basis": "stated",
    }
    item = history(entries, "2025-04-01").item(6)
    assert item is not None
    assert [picture.file.name for picture in item.pictures] == ["copy.jpg"]


def test_case_4_a_late_log_with_a_receipt():
    """12 April → 20 September: 18 + 31 + 30 + 31 + 31 + 20 = 161 days later."""
    wash = {"when": "2025-04-12", "zones": "all"}
    receipt = {"type": "receipt", "title": "roof soap", "about": [{"entry": "wash"}]}
    rule = LOOK_90 | {"id": "wash-365", "task": "wash", "days": 365, "zones": ["skylight"]}
    doc = shown(
        [
            *starter(rules=[rule]),
            tell("wash", wash, "2025-09-20T15:00:00Z", id="wash"),
            tell("paper", receipt, "2025-09-20T15:05:00Z"),
        ],
        "2025-09-30",
    )
    entry = doc["entries"][6]
    assert (entry["lag_days"], entry["timing"]) == ([161, 161], "late")
    assert entry["support"] == ["receipt"]
    # Stated, the wash closes the first gap; on time there was none: 5 January → 30 September = 268.
    assert doc["rules"][0]["longest"] == [171, 171]
    assert doc["rules"][0]["last"] == "2025-04-12"


def test_case_5_a_gap_is_printed_plainly():
    """1 March → 19 July: 30 + 30 + 31 + 30 + 19 = 140 days; 140 − 90 = 50 over."""
    doc = shown([look("2025-03-01"), look("2025-07-19")], "2025-07-31")
    (rule,) = doc["rules"]
    assert [(gap["from"], gap["to"], gap["days"], gap["over"]) for gap in rule["gaps"]] == [
        ("2025-01-05", "2025-03-01", [55, 55], [0, 0]),
        ("2025-03-01", "2025-07-19", [140, 140], [50, 50]),
        ("2025-07-19", "2025-07-31", [12, 12], [0, 0]),
    ]
    assert (rule["met_as_stated"], rule["met_on_time"]) == ("no", "no")
    assert rule["due"] == "2025-10-17"


def test_case_6_silicone_on_a_membrane_settles_nothing():
    """The table says N for silicone on TPO. D09, grade 2, opened 10 May, is settled by the strip
    of 20 June: 21 + 20 = 41 days. Due within 60 days: 10 May + 60 = 9 July."""
    rule = LOOK_90 | {"id": "reseal-365", "task": "reseal", "days": 365}
    crack = finding("f1", type="D02", grade=3)
    silicone = {
        "when": "2025-04-01",
        "zones": ["skylight"],
        "extent": "spot",
        "family": "silicone",
        "product": "clear silicone",
        "settles": ["f1"],
    }
    receipt = {"type": "receipt", "title": "clear silicone", "about": [{"entry": "silicone"}]}
    wrong = finding("f2", type="D09", grade=2, related=["f1"])
    strip = silicone | {
        "when": "2025-06-20",
        "extent": "strip",
        "family": "self-levelling",
        "old_bead": "removed",
        "old_family": "silicone",
        "settles": ["f1", "f2"],
    }
    entries = [
        *starter(rules=[rule]),
        look("2025-03-20", {"skylight": 3}, body={"findings": [crack]}),
        tell("reseal", silicone, "2025-04-01T20:00:00Z", id="silicone"),
        tell("paper", receipt, "2025-04-01T20:05:00Z"),
        look("2025-05-10", {"skylight": 2}, body={"findings": [wrong]}),
        tell("reseal", strip, "2025-06-20T20:00:00Z"),
    ]
    before = shown(entries, "2025-06-01")
    assert [(f["id"], f["state"]) for f in before["findings"]] == [("f1", "open"), ("f2", "open")]
    assert before["reseals"][0]["fit"] == "N"
    assert before["rules"][0]["last"] is None

    after = shown(entries, "2025-07-01")
    assert [f["state"] for f in after["findings"]] == ["settled", "settled"]
    assert after["findings"][1]["days_open"] == [41, 41]
    assert after["findings"][1]["act_by"] == "2025-07-09"
    assert [(row["seq"], row["fit"]) for row in after["reseals"]] == [(7, "N"), (10, "Y")]
    assert after["rules"][0]["last"] == "2025-06-20"
    assert after["entries"][7]["support"] == ["receipt"]


def test_case_8_two_prior_owners():
    """3 April 2021 … 30 June 2023, both ends: 273 + 365 + 181 = 819 days.

    1 July 2023 … 15 August 2025, both ends: 184 + 366 + 227 = 777. The buyer, to 3 November and
    exclusive: 16 + 30 + 31 + 2 = 79.
    """
    held = [
        {"id": "o1", "party": "a", "from": "2021-04-03", "to": "2023-06-30", "known_by": "scans"},
        {"id": "o2", "party": "b", "from": "2023-07-01", "to": "2025-08-15", "known_by": "nothing"},
        {"id": "o3", "party": "owner", "from": "2025-08-16", "known_by": "own-record"},
    ]
    parties = [{"id": name, "name": name, "role": "previous-owner"} for name in ("a", "b")]
    baseline = look("2025-08-16", body={"occasion": "purchase"}, logged="2025-08-16T20:00:00Z")
    begun = starter(logged="2025-08-16T18:00:00Z")
    entries = [
        *begun,
        *(tell("party", body, "2025-08-16T18:00:00Z") for body in parties),
        *(tell("ownership", body, "2025-08-16T18:00:00Z") for body in held),
        baseline,
    ]
    doc = shown(entries, "2025-11-03")
    assert doc["custody"] == [
        {
            "party": "a",
            "from": "2021-04-03",
            "to": "2023-06-30",
            "record": "scans",
            "days": 819,
        },
        {
            "party": "b",
            "from": "2023-07-01",
            "to": "2025-08-15",
            "record": "nothing",
            "days": 777,
        },
        {
            "party": "owner",
            "from": "2025-08-16",
            "to": None,
            "record": "own-record",
            "days": 79,
        },
    ]


def test_case_9_a_defect_at_hand_over():
    """Lifted edge on 10 April, repaired on the 24th: 14 days. The dealer's promise, 1 May, takes
    the place of 10 April + 7 days, and both signed."""
    corner = {"id": "corner-rl", "type": "Z04", "label": "rear corner, left", "slope": "sloped"}
    lifted = finding("f1", "corner-rl", 3, type="D03")
    statement = "Rear-left corner lifts; the dealer repairs it by 1 May."
    over = sha256(statement.encode()).hexdigest()
    signatures = [
        {"party": name, "how": "drawn", "over": over, "at": "2025-04-10"}
        for name in ("dealer", "owner")
    ]
    handover = {
        "when": "2025-04-10",
        "type": "delivery",
        "from": "dealer",
        "to": "owner",
        "writer": "to",
        "zones": [{"zone": "corner-rl", "grade": 3}],
        "defects": [{"finding": "f1", "responsible": "dealer", "promised": "2025-05-01"}],
        "statement": statement,
        "signatures": signatures,
    }
    mended = {"when": "2025-04-24", "zones": ["corner-rl"], "what": "refix", "settles": ["f1"]}
    rule = LOOK_90 | {"zones": ["corner-rl"], "applies_from": "2025-04-10"}
    delivered = look(
        "2025-04-10",
        {"corner-rl": 3},
        body={"occasion": "delivery", "findings": [lifted]},
        logged="2025-04-10T20:00:00Z",
    )
    entries = [
        *starter(
            rules=[rule], rig=RIG | {"zones": [*ZONES, corner]}, logged="2025-04-10T18:00:00Z"
        ),
        delivered,
        tell("handover", handover, "2025-04-10T20:10:00Z"),
        tell("repair", mended, "2025-04-24T20:00:00Z"),
    ]
    (fact,) = shown(entries, "2025-06-01")["findings"]
    assert (fact["at_delivery"], fact["responsible"]) == (True, "dealer")
    assert (fact["promised"], fact["act_by"]) == ("2025-05-01", "2025-05-01")
    assert (fact["state"], fact["settled"], fact["days_open"]) == ("settled", 8, [14, 14])
    # Not the owner's gap: looked at on the first day, and 52 days on nothing is over.
    (rule_row,) = shown(entries, "2025-06-01")["rules"]
    assert (rule_row["longest"], rule_row["met_on_time"]) == ([52, 52], "yes")


def test_case_10_denied_for_want_of_records():
    """5 Jan → 20 Mar: 26 + 28 + 20 = 74. → 12 June: 11 + 30 + 31 + 12 = 84. → 28 Aug: 18 + 31 +
    28 = 77. → 25 Oct: 3 + 30 + 25 = 58. → 3 Nov: 6 + 3 = 9, open. The longest is 84, at most 90.
    Next due 25 October + 90 days = 6 + 30 + 31 → 23 January."""
    booklet = {
        "type": "warranty",
        "title": "booklet, 2023 edition",
        "clauses": [
            {"ref": "4.2", "text": "Inspect every 90 days.", "rule": "look-90"},
            {"ref": "4.3", "text": "Keep receipts."},
        ],
    }
    denial = {"when": "2025-11-03", "direction": "received", "party": "insurer", "type": "denial"}
    days = ("2025-01-05", "2025-03-20", "2025-06-12", "2025-08-28", "2025-10-25")
    doc = shown(
        [
            *(look(day) for day in days),
            tell("paper", booklet, "2025-10-26T15:00:00Z"),
            tell("notice", denial, "2025-11-03T15:00:00Z"),
        ],
        "2025-11-03",
    )
    (rule,) = doc["rules"]
    assert [(gap["days"], gap["open"]) for gap in rule["gaps"]] == [
        ([74, 74], False),
        ([84, 84], False),
        ([77, 77], False),
        ([58, 58], False),
        ([9, 9], True),
    ]
    assert (rule["longest"], rule["met_as_stated"], rule["met_on_time"]) == ([84, 84], "yes", "yes")
    assert (rule["last"], rule["due"]) == ("2025-10-25", "2026-01-23")
    assert [(row["ref"], row["rule"], row["answered_by"]) for row in doc["clauses"]] == [
        ("4.2", "look-90", [6, 7, 8, 9, 10]),
        ("4.3", None, []),
    ]
    assert [row["met_on_time"] for row in doc["clauses"]] == ["yes", None]


def test_no_standing_is_measured_twice_alike_and_otherwise():
    """The same story comes to the same document: `check` relies on it."""
    entries = [look("2025-03-01"), look("2025-07-19")]
    assert shown(entries, "2025-07-31") == shown(entries, "2025-07-31")
    assert measured(entries, "2025-07-31").root == "ab" * 32

"""Stories beyond TRADE § 10: times that are no plain day, records told anew, rules told late.

Each docstring works the expected figures out by hand. The rule is a look at the skylight within
90 days, from 5 January 2025, unless the story says otherwise.
"""

from tests.scenarios.build import (
    LOOK_90,
    RIG,
    ZONES,
    Told,
    finding,
    look,
    shown,
    starter,
    tell,
)

NOON_1_JUNE = "2025-06-01T17:00:00Z"
SOLAR: Told = {"id": "solar", "type": "Z19", "label": "solar feet", "slope": "flat"}


def gaps(doc: Told) -> list[tuple[str, str, list[int], list[int]]]:
    return [(g["from"], g["to"], g["days"], g["over"]) for g in doc["rules"][0]["gaps"]]


def answers(doc: Told) -> tuple[str, str]:
    return doc["rules"][0]["met_as_stated"], doc["rules"][0]["met_on_time"]


def test_a_look_dated_to_a_month():
    """Some day in March. From 5 January: to the 1st 26 + 28 + 1 = 55 days, to the 31st 30 more.

    To 20 June: from the 31st 30 + 31 + 20 = 81 days, from the 1st 30 more = 111, so from none to 21
    days over: unclear. Logged on the 31st it lies within 24 h of no 1 March, so on time there was
    no look at all: 5 January → 20 June = 26 + 28 + 31 + 30 + 31 + 20 = 166 days.
    """
    doc = shown([look("2025-03", logged="2025-03-31T23:59:00Z")], "2025-06-20")
    assert gaps(doc) == [
        ("2025-01-05", "2025-03-01", [55, 85], [0, 0]),
        ("2025-03-01", "2025-06-20", [81, 111], [0, 21]),
    ]
    assert answers(doc) == ("unclear", "no")
    assert doc["entries"][6]["timing"] == "late"
    # The next one falls due 90 days after the earliest day it may have been: 30 + 30 + 30.
    assert doc["rules"][0]["due"] == "2025-05-30"


def test_a_visit_over_midnight():
    """Begun at 23:30 on 1 March, ended at 00:20 on the 2nd: it stands on both days.

    From 5 January: 55 or 56 days. To 30 May: from the 2nd 29 + 30 + 30 = 89, from the 1st 90.
    """
    visit = "2025-03-01T23:30-06:00/2025-03-02T00:20-06:00"
    doc = shown([look(visit, logged="2025-03-02T06:40:00Z"), look("2025-05-30")], "2025-05-30")
    assert gaps(doc) == [
        ("2025-01-05", "2025-03-01", [55, 56], [0, 0]),
        ("2025-03-01", "2025-05-30", [89, 90], [0, 0]),
    ]
    assert answers(doc) == ("yes", "yes")
    assert doc["entries"][6]["lag_days"] == [0, 1]


def test_both_days_on_which_the_clocks_change():
    """9 March 2025 has 23 hours in Chicago: 06:00 UTC to 04:59:59 UTC. 2 November has 25: from
    05:00 UTC to 05:59:59 UTC on the 3rd, here cut at `logged`, 23 h 59 min after it began.

    9 March → 2 November: 22 + 30 + 31 + 30 + 31 + 31 + 30 + 31 + 2 = 238 days, whatever the clock.
    """
    rule = LOOK_90 | {"days": 238, "applies_from": "2025-03-09"}
    told = [
        *starter(rules=[rule]),
        look("2025-03-09", logged="2025-03-10T05:30:00Z"),
        look("2025-11-02", logged="2025-11-03T04:59:00Z"),
    ]
    doc = shown(told, "2025-11-03")
    assert [doc["entries"][seq]["when"] for seq in (6, 7)] == [
        {"earliest": "2025-03-09T06:00:00Z", "latest": "2025-03-10T04:59:59Z", "basis": "stated"},
        {"earliest": "2025-11-02T05:00:00Z", "latest": "2025-11-03T04:59:00Z", "basis": "stated"},
    ]
    assert gaps(doc) == [
        ("2025-03-09", "2025-11-02", [238, 238], [0, 0]),
        ("2025-11-02", "2025-11-03", [1, 1], [0, 0]),
    ]
    assert answers(doc) == ("yes", "yes")


def test_covered_across_the_hour_that_is_left_out():
    """Struck at 01:50 −06:00 and covered at 03:10 −05:00: 07:50 and 08:10 UTC, 20 minutes."""
    strike = {"id": "i1", "stated_cause": "branch", "known": "seen", "zones": ["skylight"]}
    strike["when"] = "2025-03-09T01:50-06:00"
    sheet = {"when": "2025-03-09T03:10-05:00", "zones": ["skylight"], "what": "sheet"}
    told = [
        tell("incident", strike, "2025-03-09T09:00:00Z"),
        tell("cover", sheet | {"incidents": ["i1"]}, "2025-03-09T09:05:00Z"),
    ]
    (incident,) = shown(told, "2025-03-10")["incidents"]
    assert incident["covered"] == {"seq": 7, "minutes": [20, 20]}


def test_a_zone_added_later():
    """The solar feet are there since 1 April: their row begins there. → 1 June: 29 + 31 + 1 = 61
    days, then 29 to the 30th. The skylight's: 55 to 1 March, 92 to 1 June (2 over), then 29."""
    rule = LOOK_90 | {"zones": ["Z11", "Z19"]}
    later = RIG | {"zones": [*ZONES, SOLAR | {"since": "2025-04-01"}]}
    told = [
        *starter(rules=[rule]),
        look("2025-03-01"),
        tell("rig", later, "2025-04-01T20:00:00Z"),
        look("2025-06-01", {"skylight": 0, "solar": 0}),
    ]
    doc = shown(told, "2025-06-30")
    rows = {row["zone"]: row["longest"] for row in doc["rules"][0]["zones"]}
    assert rows == {"skylight": [92, 92], "solar": [61, 61]}
    assert [(g["zone"], g["over"]) for g in doc["rules"][0]["gaps"]] == [
        ("skylight", [0, 0]),
        ("skylight", [2, 2]),
        ("skylight", [0, 0]),
    ]


def test_a_rig_told_anew_with_another_roof():
    """Self-levelling on a flat place: Y on TPO, only where the label says so (C) on PVC. A reseal
    is held against the roof that was there."""
    reseal = {"zones": ["skylight"], "extent": "spot", "family": "self-levelling"}
    roof = {"when": "2025-04-01", "zones": ["field-mr"], "what": "new-roof", "new_surface": "pvc"}
    told = [
        tell("reseal", reseal | {"when": "2025-02-01"}, "2025-02-01T23:00:00Z"),
        tell("repair", roof, "2025-04-01T23:00:00Z"),
        tell("rig", RIG | {"surface": "pvc"}, "2025-04-01T23:05:00Z"),
        tell("reseal", reseal | {"when": "2025-05-01"}, "2025-05-01T23:00:00Z"),
    ]
    rows = shown([*starter(), *told], "2025-06-01")["reseals"]
    assert [(row["seq"], row["surface"], row["fit"]) for row in rows] == [
        (6, "tpo", "Y"),
        (9, "pvc", "C"),
    ]


def test_an_entry_that_was_withdrawn():
    """Without the look of 15 May: 1 March → 20 June = 30 + 30 + 31 + 20 = 111 days, 21 over."""
    out = {"of": 7, "withdraw": True, "why": "another rig"}
    told = [look("2025-03-01"), look("2025-05-15"), tell("correction", out, "2025-06-01T12:00:00Z")]
    doc = shown(told, "2025-06-20")
    assert gaps(doc)[-1] == ("2025-03-01", "2025-06-20", [111, 111], [21, 21])
    assert answers(doc) == ("no", "no")
    assert doc["entries"][7]["withdrawn_by"] == 8
    # On 31 May it had not been withdrawn: 1 March → 15 May = 75 days, and 16 more.
    assert [row[2] for row in gaps(shown(told, "2025-05-31"))] == [[55, 55], [75, 75], [16, 16]]


def test_a_correction_after_the_loss():
    """The look of 30 May gave grade 2; two days after the strike it was made 0. What stood in the
    record when the branch came counts: grade 2, open."""
    zones = [{"zone": "skylight", "grade": 0}]
    strike = {"id": "i1", "stated_cause": "branch", "known": "seen", "zones": ["skylight"]}
    told = [
        look("2025-05-30", {"skylight": 2}),
        tell("incident", strike | {"when": "2025-06-08"}, "2025-06-08T23:59:00Z"),
        tell("correction", {"of": 6, "set": {"zones": zones}, "why": "x"}, "2025-06-10T12:00:00Z"),
    ]
    doc = shown(told, "2025-06-30")
    (zone,) = doc["incidents"][0]["zones"]
    assert (zone["before"]["grade"], zone["before_state"]) == (2, "open")
    assert zone["changed_since"] == [6]
    assert doc["entries"][6]["corrected_by"] == [8]
    assert doc["entries"][6]["logged_after"] == ["i1"]


def test_two_incidents_in_one_week():
    """Hail on 2 May, a branch on the 6th, nobody looked between. The look of 25 April is the last
    before both: 5 + 2 = 7 and 11 days. That of 8 May is the first after both: 6 and 2 days."""
    common = {"known": "seen", "zones": ["skylight"]}
    hail = common | {"id": "hail", "stated_cause": "hail", "when": "2025-05-02"}
    branch = common | {"id": "branch", "stated_cause": "branch", "when": "2025-05-06"}
    told = [
        look("2025-04-25"),
        tell("incident", hail, "2025-05-02T23:59:00Z"),
        tell("incident", branch, "2025-05-06T23:59:00Z"),
        look("2025-05-08", {"skylight": 3}, body={"findings": [finding("f1")]}),
    ]
    first, second = shown(told, "2025-05-31")["incidents"]
    for incident, before, after in ((first, 7, 6), (second, 11, 2)):
        (zone,) = incident["zones"]
        assert (zone["before"]["seq"], zone["before"]["days"]) == (6, [before, before])
        assert (zone["after"]["seq"], zone["after"]["days"]) == (9, [after, after])
        assert zone["found"] == ["f1"]
    # Nobody named an incident, so nothing says which of the two it goes with.
    assert shown(told, "2025-05-31")["findings"][0]["attribution"] == []


def test_an_incident_found_later():
    """Some time from 20 May to 8 June; the zone was looked at on 1 June, minute known, without the
    tear, and on 8 June with it. That look cuts the window, and was logged within 24 h of itself."""
    when = {"when": "2025-05-20/2025-06-08", "known": "found-later"}
    torn = {"id": "i1", "stated_cause": "unknown", "zones": ["skylight"]} | when
    told = [
        look("2025-06-01T12:00-05:00", logged="2025-06-01T17:10:00Z"),
        tell("incident", torn, "2025-06-08T17:05:00Z"),
        look(
            "2025-06-08T12:00-05:00",
            {"skylight": 4},
            logged="2025-06-08T17:10:00Z",
            body={"findings": [finding("f1", grade=4, type="D12")], "incidents": ["i1"]},
        ),
    ]
    (incident,) = shown(told, "2025-06-30")["incidents"]
    assert incident["window"] == {
        "earliest": "2025-06-01T17:00:00Z",
        "latest": "2025-06-08T17:00:59Z",
    }
    (zone,) = incident["zones"]
    assert (zone["before"]["seq"], zone["before"]["days"]) == (6, [0, 7])
    assert (zone["found"], zone["claimed_before"]) == (["f1"], [])


def test_a_trip_under_way():
    """Out on 1 June and not back: no duty. Back on the 10th: by the 17th, and looked at on the
    12th, 2 days later."""
    rule = LOOK_90 | {"id": "trip", "task": "after-trip", "days": 7}
    begun = [*starter(rules=[rule]), tell("trip", {"id": "t1", "out": "2025-06-01"}, NOON_1_JUNE)]
    assert shown(begun, "2025-06-09")["duties"] == []
    back = [tell("end", {"of": "t1", "when": "2025-06-10"}, "2025-06-10T23:59:00Z")]
    (duty,) = shown([*begun, *back, look("2025-06-12")], "2025-06-30")["duties"]
    assert (duty["from"], duty["by"], duty["done"]) == ("2025-06-10", "2025-06-17", 8)
    assert (duty["days"], duty["met"]) == ([2, 2], "yes")


def test_a_look_from_the_ground_does_not_count():
    """5 January → 20 May: 26 + 28 + 31 + 30 + 20 = 135 days, 45 over, whoever stood below."""
    below = look("2025-03-01", body={"means": "ground"})
    doc = shown([below, look("2025-05-20")], "2025-05-20")
    assert gaps(doc) == [("2025-01-05", "2025-05-20", [135, 135], [45, 45])]
    assert answers(doc) == ("no", "no")


def test_a_rule_logged_after_the_gap():
    """Written down on 1 September, said to apply from 5 January. As stated: 55, 80, 82 and 26 days.
    On time nothing counts that was done before anybody had written the rule down: 5 January →
    5 September = 26 + 28 + 31 + 30 + 31 + 30 + 31 + 31 + 5 = 243 days, 153 over."""
    told = [
        *starter(rules=[]),
        *(look(day) for day in ("2025-03-01", "2025-05-20", "2025-08-10")),
        tell("rule", LOOK_90, "2025-09-01T12:00:00Z"),
    ]
    doc = shown(told, "2025-09-05")
    assert [row[2] for row in gaps(doc)] == [[55, 55], [80, 80], [82, 82], [26, 26]]
    assert answers(doc) == ("yes", "no")
    # An incident's rules count on time, up to its earliest.
    strike = {"id": "i1", "stated_cause": "hail", "known": "seen", "zones": ["skylight"]}
    hit = tell("incident", strike | {"when": "2025-09-05"}, "2025-09-05T23:59:00Z")
    (under,) = shown([*told, hit], "2025-09-06")["incidents"][0]["rules"]
    assert (under["met"], under["over"]) == ("no", [153, 153])

"""What may be written next (RECORD §§ 2-4): each refusal names its field, and why."""

from copy import deepcopy
from typing import Any

import pytest

from evidence.errors import RefusedError
from evidence.upkeep import Known, admit
from tests import examples
from tests.scenarios.build import (
    LOOK_90,
    RIG,
    ZONES,
    Told,
    build,
    finding,
    look,
    photo,
    starter,
    tell,
)
from tests.upkeep.test_findings import handed_over

SHOT = photo("2025:02:01 10:00:00", offset="-06:00")
INCIDENT: Told = {
    "id": "i1",
    "stated_cause": "branch",
    "when": "2025-02-02T16:40-06:00",
    "known": "seen",
    "zones": ["skylight"],
}
PAPER: Told = {"type": "receipt", "title": "soap"}
NOW = "2025-02-10T12:00:00Z"

# Behind the starter (0-5): 6 look with f1, 7 incident, 8 paper, 9 trip, 10 storage, 11 hand-over.
BEFORE: list[Told] = [
    *starter(),
    look("2025-02-01", {"skylight": 3}, body={"findings": [finding("f1")]}, files=[SHOT]),
    tell("incident", INCIDENT, "2025-02-03T12:00:00Z"),
    tell("paper", PAPER, "2025-02-03T12:01:00Z"),
    tell("trip", {"id": "t1", "out": "2025-02-04"}, "2025-02-04T12:00:00Z"),
    tell("storage", {"id": "s1", "from": "2025-01-10", "to": "2025-01-20"}, "2025-02-04T12:01:00Z"),
]


def taken(*told: Told) -> None:
    build([*deepcopy(BEFORE), *told])


def refused(*told: Told) -> str:
    with pytest.raises(RefusedError) as caught:
        taken(*told)
    return str(caught.value)


def with_body(kind: str, logged: str = NOW, **changes: Any) -> Told:
    """The example of a kind, made to fit this record, with changes; `...` takes a field away."""
    body = {
        name: value
        for name, value in ({**FITTING.get(kind, examples.BODIES[kind])} | changes).items()
        if value is not ...
    }
    return tell(kind, body, logged)


FITTING: dict[str, Told] = {
    "inspection": look("2025-02-09")["body"],
    "wash": {"when": "2025-02-09", "zones": ["skylight"]},
    "reseal": {
        "when": "2025-02-09",
        "zones": ["skylight"],
        "extent": "spot",
        "family": "self-levelling",
    },
    "cover": {"when": "2025-02-09", "zones": ["skylight"], "what": "sheet"},
    "reading": {
        "when": "2025-02-09",
        "zone": "ceiling",
        "spot": "left",
        "value_pct10": 110,
        "scale": "wood-mc",
        "meter": "pin",
    },
    "cost": {"when": "2025-02-09", "amount": "1", "currency": "USD", "what": "tape"},
    "notice": {"when": "2025-02-09", "direction": "sent", "party": "insurer", "type": "loss"},
    "paper": PAPER,
    "rule": LOOK_90 | {"id": "r2"},
    "deferral": {"when": "2025-02-09", "task": "inspection", "why": "ill"},
    "custody": {"when": "2025-02-09", "item": "lid", "action": "kept"},
    "incident": INCIDENT | {"id": "i2"},
    "weather": {"incident": "i1", "source": "x", "status": "final", "reports": []},
    "ownership": {"id": "o1", "party": "owner", "from": "2025-01-05", "known_by": "own-record"},
    "trip": {"id": "t2", "out": "2025-02-08"},
    "storage": {"id": "s2", "from": "2025-02-08"},
    "end": {"of": "t1", "when": "2025-02-09"},
    "label": {"of": [SHOT["sha256"]]},
    "rig": RIG,
}


@pytest.mark.parametrize("kind", sorted(FITTING))
def test_what_fits_the_record_is_taken(kind: str):
    taken(with_body(kind))


# Ids that are not known


@pytest.mark.parametrize(
    ("kind", "field", "value", "path"),
    [
        ("inspection", "zones", [{"zone": "x", "grade": 0}], "inspection.zones: field 'zone'"),
        ("inspection", "findings", [finding("f2", "x")], "inspection.findings: field 'zone'"),
        ("inspection", "findings", [finding("f2", related=["x"])], "findings: field 'related'"),
        ("inspection", "findings", [finding("f2", attribution=["x"])], "field 'attribution'"),
        (
            "inspection",
            "rechecks",
            [{"finding": "x", "state": "same", "grade": 3}],
            "inspection.rechecks: field 'finding'",
        ),
        ("inspection", "settles", ["x"], "inspection: field 'settles'"),
        ("inspection", "incidents", ["x"], "inspection: field 'incidents'"),
        ("wash", "zones", ["skylight", "x"], "wash: field 'zones'"),
        ("reseal", "zones", ["x"], "reseal: field 'zones'"),
        ("cover", "incidents", ["x"], "cover: field 'incidents'"),
        ("reading", "zone", "x", "reading: field 'zone'"),
        ("reading", "finding", "x", "reading: field 'finding'"),
        ("cost", "papers", [7], "cost: field 'papers'"),
        ("cost", "incidents", ["x"], "cost: field 'incidents'"),
        ("notice", "party", "x", "notice: field 'party'"),
        ("paper", "about", [99], "paper: field 'about'"),
        ("paper", "clauses", [{"ref": "1", "text": "t", "rule": "x"}], "clauses: field 'rule'"),
        ("rule", "zones", ["x"], "rule: field 'zones'"),
        ("rule", "paper", 6, "rule: field 'paper'"),
        ("deferral", "zones", ["x"], "deferral: field 'zones'"),
        ("custody", "incidents", ["x"], "custody: field 'incidents'"),
        ("incident", "zones", ["x"], "incident: field 'zones'"),
        ("weather", "incident", "x", "weather: field 'incident'"),
        ("ownership", "party", "x", "ownership: field 'party'"),
        ("end", "of", "x", "end: field 'of'"),
        ("label", "zone", "x", "label: field 'zone'"),
        ("label", "of", ["ab" * 32], "label: field 'of'"),
        ("label", "original_of", "ab" * 32, "label: field 'original_of'"),
    ],
)
def test_what_is_referred_to_must_be_known(kind: str, field: str, value: Any, path: str):
    assert path in refused(with_body(kind, **{field: value}))


@pytest.mark.parametrize(("side", "path"), [("from", "field 'from'"), ("to", "field 'to'")])
def test_both_sides_of_a_hand_over_are_parties(side: str, path: str):
    told = handed_over("dealer", "owner")
    told["body"][side] = "x"
    told["logged"] = "2025-06-11T20:00:00Z"
    assert f"handover: {path}" in refused(told)


def test_who_answers_for_a_defect_and_who_signs_are_parties():
    told = handed_over("dealer", "owner", responsible="x")
    assert "handover.defects: field 'responsible'" in refused(told)
    assert "handover.signatures: field 'party'" in refused(handed_over("x"))


@pytest.mark.parametrize(("name", "value"), [("zone", "x"), ("finding", "x"), ("incidents", ["x"])])
def test_what_a_file_refers_to_must_be_known(name: str, value: Any):
    told = look("2025-02-09", files=[photo(None, name="b.jpg", **{name: value})])
    assert f"files: field {name!r}" in refused(told)


def test_a_file_may_refer_to_what_its_own_entry_opens():
    taken(
        look(
            "2025-02-09",
            body={"findings": [finding("f2")]},
            files=[photo(None, name="b.jpg", finding="f2")],
        )
    )


def test_the_answer_lists_what_is_known():
    assert "Known: ceiling, field-mr, rail-left, skylight, vent." in refused(
        look("2025-02-09", {"x": 0})
    )


@pytest.mark.parametrize("kind", ["inspection", "party"])
def test_the_writer_is_a_party(kind: str):
    told = look("2025-02-09") if kind == "inspection" else tell("party", PARTY, NOW)
    assert "field 'by': 'stranger' is not known" in refused(told | {"by": "stranger"})


PARTY: Told = {"id": "buyer", "name": "B", "role": "buyer"}


def test_a_party_may_introduce_itself():
    taken(tell("party", PARTY, NOW, by="buyer"))


# Ids that are taken


@pytest.mark.parametrize("kind", ["incident", "trip", "storage"])
def test_an_id_is_used_once_within_its_type(kind: str):
    own = {"incident": "i1", "trip": "t1", "storage": "s1"}[kind]
    assert f"{kind}: field 'id': {own!r} is taken" in refused(with_body(kind, id=own))


def test_an_end_must_not_be_in_doubt():
    """A storage of the id of a trip under way: which one would the `end` end?"""
    assert "storage: field 'id': 't1' is taken" in refused(with_body("storage", id="t1"))
    taken(with_body("ownership", id="s1"))


def test_a_rule_and_a_party_are_stated_again_under_their_id():
    taken(tell("rule", LOOK_90 | {"days": 60}, NOW), tell("party", PARTY | {"id": "owner"}, NOW))


@pytest.mark.parametrize("names", [["f1"], ["f2", "f2"]])
def test_a_finding_is_opened_once(names: list[str]):
    found = [finding(name) for name in names]
    assert "inspection: field 'findings'" in refused(look("2025-02-09", body={"findings": found}))


def test_a_record_is_about_one_rig_with_each_zone_once():
    assert "rig: field 'id'" in refused(tell("rig", RIG | {"id": "other"}, NOW))
    assert "rig: field 'zones': 'vent' stands there twice" in refused(
        tell("rig", RIG | {"zones": [*ZONES, ZONES[2]]}, NOW)
    )


# Start


def test_a_record_starts_with_its_one_case():
    assert "kind 'case'" in refused(tell("case", examples.BODIES["case"], NOW))
    entry = build(starter())[1]
    with pytest.raises(RefusedError, match="kind 'party'"):
        admit(Known(), entry)


def test_a_rehash_is_reserved():
    assert "kind 'rehash'" in refused(tell("rehash", {}, NOW))


# Times


@pytest.mark.parametrize(
    ("kind", "field", "where"),
    [
        ("inspection", "when", "inspection: field 'when'"),
        ("incident", "when", "incident: field 'when'"),
        ("trip", "out", "trip: field 'out'"),
        ("trip", "back", "trip: field 'back'"),
        ("storage", "from", "storage: field 'from'"),
        ("storage", "to", "storage: field 'to'"),
        ("ownership", "from", "ownership: field 'from'"),
        ("reseal", "last_wet", "reseal: field 'last_wet'"),
        ("paper", "dated", "paper: field 'dated'"),
        ("label", "when", "label: field 'when'"),
    ],
)
def test_no_stated_time_lies_ahead_of_the_clock(kind: str, field: str, where: str):
    said = refused(with_body(kind, **{field: "2025-02-12"}))
    assert f"{where}: 2025-02-12 lies ahead of the clock (2025-02-10T12:00:00Z)" in said


def test_nor_does_that_of_a_file_or_a_signature():
    told = look("2025-02-09", files=[photo(None, name="b.jpg", when="2025-02-12")])
    assert "files: field 'when'" in refused(told)
    signed = handed_over("owner")
    signed["body"]["signatures"][0]["at"] = "2025-07-01"
    assert "handover.signatures: field 'at'" in refused(signed)


@pytest.mark.parametrize(
    ("when", "ahead"), [("2025-02-10T12:10Z", False), ("2025-02-10T12:11Z", True)]
)
def test_the_clock_may_be_ten_minutes_slow(when: str, ahead: bool):  # noqa: FBT001
    told = with_body("wash", when=when)
    if ahead:
        assert "wash: field 'when'" in refused(told)
    else:
        taken(told)


def test_what_is_planned_may_lie_ahead():
    taken(with_body("reseal", next_rain="2025-03-01"), with_body("rule", applies_from="2026-01-01"))
    taken(handed_over("dealer", "owner"))  # promised for August, signed in June


@pytest.mark.parametrize(
    ("kind", "changes", "where"),
    [
        ("trip", {"back": "2025-02-07"}, "trip: field 'back'"),
        ("storage", {"to": "2025-02"}, None),
        ("storage", {"to": "2025-01"}, "storage: field 'to'"),
        ("end", {"when": "2025-02-03"}, "end: field 'when'"),
    ],
)
def test_what_lasts_does_not_end_before_it_began(kind: str, changes: Told, where: str | None):
    told = with_body(kind, **changes)
    if where is None:
        taken(told)
    else:
        assert where in refused(told)


# What is under way


def test_only_what_is_under_way_is_ended_and_once():
    end = with_body("end")
    assert "end: field 'of'" in refused(with_body("end", of="s1"))  # it says its own end
    assert "end: field 'of'" in refused(end, end)


def test_a_withdrawn_end_may_be_told_again():
    withdrawn = tell("correction", {"of": 11, "withdraw": True, "why": "x"}, NOW)
    taken(with_body("end"), withdrawn, with_body("end"))


def test_a_withdrawn_trip_is_not_under_way():
    withdrawn = tell("correction", {"of": 9, "withdraw": True, "why": "x"}, NOW)
    assert "end: field 'of'" in refused(withdrawn, with_body("end"))


def test_a_trip_whose_return_was_added_is_not_under_way():
    back = tell("correction", {"of": 9, "set": {"back": "2025-02-08"}, "why": "x"}, NOW)
    assert "end: field 'of'" in refused(back, with_body("end"))


# The rig


def admit_rig(zones: list[Told], open_findings: dict[str, str]) -> None:
    entries = build([*deepcopy(BEFORE), tell("rig", RIG | {"zones": zones}, NOW)])
    admit(Known.of(entries[:-1]), entries[-1], open_findings=open_findings)


def test_a_zone_with_an_open_finding_cannot_be_dropped():
    without = [zone for zone in ZONES if zone["id"] != "skylight"]
    closed = [
        zone | {"until": "2025-02-09"} if zone["id"] == "skylight" else zone for zone in ZONES
    ]
    for zones in (without, closed):
        with pytest.raises(RefusedError, match="'skylight' has the open finding 'f1'"):
            admit_rig(zones, {"f1": "skylight"})
    admit_rig(without, {})


def test_a_dropped_zone_is_not_a_zone_of_the_rig():
    without = [zone for zone in ZONES if zone["id"] != "vent"]
    drop = tell("rig", RIG | {"zones": without}, NOW)
    assert "inspection.zones: field 'zone'" in refused(
        drop, look("2025-02-10", {"vent": 0}, logged="2025-02-10T13:00:00Z")
    )


# Labels


def test_no_label_tells_what_a_camera_wrote():
    assert "label: field 'camera'" in refused(with_body("label", camera={"Make": "A"}))


# Corrections


def correct(of: int, **body: Any) -> Told:
    return tell("correction", {"of": of, "why": "mistyped", **body}, NOW)


@pytest.mark.parametrize(
    ("told", "where"),
    [
        (correct(99, withdraw=True), "correction: field 'of': 99 is not known"),
        (correct(0, set={"title": "x"}), "correction: field 'of': a case entry is not corrected"),
        (correct(0, withdraw=True), "correction: field 'of'"),
        (correct(4, withdraw=True), "correction: field 'withdraw'"),
        (correct(6, set={"wether": "x"}), "correction: field 'set': inspection has no field"),
        (correct(6, set={"when": "2025-02-30"}), "inspection: field 'when'"),
        (correct(6, set={"means": None}), "inspection: field 'means'"),
        (
            correct(6, set={"zones": [{"zone": "skylight", "grade": 9}]}),
            "inspection: field 'zones.0.grade'",
        ),
        (
            correct(6, set={"zones": [{"zone": "x", "grade": 0}]}),
            "correction of entry 7.zones: field 'zone'",
        ),
        (correct(6, set={"incidents": ["x"]}), "correction of entry 7: field 'incidents'"),
        (correct(7, set={"id": "i2"}), "correction: field 'set': 'id'"),
        (correct(9, set={"back": "2025-02-01"}), "correction of entry 10: field 'back'"),
        (correct(9, set={"back": "2025-02-20"}), "correction of entry 10: field 'back'"),
    ],
)
def test_a_correction_must_fit_what_it_corrects(told: Told, where: str):
    assert where in refused(told)


@pytest.mark.parametrize("kind", ["key", "witness", "issued"])
def test_what_is_never_corrected(kind: str):
    body = examples.BODIES[kind] | ({"incident": "i1"} if kind == "issued" else {})
    assert f"a {kind} entry is not corrected" in refused(
        tell(kind, body, NOW), correct(11, set={"why": "x"})
    )


def test_a_hand_over_is_corrected_only_by_another():
    told = [handed_over("dealer", "owner"), correct(11, withdraw=True)]
    told[1]["logged"] = "2025-06-12T12:00:00Z"
    assert "a hand-over was signed by both sides" in refused(*told)


def test_no_correction_puts_a_deed_behind_the_entry_that_told_of_it():
    """Entry 7 was logged on 2 February; on the 10th it is said to be about the 5th."""
    assert "correction of entry 7: field 'when': 2025-02-05 lies ahead" in refused(
        correct(6, set={"when": "2025-02-05"})
    )
    assert "correction of entry 8: field 'when'" in refused(
        correct(7, set={"when": "2025-02-05T12:00Z"})
    )
    taken(correct(6, set={"when": "2025-01-30"}))


def test_a_return_may_be_added_after_the_trip_was_written_down():
    taken(correct(9, set={"back": "2025-02-08"}))


def test_corrections_must_fit_together():
    """Each fits the rule as first written; together they would end it before it began."""
    told = [
        correct(5, set={"applies_to": "2025-03-01"}),
        correct(5, set={"applies_from": "2025-04-01"}),
    ]
    assert "'applies_to' lies before 'applies_from'" in refused(*told)


def test_a_correction_of_a_correction_must_fit_the_first_entry():
    wrong = {"set": {"when": "soon"}}
    told = [correct(6, set={"when": "2025-01-30"}), correct(11, set=wrong)]
    assert "inspection: field 'when'" in refused(*told)
    away = {"set": {"zones": [{"zone": "x", "grade": 0}]}}
    assert "correction of entry 7.zones: field 'zone'" in refused(told[0], correct(11, set=away))
    assert "correction: field 'set': 'of'" in refused(told[0], correct(11, set={"of": 7}))
    taken(told[0], correct(11, set={"set": {"when": "2025-01-29"}}))


def test_withdrawing_one_correction_must_leave_the_others_fitting():
    told = [
        correct(5, set={"applies_from": "2024-01-01"}),
        correct(5, set={"applies_to": "2024-06-01"}),
        correct(11, withdraw=True),
    ]
    assert "'applies_to' lies before 'applies_from'" in refused(*told)


def test_a_correction_takes_no_finding_of_another_entry():
    told = [
        look("2025-02-09", body={"findings": [finding("f2")]}),
        correct(11, set={"findings": [finding("f2", grade=2), finding("f1")]}),
    ]
    assert "correction of entry 12: field 'findings': 'f1' is taken" in refused(*told)
    taken(told[0], correct(11, set={"findings": [finding("f2", grade=2)]}))


def test_what_is_said_of_an_earlier_time_may_name_a_zone_the_rig_has_no_more():
    without = [zone for zone in ZONES if zone["id"] != "vent"]
    drop = tell("rig", RIG | {"zones": without}, NOW)
    rows = [{"zone": "skylight", "grade": 3}, {"zone": "vent", "grade": 0}]
    taken(drop, correct(6, set={"zones": rows}))
    taken(drop, correct(6, set={"occasion": "follow-up"}))


def test_a_correction_of_the_rig_drops_no_zone_with_an_open_finding():
    without = [zone for zone in ZONES if zone["id"] != "skylight"]
    entries = build(deepcopy(BEFORE))
    (*_, change) = build([*deepcopy(BEFORE), correct(4, set={"zones": without})])
    with pytest.raises(RefusedError, match="'skylight' has the open finding 'f1'"):
        admit(Known.of(entries), change, open_findings={"f1": "skylight"})

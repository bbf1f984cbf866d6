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
from tests.upkeep.fitting import BEFORE, FITTING, NOW, refused, taken, with_body
from tests.upkeep.telling import handed_over


@pytest.mark.parametrize("kind", sorted(FITTING))
def test_what_fits_the_record_is_taken(kind: str):
    taken(with_body(kind))


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


def test_a_reset_states_what_the_clock_says_now():
    body = {"was": BEFORE[-1]["logged"], "is": NOW, "why": "ran ahead"}
    taken(tell("clock", body, NOW))
    body = {**body, "is": "2024-01-01T00:00:00Z"}
    assert "clock: field 'is'" in refused(tell("clock", body, NOW))


def test_a_reset_states_where_the_record_stood():
    """Else the step back could be told as a small one, or as none."""
    body = {"was": "2025-01-01T00:00:00Z", "is": "2023-01-01T00:00:00Z", "why": "ran ahead"}
    answer = refused(tell("clock", body, "2023-01-01T00:00:00Z"))
    assert "clock: field 'was'" in answer
    assert BEFORE[-1]["logged"] in answer


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


def test_a_day_is_one_of_the_rigs_home():
    """At 03:00 UTC on the 10th it is still the 9th in Chicago."""
    night = "2025-02-10T03:00:00Z"
    taken(with_body("wash", night, when="2025-02-09"))
    assert "wash: field 'when'" in refused(with_body("wash", night, when="2025-02-10"))


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


# The rig


def admit_rig(zones: list[Told], open_findings: dict[str, str]) -> None:
    entries = build([*deepcopy(BEFORE), tell("rig", RIG | {"zones": zones}, NOW)])
    admit(Known.of(entries[:-1]), entries[-1], open_findings=open_findings)


def test_what_ends_in_the_second_in_which_it_began_is_taken():
    taken(with_body("trip", out="2025-02-08T10:00:00Z", back="2025-02-08T10:00:00Z"))


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
        (correct(11, withdraw=True), "correction: field 'of': 11 is not known"),  # itself
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

"""Ids that are not known, and what is under way (RECORD § 4)."""

from typing import Any

import pytest

from tests.examples import BODIES
from tests.scenarios.build import START, build, finding, look, photo, starter, tell
from tests.upkeep.fitting import NOW, refused, taken, with_body
from tests.upkeep.telling import handed_over


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


@pytest.mark.parametrize(
    ("kind", "name", "last"), [("trip", "t2", "back"), ("storage", "s2", "to")]
)
def test_what_had_its_end_added_is_not_under_way(kind: str, name: str, last: str):
    told = {"of": 11, "set": {last: "2025-02-09"}, "why": "x"}
    added = (with_body(kind), tell("correction", told, NOW))
    taken(*added)
    assert "end: field 'of'" in refused(*added, with_body("end", of=name))


def test_the_keys_of_the_unit_that_starts_a_record_stand_before_its_party():
    """RECORD § 2: case, key, party, rig and rules are written as one unit."""
    key = tell("key", BODIES["key"], START)
    assert [entry.kind for entry in build([key, *starter()])][:3] == ["case", "key", "party"]

"""Every kind of RECORD § 4: what it takes, and what it refuses with the field's name."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from evidence import words as w
from evidence.entries import BODIES
from evidence.envelope import read_body
from evidence.errors import RefusedError
from tests import examples

KINDS = sorted(BODIES)

# RECORD § 4, column `kind`
IN_THE_CONTRACT = (
    "case rig party key rule photos label ownership inspection wash treatment reseal repair cover "
    "trip storage end incident reading paper handover deferral custody cost notice weather "
    "correction clock witness rehash issued"
)


def refused(kind: str, **changes: object) -> str:
    body = {name: value for name, value in examples.BODIES[kind].items() if name not in changes}
    body |= {name: value for name, value in changes.items() if value is not ...}
    with pytest.raises(RefusedError) as caught:
        read_body(kind, body)
    return str(caught.value)


def test_the_kinds_are_those_of_the_contract():
    assert sorted(IN_THE_CONTRACT.split()) == KINDS == sorted(examples.BODIES)


@pytest.mark.parametrize("kind", KINDS)
def test_an_example_of_the_kind_is_read_and_written_back_alike(kind: str):
    body = read_body(kind, examples.BODIES[kind])
    assert body.model_dump(mode="json", exclude_unset=True) == examples.BODIES[kind]


@pytest.mark.parametrize("kind", KINDS)
def test_an_unknown_field_is_refused_by_name(kind: str):
    assert f"{kind}: field 'wether'" in refused(kind, wether="fine")


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind not in ("photos", "rehash")])
def test_a_field_that_is_needed_is_missed_by_name(kind: str):
    needed = [
        about.alias or name
        for name, about in BODIES[kind].model_fields.items()
        if about.is_required()
    ]
    assert needed
    for name in needed:
        assert f"field {name!r}: is needed" in refused(kind, **{name: ...})


def test_an_almost_known_field_is_answered_with_the_known_one():
    assert "Did you mean 'means'?" in refused("inspection", meens="on-roof")


@pytest.mark.parametrize("grade", [9, -1, 5, True, 1.0, "1", None])
def test_a_grade_is_a_whole_number_from_0_to_4(grade: object):
    said = refused("inspection", zones=[{"zone": "skylight-1", "grade": grade}])
    assert "inspection: field 'zones.0.grade'" in said
    finding = examples.FINDING | {"grade": grade}
    assert "field 'findings.0.grade'" in refused("inspection", findings=[finding])
    recheck = {"finding": "f0", "state": "same", "grade": grade}
    assert "field 'rechecks.0.grade'" in refused("inspection", rechecks=[recheck])


@pytest.mark.parametrize(
    ("kind", "field", "value"),
    [
        ("reading", "value_pct10", 24.0),
        ("reading", "value_pct10", True),
        ("rig", "length_mm", 6400.5),
        ("reseal", "air_dC", 21.5),
        ("rule", "days", 90.0),
        ("weather", "reports", [{"size_in": 1.25}]),
        ("cost", "amount", 234.5),
        ("issued", "tallies", {"inspection": 9.0}),
        ("correction", "of", 4.0),
    ],
)
def test_floats_are_refused_by_name(kind: str, field: str, value: object):
    assert f"{kind}: field '{field}" in refused(kind, **{field: value})


@pytest.mark.parametrize(
    ("kind", "field", "value"),
    [
        ("wash", "when", "2025-06-02/2025-05-30"),
        ("inspection", "when", "2025-02-29"),
        ("inspection", "when", "2025-05-30T12:10"),
        ("trip", "back", "yesterday"),
        ("rig", "home_zone", "America/Chicagoland"),
        ("rig", "travels", ["America/Denver", "Mars/Olympus"]),
        ("rig", "built", "2023-03"),
        ("rule", "zones", ["Z28"]),
        ("rule", "zones", []),
        ("inspection", "zones", []),
        ("incident", "zones", []),
        ("incident", "id", "I 1"),
        ("incident", "id", "a" * 41),
        ("incident", "id", "i1\n"),
        ("incident", "stated_cause", "neglect"),
        ("cost", "currency", "dollars"),
        ("cost", "amount", "1e3"),
        ("cost", "amount", "1,50"),
        ("cost", "amount", "01.50"),
        ("case", "case_id", "0" * 31),
        ("witness", "root", "0F" * 32),
        ("witness", "time", "2025-05-30"),
        ("wash", "zones", "most"),
        ("correction", "withdraw", 1),
        ("rig", "serial", {"sealed": "short"}),
    ],
)
def test_what_is_not_as_the_kind_asks_is_refused_by_name(kind: str, field: str, value: object):
    assert f"{kind}: field '{field}" in refused(kind, **{field: value})


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("cafe\u0301", "NFC"),  # UAX #15: e + combining acute is é in form C
        ("a\tb", "control"),
        ("a\x00b", "control"),
        ("a\x85b", "control"),
        ("jpg.\u202egnp", "control"),  # UAX #9: turns what follows around
        ("", "at least 1"),
        ("x" * 4001, "at most 4000"),
    ],
)
def test_text_is_clean_and_of_one_form(text: str, why: str):
    said = refused("case", title=text)
    assert "case: field 'title'" in said
    assert why in said


def test_text_may_have_lines_and_4000_characters():
    assert read_body("case", examples.BODIES["case"] | {"title": "a\n" * 2000})


@pytest.mark.parametrize(
    ("kind", "changes", "why"),
    [
        ("rule", {"applies_to": "2024-12-31"}, "'applies_to' lies before 'applies_from'"),
        ("rule", {"from_days": 91}, "'from_days' is more than 'days'"),
        ("ownership", {"to": "2023-06-30"}, "'to' lies before 'from'"),
        ("correction", {"withdraw": True}, "either 'set' or 'withdraw: true'"),
        ("correction", {"set": ...}, "either 'set' or 'withdraw: true'"),
        ("correction", {"withdraw": False}, "either 'set' or 'withdraw: true'"),
        ("handover", {"statement": "Another text."}, "over another text than the statement"),
        (
            "inspection",
            {"zones": [{"zone": "a", "grade": 0}, {"zone": "a", "grade": 3}]},
            "'a' stands twice in 'zones'",
        ),
        (
            "inspection",
            {
                "rechecks": [
                    {"finding": "f0", "state": "gone", "grade": 0},
                    {"finding": "f0", "state": "worse", "grade": 4},
                ]
            },
            "'f0' stands twice in 'rechecks'",
        ),
    ],
)
def test_fields_that_contradict_each_other_are_refused(
    kind: str, changes: dict[str, object], why: str
):
    assert why in refused(kind, **changes)


def test_a_zone_does_not_end_before_it_began():
    zone = examples.BODIES["rig"]["zones"][0] | {"until": "2023-02-28"}
    assert "'until' lies before 'since'" in refused("rig", zones=[zone])


def test_a_place_inside_a_list_is_named_with_its_number():
    zone = examples.BODIES["rig"]["zones"][0]
    zones = [zone, zone | {"id": "skylight-2", "type": "Z99"}]
    assert "rig: field 'zones.1.type'" in refused("rig", zones=zones)


def test_an_unknown_kind_is_answered_with_the_nearest():
    with pytest.raises(RefusedError, match="Did you mean 'reseal'"):
        read_body("resael", {})


@given(st.text(max_size=60))
def test_an_id_is_a_slug_or_refused(text: str):
    slug = TypeAdapter(w.Slug)
    allowed = 1 <= len(text) <= 40 and all(
        c in "abcdefghijklmnopqrstuvwxyz0123456789-" for c in text
    )
    if allowed:
        assert slug.validate_python(text) == text
    else:
        with pytest.raises(ValidationError):
            slug.validate_python(text)


@given(st.decimals(allow_nan=False, allow_infinity=False, places=2, max_value=10**9, min_value=0))
def test_an_amount_of_money_is_decimal_text(amount):
    text = format(amount, "f")
    assert read_body("cost", examples.BODIES["cost"] | {"amount": text})


json_values = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3)
    ),
    max_leaves=8,
)


@given(st.sampled_from(KINDS), st.data(), json_values)
def test_any_value_in_any_field_is_taken_or_refused_as_a_person_can_read(kind, data, value):
    name = data.draw(st.sampled_from([*examples.BODIES[kind], "more"]))
    said = _said(kind, examples.BODIES[kind] | {name: value})
    assert said is None or (said.startswith(kind) and said.count("\n") <= 2)


def _said(kind, body) -> str | None:
    try:
        read_body(kind, body)
    except RefusedError as error:
        return str(error)
    return None

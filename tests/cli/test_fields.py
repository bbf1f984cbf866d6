"""Fields as typed on a command line."""

import pytest

from evidence.cli.fields import body_of, photo_of, value_of, with_offset
from evidence.entries import BODIES
from evidence.envelope import read_body
from evidence.errors import RefusedError
from tests import examples

HOME = "America/Chicago"


def test_a_look_is_typed_as_zones_with_their_grades():
    body = body_of(
        "inspection",
        ["when=2025-05-30T12:10", "means=on-roof", "occasion=routine", "zones=a:0, b-1:4"],
        HOME,
    )
    assert body == {
        "when": "2025-05-30T12:10-05:00",
        "means": "on-roof",
        "occasion": "routine",
        "zones": [{"zone": "a", "grade": 0}, {"zone": "b-1", "grade": 4}],
    }


@pytest.mark.parametrize(
    ("kind", "typed", "body"),
    [
        ("wash", "zones=all", {"zones": "all"}),
        ("wash", "zones=a,b", {"zones": ["a", "b"]}),
        ("wash", "product=soap, soft", {"product": "soap, soft"}),
        ("reseal", "air_dC=-15", {"air_dC": -15}),
        ("rule", "required=yes", {"required": True}),
        ("rule", "required=no", {"required": False}),
        ("rule", "days=90", {"days": 90}),
        ("rule", "means=on-roof,ladder", {"means": ["on-roof", "ladder"]}),
        ("paper", "about=3,17", {"about": [3, 17]}),
        ("paper", "title=2025", {"title": "2025"}),
        ("cost", "amount=12.50", {"amount": "12.50"}),
        ("notice", "text=a=b", {"text": "a=b"}),
        ("trip", "out=2025-06-01T08:00", {"out": "2025-06-01T08:00-05:00"}),
        ("storage", "from=2025-12-01T08:00", {"from": "2025-12-01T08:00-06:00"}),
        ("correction", "withdraw=true", {"withdraw": True}),
        ("correction", 'set={"when": "2025-05-29"}', {"set": {"when": "2025-05-29"}}),
        ("inspection", 'findings=[{"id": "f1"}]', {"findings": [{"id": "f1"}]}),
        ("inspection", "settles=f1,f2", {"settles": ["f1", "f2"]}),
    ],
)
def test_a_field_is_read_as_its_type_asks(kind, typed, body):
    assert body_of(kind, [typed], HOME) == body


@pytest.mark.parametrize("kind", BODIES)
def test_a_whole_body_typed_as_json_values_is_the_body(kind):
    import json

    body = examples.BODIES[kind]
    pairs = [
        f"{name}={json.dumps(value) if isinstance(value, list | dict) else _typed(value)}"
        for name, value in body.items()
    ]
    assert read_body(kind, body_of(kind, pairs, HOME)) == read_body(kind, body)


def _typed(value: object) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("2025-05-30", "2025-05-30"),
        ("2025-05", "2025-05"),
        ("2025-05-30T12:10-06:00", "2025-05-30T12:10-06:00"),
        ("2025-05-30T12:10:05Z", "2025-05-30T12:10:05Z"),
        ("2025-05-30T12:10", "2025-05-30T12:10-05:00"),
        ("2025-12-30T12:10:07", "2025-12-30T12:10:07-06:00"),
        ("2025-05-30T12:10/2025-05-30T13:00", "2025-05-30T12:10-05:00/2025-05-30T13:00-05:00"),
        ("../2025-06-02T08:00", "../2025-06-02T08:00-05:00"),
        ("2025-13-45T12:10", "2025-13-45T12:10"),
    ],
)
def test_a_time_of_day_is_completed_by_the_offset_at_home_on_that_day(typed, kept):
    assert with_offset(typed, HOME) == kept


def test_an_hour_that_existed_twice_is_refused_with_both_offsets():
    with pytest.raises(RefusedError, match="existed twice") as refused:
        with_offset("2025-11-02T01:30", HOME)
    assert "2025-11-02T01:30-05:00 or 2025-11-02T01:30-06:00" in str(refused.value)


def test_an_hour_that_the_clocks_left_out_is_refused_with_both_offsets():
    with pytest.raises(RefusedError, match="did not exist") as refused:
        with_offset("2025-03-09T02:30", HOME)
    assert "2025-03-09T02:30-06:00 or 2025-03-09T02:30-05:00" in str(refused.value)


def test_half_hour_changes_are_seen_as_well():
    with pytest.raises(RefusedError, match="existed twice"):
        with_offset("2025-04-06T01:45", "Australia/Lord_Howe")
    assert with_offset("2025-04-06T02:15", "Australia/Lord_Howe").endswith("+10:30")


@pytest.mark.parametrize(
    ("kind", "typed", "said"),
    [
        ("wash", "when", "Write name=value."),
        ("wash", "whne=2025-01-01", "Did you mean 'when'?"),
        ("wash", "colour=red", "Known: "),
        ("wassh", "when=2025-01-01", "Did you mean 'wash'?"),
        ("inspection", "zones=vent-1", "Write zone:grade, as vent-1:0."),
        ("inspection", "zones=vent-1:x", "Write zone:grade, as vent-1:0."),
    ],
)
def test_what_cannot_be_read_is_refused_with_what_was_meant(kind, typed, said):
    with pytest.raises(RefusedError) as refused:
        body_of(kind, [typed], HOME)
    assert said in str(refused.value)


def test_broken_json_in_a_field_is_refused():
    with pytest.raises(RefusedError):
        value_of("findings", "[{", object, HOME)


@pytest.mark.parametrize(
    ("typed", "path", "described"),
    [
        ("a.jpg", "a.jpg", {}),
        ("a.jpg,zone=vent-1,role=close", "a.jpg", {"zone": "vent-1", "role": "close"}),
        ("roof, front.jpg,zone=vent-1", "roof, front.jpg", {"zone": "vent-1"}),
        ("a=b.jpg", "a=b.jpg", {}),
        ("a.jpg,incidents=i1", "a.jpg", {"incidents": ["i1"]}),
    ],
)
def test_a_picture_is_described_behind_its_name(typed, path, described):
    assert photo_of(typed) == (path, described)

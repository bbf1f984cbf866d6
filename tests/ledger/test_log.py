"""The chain of entries."""

import json
from hashlib import sha256
from itertools import pairwise

import pytest

from evidence.errors import RefusedError
from evidence.ledger.canonical import dumps, loads
from evidence.ledger.log import (
    GENESIS_PREV,
    START,
    ChainFault,
    Link,
    Tip,
    entry_sha256,
    seal,
    verify_chain,
)

NOON = "2025-05-30T12:00:00Z"
LATER = "2025-05-30T13:00:00Z"
EARLIER = "2025-05-30T11:00:00Z"


def altered(line: bytes, **fields: object) -> bytes:
    return dumps({**json.loads(line), **fields})


def rechained(lines: list[bytes]) -> list[bytes]:
    """The same lines with every `prev` made to fit again: what a careful forger would do."""
    fitted, prev = [], GENESIS_PREV
    for line in lines:
        fitted.append(altered(line, prev=prev))
        prev = entry_sha256(fitted[-1])
    return fitted


def test_an_entry_is_the_bytes_that_the_record_s_format_prescribes():
    # RECORD § 2: the example's fields, in canonical order.
    line = seal(START, "inspection", {"when": "2025-05-30"}, "owner", [], NOON)
    assert line == (
        b'{"body":{"when":"2025-05-30"},"by":"owner","files":[],"kind":"inspection",'
        b'"logged":"2025-05-30T12:00:00Z","nth":1,"prev":"' + b"0" * 64 + b'","seq":0,"v":1}'
    )


def test_each_entry_holds_the_sha256_of_the_one_before(make_entries):
    lines = make_entries(3)
    for before, after in pairwise(lines):
        assert json.loads(after)["prev"] == sha256(before).hexdigest() == entry_sha256(before)


def test_entries_are_numbered_over_all_and_within_their_kind(make_entries):
    numbers = [(e["kind"], e["seq"], e["nth"]) for e in map(json.loads, make_entries(4))]
    assert numbers == [("wash", 0, 1), ("trip", 1, 1), ("wash", 2, 2), ("trip", 3, 2)]


def test_a_tip_is_what_the_next_entry_must_fit(make_entries):
    lines = make_entries(3)
    tip = Tip.of(lines)
    assert tip == Tip(3, entry_sha256(lines[-1]), {"wash": 2, "trip": 1}, "2025-05-30T00:02:00Z")
    assert tip.nth("wash") == 3
    assert tip.nth("reseal") == 1
    assert Tip.of([]) == START


def test_a_whole_chain_holds(make_entries):
    assert verify_chain([]) == []
    assert verify_chain(make_entries(40)) == []
    lines = make_entries(40)
    assert verify_chain(lines[25:], Tip.of(lines[:25])) == []


def test_an_altered_entry_shows_in_the_one_after(make_entries):
    lines = make_entries(5)
    lines[2] = altered(lines[2], body={"note": "never happened"})
    assert verify_chain(lines) == [ChainFault(3, "does not hold the hash of the entry before")]


def test_a_missing_entry_is_named_once(make_entries):
    lines = make_entries(6)
    del lines[2]
    faults = verify_chain(lines)
    assert {fault.seq for fault in faults} == {2, 4}
    assert faults[0] == ChainFault(2, "entry 4 stands in its place")
    assert faults[-1].reason == "is number 3 of kind 'wash' where 2 is due"


def test_a_missing_entry_shows_even_where_the_hashes_were_made_to_fit(make_entries):
    lines = make_entries(6)
    del lines[2]
    reasons = [str(fault) for fault in verify_chain(rechained(lines))]
    assert reasons == [
        "entry 3: entry 4 stands in its place",
        "entry 5: is number 3 of kind 'wash' where 2 is due",
    ]


def test_a_missing_first_entry_is_named(make_entries):
    assert verify_chain(make_entries(3)[1:])[0] == ChainFault(0, "entry 2 stands in its place")


def test_two_entries_that_changed_places_are_named(make_entries):
    lines = make_entries(4)
    lines[1], lines[2] = lines[2], lines[1]
    assert {fault.seq for fault in verify_chain(lines)} >= {1, 2}


@pytest.mark.parametrize(
    ("fields", "reason"),
    [
        ({"nth": 7}, "is number 7 of kind 'wash' where 1 is due"),
        ({"seq": 3}, "entry 4 stands in its place"),
        ({"prev": "0" * 63 + "1"}, "does not hold the hash"),
        ({"v": 2}, "is of format 2, not 1"),
        ({"v": True}, "field 'v' is not a whole number"),
        ({"seq": True}, "field 'seq' is not a whole number"),
        ({"seq": "0"}, "field 'seq' is not a whole number"),
        ({"nth": -1}, "field 'nth' is not a whole number"),
        ({"prev": 0}, "field 'prev' is not text"),
        ({"kind": None}, "field 'kind' is not text"),
        ({"by": ["owner"]}, "field 'by' is not text"),
        ({"body": []}, "body that is no object"),
        ({"files": {}}, "files that are no list"),
        ({"logged": "2025-05-30"}, "not a UTC time"),
        ({"logged": "2025-02-30T00:00:00Z"}, "does not exist on the calendar"),
        ({"logged": "2025-05-30T12:00:00+00:00"}, "not a UTC time"),
        ({"extra": 1}, "does not have the fields"),
    ],
)
def test_a_field_that_is_not_as_it_must_be_is_named(make_entries, fields, reason):
    (line,) = make_entries(1)
    faults = verify_chain([altered(line, **fields)])
    assert [fault.seq for fault in faults] == [0]
    assert reason in faults[0].reason


@pytest.mark.parametrize(
    "name", ["body", "by", "files", "kind", "logged", "nth", "prev", "seq", "v"]
)
def test_every_field_of_the_envelope_is_needed(make_entries, name):
    entry = json.loads(make_entries(1)[0])
    del entry[name]
    assert "does not have the fields" in verify_chain([dumps(entry)])[0].reason


@pytest.mark.parametrize("line", [b"", b"not json", b"[]", b"1", b"\xff", b'"text"'])
def test_what_is_no_entry_is_a_fault_and_the_rest_is_still_read(make_entries, line):
    lines = make_entries(6)
    lines[3] = line
    faults = verify_chain(lines)
    assert faults[0].seq == 3
    assert {fault.seq for fault in faults} <= {3, 4, 5}


def test_an_entry_in_another_spelling_is_a_fault(make_entries):
    lines = make_entries(2)
    lines[1] = lines[1].replace(b'"v":1', b'"v": 1')
    assert verify_chain(lines) == [ChainFault(1, "JSON is not in canonical form (RFC 8785)")]


def test_a_clock_that_ran_back_is_refused_and_told_how_to_go_on():
    tip = Tip.of([seal(START, "wash", {}, "owner", [], NOON)])
    with pytest.raises(RefusedError) as refusal:
        seal(tip, "wash", {}, "owner", [], EARLIER)
    assert NOON in str(refusal.value)
    assert "enter CASE clock why=REASON" in str(refusal.value)


def test_the_same_second_is_not_earlier():
    tip = Tip.of([seal(START, "wash", {}, "owner", [], NOON)])
    line = seal(tip, "wash", {}, "owner", [], NOON)
    assert Link.read(line).logged == NOON


def test_a_clock_entry_resets_the_floor_in_plain_view():
    lines = [seal(START, "wash", {}, "owner", [], LATER)]
    reset = {"was": LATER, "is": EARLIER, "why": "the device's clock was an hour fast"}
    lines.append(seal(Tip.of(lines), "clock", reset, "owner", [], EARLIER))
    lines.append(seal(Tip.of(lines), "wash", {}, "owner", [], NOON))
    assert verify_chain(lines) == []
    with pytest.raises(RefusedError):
        seal(Tip.of(lines), "wash", {}, "owner", [], EARLIER)


def test_an_entry_logged_before_the_one_ahead_of_it_is_a_fault():
    first = seal(START, "wash", {}, "owner", [], NOON)
    second = altered(seal(Tip.of([first]), "wash", {}, "owner", [], LATER), logged=EARLIER)
    (fault,) = verify_chain([first, second])
    assert fault == ChainFault(1, f"was logged at {EARLIER}, before the entry ahead of it ({NOON})")


@pytest.mark.parametrize("logged", ["", "now", "2025-05-30T12:00Z", "2025-05-30T12:00:00.5Z"])
def test_a_time_that_is_no_whole_utc_second_is_refused(logged):
    with pytest.raises(RefusedError):
        seal(START, "wash", {}, "owner", [], logged)


def test_a_float_in_a_body_is_refused():
    with pytest.raises(RefusedError, match=r"field 'body\.length_m': is a float"):
        seal(START, "rig", {"length_m": 9.5}, "owner", [], NOON)


def test_files_are_sealed_in_the_order_they_were_given():
    files = [{"sha256": "f" * 64, "bytes": 3}, {"sha256": "0" * 64, "bytes": 1}]
    entry = loads(seal(START, "photos", {}, "owner", files, NOON))
    assert entry["files"] == files

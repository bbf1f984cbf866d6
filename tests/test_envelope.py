"""The envelope of an entry (RECORD § 2)."""

import json
from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from evidence.envelope import read_entry, tallies
from evidence.errors import RefusedError
from evidence.times import utc_text
from tests import examples

WHOLE = {
    "v": 1,
    "seq": 17,
    "nth": 4,
    "prev": "ab" * 32,
    "kind": "inspection",
    "body": examples.BODIES["inspection"],
    "logged": "2025-05-30T18:22:07Z",
    "by": "owner",
    "files": [examples.FILE],
}


def line(**changes: object) -> bytes:
    whole = {name: value for name, value in (WHOLE | changes).items() if value is not ...}
    return json.dumps(whole).encode()


def refused(data: bytes) -> str:
    with pytest.raises(RefusedError) as caught:
        read_entry(data)
    return str(caught.value)


def test_an_entry_is_read_whole():
    entry = read_entry(line())
    assert (entry.seq, entry.number, entry.nth) == (17, 18, 4)
    assert (entry.kind, entry.by, utc_text(entry.logged)) == (
        "inspection",
        "owner",
        "2025-05-30T18:22:07Z",
    )
    assert entry.raw == examples.BODIES["inspection"]
    assert entry.files[0].name == "a.jpg"


def test_its_sum_is_that_of_its_bytes_as_they_stand():
    data = line()
    assert read_entry(data).sha256 == sha256(data).hexdigest()
    assert read_entry(data + b" ").sha256 != read_entry(data).sha256


@pytest.mark.parametrize("name", WHOLE)
def test_a_missing_field_is_named(name: str):
    assert f"entry: field {name!r}: is needed" in refused(line(**{name: ...}))


def test_an_unknown_field_is_named():
    assert "entry: field 'note'" in refused(line(note="x"))


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("v", 2),
        ("v", True),
        ("v", 1.0),
        ("seq", -1),
        ("seq", 1.5),
        ("nth", 0),
        ("prev", "AB" * 32),
        ("logged", "2025-05-30T18:22:07+00:00"),
        ("logged", "2025-05-30T18:22:07.5Z"),
        ("by", "The Owner"),
        ("body", []),
        ("files", {}),
    ],
)
def test_a_field_out_of_its_range_is_named(name: str, value: object):
    assert f"entry: field {name!r}" in refused(line(**{name: value}))


def test_a_fault_inside_the_body_is_named_by_its_kind():
    body = examples.BODIES["inspection"] | {"means": "balloon"}
    assert "inspection: field 'means'" in refused(line(body=body))


@pytest.mark.parametrize("kind", ["inspektion", ""])
def test_an_unknown_kind_is_named(kind: str):
    assert f"kind {kind!r}" in refused(line(kind=kind))


@pytest.mark.parametrize(
    "data", [b"", b"{", b"[]", b"null", b'"x"', b"\xff\xfe", b"\xef\xbb\xbf{}", b"{}" + line()]
)
def test_what_is_not_one_json_object_is_refused(data: bytes):
    assert refused(data).startswith("entry")


@given(st.binary(max_size=80))
def test_any_bytes_are_refused_and_nothing_else_happens(data: bytes):
    with pytest.raises(RefusedError):
        read_entry(data)


# Files


def test_a_file_keeps_what_a_camera_wrote_and_what_is_not_clean_text():
    ref = examples.file_ref(examples.FILE)
    assert ref.camera is not None
    assert ref.camera.DateTimeOriginal == "2025:05:30 12:10:05"
    assert ref.camera.model_dump(exclude_none=True)["Make"] == {"hex": "ff00"}


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("sha256", "0F" * 32),
        ("bytes", -1),
        ("bytes", 2**53),  # RFC 7493 § 2.2: beyond what every JSON reader holds
        ("type", "image"),
        ("name", "a\x00b"),
        ("name", {"hex": "abc"}),
        ("role", "selfie"),
        ("when", "2025-02-30"),
        ("card", {"answer": "ab" * 32, "read_by": "guess"}),
        ("camera", {"Flash": "yes"}),
    ],
)
def test_a_fault_in_a_file_is_named(name: str, value: object):
    with pytest.raises(ValidationError) as caught:
        examples.file_ref(examples.FILE | {name: value})
    assert {fault["loc"][0] for fault in caught.value.errors()} == {name}


def test_a_fault_in_a_file_of_an_entry_is_named_with_its_number():
    assert "entry: field 'files.1.bytes'" in refused(
        line(files=[examples.FILE, examples.FILE | {"bytes": "many"}])
    )


def test_entries_are_counted_by_kind_in_the_order_in_which_kinds_first_came():
    lines = [
        json.dumps(WHOLE | {"kind": kind, "body": examples.BODIES[kind]}).encode()
        for kind in ("wash", "inspection", "wash")
    ]
    assert list(tallies(map(read_entry, lines)).items()) == [("wash", 2), ("inspection", 1)]


def test_a_reserved_kind_is_refused_wherever_it_is_read():
    said = refused(line(kind="rehash", body={}))
    assert said.startswith("kind 'rehash': is reserved for a record hashed again")
    assert "newer version" in said

"""RFC 8785: the outside vectors through the library, and our narrower reading around it."""

import json
import math
import struct
from collections.abc import Iterator
from hashlib import sha256
from itertools import islice

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from evidence.errors import EvidenceError, RefusedError
from evidence.ledger import canonical
from evidence.ledger.canonical import MAX_DEPTH, dumps, loads

# cyberphone/json-canonicalization testdata
FILES = ("arrays", "french", "structures", "unicode", "values", "weird")


@pytest.mark.parametrize("name", FILES)
def test_the_library_reproduces_the_six_files_of_the_reference(shared_vectors, name):
    given_json = (shared_vectors / "jcs" / "input" / f"{name}.json").read_text("utf-8")
    written = rfc8785.dumps(json.loads(given_json))
    assert written == (shared_vectors / "jcs" / "output" / f"{name}.json").read_bytes()
    assert written == bytes.fromhex((shared_vectors / "jcs" / "outhex" / f"{name}.txt").read_text())


@pytest.mark.parametrize("name", ["arrays", "french", "unicode", "weird"])
def test_we_reproduce_the_reference_files_that_hold_no_float(shared_vectors, name):
    value = json.loads((shared_vectors / "jcs" / "input" / f"{name}.json").read_text("utf-8"))
    expected = (shared_vectors / "jcs" / "output" / f"{name}.json").read_bytes()
    assert dumps(value) == expected
    assert loads(expected) == value


@pytest.mark.parametrize("name", ["structures", "values"])
def test_we_refuse_the_reference_files_that_hold_floats(shared_vectors, name):
    given_json = (shared_vectors / "jcs" / "input" / f"{name}.json").read_bytes()
    with pytest.raises(RefusedError, match="is a float"):
        dumps(json.loads(given_json))
    with pytest.raises(RefusedError, match="is not an integer"):
        loads(given_json)


def test_the_library_writes_the_numbers_of_rfc_8785_appendix_b(shared_vectors):
    for row in json.loads((shared_vectors / "jcs" / "numbers.json").read_text()):
        (number,) = struct.unpack(">d", bytes.fromhex(row["ieee754_hex"]))
        if row["json"] is None:
            with pytest.raises(rfc8785.FloatDomainError):
                rfc8785.dumps(number)
        else:
            assert rfc8785.dumps(number) == row["json"].encode()


def reference_numbers(static: list[str]) -> Iterator[int]:
    """The bit patterns of cyberphone/json-canonicalization testdata/README.md, in order."""
    yield from (int(bits, 16) for bits in static)
    yield from (0x0010000000000000 + place for place in range(2000))
    block = bytes(32)
    while True:
        block = sha256(block).digest()
        for bits in struct.unpack("<4Q", block):
            (number,) = struct.unpack("<d", struct.pack("<Q", bits))
            if number != 0 and math.isfinite(number):
                yield bits


@pytest.mark.parametrize("count", [1_000, 10_000])
def test_the_library_reproduces_the_reference_stream_of_numbers(shared_vectors, count):
    stream = json.loads((shared_vectors / "jcs" / "number_stream.json").read_text())
    digest = sha256()
    for bits in islice(reference_numbers(stream["static_u64s_hex"]), count):
        (number,) = struct.unpack("<d", struct.pack("<Q", bits))
        digest.update(b"%x,%s\n" % (bits, rfc8785.dumps(number)))
    assert digest.hexdigest() == stream["sha256_of_first_n_lines"][str(count)]


def test_keys_are_sorted_by_utf_16_code_units():
    # RFC 8785 section 3.2.3: U+1F600 is D83D DE00, and so stands before U+FB33.
    assert dumps({"\ufb33": 1, "\U0001f600": 2}) == '{"\U0001f600":2,"\ufb33":1}'.encode()


def test_only_what_must_be_escaped_is_escaped():
    # RFC 8785 section 3.2.2.2.
    text = '"\\/\b\t\n\f\r\x00\x1f\x7f\u2028é'
    assert dumps(text) == '"\\"\\\\/\\b\\t\\n\\f\\r\\u0000\\u001f\x7f\u2028é"'.encode()


def nested(depth: int) -> object:
    value: object = 0
    for _ in range(depth):
        value = [value]
    return value


@pytest.mark.parametrize(
    ("value", "why"),
    [
        (1.0, "float"),
        ({"a": [0, {"b": 0.5}]}, "float"),
        (math.nan, "float"),
        (math.inf, "float"),
        (2**53, "safe integer"),
        (-(2**53), "safe integer"),
        ("\ud800", "non-UTF-8"),
        ({"\ud800": 1}, "not Unicode"),
        ({1: "a"}, "keys must be strings"),
        ({None: "a"}, "keys must be strings"),
        ({"a": b"bytes"}, "unsupported type"),
        ({"a": {1, 2}}, "unsupported type"),
        (nested(MAX_DEPTH + 1), "deeper than"),
        (nested(100_000), "deeper than"),
    ],
    ids=lambda value: value if isinstance(value, str) else type(value).__name__,
)
def test_what_json_would_blur_is_refused(value, why):
    with pytest.raises(RefusedError, match=why):
        dumps(value)


def test_a_refused_float_is_named_by_its_field():
    with pytest.raises(RefusedError, match=r"field 'body\.zones\[1\]\.size'"):
        dumps({"body": {"zones": [{"size": 1}, {"size": 1.5}]}})


def test_the_edges_of_what_is_allowed_are_allowed():
    for value in (2**53 - 1, -(2**53 - 1), nested(MAX_DEPTH), True, None, "", [], {}):
        assert loads(dumps(value)) == value


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b'{"a":1,"a":1}', "stands twice"),
        (b'{"a":{"b":1,"b":2}}', "stands twice"),
        (b"NaN", "not an integer"),
        (b"-Infinity", "not an integer"),
        (b"1.0", "not an integer"),
        (b"1e3", "not an integer"),
        (b"-0", "canonical form"),
        (b"9007199254740992", "safe integer"),
        (b"1" * 5000, "cannot be read"),
        (b' {"a":1}', "canonical form"),
        (b'{"a": 1}', "canonical form"),
        (b'{"a":1}\n', "canonical form"),
        (b'{"b":1,"a":2}', "canonical form"),
        (rb'"\u0041"', "canonical form"),
        (rb'"\/"', "canonical form"),
        (rb'"\u001F"', "canonical form"),
        (rb'"\ud800"', "non-UTF-8"),
        (rb'{"\ud800":1}', "not Unicode"),
        (b'"\xff"', "not UTF-8"),
        (b"\xef\xbb\xbf1", "cannot be read"),
        (b"", "cannot be read"),
        (b"{}{}", "cannot be read"),
        (b'{"a":1,}', "cannot be read"),
        (b"'a'", "cannot be read"),
        (b"[" * 65 + b"]" * 65, "deeper than"),
        (b"[" * 100_000 + b"]" * 100_000, "deeper than"),
    ],
)
def test_what_is_not_canonical_is_not_read(data, why):
    with pytest.raises(RefusedError, match=why):
        loads(data)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4),
    max_leaves=20,
)


@given(JSON)
def test_what_is_written_is_read_back(value):
    data = dumps(value)
    assert loads(data) == value
    assert json.loads(data) == value


@given(JSON, st.data())
def test_no_other_bytes_read_as_the_same_value(value, data):
    written = dumps(value)
    place = data.draw(st.integers(0, len(written) - 1))
    byte = data.draw(st.integers(1, 255))
    mangled = written[:place] + bytes([written[place] ^ byte]) + written[place + 1 :]
    try:
        read = loads(mangled)
    except EvidenceError:
        return
    assert dumps(read) != written


def without_the_short_way(data: bytes) -> object:
    """What is read where every document takes the long way; None where it is refused."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(canonical, "_quickly", lambda _data: None)
        return _read(data)


def _read(data: bytes) -> object:
    try:
        return loads(data)
    except EvidenceError:
        return None


NAMES = st.text() | st.sampled_from(["a", "b", "\ufb33", "\U0001f600", "\x7f", '"'])
OBJECTS = st.dictionaries(NAMES, JSON, max_size=5)


@given(OBJECTS, st.booleans(), st.booleans())
def test_the_short_way_reads_what_the_long_way_reads(value, ascii_only, in_order):
    for separators in ((",", ":"), None):
        text = json.dumps(value, ensure_ascii=ascii_only, sort_keys=in_order, separators=separators)
        data = text.encode("utf-8", "surrogatepass")
        assert _read(data) == without_the_short_way(data)


@given(OBJECTS, st.data())
def test_the_short_way_refuses_what_the_long_way_refuses(value, data):
    written = dumps(value)
    place = data.draw(st.integers(0, len(written) - 1))
    put = data.draw(st.sampled_from([b"", b"1.0", b"-0", b"NaN", b"1e2", b'"a":1,', b" ", b"\xff"]))
    mangled = written[:place] + put + written[place + data.draw(st.integers(0, 2)) :]
    assert _read(mangled) == without_the_short_way(mangled)


@pytest.mark.parametrize(
    "data",
    [
        b'{"a":9007199254740991}',
        b'{"a":9007199254740992}',
        b'{"a":-9007199254740992}',
        b'{"a":' + b"[" * 63 + b"]" * 63 + b"}",
        b'{"a":' + b"[" * 64 + b"]" * 64 + b"}",
        '{"\U0001f600":2,"\ufb33":1}'.encode(),
        '{"\ufb33":1,"\U0001f600":2}'.encode(),
        b'{"a":"\\ud800"}',
        b'{"a":1,"a":1}',
        '{"a":1}'.encode("utf-16"),
    ],
)
def test_at_the_edges_the_short_way_and_the_long_way_agree(data):
    assert _read(data) == without_the_short_way(data)


def test_an_entry_as_they_are_takes_the_short_way():
    value = {"a": [{"b": "é", "c": None, "d": True}] * 70, "e": -1}
    assert canonical._quickly(dumps(value)) == value

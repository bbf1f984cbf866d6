"""Whatever a stranger hands over is read, or refused with an error of ours: never with another.

Each parser is given bytes of any kind, and real ones with a few bytes changed, cut or doubled. What
it takes formats to the very same bytes.
"""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from evidence.carried import split_notes
from evidence.check.earlier import seen_heads
from evidence.envelope import read_entry
from evidence.errors import EvidenceError
from evidence.keying import Offer
from evidence.ledger.canonical import loads
from evidence.ledger.heads import Head, sign_head
from evidence.ledger.log import START, Link, seal, verify_chain
from evidence.ledger.notes import NoteSignature, SignedNote, Signer, Verifier
from evidence.ledger.recovery import RecoveryKey
from evidence.ledger.vkeys import kind_of
from tests import examples

ORIGIN = "roof-evidence/0f0e0d0c0b0a09080706050403020100"
SIGNER = Signer.from_seed(ORIGIN, bytes(range(32)))
HEAD = Head(ORIGIN, 41, bytes(range(32)))
NOTE = sign_head(HEAD, SIGNER).format()
HEADS = f"{NOTE}\n{sign_head(Head(ORIGIN, 42, bytes(32)), SIGNER).format()}\n"
LINES = tuple(
    seal(START, kind, body, "owner", [examples.FILE], "2025-05-30T18:22:07Z")
    for kind, body in sorted(examples.BODIES.items())
)
OFFER = json.dumps({"key": SIGNER.verifier.vkey, "cert": "AAAA"})
PAPER = RecoveryKey(bytes(range(32))).text()


@st.composite
def mangled(draw: st.DrawFn, whole: bytes) -> bytes:
    """Real bytes with up to four places changed: a byte, a cut, a piece twice, anything put in."""
    data = whole
    for _ in range(draw(st.integers(0, 4))):
        start = draw(st.integers(0, len(data)))
        end = draw(st.integers(start, min(len(data), start + 40)))
        piece = draw(
            st.one_of(
                st.just(b""),
                st.just(data[start:end] * 2),
                st.binary(max_size=4),
                st.text(max_size=3).map(lambda text: text.encode("utf-8", "surrogatepass")),
                st.sampled_from([b"\n", b"\n\n", b" ", b"+", "\u2014 ".encode(), b'"', b"0", b"-"]),
            )
        )
        data = data[:start] + piece + data[end:]
    return data


def strange(*wholes: str | bytes) -> st.SearchStrategy[bytes]:
    real = [whole.encode() if isinstance(whole, str) else whole for whole in wholes]
    return st.one_of(st.binary(max_size=200), st.sampled_from(real).flatmap(mangled))


def taken(read: Callable[[], object]) -> object | None:
    """What a parser makes of it; None where it refuses."""
    try:
        return read()
    except EvidenceError:
        return None


def text(data: bytes) -> str:
    return data.decode("utf-8", "surrogateescape")


@settings(deadline=None)
@given(strange(NOTE))
@example(b"\n\n\xe2\x80\x94 a AAAAAAA=\n")
def test_a_note(data):
    note = taken(lambda: SignedNote.parse(data))
    if isinstance(note, SignedNote):
        assert note.format().encode() == data


@settings(deadline=None)
@given(strange(NOTE))
def test_a_note_that_comes_as_text(data):
    note = taken(lambda: SignedNote.parse(text(data)))
    if isinstance(note, SignedNote):
        assert note.format() == text(data)


@settings(deadline=None)
@given(strange(NOTE.split("\n")[4]))
def test_a_signature_line(data):
    line = taken(lambda: NoteSignature.parse(text(data)))
    if isinstance(line, NoteSignature):
        assert line.format() == text(data)


@settings(deadline=None)
@given(strange(HEAD.text()))
def test_a_checkpoint(data):
    head = taken(lambda: Head.parse(text(data)))
    if isinstance(head, Head):
        assert head.text() == text(data)


@settings(deadline=None)
@given(strange(SIGNER.verifier.vkey))
def test_a_verifier_key(data):
    key = taken(lambda: Verifier.parse(text(data)))
    if isinstance(key, Verifier):
        assert key.vkey == text(data)
    taken(lambda: kind_of(text(data)))


@settings(deadline=None)
@given(strange(HEADS))
def test_a_file_of_heads(data):
    notes = taken(lambda: split_notes(text(data)))
    if isinstance(notes, tuple):
        assert "".join(f"{note}\n" for note in notes) == text(data)
    taken(lambda: seen_heads(Path("heads.txt"), data))


@settings(deadline=None)
@given(strange(*LINES))
def test_a_line_of_the_record(data):
    if taken(lambda: Link.read(data)) is not None:
        assert json.dumps(loads(data)) != ""
    taken(lambda: read_entry(data))
    verify_chain([data, data])


@settings(deadline=None)
@given(strange(OFFER))
def test_the_offer_of_a_key(data):
    taken(lambda: Offer.read(data, "offer.json"))


@settings(deadline=None)
@given(strange(PAPER))
def test_a_recovery_key_as_it_was_typed(data):
    key = taken(lambda: RecoveryKey.parse(text(data)))
    if isinstance(key, RecoveryKey):
        assert RecoveryKey.parse(key.text()) == key


@pytest.mark.parametrize("depth", [100, 5000])
def test_a_line_that_is_nested_very_deep(depth):
    data = b'{"body":' * depth + b"1" + b"}" * depth
    assert taken(lambda: Link.read(data)) is None
    assert taken(lambda: read_entry(data)) is None

"""C2SP cosignature/v1: real ones, our own, and what is none."""

import json
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evidence.errors import ChangedError, EvidenceError, RefusedError
from evidence.ledger import NoteSignature, SignedNote, Signer
from evidence.witness.cosign import (
    COSIGNATURE,
    Cosigner,
    CosigningKey,
    read_cosignatures,
    refuse_signing_key,
)

TEXT = "roof-evidence/0f0e\n3\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n"
AT = datetime(2025, 8, 31, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def real(shared_vectors):
    """A head of a public log with four witnesses' lines, see SOURCES.tsv."""
    rows = json.loads((shared_vectors / "c2sp_notes.json").read_text("utf-8"))["verify"]
    return next(row for row in rows if row["name"] == "cosignature-v1-real")


@pytest.fixture(scope="module")
def key():
    return CosigningKey.generate()


@pytest.fixture
def log():
    return Signer.generate("roof-evidence/0f0e")


@pytest.fixture
def note(log):
    return SignedNote(TEXT, (log.sign(TEXT),))


def test_cosignatures_of_other_programs_verify(real):
    note = SignedNote.parse(real["note"])
    cosigners = [Cosigner.parse(vkey) for vkey in real["vkeys"][1:]]
    when = datetime.fromtimestamp(real["cosignature_time"], UTC)

    assert read_cosignatures(note, note.text, cosigners) == [(one, when) for one in cosigners]
    assert [one.vkey for one in cosigners] == real["vkeys"][1:]


def test_a_real_cosignature_with_a_second_changed_does_not(real):
    note = SignedNote.parse(real["note"])
    cosigner = Cosigner.parse(real["vkeys"][1])
    line = next(s for s in note.signatures if s.name == cosigner.name)
    later = bytearray(line.signature)
    later[7] ^= 1
    changed = SignedNote(note.text, (NoteSignature(line.name, line.key_id, bytes(later)),))

    with pytest.raises(ChangedError, match="does not belong"):
        read_cosignatures(changed, note.text, [cosigner])


def test_a_key_that_signs_heads_is_no_cosigners_key(real):
    with pytest.raises(RefusedError, match="is not a cosigner's key"):
        Cosigner.parse(real["vkeys"][0])


def test_our_own_is_read_back_and_its_line_stands_below_the_others(key, note):
    cosigned = key.cosign(note, AT)

    assert SignedNote.parse(cosigned.format()).signatures[:1] == note.signatures
    assert read_cosignatures(cosigned, TEXT, [key.cosigner]) == [(key.cosigner, AT)]
    assert Cosigner.parse(key.cosigner.vkey) == key.cosigner


def test_cosigning_again_takes_the_place_of_the_earlier_line(key, note):
    again = key.cosign(key.cosign(note, AT), AT.replace(hour=13))

    assert len(again.signatures) == 2
    assert read_cosignatures(again, TEXT, [key.cosigner]) == [(key.cosigner, AT.replace(hour=13))]


def test_where_one_signed_twice_the_earlier_time_counts(key, note):
    early, late = key.cosign(note, AT), key.cosign(note, AT.replace(hour=13))
    both = SignedNote(TEXT, (late.signatures[-1], early.signatures[-1]))

    assert read_cosignatures(both, TEXT, [key.cosigner]) == [(key.cosigner, AT)]


def test_its_name_follows_from_the_key(key):
    other = CosigningKey.generate().cosigner

    assert other.name != key.cosigner.name
    assert key.cosigner.name.startswith("roof-evidence-cosigner/")
    assert "PrivateKey" not in repr(key)


def test_a_cosignature_over_another_head_is_told(key, note):
    with pytest.raises(ChangedError, match="another head"):
        read_cosignatures(key.cosign(note, AT), TEXT.replace("\n3\n", "\n4\n"), [key.cosigner])


def test_a_note_that_no_known_cosigner_signed_is_told(key, note):
    with pytest.raises(ChangedError, match="none of the known keys"):
        read_cosignatures(note, TEXT, [key.cosigner])


@pytest.mark.parametrize("seconds", [0, 253_402_300_800, 2**64 - 1])
def test_a_time_that_no_record_can_write_down_does_not_verify(key, seconds):
    message = f"cosignature/v1\ntime {seconds}\n{TEXT}".encode()
    signature = seconds.to_bytes(8, "big") + key.private_key.sign(message)

    assert not key.cosigner.verify(TEXT, signature)


@pytest.mark.parametrize("length", [0, 7, 8, 64, 71, 73])
def test_a_signature_of_another_length_does_not_verify(key, note, length):
    whole = key.cosign(note, AT).signatures[-1].signature

    assert not key.cosigner.verify(TEXT, (whole + bytes(8))[:length])


def test_a_signature_over_the_text_alone_is_no_cosignature(key):
    bare = bytes(7) + b"\x01" + key.private_key.sign(TEXT.encode())

    assert not key.cosigner.verify(TEXT, bare)


def test_a_low_order_key_is_refused():
    with pytest.raises(RefusedError, match="low order"):
        Cosigner("neighbour", bytes(32))


def test_a_name_that_no_line_can_bear_is_refused(key):
    with pytest.raises(RefusedError, match="holds a space"):
        Cosigner("two words", key.cosigner.public_key)


def test_a_key_that_also_signs_the_records_heads_is_refused(key, log):
    own = Cosigner(log.name, log.verifier.public_key)

    with pytest.raises(RefusedError, match="also signs the record's own heads"):
        refuse_signing_key(own, [log.verifier.public_key])
    refuse_signing_key(key.cosigner, [log.verifier.public_key])


def test_the_same_key_has_another_id_as_a_cosigners():
    signer = Signer.generate("one")
    assert Cosigner("one", signer.verifier.public_key).key_id != signer.verifier.key_id
    assert COSIGNATURE == b"\x04"


@settings(deadline=None)
@given(
    st.binary(max_size=400)
    | st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace"))
)
def test_whatever_is_read_as_a_cosigned_note_ends_in_an_error_of_ours(data):
    cosigner = Cosigner("one", Signer.from_seed("one", bytes(32)).verifier.public_key)
    with pytest.raises(EvidenceError):
        read_cosignatures(SignedNote.parse(data), TEXT, [cosigner])


@settings(deadline=None)
@given(st.data())
def test_a_mangled_cosigned_note_ends_in_an_error_of_ours_or_says_the_same(data):
    key = CosigningKey(Signer.from_seed("one", bytes(32)).private_key)
    whole = bytearray(
        key.cosign(SignedNote(TEXT, (Signer.from_seed("log", bytes(32)).sign(TEXT),)), AT)
        .format()
        .encode()
    )
    for _ in range(data.draw(st.integers(1, 4))):
        whole[data.draw(st.integers(0, len(whole) - 1))] = data.draw(st.integers(0, 255))
    try:
        said = read_cosignatures(SignedNote.parse(bytes(whole)), TEXT, [key.cosigner])
    except EvidenceError:
        return
    assert said == [(key.cosigner, AT)]


@settings(deadline=None)
@given(st.text(max_size=120))
def test_whatever_is_read_as_a_cosigners_key_is_refused_in_our_words(text):
    with pytest.raises(EvidenceError):
        Cosigner.parse(text)

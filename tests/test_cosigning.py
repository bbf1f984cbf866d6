"""What a cosigner signs, what he remembers, and what he refuses."""

from datetime import UTC, datetime

import pytest

from evidence.case import Draft, Record
from evidence.cosigning import CosignerStore
from evidence.errors import ChangedError, EvidenceError, MissingError, RefusedError
from evidence.ledger import Head, SignedNote, Signer, sign_head
from evidence.witness import read_cosignatures
from evidence.witnessing import newest, to_cosign
from tests.tampering import altered, head_over, owner_of, rechained, stranger_to

AT = datetime(2025, 9, 1, 12, tzinfo=UTC)
WORDS = "three dry ladders"


@pytest.fixture
def store(tmp_path):
    return CosignerStore(tmp_path / "friend")


@pytest.fixture
def key(store):
    return store.create(None)


def cosigned_by(store, data, key, case):
    """Looked at with the key that the record's keeper told, and cosigned."""
    return store.cosign(store.look(data, owner_of(case).verifier.vkey), key, AT)


def grown(case, entries: int = 1) -> Record:
    record = Record.open(case)
    for _ in range(entries):
        record.write([Draft("photos", {"note": "one more"}, "owner")], owner_of(case))
    return record


def forked(case) -> str:
    """The present head of another history that bears the owner's signature."""
    lines = list(Record.open(case).lines)
    lines[7] = altered(lines[7], by="insurer")
    return head_over(rechained(lines), owner_of(case))


def test_the_first_head_of_a_record_is_cosigned_as_it_is(store, key, case):
    note = newest(Record.open(case))
    cosigned = cosigned_by(store, note.encode(), key, case)

    assert cosigned.text == SignedNote.parse(note).text
    assert read_cosignatures(cosigned, cosigned.text, [key.cosigner]) == [(key.cosigner, AT)]


def test_the_same_head_is_cosigned_again(store, key, case):
    note = newest(Record.open(case)).encode()

    first = cosigned_by(store, note, key, case)
    assert cosigned_by(store, note, key, case).text == first.text


@pytest.mark.parametrize("more", [1, 2, 5])
def test_a_later_head_is_cosigned_with_the_proof_that_it_continues(store, key, case, more):
    size = len(Record.open(case).lines)
    cosigned_by(store, newest(Record.open(case)).encode(), key, case)
    record = grown(case, more)

    cosigned = cosigned_by(store, to_cosign(record, size).encode(), key, case)
    assert f"\n{size + more}\n" in cosigned.text
    with pytest.raises(ChangedError, match=f"you cosigned {size + more} entries"):
        cosigned_by(store, record.notes[size].encode(), key, case)


def test_a_later_head_without_its_proof_is_asked_for_again(store, key, case):
    size = len(Record.open(case).lines)
    cosigned_by(store, newest(Record.open(case)).encode(), key, case)

    with pytest.raises(RefusedError, match=f"--note FILE --seen {size}"):
        cosigned_by(store, newest(grown(case)).encode(), key, case)


def test_a_head_of_another_history_is_refused(store, key, case):
    cosigned_by(store, newest(Record.open(case)).encode(), key, case)

    with pytest.raises(ChangedError, match="another one of the same size"):
        cosigned_by(store, forked(case).encode(), key, case)


def test_a_later_head_of_another_history_is_refused_whatever_proof_goes_along(store, key, case):
    size = len(Record.open(case).lines)
    cosigned_by(store, forked(case).encode(), key, case)

    with pytest.raises(ChangedError, match="does not continue"):
        cosigned_by(store, to_cosign(grown(case), size).encode(), key, case)


def test_what_was_refused_is_not_remembered(store, key, case):
    note = newest(Record.open(case)).encode()
    cosigned_by(store, note, key, case)
    for other in (forked(case), newest(grown(case))):
        with pytest.raises(EvidenceError):
            cosigned_by(store, other.encode(), key, case)

    assert cosigned_by(store, note, key, case)


def test_a_key_is_kept_behind_its_passphrase(store):
    made = store.create(WORDS)

    assert store.has_key
    assert store.load(WORDS).cosigner == made.cosigner
    with pytest.raises(RefusedError, match="are locked"):
        store.load(None)
    with pytest.raises(RefusedError, match="not opened by this passphrase"):
        store.load("another ladder")


def test_a_second_key_is_not_made_over_the_first(store, key):
    with pytest.raises(RefusedError, match="is there already"):
        store.create(None)
    assert store.load(None).cosigner == key.cosigner


def test_without_a_key_there_is_nothing_to_open(store):
    assert not store.has_key
    with pytest.raises(MissingError):
        store.load(None)


@pytest.mark.parametrize(
    "data",
    [b"", b"\xff", b"old 1\n", b"old x\n\nnote", b"old 1\n" + b"AA==\n" * 64 + b"\nnote"],
    ids=["nothing", "not text", "cut off", "no size", "a proof too long"],
)
def test_what_is_no_head_is_refused(store, key, data):
    with pytest.raises(RefusedError):
        store.look(data)


def test_a_size_that_the_record_never_had_is_refused(case):
    record = Record.open(case)
    with pytest.raises(RefusedError, match="not among the states"):
        to_cosign(record, len(record.lines) + 1)


@pytest.mark.parametrize("text", ["{}", "[1]", "not JSON", "3", '[{"head":"","key":""}]'])
def test_a_memory_that_was_mangled_is_told_and_not_taken_for_none(store, key, case, tmp_path, text):
    (tmp_path / "friend" / "cosigned.json").write_text(text)

    with pytest.raises(EvidenceError):
        cosigned_by(store, newest(Record.open(case)).encode(), key, case)


def test_nothing_but_key_and_memory_lies_in_the_folder(store, key, case, tmp_path):
    cosigned_by(store, newest(Record.open(case)).encode(), key, case)

    names = sorted(path.name for path in (tmp_path / "friend").iterdir())
    assert names == ["cosigned.json", "cosigner.pem"]


# Whose head it is


def poisoned(case, signer) -> bytes:
    """A head of the record with a size that it never reaches, signed by somebody."""
    head = Head(owner_of(case).name, 10**12, bytes(32))
    return sign_head(head, signer).format().encode()


def test_a_made_up_head_of_somebodys_record_is_not_cosigned(store, key, case):
    """A stranger who wants a record's witness gone sends the neighbour a head of it "of a million
    million entries", with a signature of his own. Once cosigned, each true head would be an older
    one, for ever."""
    with pytest.raises(ChangedError, match="not signed by the key of this record"):
        cosigned_by(store, poisoned(case, stranger_to(case)), key, case)
    unsigned = newest(Record.open(case)).replace("\u2014 ", "\u2014 x")
    with pytest.raises(EvidenceError):
        cosigned_by(store, unsigned.encode(), key, case)

    assert cosigned_by(store, newest(Record.open(case)).encode(), key, case)


def test_the_key_is_told_once_and_then_known(store, key, case):
    note = newest(Record.open(case)).encode()
    with pytest.raises(RefusedError, match="nothing says who signed it") as refused:
        store.look(note)
    assert "--key" in refused.value.what_to_do

    assert store.look(note, owner_of(case).verifier.vkey).before is None
    cosigned_by(store, note, key, case)
    known = store.look(note)
    assert known.log_key == known.before.log_key == owner_of(case).verifier
    with pytest.raises(ChangedError, match="not signed by the key"):
        store.look(poisoned(case, stranger_to(case)))


def test_another_key_takes_its_place_only_where_it_is_told_and_the_record_continues(
    store, key, case
):
    """The keeper lost his key, and signs with a new one. His say-so is needed again, and the proof
    as always."""
    note, new = newest(Record.open(case)).encode(), stranger_to(case)
    cosigned_by(store, note, key, case)
    again = sign_head(Head.parse(SignedNote.parse(note).text), new).format().encode()
    with pytest.raises(ChangedError, match="not signed by the key of this record"):
        store.look(again)

    asked = store.look(again, new.verifier.vkey)
    assert (asked.log_key, asked.before.log_key) == (new.verifier, owner_of(case).verifier)
    other = sign_head(Head(new.name, asked.head.size, bytes(32)), new).format().encode()
    with pytest.raises(ChangedError, match="another one of the same size"):
        store.look(other, new.verifier.vkey)


def test_the_key_of_another_record_signs_nothing_here(store, case):
    other = Signer.generate("roof-evidence/" + "0f" * 16)
    with pytest.raises(RefusedError, match="that of another record"):
        store.look(newest(Record.open(case)).encode(), other.verifier.vkey)


@pytest.mark.parametrize(
    "origin", ["example.com/log", "roof-evidence/x", f"roof-evidence/{'0' * 33}"]
)
def test_a_log_of_another_kind_is_not_cosigned(store, origin):
    signer = Signer.generate(origin)
    note = sign_head(Head(origin, 3, bytes(32)), signer).format().encode()
    with pytest.raises(RefusedError, match="not that of a roof's record"):
        store.look(note, signer.verifier.vkey)


def test_a_record_that_its_own_keeper_poisoned_is_forgotten_at_will(store, key, case):
    """The keeper himself signs a head of a size that he never reaches, and repents."""
    origin = owner_of(case).name
    cosigned_by(store, poisoned(case, owner_of(case)), key, case)
    note = newest(Record.open(case)).encode()
    with pytest.raises(ChangedError, match="an older copy"):
        store.look(note)
    with pytest.raises(RefusedError, match="is no record that you cosigned") as refused:
        store.forget("roof-evidence/other")
    assert origin in refused.value.what_to_do

    assert store.forget(origin).size == 10**12
    with pytest.raises(RefusedError, match="nothing says who signed it"):
        store.look(note)
    assert cosigned_by(store, note, key, case)

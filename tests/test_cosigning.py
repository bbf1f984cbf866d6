"""What a cosigner signs, what he remembers, and what he refuses."""

from datetime import UTC, datetime

import pytest

from evidence.case import Draft, Record
from evidence.cosigning import CosignerStore
from evidence.errors import ChangedError, EvidenceError, MissingError, RefusedError
from evidence.ledger import SignedNote
from evidence.witness import read_cosignatures
from evidence.witnessing import newest, to_cosign
from tests.tampering import altered, head_over, owner_of, rechained

AT = datetime(2025, 9, 1, 12, tzinfo=UTC)
WORDS = "three dry ladders"


@pytest.fixture
def store(tmp_path):
    return CosignerStore(tmp_path / "friend")


@pytest.fixture
def key(store):
    return store.create(None)


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
    cosigned = store.cosign(note.encode(), key, AT)

    assert cosigned.text == SignedNote.parse(note).text
    assert read_cosignatures(cosigned, cosigned.text, [key.cosigner]) == [(key.cosigner, AT)]


def test_the_same_head_is_cosigned_again(store, key, case):
    note = newest(Record.open(case)).encode()

    assert store.cosign(note, key, AT).text == store.cosign(note, key, AT).text


@pytest.mark.parametrize("more", [1, 2, 5])
def test_a_later_head_is_cosigned_with_the_proof_that_it_continues(store, key, case, more):
    size = len(Record.open(case).lines)
    store.cosign(newest(Record.open(case)).encode(), key, AT)
    record = grown(case, more)

    cosigned = store.cosign(to_cosign(record, size).encode(), key, AT)
    assert f"\n{size + more}\n" in cosigned.text
    with pytest.raises(ChangedError, match=f"you cosigned {size + more} entries"):
        store.cosign(record.notes[size].encode(), key, AT)


def test_a_later_head_without_its_proof_is_asked_for_again(store, key, case):
    size = len(Record.open(case).lines)
    store.cosign(newest(Record.open(case)).encode(), key, AT)

    with pytest.raises(RefusedError, match=f"--note FILE --seen {size}"):
        store.cosign(newest(grown(case)).encode(), key, AT)


def test_a_head_of_another_history_is_refused(store, key, case):
    store.cosign(newest(Record.open(case)).encode(), key, AT)

    with pytest.raises(ChangedError, match="another one of the same size"):
        store.cosign(forked(case).encode(), key, AT)


def test_a_later_head_of_another_history_is_refused_whatever_proof_goes_along(store, key, case):
    size = len(Record.open(case).lines)
    store.cosign(forked(case).encode(), key, AT)

    with pytest.raises(ChangedError, match="does not continue"):
        store.cosign(to_cosign(grown(case), size).encode(), key, AT)


def test_what_was_refused_is_not_remembered(store, key, case):
    note = newest(Record.open(case)).encode()
    store.cosign(note, key, AT)
    for other in (forked(case), newest(grown(case))):
        with pytest.raises(EvidenceError):
            store.cosign(other.encode(), key, AT)

    assert store.cosign(note, key, AT)


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
        store.cosign(data, key, AT)


def test_a_size_that_the_record_never_had_is_refused(case):
    record = Record.open(case)
    with pytest.raises(RefusedError, match="not among the states"):
        to_cosign(record, len(record.lines) + 1)


@pytest.mark.parametrize("text", ["{}", "[1]", "not JSON", "3"])
def test_a_memory_that_was_mangled_is_told_and_not_taken_for_none(store, key, case, tmp_path, text):
    (tmp_path / "friend" / "cosigned.json").write_text(text)

    with pytest.raises(EvidenceError):
        store.cosign(newest(Record.open(case)).encode(), key, AT)


def test_nothing_but_key_and_memory_lies_in_the_folder(store, key, case, tmp_path):
    store.cosign(newest(Record.open(case)).encode(), key, AT)

    names = sorted(path.name for path in (tmp_path / "friend").iterdir())
    assert names == ["cosigned.json", "cosigner.pem"]

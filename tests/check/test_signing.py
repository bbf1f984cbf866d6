"""Step 4, and what a key says that the reader was told by another way than the record."""

from dataclasses import replace

from evidence.check.record import check_record
from evidence.check.report import Found
from evidence.witness import Anchors, CosigningKey
from tests.check.making import found, told
from tests.tampering import Handed, head_over, key_body, rechained, reworded


def test_the_key_that_signed_the_first_head_vouches_for_all_that_follows(handed, owner, stranger):
    second = stranger
    longer = handed.then("key", key_body(second), owner).then("photos", {}, second)
    report = check_record(longer, named=[owner.verifier])

    assert found(report) == {}
    assert told(report, 4) == (
        "signed by 2 keys that the record names; the first head by the key that you named"
    )


def test_a_record_whose_first_key_is_another_is_said_to_be_one(handed, owner, stranger):
    """The dossier was made after the laptop was replaced: the reader was told the later key."""
    longer = handed.then("key", key_body(stranger), owner).then("photos", {}, stranger)
    report = check_record(longer, named=[stranger.verifier])

    assert found(report) == {4: Found.NAMED}
    size = len(longer.lines)
    assert f"signed heads of {size} entries, not the first" in told(report, 4)
    assert owner.verifier.vkey in told(report, 4)


def test_a_record_that_the_key_never_signed_is_not_the_one_that_the_reader_was_told_of(
    handed, owner, stranger
):
    report = check_record(handed, named=[stranger.verifier])

    assert found(report) == {4: Found.CHANGED}
    assert told(report, 4) == (
        "no head is signed by the key that you named: "
        f"its first head is signed by {owner.verifier.vkey}"
    )


def test_a_stranger_who_writes_the_owner_s_key_into_a_record_of_his_own_gains_nothing(
    handed, owner, stranger
):
    """Anybody can write down another's key; none but its owner can sign with it."""
    first, second = handed.of_kind("key")
    lines = list(handed.lines)
    lines[second] = reworded(lines[second], key=stranger.verifier.vkey)
    lines = rechained(lines)
    anew = Handed(lines, (head_over(lines, stranger),), handed.files)

    assert [owner.verifier.vkey in str(lines[seq]) for seq in (first, second)] == [True, False]
    assert 4 not in found(check_record(anew))
    assert found(check_record(anew, named=[owner.verifier]))[4] is Found.CHANGED


def test_a_key_that_signs_before_it_was_added_is_found(handed, owner, stranger):
    """A thief's key gets its entry, and heads over entries ahead of that entry."""
    early = handed.then("photos", {}, stranger).then("key", key_body(stranger), owner)
    report = check_record(early.then("photos", {}, stranger))

    assert found(report) == {4: Found.CHANGED}
    size = len(handed.lines) + 1
    assert told(report, 4) == f"head of {size}: is signed by none of the known keys"


def test_a_key_that_signs_the_head_over_its_own_entry_is_found(handed, stranger):
    report = check_record(handed.then("key", key_body(stranger), stranger))
    assert found(report) == {4: Found.CHANGED}


def test_a_low_order_key_in_the_record_signs_nothing(handed, owner):
    """Under such a key a made-up signature holds for every text, for a library that takes it."""
    from evidence.ledger import NoteSignature, SignedNote
    from evidence.ledger.vkeys import key_id, write_vkey

    weak = bytes([1]) + bytes(31)  # the neutral element; C2SP/CCTV ed25519
    name = owner.name
    body = key_body(owner) | {"key": write_vkey(name, b"\x01", weak)}
    longer = handed.then("key", body, owner).then("photos", {}, None)
    text = SignedNote.parse(head_over(longer.lines, owner)).text
    line = NoteSignature(name, key_id(name, b"\x01", weak), weak + bytes(32))
    forged = replace(longer, heads=(*longer.heads, SignedNote(text, (line,)).format()))
    report = check_record(forged)

    assert found(report) == {4: Found.CHANGED}
    assert "is signed by none of the known keys" in told(report, 4)


def test_a_cosigner_s_key_that_the_reader_gives_is_looked_for(handed, owner):
    cosigner = CosigningKey.generate().cosigner
    anchors = Anchors(cosigners=(cosigner.vkey,))

    report = check_record(handed, anchors)
    assert found(report) == {4: Found.NAMED}
    assert "does not name the cosigner's key" in told(report, 4)
    body = {"party": "insurer", "event": "added", "key": cosigner.vkey, "use": "cosign"}
    longer = handed.then("key", body, owner)
    report = check_record(longer, anchors)
    assert found(report) == {}
    assert f"entry {len(longer.lines)} names the cosigner's key" in told(report, 4)


def test_several_named_keys_are_all_asked(handed, owner, stranger):
    report = check_record(handed, named=[owner.verifier, stranger.verifier])
    assert found(report) == {4: Found.CHANGED}

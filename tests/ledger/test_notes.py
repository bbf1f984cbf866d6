"""C2SP signed notes: outside notes and keys, the traps among them, and everything mangled."""

import base64
import json

import pytest
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

from evidence.errors import ChangedError, EvidenceError, RefusedError
from evidence.ledger.notes import (
    ED25519,
    MAX_SIGNATURES,
    NoteSignature,
    SignedNote,
    Signer,
    Verifier,
    key_id,
    open_note,
)
from evidence.ledger.strict import b64encode

# C2SP/C2SP signed-note.md, the example that verifies.
VKEY = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k"
TEXT = "This is an example message.\n"
NOTE = (
    f"{TEXT}\n— example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYj"
    "OBH3mFXmRKuwHjG1Yu72IneyaQM=\n"
)
# golang/mod sumdb/note/note_test.go: the secret key of "PeterNeumann".
PETER_SKEY = "PRIVATE+KEY+PeterNeumann+c74f20a3+AYEKFALVFGyNhPJEMzD1QIDr+Y7hfZx09iUvxdXHKDFz"


@pytest.fixture(scope="module")
def notes(shared_vectors):
    return json.loads((shared_vectors / "c2sp_notes.json").read_text("utf-8"))


def named(rows, name):
    return next(row for row in rows if row["name"] == name)


def test_the_example_of_the_specification_is_opened():
    note = SignedNote.parse(NOTE)
    verifier = Verifier.parse(VKEY)
    assert note.text == TEXT
    assert note.format() == NOTE
    assert verifier.vkey == VKEY
    assert open_note(note, [verifier]) == [verifier]


@pytest.mark.parametrize(
    "name",
    [
        "c2sp-signed-note-example",
        "go-note-peter",
        "go-note-peter-and-enoch",
        "checkpoint-three-signers",
    ],
)
def test_notes_of_other_programs_are_opened_by_all_their_keys(notes, name):
    row = named(notes["verify"], name)
    verifiers = [Verifier.parse(vkey) for vkey in row["vkeys"]]
    note = SignedNote.parse(row["note"])
    assert note.format() == row["note"]
    assert open_note(note, reversed(verifiers)) == verifiers


def test_another_program_s_key_signs_the_same_bytes_here(notes):
    row = named(notes["verify"], "go-note-peter")
    blob = base64.b64decode(row["skey"].rpartition("+c74f20a3+")[2])
    assert row["skey"] == PETER_SKEY
    assert blob[:1] == ED25519
    signer = Signer.from_seed("PeterNeumann", blob[1:])
    note = SignedNote.parse(row["note"])
    assert signer.verifier.vkey == row["vkeys"][0]
    assert signer.sign(note.text) == note.signatures[0]


def test_lines_of_other_signature_types_are_kept_and_ignored(notes):
    # A real certificate log's head: types 05, 01 and four cosignatures 04.
    row = named(notes["verify"], "cosignature-v1-real")
    note = SignedNote.parse(row["note"])
    assert note.format() == row["note"]
    assert len(note.signatures) == 6
    with pytest.raises(ChangedError, match="none of the known keys"):
        open_note(note, [Verifier.parse(VKEY)])
    log, *witnesses = row["vkeys"]
    assert open_note(note, [Verifier.parse(log)]) == [Verifier.parse(log)]
    for vkey in witnesses:
        with pytest.raises(RefusedError, match="not an Ed25519 key"):
            Verifier.parse(vkey)


def test_the_misprinted_checkpoint_of_the_specification_is_parsed_only(notes):
    row = named(notes["parse_only_or_reject"], "c2sp-checkpoint-doc-example")
    assert SignedNote.parse(row["note"]).format() == row["note"]


def test_the_cosignature_line_of_the_specification_is_parsed_only(notes):
    row = named(notes["parse_only_or_reject"], "c2sp-cosignature-doc-example")
    line = NoteSignature.parse(row["line"])
    assert line.format() == row["line"]
    assert line.key_id.hex() == row["decodes_to"]["key_id_hex"]
    assert len(line.signature) == 8 + row["decodes_to"]["signature_len"]


@pytest.mark.parametrize("name", ["vkey-wrong-length", "vkey-unknown-algorithm"])
def test_keys_of_another_length_or_type_are_refused(notes, name):
    with pytest.raises(RefusedError, match=r"is not (base64|an Ed25519 key)"):
        Verifier.parse(named(notes["parse_only_or_reject"], name)["vkey"])


def test_a_key_of_33_bytes_is_refused_though_its_id_is_its_own():
    public = bytes(range(33))
    vkey = f"name+{key_id('name', ED25519, public).hex()}+{b64encode(ED25519 + public)}"
    with pytest.raises(RefusedError, match="not an Ed25519 key"):
        Verifier.parse(vkey)


def test_every_changed_byte_of_a_note_is_refused():
    verifier, data = Verifier.parse(VKEY), NOTE.encode()
    for place, byte in enumerate(data):
        mangled = data[:place] + bytes([(byte + 1) % 256]) + data[place + 1 :]
        with pytest.raises(EvidenceError):
            open_note(SignedNote.parse(mangled), [verifier])


def test_every_truncation_of_a_note_is_refused():
    verifier, data = Verifier.parse(VKEY), NOTE.encode()
    for place in range(len(data)):
        for part in (data[:place], data[place + 1 :]):
            with pytest.raises(EvidenceError):
                open_note(SignedNote.parse(part), [verifier])


def test_every_changed_byte_and_every_part_of_a_key_is_refused():
    # The same habit as golang/mod sumdb/note: every substring and every byte + 1.
    for place, char in enumerate(VKEY):
        with pytest.raises(RefusedError):
            Verifier.parse(VKEY[:place] + chr(ord(char) + 1) + VKEY[place + 1 :])
    for start in range(len(VKEY)):
        for end in range(start, len(VKEY) + (start > 0)):
            with pytest.raises(RefusedError):
                Verifier.parse(VKEY[start:end])


@pytest.mark.parametrize("vkey", [VKEY + "\n", " " + VKEY, VKEY.replace("530d903a", "530D903A")])
def test_a_key_has_one_spelling(vkey):
    with pytest.raises(RefusedError):
        Verifier.parse(vkey)


LINE = NOTE.split("\n")[2]


def line_with(old: str, new: str) -> str:
    assert old in LINE
    return f"{TEXT}\n{LINE.replace(old, new)}\n"


@pytest.mark.parametrize(
    "note",
    [
        "",
        "\n",
        "\n\n",
        TEXT,
        f"{TEXT}\n",
        f"{TEXT}\n{LINE}",  # no newline at the end
        f"{TEXT}{LINE}\n",  # no empty line
        f"{TEXT}\n{LINE}\n\n",
        f"{TEXT}\n{LINE}\nstray\n",
        f"{TEXT}\n {LINE}\n",
        f"{TEXT}\n{LINE} \n",
        line_with("— ", "- "),
        line_with("— ", "—  "),
        line_with(" Uw", "\u00a0Uw"),
        line_with("example.com/foo", ""),
        line_with("example.com/foo", "a+b"),
        line_with("example.com/foo", "a\u2003b"),
        line_with("aQM=", "aQN="),  # stray bits in base64
        f"{TEXT}\n— name Uw2QOg==\n",  # a key ID and no signature
        f"tab\there\n\n{LINE}\n",
        f"return\r\n\n{LINE}\n",
        f"{TEXT}\n{LINE}\r\n",
        f"lone \ud800\n\n{LINE}\n",
        TEXT.encode() + b"\xff\n\n" + LINE.encode() + b"\n",
        TEXT + "\n" + f"{LINE}\n" * (MAX_SIGNATURES + 1),
        "x" * 1_000_000 + f"\n\n{LINE}\n",
    ],
)
def test_a_note_of_another_form_is_refused(note):
    with pytest.raises(RefusedError):
        SignedNote.parse(note)


def test_sixteen_signatures_are_taken(signer):
    signers = [Signer.from_seed(f"key-{n}", bytes([n]) * 32) for n in range(16)]
    note = SignedNote(TEXT, tuple(each.sign(TEXT) for each in signers))
    verifiers = [each.verifier for each in signers]
    assert open_note(SignedNote.parse(note.format()), verifiers) == verifiers


@pytest.mark.parametrize(
    "text", ["\n", "a\n\nb\n", "ends empty\n\n", "\n\n\n", "line\u2028separator\n", f"{LINE}\n"]
)
def test_texts_with_empty_and_odd_lines_come_back_as_they_were(signer, text):
    note = SignedNote(text, (signer.sign(text),))
    assert SignedNote.parse(note.format()) == note
    assert open_note(note, [signer.verifier]) == [signer.verifier]


@pytest.mark.parametrize("text", ["", "no newline", "tab\t\n", "lone \ud800\n"])
def test_a_text_that_would_not_come_back_cannot_be_made_into_a_note(signer, text):
    with pytest.raises(RefusedError, match="malformed"):
        SignedNote(text, (signer.sign(TEXT),))


def test_a_note_without_a_signature_cannot_be_made():
    with pytest.raises(RefusedError, match="0 signatures"):
        SignedNote(TEXT, ())


def test_a_bad_signature_by_a_known_key_spoils_a_note_that_others_signed_well(signer):
    good, other = signer.sign(TEXT), Signer.from_seed("other", bytes(32))
    bad = other.sign("another text\n")
    with pytest.raises(ChangedError, match="'other'"):
        open_note(SignedNote(TEXT, (good, bad)), [signer.verifier, other.verifier])
    assert open_note(SignedNote(TEXT, (good, bad)), [signer.verifier]) == [signer.verifier]


def test_a_key_that_signed_twice_is_named_once(signer):
    line = signer.sign(TEXT)
    assert open_note(SignedNote(TEXT, (line, line)), [signer.verifier]) == [signer.verifier]


def test_a_name_alone_or_an_id_alone_is_another_s_key(signer):
    line = signer.sign(TEXT)
    same_name = NoteSignature(line.name, b"\x00\x01\x02\x03", line.signature)
    same_id = NoteSignature("other", line.key_id, line.signature)
    for stranger in (same_name, same_id):
        with pytest.raises(ChangedError, match="none of the known keys"):
            open_note(SignedNote(TEXT, (stranger,)), [signer.verifier])


def test_two_keys_that_cannot_be_told_apart_are_refused(signer):
    class Twin:
        name = signer.name
        key_id = signer.verifier.key_id

        def verify(self, text, signature):
            return True

    note = SignedNote(TEXT, (signer.sign(TEXT),))
    with pytest.raises(RefusedError, match="shares its ID"):
        open_note(note, [signer.verifier, Twin()])
    assert open_note(note, [signer.verifier, signer.verifier]) == [signer.verifier]


def test_one_key_has_another_id_under_each_name_and_type():
    public = Verifier.parse(VKEY).public_key
    ids = {key_id(name, kind, public) for name in ("a", "b") for kind in (b"\x01", b"\x04")}
    assert len(ids) == 4


def test_a_private_key_does_not_show():
    assert "seed" not in repr(signer := Signer.from_seed("name", bytes(32)))
    assert "private" not in repr(signer)


def test_ed25519_signs_as_rfc_8032_section_7_1_says(shared_vectors):
    rows = json.loads((shared_vectors / "ed25519_rfc8032.json").read_text())
    assert len(rows) == 5
    for row in rows:
        signer = Signer.from_seed("name", bytes.fromhex(row["secret_key"]))
        message = bytes.fromhex(row["message"])
        assert signer.verifier.public_key.hex() == row["public_key"]
        assert signer.private_key.sign(message).hex() == row["signature"]


def verifies(public_key: bytes, message: bytes, signature: bytes) -> bool:
    """By `Verifier` where the message is text; by what it calls where it is not."""
    try:
        return Verifier("name", public_key).verify(message.decode(), signature)
    except UnicodeDecodeError:
        pass
    try:
        Ed25519PublicKey.from_public_bytes(public_key).verify(signature, message)
    except InvalidSignature:
        return False
    return True


def test_all_151_signatures_of_wycheproof_are_judged_as_it_says(shared_vectors):
    # C2SP/wycheproof testvectors_v1/ed25519_test.json
    groups = json.loads((shared_vectors / "wycheproof" / "ed25519_test.json").read_text())
    judged = 0
    for group in groups["testGroups"]:
        key = bytes.fromhex(group["publicKey"]["pk"])
        for row in group["tests"]:
            answer = verifies(key, bytes.fromhex(row["msg"]), bytes.fromhex(row["sig"]))
            assert answer is (row["result"] == "valid"), row["tcId"]
            judged += 1
    assert judged == 151


def test_bytes_that_are_no_point_verify_nothing():
    # y = 2 has no x on the curve (RFC 8032 section 5.1.3, step 3).
    no_point = Verifier("name", b"\x02" + bytes(31))
    assert not no_point.verify(TEXT, bytes(64))
    assert Verifier.parse(no_point.vkey) == no_point


def test_a_low_order_key_is_refused_in_a_key_s_text():
    identity = b"\x01" + bytes(31)
    vkey = f"name+{key_id('name', ED25519, identity).hex()}+{b64encode(ED25519 + identity)}"
    with pytest.raises(RefusedError, match="low order"):
        Verifier.parse(vkey)

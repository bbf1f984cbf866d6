"""Each refusal of this room in full: the thing, what is wrong with it, what to do."""

import errno
import os
import sqlite3
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest
from cryptography.hazmat.primitives.asymmetric import ec

from evidence.errors import ChangedError, EvidenceError, MissingError, RefusedError
from evidence.ledger import guards, schema
from evidence.ledger.canonical import MAX_DEPTH, dumps, loads, parse
from evidence.ledger.certificate import OwnCertificate, self_signed
from evidence.ledger.disk import plain_words
from evidence.ledger.keys import KeyStore
from evidence.ledger.notes import MAX_BYTES, SignedNote, Signer, open_note
from evidence.ledger.recovery import RecoveryKey
from evidence.ledger.store import Store
from evidence.ledger.strict import shown
from evidence.ledger.vkeys import ed25519_verifies, key_id, kind_of, read_vkey, write_vkey

CASE = "0f0e0d0c0b0a09080706050403020100"
EARLIER = "Leave it as it is, and look for an earlier copy."
ED25519 = b"\x01"


def told(error: EvidenceError) -> tuple[str, str, str]:
    return error.what, error.why, error.what_to_do


def refused(do, *given, kind: type[EvidenceError] = RefusedError, **how) -> tuple[str, str, str]:
    with pytest.raises(EvidenceError) as caught:
        do(*given, **how)
    assert type(caught.value) is kind
    return told(caught.value)


# Text


@pytest.mark.parametrize(
    ("value", "why"),
    [
        ({"\ud800": 1}, "a field's name is not Unicode text"),
        ({"a": "\ud800"}, "input contains non-UTF-8 codepoints"),
    ],
    ids=["name", "text"],
)
def test_what_is_no_unicode_is_not_written_as_json(value, why):
    assert refused(dumps, value) == ("canonical JSON", why, "")


@pytest.mark.parametrize(
    ("value", "where"),
    [(1.5, "value"), ({"a": {"b": 1.5}}, "field 'a.b'"), ({"a": [0, 1.5]}, "field 'a[1]'")],
    ids=["alone", "field", "item"],
)
def test_a_float_is_named_by_its_place(value, where):
    what_to_do = "Write an integer, or a decimal number as text: '1.5'."
    assert refused(dumps, value) == (where, "is a float", what_to_do)


def test_of_two_fields_with_one_name_the_name_is_told():
    said = refused(parse, b'{"b":1,"a":2,"a":3}')
    assert said == ("field 'a'", "stands twice in one object", "")


def test_what_is_no_text_or_no_json_is_not_read():
    assert refused(parse, b'"\xff"') == ("JSON", "is not UTF-8 text", "")
    assert refused(loads, b'{ "a":1}') == ("JSON", "is not in canonical form (RFC 8785)", "")
    what, why, _ = refused(parse, b'{"a":')
    assert (what, why[:16]) == ("JSON", "cannot be read (")


def test_a_number_with_a_point_is_not_read():
    assert refused(loads, b'{"a":1.5}') == ("number '1.5'", "is not an integer", "")


def test_json_is_read_down_to_a_depth_and_no_deeper():
    assert parse(b"[" * MAX_DEPTH + b"]" * MAX_DEPTH) is not None
    deeper = b"[" * (MAX_DEPTH + 1) + b"]" * (MAX_DEPTH + 1)
    assert refused(parse, deeper) == ("JSON", f"is nested deeper than {MAX_DEPTH} levels", "")
    inner: object = {}
    for _ in range(MAX_DEPTH - 1):
        inner = {"a": inner}
    assert loads(dumps(inner)) == inner
    assert refused(dumps, {"a": inner})[1] == f"is nested deeper than {MAX_DEPTH} levels"


@pytest.mark.parametrize(("length", "ends"), [(59, "x'"), (60, "x'"), (61, "…'"), (200, "…'")])
def test_a_long_text_is_shown_to_its_sixtieth_letter(length, ends):
    said = shown("x" * length)
    assert said.endswith(ends)
    assert said.count("x") == min(length, 60)


# The disk


@pytest.mark.parametrize(
    ("number", "why", "what_to_do"),
    [
        (errno.ENOENT, "is not there", "Check the name and the folder."),
        (errno.ENOSPC, "the disk is full", "Make room, then try again."),
        (errno.EDQUOT, "the disk is full", "Make room, then try again."),
        (errno.EACCES, "this user may not do that here", "Check who owns the folder."),
        (errno.EPERM, "this user may not do that here", "Check who owns the folder."),
        (errno.EROFS, "this user may not do that here", "Check who owns the folder."),
        (errno.EEXIST, "is there already", "Nothing was written over it."),
        (errno.ENOTEMPTY, "is there already", "Nothing was written over it."),
        (errno.EIO, "input/output error", ""),
    ],
    ids=lambda value: errno.errorcode[value] if isinstance(value, int) else None,
)
def test_what_the_system_says_is_told_in_plain_words(number, why, what_to_do):
    def deny() -> None:
        with plain_words(Path("a/b")):
            raise OSError(number, os.strerror(number))

    assert refused(deny) == (str(Path("a/b")), why, what_to_do)


def test_an_error_without_words_is_told_all_the_same():
    def deny() -> None:
        with plain_words(Path("a")):
            raise OSError

    assert refused(deny) == ("a", "cannot be used", "")


def test_what_ought_to_be_there_is_missing():
    def look() -> None:
        with plain_words(Path("a"), MissingError):
            raise FileNotFoundError(errno.ENOENT, "no")

    assert refused(look, kind=MissingError)[1:] == (
        "is not there",
        "Check the name and the folder.",
    )


# SQLite


@pytest.mark.parametrize(
    ("code", "words"), guards._WORDS.items(), ids=[str(code) for code in guards._WORDS]
)
def test_what_sqlite_refuses_is_told_in_plain_words(code, words):
    def deny() -> None:
        error = sqlite3.OperationalError("no")
        error.sqlite_errorcode = code
        with guards.sqlite_in_plain_words(Path("a")):
            raise error

    assert refused(deny) == ("a", *words)


def test_an_extended_code_is_told_as_the_one_it_belongs_to():
    def deny() -> None:
        error = sqlite3.OperationalError("no")
        error.sqlite_errorcode = sqlite3.SQLITE_IOERR_FSYNC
        with guards.sqlite_in_plain_words(Path("a")):
            raise error

    assert refused(deny) == ("a", "the disk refused; nothing was written", "Check the disk.")


def test_what_sqlite_cannot_read_was_altered():
    def deny() -> None:
        with guards.sqlite_in_plain_words(Path("a")):
            raise sqlite3.DatabaseError("malformed")

    why = "SQLite cannot make sense of it (malformed)"
    assert refused(deny, kind=ChangedError) == ("a", why, EARLIER)


def test_text_that_is_none_was_altered():
    def deny() -> None:
        with guards.sqlite_in_plain_words(Path("a")):
            b"\xff".decode()

    why = "holds bytes where text should be"
    assert refused(deny, kind=ChangedError) == ("a", why, EARLIER)


@pytest.fixture
def ledger(tmp_path: Path) -> Path:
    path = tmp_path / "ledger.sqlite"
    Store.create(path).close()
    guards._examined.clear()
    return path


def patched(path: Path, place: int, data: bytes) -> Path:
    with path.open("rb+") as file:
        file.seek(place)
        file.write(data)
    return path


def test_a_file_of_anything_else_is_no_ledger(tmp_path):
    path = tmp_path / "a.sqlite"
    path.write_bytes(b"hello")
    assert refused(guards.connect, path, writable=False) == (
        str(path),
        "is not a ledger that this program can read",
        "Name a case folder made by this version or an older one.",
    )


def test_a_ledger_in_wal_mode_is_refused_with_the_way_back(ledger):
    patched(ledger, 18, b"\x02\x02")
    assert refused(guards.connect, ledger, writable=False) == (
        str(ledger),
        "was switched to WAL mode, so it may lack what lies in its -wal file",
        "Switch it back with the program that did: PRAGMA journal_mode = DELETE",
    )


def test_a_ledger_with_another_header_was_altered(ledger):
    patched(ledger, 60, b"\x00\x00\x00\x63")
    assert refused(guards.connect, ledger, writable=False, kind=ChangedError) == (
        str(ledger),
        "its header was altered",
        EARLIER,
    )


def test_another_trigger_is_a_change(ledger):
    connection = sqlite3.connect(ledger)
    connection.execute("DROP TRIGGER " + next(iter(triggers(connection))))
    connection.commit()
    connection.close()
    assert refused(guards.connect, ledger, writable=False, kind=ChangedError) == (
        str(ledger),
        "its tables or triggers are not those of a ledger",
        EARLIER,
    )


def triggers(connection: sqlite3.Connection) -> list[str]:
    rows = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
    return [name for (name,) in rows]


def test_the_identity_is_looked_at_again_inside(ledger):
    assert guards._header(ledger)[2:] == (schema.VERSION, schema.APPLICATION_ID)


@pytest.mark.parametrize(
    ("error", "kind", "why"),
    [
        (FileNotFoundError(errno.ENOENT, "no"), MissingError, "is not there"),
        (sqlite3.DatabaseError("no"), ChangedError, "SQLite cannot make sense of it (no)"),
    ],
    ids=["gone", "unread"],
)
def test_a_ledger_that_goes_while_it_is_looked_at_is_named(ledger, monkeypatch, error, kind, why):
    def trip(*_):
        raise error

    monkeypatch.setattr(guards, "_inspect", trip)
    assert refused(guards.connect, ledger, writable=False, kind=kind)[:2] == (str(ledger), why)


def test_a_ledger_is_made_in_a_folder_that_is_there(tmp_path):
    path = tmp_path / "no" / "ledger.sqlite"
    said = refused(guards.create, path)
    assert said == (str(path), "is not there", "Check the name and the folder.")


# The store


def test_a_copy_takes_no_others_place(ledger, tmp_path):
    there = tmp_path / "there"
    there.write_bytes(b"mine")
    with Store.open(ledger, writable=False) as store:
        assert refused(store.backup, there) == (
            str(there),
            "is there already",
            "Nothing was written over it.",
        )
        assert there.read_bytes() == b"mine"
        nowhere = tmp_path / "no" / "copy"
        assert refused(store.backup, nowhere)[:2] == (str(nowhere), "is not there")


def test_a_copy_in_the_making_is_hidden_and_nothing_stays_of_it(ledger, tmp_path, monkeypatch):
    seen = []

    def refuse(path):
        seen.append(path)
        raise OSError(errno.ENOSPC, "full")

    monkeypatch.setattr("evidence.ledger.store.sync_file", refuse)
    with Store.open(ledger, writable=False) as store:
        why = refused(store.backup, tmp_path / "copy")
    assert why == (str(tmp_path / "copy"), "the disk is full", "Make room, then try again.")
    assert seen[0].name.startswith(".copying-")
    assert seen[0].parent == tmp_path
    assert sorted(path.name for path in tmp_path.iterdir()) == [ledger.name]


def test_entries_that_were_not_signed_last_stop_the_next(ledger):
    connection = sqlite3.connect(ledger)
    connection.execute("INSERT INTO entries VALUES (0, ?, ?)", ("0" * 64, b"{}"))
    connection.commit()
    connection.close()
    with Store.open(ledger, writable=True) as store:
        said = refused(store.append, lambda _tip: [], lambda _head: None, "o", kind=ChangedError)
    assert said == (
        str(ledger),
        "its entries are not those that were signed last; nothing was written",
        "Check the case before anything else is written.",
    )


def test_nothing_to_add_is_refused(ledger):
    with Store.open(ledger, writable=True) as store:
        said = refused(store.append, lambda _tip: [], lambda _head: None, "o")
    assert said == ("new entries", "there is nothing to add", "Nothing was written.")


def test_reading_goes_by_number_whatever_the_order_on_disk(ledger):
    with Store.open(ledger, writable=False) as store:
        assert (store.entries(), store.heads(), store.head()) == ([], [], None)


# Notes and keys


def test_a_note_of_nobody_known_is_refused():
    signer, other = Signer.generate("a"), Signer.generate("b")
    note = SignedNote("text\n", (signer.sign("text\n"),))
    said = refused(open_note, note, [other.verifier], kind=ChangedError)
    assert said == ("signed note", "is signed by none of the known keys", "")
    assert open_note(note, [other.verifier, signer.verifier]) == [signer.verifier]


def test_a_signature_over_another_text_is_named():
    signer = Signer.generate("a")
    note = SignedNote("text\n", (signer.sign("another\n"),))
    said = refused(open_note, note, [signer.verifier], kind=ChangedError)
    assert said == ("signature by 'a'", "does not belong to this text", "")


@dataclass(frozen=True)
class Twin:
    """Another verifier under the same name and ID."""

    name: str
    key_id: bytes


def test_two_keys_under_one_id_are_refused():
    signer = Signer.generate("a")
    twin = Twin("a", signer.verifier.key_id)
    note = SignedNote("text\n", (signer.sign("text\n"),))
    said = refused(open_note, note, [signer.verifier, twin])
    assert said == ("key 'a'", "shares its ID with another key", "")
    assert open_note(note, [signer.verifier, signer.verifier]) == [signer.verifier]


@pytest.mark.parametrize(
    ("note", "why"),
    [
        (b"text\n\xff", "it is not UTF-8 text"),
        (b"text\n", "it has no signature lines below an empty line"),
        (b"x" * (MAX_BYTES + 1), f"it is larger than {MAX_BYTES} bytes"),
    ],
    ids=["bytes", "unsigned", "large"],
)
def test_what_is_no_note_is_refused(note, why):
    assert refused(SignedNote.parse, note) == ("signed note", f"is malformed: {why}", "")


@pytest.mark.parametrize(
    ("vkey", "why"),
    [
        ("no key at all", "is not of the form name+id+base64"),
        ("a+00000000+" + write_vkey("a", ED25519, bytes(32)).rpartition("+")[2],
         "carries an ID that is not its own"),
        (write_vkey("a", b"\x04", bytes(32)), "is not an Ed25519 key (type 01, 32 bytes)"),
        (write_vkey("a", ED25519, bytes(31)), "is not an Ed25519 key (type 01, 32 bytes)"),
        (write_vkey("a", ED25519, bytes(33)), "is not an Ed25519 key (type 01, 32 bytes)"),
    ],
    ids=["form", "id", "type", "short", "long"],
)  # fmt: skip
def test_a_verifier_key_of_another_form_is_refused(vkey, why):
    said = refused(read_vkey, vkey, ED25519, "an Ed25519 key")
    assert said == (f"key {shown(vkey)}", why, "")


def test_the_type_of_a_key_is_its_first_byte():
    assert kind_of(write_vkey("a", ED25519, bytes(32))) == ED25519
    assert kind_of(write_vkey("a", b"\x04", bytes(32))) == b"\x04"
    assert kind_of("no key at all") == b""
    assert kind_of("a+00000000+") == b""
    with pytest.raises(RefusedError):
        kind_of("a+00000000+***")


def test_a_key_goes_by_name_type_and_bytes():
    ids = {key_id(name, kind, key) for name in "ab" for kind in (ED25519, b"\x04")
           for key in (bytes(32), bytes([1] * 32))}  # fmt: skip
    assert len(ids) == 8


def test_a_key_that_is_no_point_of_the_curve_signed_nothing():
    assert ed25519_verifies(b"\xff" * 32, bytes(64), b"x") is False


# The recovery key


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (lambda text: "U" + text[1:], "holds 'U', which it never uses"),
        (lambda text: text[:-1], "has 54 letters, not 55"),
        (lambda text: text + "0", "has 56 letters, not 55"),
        (lambda text: ("1" if text[0] == "0" else "0") + text[1:],
         "its checksum is wrong: a letter differs"),
    ],
    ids=["strange", "short", "long", "checksum"],
)  # fmt: skip
def test_a_mistyped_recovery_key_is_sent_back_to_the_paper(change, why):
    text = RecoveryKey(bytes(range(32))).text()
    said = refused(RecoveryKey.parse, change(text))
    assert said == ("recovery key", why, "Compare it with the paper, group by group.")


def test_a_recovery_key_is_thirty_two_random_bytes():
    assert refused(RecoveryKey, bytes(31)) == ("recovery key", "is not 32 bytes", "")
    one, other = RecoveryKey.generate(), RecoveryKey.generate()
    assert one.seed != other.seed
    assert len(one.seed) == 32
    assert all(len(word) == 5 for word in one.words())
    assert "=" not in one.text()


# Keys on the disk


@pytest.fixture
def keys(tmp_path: Path) -> KeyStore:
    return KeyStore(tmp_path / "keys")


def made(keys: KeyStore, **more):
    return keys.create(CASE, common_name="A. Keeper", passphrase=None, **more)


def test_keys_wait_beside_the_present_ones_until_the_record_names_them(keys, tmp_path):
    first = made(keys)
    following = keys.make_next(CASE, common_name="A. Keeper", passphrase=None)
    assert keys.load(CASE, None).signer.verifier == first.signer.verifier

    keys.settle(CASE, {first.signer.verifier.key_id.hex()})
    assert keys.load(CASE, None).signer.verifier == first.signer.verifier

    keys.settle(CASE, {following.signer.verifier.key_id.hex()})
    assert keys.load(CASE, None).signer.verifier == following.signer.verifier
    kept = sorted(path.name for path in (tmp_path / "keys").iterdir())
    assert kept == [CASE, f"{CASE}.until-{following.signer.verifier.key_id.hex()}"]

    keys.settle(CASE, {following.signer.verifier.key_id.hex()})
    assert keys.load(CASE, None).signer.verifier == following.signer.verifier


def test_waiting_keys_take_their_place_where_there_were_none(keys):
    following = keys.make_next(CASE, common_name="A. Keeper", passphrase=None)
    keys.settle(CASE, ["00000000", following.signer.verifier.key_id.hex(), "ffffffff"])
    assert keys.load(CASE, None).signer.verifier == following.signer.verifier


def test_a_folder_in_the_way_of_keys_is_told_and_those_that_may_sign_are_there(keys, tmp_path):
    first = made(keys)
    following = keys.make_next(CASE, common_name="A. Keeper", passphrase=None)
    key_id = following.signer.verifier.key_id.hex()
    (tmp_path / "keys" / f"{CASE}.until-{key_id}" / "mine").mkdir(parents=True)
    assert refused(keys.settle, CASE, {key_id}) == (
        str(tmp_path / "keys"),
        "is there already",
        "Nothing was written over it.",
    )
    assert keys.load(CASE, None).signer.verifier == first.signer.verifier


def test_waiting_keys_that_were_not_taken_are_thrown_away(keys, tmp_path):
    first = made(keys)
    following = keys.make_next(CASE, common_name="A. Keeper", passphrase="words")
    other = keys.make_next(CASE, common_name="A. Keeper", passphrase=None)
    keys.drop_next(CASE, following)
    keys.drop_next(CASE, following)
    keys.settle(CASE, {following.signer.verifier.key_id.hex()})
    assert keys.load(CASE, None).signer.verifier == first.signer.verifier
    kept = sorted(path.name for path in (tmp_path / "keys").iterdir())
    assert kept == [CASE, f"{CASE}.next-{other.signer.verifier.key_id.hex()}"]


def test_waiting_keys_are_locked_and_carry_a_certificate_of_the_user_s_own(keys):
    key = ec.generate_private_key(ec.SECP256R1())
    own = OwnCertificate(key, self_signed(key, "A. Keeper", datetime(2025, 1, 1, tzinfo=UTC)))
    following = keys.make_next(CASE, common_name="x", passphrase="a few words", own=own)
    assert following.certificate_der == own.certificate_der
    keys.settle(CASE, {following.signer.verifier.key_id.hex()})
    assert refused(keys.load, CASE, None)[1] == "are locked"
    assert keys.load(CASE, "a few words").certificate_der == own.certificate_der


def test_the_certificate_of_a_case_s_keys_is_named_by_its_sum(keys):
    assert keys.certificate_sum(CASE) is None
    pair = made(keys)
    from hashlib import sha256

    assert keys.certificate_sum(CASE) == sha256(pair.certificate_der).hexdigest()


def test_what_did_not_come_to_be_is_thrown_away_twice_over(keys):
    made(keys)
    keys.discard(CASE)
    keys.discard(CASE)
    assert refused(keys.load, CASE, None, kind=MissingError)[0] == f"keys of case {CASE}"

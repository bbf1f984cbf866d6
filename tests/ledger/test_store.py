"""Adding to the ledger: all or nothing, one writer at a time, every head over what is there."""

import sqlite3
from contextlib import closing

import pytest

from evidence.errors import ChangedError, EvidenceError, RefusedError
from evidence.ledger import guards
from evidence.ledger.heads import Head, sign_head
from evidence.ledger.log import START, Tip, seal, verify_chain
from evidence.ledger.notes import SignedNote, open_note
from evidence.ledger.schema import APPLICATION_ID, STATEMENTS, VERSION
from evidence.ledger.store import Contents, Store
from evidence.ledger.tree import (
    check_consistency,
    consistency_proof,
    leaf_hash,
    tree_root,
    tree_roots,
)


@pytest.fixture
def sign(signer):
    return lambda head: sign_head(head, signer)


def contents(path) -> Contents:
    with Store.open(path, writable=False) as store:
        return store.contents()


def without_triggers(path, statement):
    """What a forger does who knows SQLite: take the triggers off, change a row, put them back."""
    triggers = [text for text in STATEMENTS if text.startswith("CREATE TRIGGER")]
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for trigger in triggers:
            connection.execute(f"DROP TRIGGER {trigger.split()[2]}")
        connection.execute(statement)
        for trigger in triggers:
            connection.execute(trigger)


def test_a_new_ledger_is_empty(tmp_path):
    with Store.create(tmp_path / "ledger.sqlite") as store:
        assert store.contents() == Contents((), ())
        assert store.head() is None


def test_an_append_answers_what_it_added(tmp_path, append, signer):
    with Store.create(tmp_path / "ledger.sqlite") as store:
        first, second = append(store, 3), append(store, 2)
        assert (first.seq, len(first.entries)) == (0, 3)
        assert (second.seq, len(second.entries)) == (3, 2)
        assert store.entries() == [*first.entries, *second.entries]
        assert store.heads() == [first.note.format(), second.note.format()]
        assert store.head() == second.note.format()
        assert open_note(second.note, [signer.verifier])


def test_what_was_added_is_there_for_the_next_reader(ledger, make_entries):
    found = contents(ledger)
    assert list(found.entries) == make_entries(5)
    assert verify_chain(found.entries) == []


def test_every_head_stands_for_all_entries_of_its_time(ledger, signer):
    found = contents(ledger)
    leaves = [leaf_hash(line) for line in found.entries]
    roots = list(tree_roots(leaves))
    heads = [Head.parse(SignedNote.parse(note).text) for note in found.heads]
    assert [head.size for head in heads] == [2, 4, 5]
    for head in heads:
        assert head.origin == signer.name
        assert head.root == roots[head.size]
        assert check_consistency(
            head.size, 5, head.root, roots[5], consistency_proof(head.size, leaves)
        )


def test_the_maker_is_given_the_tip_of_what_is_there(ledger, make_entries, sign, signer):
    seen: list[Tip] = []

    def make(tip):
        seen.append(tip)
        return make_entries(1, tip)

    with Store.open(ledger, writable=True) as store:
        store.append(make, sign, signer.name)
        store.append(make, sign, signer.name)
    assert seen == [Tip.of(make_entries(5)), Tip.of(make_entries(6))]


def test_two_open_stores_extend_each_other_s_entries(ledger, append):
    with Store.open(ledger, writable=True) as one, Store.open(ledger, writable=True) as two:
        for store in (one, two, two, one):
            append(store)
    found = contents(ledger)
    assert verify_chain(found.entries) == []
    assert [len(found.entries), len(found.heads)] == [9, 7]


class BrokenError(Exception):
    """Not of our family."""


def break_off(*_):
    raise BrokenError


def test_whatever_breaks_leaves_the_file_as_it_was(ledger, make_entries, sign, signer, append):
    before = ledger.read_bytes()
    gap = make_entries(7)[6:]
    other = Head(signer.name, 6, bytes(32))
    with Store.open(ledger, writable=True) as store:
        for make, signing, error in (
            (break_off, sign, BrokenError),
            (lambda tip: make_entries(2, tip), break_off, BrokenError),
            (lambda tip: make_entries(1, tip), lambda _: sign(other), RefusedError),
            (lambda _: [], sign, RefusedError),
            (lambda _: gap, sign, RefusedError),
            (lambda _: [b"not an entry"], sign, RefusedError),
            (lambda tip: [*make_entries(1, tip), *make_entries(1, tip)], sign, RefusedError),
            (lambda _: make_entries(1, START), sign, RefusedError),
        ):
            with pytest.raises(error):
                store.append(make, signing, signer.name)
            assert ledger.read_bytes() == before
        assert append(store).seq == 5
    assert verify_chain(contents(ledger).entries) == []


class FailingAt:
    """A connection whose N-th statement fails, as a disk may."""

    def __init__(self, connection: sqlite3.Connection, place: int) -> None:
        self.connection, self.left = connection, place

    def execute(self, *args):
        self.left -= 1
        if self.left == 0:
            error = sqlite3.OperationalError("disk I/O error")
            error.sqlite_errorcode = sqlite3.SQLITE_IOERR_WRITE
            raise error
        return self.connection.execute(*args)


def test_a_fault_at_any_statement_is_all_or_nothing(ledger, append):
    before, place = contents(ledger), 0
    while contents(ledger) == before:
        place += 1
        with closing(guards.connect(ledger, writable=True)) as connection:
            store = Store(ledger, FailingAt(connection, place))
            try:
                append(store, 2)
            except RefusedError as error:
                assert "nothing was written" in error.why  # noqa: PT017 - or it goes through
                assert contents(ledger) == before
                assert not connection.in_transaction
    assert place == 8  # BEGIN, two reads, two entries, a head, COMMIT: then it goes through
    assert len(contents(ledger).entries) == 7


def test_a_full_disk_is_told_and_changes_nothing(ledger, append):
    before = contents(ledger)
    with Store.open(ledger, writable=True) as store:
        store._connection.set_authorizer(None)
        pages = store._connection.execute("PRAGMA page_count").fetchone()[0]
        store._connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(RefusedError, match="disk is full"):
            append(store, 500)
    assert contents(ledger) == before


def test_another_writer_is_waited_for_and_then_told(ledger, append):
    with Store.open(ledger, writable=True) as store, closing(sqlite3.connect(ledger)) as other:
        store._connection.set_authorizer(None)
        store._connection.execute("PRAGMA busy_timeout = 50")
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(RefusedError, match="another program is writing"):
            append(store)
        other.rollback()
        assert append(store).seq == 5


def test_a_store_opened_for_reading_adds_nothing(ledger, append):
    before = ledger.read_bytes()
    with (
        Store.open(ledger, writable=False) as store,
        pytest.raises(RefusedError, match="may not be written to"),
    ):
        append(store)
    assert ledger.read_bytes() == before


def test_an_entry_above_a_megabyte_is_refused(ledger, sign, signer):
    def make(tip):
        return [seal(tip, "photos", {"note": "x" * 1_000_001}, "owner", [], tip.floor)]

    with Store.open(ledger, writable=True) as store, pytest.raises(RefusedError, match="1000000"):
        store.append(make, sign, signer.name)
    assert len(contents(ledger).entries) == 5


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET bytes = CAST(replace(bytes, 'entry 1', 'entry X') AS BLOB)",
        "UPDATE entries SET bytes = CAST('not an entry' AS BLOB) WHERE seq = 4",
        "DELETE FROM entries WHERE seq = 4",
        "DELETE FROM heads WHERE size = 5",
        "UPDATE heads SET note = 'no note' WHERE size = 5",
        "DELETE FROM heads",
    ],
)
def test_nothing_is_signed_over_a_record_that_was_changed(ledger, append, statement):
    without_triggers(ledger, statement)
    before = ledger.read_bytes()
    with (
        Store.open(ledger, writable=True) as store,
        pytest.raises(ChangedError, match="nothing was written"),
    ):
        append(store)
    assert ledger.read_bytes() == before


def test_a_forged_entry_shows_in_the_chain_and_under_its_head(ledger):
    forged = b'{"forged":true}'
    without_triggers(ledger, f"UPDATE entries SET bytes = x'{forged.hex()}' WHERE seq = 2")
    found = contents(ledger)
    assert [fault.seq for fault in verify_chain(found.entries)][:2] == [2, 3]
    head = Head.parse(SignedNote.parse(found.heads[1]).text)
    assert tree_root(map(leaf_hash, found.entries[:4])) != head.root


def test_a_note_that_is_no_text_is_a_change(ledger):
    without_triggers(ledger, "UPDATE heads SET note = CAST(x'ff00' AS TEXT) WHERE size = 4")
    with pytest.raises(ChangedError):
        contents(ledger)


def test_a_backup_is_the_same_ledger(ledger, tmp_path, append):
    copy = tmp_path / "copy.sqlite"
    with Store.open(ledger, writable=False) as store:
        store.backup(copy)
    assert contents(copy) == contents(ledger)
    with Store.open(copy, writable=True) as store:
        append(store)
    assert copy.read_bytes()[68:72] == APPLICATION_ID.to_bytes(4)
    assert copy.read_bytes()[60:64] == VERSION.to_bytes(4)


def test_a_backup_goes_over_no_file_and_leaves_no_scraps(ledger, tmp_path):
    taken = tmp_path / "taken"
    taken.write_text("mine")
    before = sorted(tmp_path.iterdir())
    with Store.open(ledger, writable=True) as store:
        with pytest.raises(RefusedError, match="is there already"):
            store.backup(taken)
        with pytest.raises(RefusedError, match="is not there"):
            store.backup(tmp_path / "absent" / "copy.sqlite")
    assert taken.read_text() == "mine"
    assert sorted(tmp_path.iterdir()) == before


def test_a_backup_that_breaks_off_leaves_nothing(ledger, tmp_path, monkeypatch):
    def full(_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("evidence.ledger.store.sync_file", full)
    before = sorted(tmp_path.iterdir())
    with (
        Store.open(ledger, writable=False) as store,
        pytest.raises(RefusedError, match="disk is full"),
    ):
        store.backup(tmp_path / "copy.sqlite")
    assert sorted(tmp_path.iterdir()) == before


def test_an_append_of_nothing_says_so(ledger, sign, signer):
    with (
        Store.open(ledger, writable=True) as store,
        pytest.raises(RefusedError, match="nothing to add"),
    ):
        store.append(lambda _: [], sign, signer.name)


def test_a_closed_store_says_so_in_the_family_s_words(ledger):
    store = Store.open(ledger, writable=False)
    store.close()
    with pytest.raises(EvidenceError):
        store.entries()

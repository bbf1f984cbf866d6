"""Opening what may be no ledger, or no longer the one that was written."""

import os
import random
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing

import pytest

from evidence.errors import ChangedError, EvidenceError, MissingError, RefusedError
from evidence.ledger import guards
from evidence.ledger.heads import Head
from evidence.ledger.log import verify_chain
from evidence.ledger.notes import SignedNote
from evidence.ledger.schema import APPLICATION_ID, STATEMENTS, TABLES
from evidence.ledger.store import Contents, Store
from evidence.ledger.tree import leaf_hash, tree_roots


def raw(path, *statements):
    """What another program does to the file."""
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        for statement in statements:
            connection.execute(statement)


def poke(path, offset, data):
    with path.open("r+b") as file:
        file.seek(offset)
        file.write(data)


@pytest.fixture
def try_to_lock():
    """What another process is told that wants to write."""
    script = (
        "import sqlite3, sys\n"
        "try:\n"
        "    sqlite3.connect(sys.argv[1], timeout=0).execute('BEGIN IMMEDIATE')\n"
        "    print('taken')\n"
        "except sqlite3.OperationalError as error:\n"
        "    print(error)\n"
    )

    def run(path):
        command = [sys.executable, "-c", script, str(path)]
        return subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip()

    return run


def contents(path) -> Contents:
    with Store.open(path, writable=False) as store:
        return store.contents()


@pytest.mark.parametrize("writable", [True, False])
def test_a_file_that_is_not_there_is_missing(tmp_path, writable):
    with pytest.raises(MissingError):
        Store.open(tmp_path / "absent.sqlite", writable=writable)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("writable", [True, False])
@pytest.mark.parametrize(
    "data", [b"", b"a stranger's text\n" * 50, b"SQLite format 3\x00" + bytes(84)]
)
def test_a_stranger_s_file_is_refused_and_left_alone(tmp_path, data, writable):
    path = tmp_path / "notes.txt"
    path.write_bytes(data)
    with pytest.raises(RefusedError, match="not a ledger"):
        Store.open(path, writable=writable)
    assert path.read_bytes() == data


def test_a_folder_is_refused(tmp_path):
    with pytest.raises(RefusedError):
        Store.open(tmp_path, writable=False)


@pytest.mark.parametrize(
    "statements",
    [
        ["CREATE TABLE songs (title TEXT)"],
        ["PRAGMA application_id = 7", "CREATE TABLE songs (title TEXT)"],
        [f"PRAGMA application_id = {APPLICATION_ID}", "PRAGMA user_version = 2"],
        [f"PRAGMA application_id = {APPLICATION_ID}", "PRAGMA user_version = 0"],
    ],
)
def test_another_program_s_or_version_s_database_is_refused(tmp_path, statements):
    path = tmp_path / "other.sqlite"
    raw(path, *statements, "CREATE TABLE other (format_2 TEXT)")
    with pytest.raises(RefusedError, match="not a ledger"):
        Store.open(path, writable=False)


@pytest.mark.parametrize(
    "statement", ["PRAGMA application_id = 7", "PRAGMA user_version = 2", "PRAGMA user_version = 0"]
)
def test_a_ledger_whose_header_denies_it_was_changed(ledger, statement):
    raw(ledger, statement)
    with pytest.raises(ChangedError, match="header was altered"):
        Store.open(ledger, writable=False)


def test_a_ledger_switched_to_wal_is_refused_with_what_to_do(ledger):
    raw(ledger, "PRAGMA journal_mode = WAL")
    with pytest.raises(RefusedError, match="journal_mode = DELETE"):
        Store.open(ledger, writable=False)
    raw(ledger, "PRAGMA journal_mode = DELETE")
    assert len(contents(ledger).entries) == 5


@pytest.mark.parametrize(
    "statement",
    [
        "DROP TRIGGER entries_no_delete",
        "DROP TABLE heads",
        "ALTER TABLE heads ADD COLUMN extra TEXT",
        "ALTER TABLE entries RENAME TO records",
        "CREATE TABLE more (a)",
        "CREATE INDEX more ON heads (note)",
        "CREATE VIEW more AS SELECT * FROM entries",
        "CREATE TRIGGER more AFTER INSERT ON heads BEGIN SELECT 1; END",
        "ANALYZE",
    ],
)
@pytest.mark.parametrize("writable", [True, False])
def test_other_definitions_are_a_change(ledger, statement, writable):
    raw(ledger, statement)
    with pytest.raises(ChangedError, match="tables or triggers"):
        Store.open(ledger, writable=writable)


def test_a_trigger_that_another_program_rewrote_is_a_change(ledger):
    # Tools that rebuild a table drop its triggers; here one comes back without its teeth.
    raw(
        ledger,
        "DROP TRIGGER entries_no_update",
        "CREATE TRIGGER entries_no_update BEFORE UPDATE ON entries BEGIN SELECT 1; END",
    )
    with pytest.raises(ChangedError, match="tables or triggers"):
        Store.open(ledger, writable=False)


def test_every_changed_byte_of_the_header_is_noticed_or_changes_nothing(ledger):
    before, data = contents(ledger), ledger.read_bytes()
    noticed = 0
    for offset in range(100):
        changed = bytes([(data[offset] + 1) % 256])
        stranger = ledger.with_name(f"{offset}.sqlite")
        stranger.write_bytes(data[:offset] + changed + data[offset + 1 :])
        poke(ledger, offset, changed)  # the same once more in a file that was opened before
        for path in (stranger, ledger):
            try:
                assert contents(path) == before
            except ChangedError:
                noticed += 1
        for path in ledger.parent.glob("ledger.sqlite*"):
            path.unlink()
        ledger.write_bytes(data)
    assert noticed >= 80  # twice: magic, page size, format numbers, versions, identity


def holds(found: Contents) -> bool:
    """Chain and heads together, as a reader checks them."""
    roots = list(tree_roots(map(leaf_hash, found.entries)))
    heads = [Head.parse(SignedNote.parse(note).text) for note in found.heads]
    return (
        not verify_chain(found.entries)
        and all(head.size < len(roots) and roots[head.size] == head.root for head in heads)
        and bool(heads)
        and heads[-1].size == len(found.entries)
    )


def test_a_changed_byte_anywhere_is_noticed_or_changes_nothing(ledger):
    before, data = contents(ledger), ledger.read_bytes()
    assert holds(before)
    used = [offset for offset in range(100, len(data)) if data[offset]]
    for offset in random.Random(8785).sample(used, 300):
        poke(ledger, offset, bytes([data[offset] ^ 0x01]))
        try:
            found = contents(ledger)
            # A signature's own bytes need its key: that is for `open_note`, and tested there.
            assert found.entries == before.entries or not holds(found)
        except ChangedError:
            pass
        poke(ledger, offset, data[offset : offset + 1])
    assert contents(ledger) == before


@pytest.mark.parametrize("kept", [50, 99, 100, 4096, 8000])
def test_a_ledger_that_was_cut_short_is_an_error_of_the_family(ledger, kept):
    data = ledger.read_bytes()
    ledger.write_bytes(data[:kept])
    with pytest.raises(EvidenceError):
        Store.open(ledger, writable=False)


def test_the_text_of_our_tables_is_found_in_one_piece(ledger):
    # On it rests telling an altered ledger from a stranger's file.
    data = ledger.read_bytes()
    assert all(statement.encode() in data for statement in TABLES)
    assert all(statement.encode() in data for statement in STATEMENTS)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET bytes = x'00'",
        "DELETE FROM heads",
        "DROP TABLE heads",
        "DROP TRIGGER entries_grow",
        "ALTER TABLE heads RENAME TO tails",
        "CREATE TABLE more (a)",
        "CREATE TEMP TABLE more (a)",
        "ATTACH ':memory:' AS other",
        "VACUUM",
        "REINDEX",
        "PRAGMA recursive_triggers = OFF",
        "PRAGMA writable_schema = ON",
        "PRAGMA user_version = 2",
    ],
)
def test_an_open_ledger_may_only_be_read_and_added_to(ledger, statement):
    with closing(guards.connect(ledger, writable=True)) as connection:
        with pytest.raises(sqlite3.DatabaseError, match=r"not authorized|authorization denied"):
            connection.execute(statement)
        assert connection.execute("SELECT count(*) FROM entries").fetchone() == (5,)


def setting(connection, name):
    connection.set_authorizer(None)
    return connection.execute(f"PRAGMA {name}").fetchone()[0]


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("synchronous", 3),  # EXTRA
        ("journal_mode", "delete"),
        ("fullfsync", 1),
        ("recursive_triggers", 1),
        ("query_only", 0),
    ],
)
def test_what_is_written_is_waited_for(ledger, name, value):
    with closing(guards.connect(ledger, writable=True)) as connection:
        assert setting(connection, name) == value


@pytest.mark.parametrize(
    ("name", "value"), [("trusted_schema", 0), ("cell_size_check", 1), ("mmap_size", 0)]
)
@pytest.mark.parametrize("writable", [True, False])
def test_every_connection_is_wary_of_the_file(ledger, name, value, writable):
    with closing(guards.connect(ledger, writable=writable)) as connection:
        assert setting(connection, name) == value
        assert connection.getlimit(sqlite3.SQLITE_LIMIT_LENGTH) == 1_000_000
        assert connection.getlimit(sqlite3.SQLITE_LIMIT_ATTACHED) == 0


def test_reading_asks_for_no_right_to_write(ledger):
    with closing(guards.connect(ledger, writable=False)) as connection:
        assert setting(connection, "query_only") == 1
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            connection.execute("INSERT INTO heads VALUES (6, 'x')")


def test_reading_leaves_the_folder_as_it_was(ledger):
    before = ledger.read_bytes(), ledger.stat().st_mtime_ns
    contents(ledger)
    assert (ledger.read_bytes(), ledger.stat().st_mtime_ns) == before
    assert list(ledger.parent.iterdir()) == [ledger]


def test_opening_a_ledger_again_leaves_the_locks_of_this_process_in_place(ledger, try_to_lock):
    # sqlite.org/howtocorrupt.html section 2.2: a close() by hand would drop them.
    with closing(guards.connect(ledger, writable=True)) as connection:
        connection.execute("BEGIN IMMEDIATE")
        assert try_to_lock(ledger) == "database is locked"
        Store.open(ledger, writable=False).close()
        assert try_to_lock(ledger) == "database is locked"
        connection.execute("ROLLBACK")
        assert try_to_lock(ledger) == "taken"


def hot_journal(ledger, to):
    """A copy of a ledger in the middle of a commit: pages written, journal still beside it."""
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("PRAGMA cache_size = 1")
        connection.execute("BEGIN IMMEDIATE")
        for seq in range(5, 60):
            row = (seq, str(seq), os.urandom(1000))
            connection.execute("INSERT INTO entries (seq, sha256, bytes) VALUES (?, ?, ?)", row)
        for path in ledger.parent.glob("ledger.sqlite*"):
            shutil.copy(path, to / path.name)
        connection.execute("ROLLBACK")
    assert (to / "ledger.sqlite-journal").stat().st_size > 512
    return to / "ledger.sqlite"


def test_a_write_that_was_cut_off_is_told_to_readers_and_taken_back_by_a_writer(ledger, tmp_path):
    before = contents(ledger)
    (tmp_path / "copy").mkdir()
    copy = hot_journal(ledger, tmp_path / "copy")
    with pytest.raises(RefusedError, match="cut off"):
        Store.open(copy, writable=False)
    Store.open(copy, writable=True).close()
    assert contents(copy) == before
    assert list(copy.parent.iterdir()) == [copy]


def test_a_ledger_is_never_made_over_a_file(ledger):
    data = ledger.read_bytes()
    with pytest.raises(RefusedError, match="is there already"):
        Store.create(ledger)
    assert ledger.read_bytes() == data


def test_a_ledger_that_cannot_be_made_leaves_nothing(tmp_path, monkeypatch):
    monkeypatch.setattr(guards.schema, "STATEMENTS", ["CREATE TABLE broken"])
    with pytest.raises(EvidenceError):
        Store.create(tmp_path / "ledger.sqlite")
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(RefusedError):
        Store.create(tmp_path / "absent" / "ledger.sqlite")


def test_a_name_with_odd_characters_is_opened(ledger):
    odd = ledger.with_name("my rig? #1 100%.sqlite")
    ledger.rename(odd)
    assert len(contents(odd).entries) == 5


@pytest.mark.parametrize(
    ("code", "why"),
    [
        (sqlite3.SQLITE_BUSY, "another program is writing"),
        (sqlite3.SQLITE_BUSY_SNAPSHOT, "another program is writing"),
        (sqlite3.SQLITE_READONLY_DIRECTORY, "may not be written to"),
        (sqlite3.SQLITE_CANTOPEN, "cannot be opened"),
        (sqlite3.SQLITE_IOERR_FSYNC, "the disk refused"),
        (sqlite3.SQLITE_FULL, "the disk is full"),
    ],
)
def test_what_sqlite_refuses_is_told_in_plain_words(ledger, code, why):
    error = sqlite3.OperationalError("sqlite's own words")
    error.sqlite_errorcode = code
    with pytest.raises(RefusedError) as told, guards.sqlite_in_plain_words(ledger):
        raise error
    assert why in told.value.why
    assert told.value.what_to_do


@pytest.mark.parametrize("code", [sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, None])
def test_what_sqlite_cannot_read_was_changed(ledger, code):
    error = sqlite3.DatabaseError("malformed")
    if code is not None:
        error.sqlite_errorcode = code
    with pytest.raises(ChangedError, match="malformed"), guards.sqlite_in_plain_words(ledger):
        raise error

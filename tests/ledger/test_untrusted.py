"""A ledger that a stranger made, against the list of sqlite.org/security.html point by point.

What the file's own definitions may hold is settled in `test_guards.py`; here is what they would do.
"""

import shutil
import sqlite3
import struct
import time
from contextlib import closing

import pytest

from evidence.errors import ChangedError, EvidenceError
from evidence.ledger import guards, schema
from evidence.ledger.store import Store
from tests.ledger.test_guards import contents, hot_journal, raw

MAGIC = bytes.fromhex("d9d505f920a163d7")


ENDLESS = """\
CREATE VIEW entries AS WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n)
SELECT x AS seq, '' AS sha256, x'' AS bytes FROM n"""


def forged(path, *statements, header=True):
    """A file that says of itself that it is a ledger."""
    raw(path, *statements)
    if header:
        raw(
            path,
            f"PRAGMA application_id = {schema.APPLICATION_ID}",
            f"PRAGMA user_version = {schema.VERSION}",
        )
    return path


@pytest.mark.parametrize(
    ("limit", "most"),
    [
        (sqlite3.SQLITE_LIMIT_LENGTH, 1_000_000),
        (sqlite3.SQLITE_LIMIT_SQL_LENGTH, 100_000),
        (sqlite3.SQLITE_LIMIT_COLUMN, 100),
        (sqlite3.SQLITE_LIMIT_EXPR_DEPTH, 20),
        (sqlite3.SQLITE_LIMIT_COMPOUND_SELECT, 3),
        (sqlite3.SQLITE_LIMIT_VDBE_OP, 25_000),
        (sqlite3.SQLITE_LIMIT_FUNCTION_ARG, 8),
        (sqlite3.SQLITE_LIMIT_ATTACHED, 0),
        (sqlite3.SQLITE_LIMIT_LIKE_PATTERN_LENGTH, 50),
        (sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER, 10),
        (sqlite3.SQLITE_LIMIT_TRIGGER_DEPTH, 10),
    ],
)
@pytest.mark.parametrize("writable", [True, False])
def test_every_limit_is_lowered(ledger, limit, most, writable):
    with closing(guards.connect(ledger, writable=writable)) as connection:
        assert connection.getlimit(limit) == most


def test_nothing_is_asked_of_the_file_before_it_is_known_to_be_whole(ledger, monkeypatch):
    """Settings of the connection come first, then its identity, then the whole of its pages."""
    said = []
    connect = sqlite3.connect

    def listening(*given, **named):
        connection = connect(*given, **named)
        connection.set_trace_callback(said.append)
        return connection

    schema.expected_objects()
    monkeypatch.setattr(guards.sqlite3, "connect", listening)
    Store.open(ledger, writable=False).close()
    assert said[:3] == list(guards._CAUTIONS)
    assert [text for text in said if not text.startswith("PRAGMA")] == [schema._OBJECTS]
    assert said.index("PRAGMA integrity_check(1)") < said.index(schema._OBJECTS)


def test_reading_opens_the_file_for_reading_only(ledger):
    with closing(guards.connect(ledger, writable=False)) as connection:
        connection.set_authorizer(None)
        connection.execute("PRAGMA query_only = OFF")
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            connection.execute("INSERT INTO heads VALUES (6, 'x')")


@pytest.mark.parametrize(
    "statements",
    [
        # A view in the place of a table, which would run the stranger's query at each reading.
        [
            ENDLESS,
            "CREATE TABLE heads (size INTEGER PRIMARY KEY, note TEXT)",
        ],
        # A column that is computed at each reading, and a check that is computed at each test.
        ["CREATE TABLE entries (seq, bytes, sha256 AS (hex(zeroblob(400000))))"],
        ["CREATE TABLE entries (seq, bytes, CHECK (length(hex(zeroblob(400000))) > 0))"],
        ["CREATE TABLE entries (seq, bytes)", "CREATE INDEX i ON entries (hex(zeroblob(400000)))"],
        ["CREATE TABLE entries (seq PRIMARY KEY, bytes) WITHOUT ROWID"],
        ["CREATE VIRTUAL TABLE entries USING fts5(bytes)"],
        [f"CREATE TABLE entries ({', '.join(f'c{n}' for n in range(200))})"],
        [f"CREATE TABLE entries (seq, bytes /* {'x' * 200_000} */)"],
    ],
)
@pytest.mark.parametrize("writable", [True, False])
def test_definitions_that_would_run_are_refused_unrun(tmp_path, statements, writable):
    path = forged(tmp_path / "ledger.sqlite", *statements)
    before, began = path.read_bytes(), time.monotonic()
    with pytest.raises(EvidenceError):
        Store.open(path, writable=writable)
    assert time.monotonic() - began < 5
    assert path.read_bytes() == before


def test_a_row_of_the_schema_that_was_written_by_hand_is_refused(ledger):
    raw(
        ledger,
        "PRAGMA writable_schema = ON",
        "UPDATE sqlite_schema SET sql = sql || ' -- and more' WHERE name = 'heads'",
    )
    with pytest.raises(ChangedError):
        Store.open(ledger, writable=False)


def test_a_value_beyond_the_limit_is_refused(ledger, tmp_path):
    large = tmp_path / "large.sqlite"
    shutil.copy(ledger, large)
    row = "INSERT INTO entries VALUES (5, 'x', zeroblob(1000001))"
    raw(large, "PRAGMA recursive_triggers = ON", row)
    with pytest.raises(EvidenceError):
        contents(large)


def test_a_link_to_the_ledger_is_the_ledger(ledger, tmp_path):
    link = tmp_path / "link.sqlite"
    link.symlink_to(ledger)
    assert contents(link) == contents(ledger)


def led_elsewhere(journal, name):
    """The journal with the name of one more file at its end (fileformat2.html section 3)."""
    text = name.encode()
    tail = struct.pack(">II", len(text), sum(text))
    journal.write_bytes(journal.read_bytes() + struct.pack(">I", 262_145) + text + tail + MAGIC)


@pytest.fixture
def trap(ledger, tmp_path):
    """A ledger with a journal beside it that makes SQLite delete a file of the reader's."""
    (tmp_path / "copy").mkdir()
    copy = hot_journal(ledger, tmp_path / "copy")
    victim = tmp_path / "precious.txt"
    victim.write_bytes(b"nothing to do with the case\0")
    led_elsewhere(copy.with_name("ledger.sqlite-journal"), str(victim))
    return copy, victim


def test_sqlite_itself_falls_into_the_trap(trap):
    copy, victim = trap
    with closing(sqlite3.connect(copy)) as connection:
        connection.execute("SELECT count(*) FROM entries").fetchone()
    assert not victim.exists()


@pytest.mark.parametrize("writable", [True, False])
def test_a_journal_that_leads_to_another_file_is_refused_and_the_file_stays(trap, writable):
    copy, victim = trap
    with pytest.raises(EvidenceError):
        Store.open(copy, writable=writable)
    assert victim.exists()
    assert copy.with_name("ledger.sqlite-journal").exists()


def test_the_case_of_a_stranger_with_such_a_journal_is_only_named(trap):
    with pytest.raises(ChangedError, match="names another file"):
        Store.open(trap[0], writable=True)

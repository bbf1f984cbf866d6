"""The ledger's triggers, as other programs meet them: without our settings and authorizer."""

import sqlite3
from contextlib import closing

import pytest

from evidence.ledger.schema import APPLICATION_ID, STATEMENTS, VERSION, expected_objects, objects_of


def rows(connection):
    return [
        connection.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall()
        for table in ("entries", "heads")
    ]


INTO = "INSERT INTO entries (seq, sha256, bytes) VALUES"


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE entries SET bytes = x'00'",
        "UPDATE entries SET seq = 9 WHERE seq = 4",
        "UPDATE heads SET note = ''",
        "UPDATE OR REPLACE heads SET size = 2 WHERE size = 5",
        "DELETE FROM entries",
        "DELETE FROM entries WHERE seq = 4",
        "DELETE FROM heads WHERE size = 5",
        "INSERT OR REPLACE INTO entries (seq, sha256, bytes) VALUES (4, 'new', x'00')",
        "REPLACE INTO entries (seq, sha256, bytes) VALUES (0, 'new', x'00')",
        "REPLACE INTO entries (seq, sha256, bytes) SELECT 5, sha256, x'00' FROM entries LIMIT 1",
        "REPLACE INTO heads (size, note) VALUES (5, 'new')",
        f"{INTO} (6, 'new', x'00')",
        f"{INTO} (-1, 'new', x'00')",
        f"{INTO} (NULL, 'new', x'00')",
        "INSERT INTO entries (sha256, bytes) VALUES ('new', x'00')",
        f"{INTO} (4, 'new', x'00') ON CONFLICT DO UPDATE SET sha256 = 'x'",
        "INSERT INTO heads (size, note) VALUES (3, 'between')",
        "INSERT INTO heads (size, note) VALUES (6, 'ahead')",
        "INSERT INTO heads (note) VALUES ('unnumbered')",
        f"{INTO} (5, NULL, x'00')",
        f"{INTO} (5, 'new', 'text')",
    ],
)
@pytest.mark.parametrize("recursive", ["ON", "OFF"])
def test_nothing_is_changed_taken_away_or_put_between(ledger, statement, recursive):
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute(f"PRAGMA recursive_triggers = {recursive}")
        before = rows(connection)
        with pytest.raises(sqlite3.IntegrityError):
            connection.execute(statement)
        assert rows(connection) == before


def test_an_entry_at_the_end_and_its_head_are_taken(ledger):
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute(f"{INTO} (5, 'new', x'00')")
        connection.execute("INSERT INTO heads (size, note) VALUES (6, 'new')")
        assert [len(table) for table in rows(connection)] == [6, 4]


def test_without_the_growth_triggers_a_replace_would_take_rows_away():
    # Why they exist: SQLite runs no DELETE trigger for REPLACE while recursive_triggers is off.
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        for statement in STATEMENTS:
            if "_grow" not in statement:
                connection.execute(statement)
        connection.execute("PRAGMA recursive_triggers = OFF")
        connection.execute("INSERT INTO entries VALUES (0, 'a', x'00')")
        connection.execute("REPLACE INTO entries VALUES (0, 'b', x'01')")
        assert rows(connection)[0] == [(0, "b", b"\x01")]


def test_the_file_says_what_it_is(ledger):
    header = ledger.read_bytes()[:100]
    assert header[68:72] == b"RfEv" == APPLICATION_ID.to_bytes(4)
    assert header[60:64] == VERSION.to_bytes(4)
    assert header[18:20] == b"\x01\x01"  # rollback journal, not WAL: sqlite.org/fileformat2.html


def test_the_definitions_in_a_file_are_the_expected_ones(ledger):
    with closing(sqlite3.connect(ledger)) as connection:
        assert objects_of(connection) == expected_objects()
    assert {name for _, name, *_ in expected_objects()} == {
        "entries",
        "heads",
        "sqlite_autoindex_entries_1",
        "entries_grow",
        "heads_grow",
        *(f"{table}_no_{verb}" for table in ("entries", "heads") for verb in ("update", "delete")),
    }

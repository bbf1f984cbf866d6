"""The ledger's file format: SQLite, two tables, and triggers that let them only grow.

The triggers guard against accident. Who edits the file's bytes gets past them, and is found out by
the chain, the heads and the outsiders who saw them.
"""

import sqlite3
from functools import cache

APPLICATION_ID = 0x52664576
"""ASCII "RfEv", at offset 68 of the file: tells this format from other SQLite files."""

VERSION = 1
"""`user_version`, at offset 60. It stands in the tables' text too, so that a change of the format
always shows in both."""

_ENTRIES = """\
CREATE TABLE entries (-- roof-evidence ledger, format 1
  seq INTEGER PRIMARY KEY,
  sha256 TEXT NOT NULL UNIQUE,
  bytes BLOB NOT NULL
) STRICT"""

_HEADS = """\
CREATE TABLE heads (-- roof-evidence ledger, format 1
  size INTEGER PRIMARY KEY,
  note TEXT NOT NULL
) STRICT"""

TABLES = (_ENTRIES, _HEADS)

# Without the next two, INSERT OR REPLACE takes rows away unseen by any DELETE trigger while
# recursive_triggers is off, and that is how most programs open a file.
_ENTRIES_GROW = """\
CREATE TRIGGER entries_grow BEFORE INSERT ON entries
WHEN NEW.seq IS NOT (SELECT coalesce(max(seq) + 1, 0) FROM entries)
  OR EXISTS (SELECT 1 FROM entries WHERE sha256 = NEW.sha256)
BEGIN SELECT RAISE(ABORT, 'an entry goes to the end, once'); END"""

_HEADS_GROW = """\
CREATE TRIGGER heads_grow BEFORE INSERT ON heads
WHEN NEW.size IS NOT (SELECT max(seq) + 1 FROM entries)
  OR EXISTS (SELECT 1 FROM heads WHERE size = NEW.size)
BEGIN SELECT RAISE(ABORT, 'a head stands for all entries, once'); END"""

_PERMANENCE = tuple(
    f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table}\n"
    f"BEGIN SELECT RAISE(ABORT, '{table} are only ever added'); END"
    for table in ("entries", "heads")
    for verb in ("UPDATE", "DELETE")
)

STATEMENTS = (*TABLES, _ENTRIES_GROW, _HEADS_GROW, *_PERMANENCE)

_OBJECTS = "SELECT type, name, tbl_name, sql FROM sqlite_schema ORDER BY type, name"


def objects_of(connection: sqlite3.Connection) -> list[tuple[str, ...]]:
    """Everything that a file defines: type, name, table and SQL text of each object."""
    return connection.execute(_OBJECTS).fetchall()


@cache
def expected_objects() -> list[tuple[str, ...]]:
    """What a ledger defines, no more and no less, as SQLite itself writes it down."""
    connection = sqlite3.connect(":memory:")
    try:
        for statement in STATEMENTS:
            connection.execute(statement)
        return objects_of(connection)
    finally:
        connection.close()

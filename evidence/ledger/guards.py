"""Opening a SQLite file that a stranger may have made (sqlite.org/security.html).

In this order: the header is read by hand, before SQLite looks at the file; the connection is given
its limits; identity, pages and definitions are checked; last, the connection loses every right but
to read and to add rows.

A ledger's file is never opened by any other means while the program runs: see `_examine_header`.
"""

import os
import sqlite3
import struct
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from evidence.errors import ChangedError, EvidenceError, MissingError, RefusedError
from evidence.ledger import schema
from evidence.ledger.disk import plain_words

BUSY_SECONDS = 10.0
MAX_ENTRY = 1_000_000
"""Bytes of one entry, and SQLite's limit for any value."""

_MAGIC = b"SQLite format 3\x00"
_JOURNAL_MAGIC = bytes.fromhex("d9d505f920a163d7")
_HEADER_BYTES = 100
_ROLLBACK, _WAL = b"\x01\x01", b"\x02\x02"

_examining = threading.Lock()
_examined: set[tuple[int, int]] = set()

_CAUTIONS = (
    "PRAGMA trusted_schema = OFF",
    "PRAGMA cell_size_check = ON",
    "PRAGMA mmap_size = 0",
)
_READING = ("PRAGMA query_only = ON",)
_WRITING = (
    "PRAGMA journal_mode = DELETE",
    # EXTRA also syncs the folder once the journal is gone: FULL may lose a commit to a power cut.
    "PRAGMA synchronous = EXTRA",
    "PRAGMA fullfsync = ON",  # macOS: a plain fsync leaves bytes in the drive
    "PRAGMA recursive_triggers = ON",
)

_LIMITS = {
    sqlite3.SQLITE_LIMIT_LENGTH: MAX_ENTRY,
    sqlite3.SQLITE_LIMIT_SQL_LENGTH: 100_000,
    sqlite3.SQLITE_LIMIT_COLUMN: 100,
    sqlite3.SQLITE_LIMIT_EXPR_DEPTH: 20,  # the list says 10; our own triggers need 11
    sqlite3.SQLITE_LIMIT_COMPOUND_SELECT: 3,
    sqlite3.SQLITE_LIMIT_VDBE_OP: 25_000,
    sqlite3.SQLITE_LIMIT_FUNCTION_ARG: 8,
    sqlite3.SQLITE_LIMIT_ATTACHED: 0,
    sqlite3.SQLITE_LIMIT_LIKE_PATTERN_LENGTH: 50,
    sqlite3.SQLITE_LIMIT_VARIABLE_NUMBER: 10,
    sqlite3.SQLITE_LIMIT_TRIGGER_DEPTH: 10,
}
"""The list of sqlite.org/security.html § 1."""

_RIGHTS = {
    sqlite3.SQLITE_TRANSACTION,
    sqlite3.SQLITE_SELECT,
    sqlite3.SQLITE_READ,
    sqlite3.SQLITE_FUNCTION,
    sqlite3.SQLITE_INSERT,
}

_EARLIER_COPY = "Leave it as it is, and look for an earlier copy."

_GROWS = ("only ever grows: nothing in it is changed or taken away", "Write a new entry instead.")
_WORDS = {
    sqlite3.SQLITE_AUTH: _GROWS,
    sqlite3.SQLITE_BUSY: ("another program is writing to it", "Wait a moment, then try again."),
    sqlite3.SQLITE_CANTOPEN: ("cannot be opened here", "Check who owns the folder."),
    sqlite3.SQLITE_CONSTRAINT: _GROWS,
    sqlite3.SQLITE_FULL: ("the disk is full; nothing was written", "Make room, then try again."),
    sqlite3.SQLITE_IOERR: ("the disk refused; nothing was written", "Check the disk."),
    sqlite3.SQLITE_LOCKED: ("another program is writing to it", "Wait a moment, then try again."),
    sqlite3.SQLITE_PERM: ("may not be written to", "Check who owns the folder."),
    sqlite3.SQLITE_READONLY: ("may not be written to", "Check who owns the folder."),
    sqlite3.SQLITE_READONLY_ROLLBACK: (
        "the last write was cut off, and its journal still stands beside the file",
        "Open the case once for writing: what was half written is then taken back.",
    ),
    sqlite3.SQLITE_TOOBIG: (f"takes no entry above {MAX_ENTRY} bytes", "Split the entry."),
}
"""What SQLite refuses without the file being at fault, by error code: why, and what to do."""


def connect(path: Path, *, writable: bool) -> sqlite3.Connection:
    """Open a ledger's file.

    Raises:
        MissingError: there is no such file.
        RefusedError: not a ledger, one of another version, or the disk refuses.
        ChangedError: a ledger whose header, pages or definitions were altered.
    """
    _examine_header(path)
    if writable:
        _examine_journal(path.with_name(f"{path.name}-journal"))
    connection = _bound(path, "rw" if writable else "ro")
    try:
        with plain_words(path, MissingError), sqlite_in_plain_words(path):
            _inspect(path, connection)
            for setting in _WRITING if writable else _READING:
                connection.execute(setting)
        connection.set_authorizer(_only_reading_and_adding)
    except BaseException:
        connection.close()
        raise
    return connection


def create(path: Path) -> None:
    """Make an empty ledger.

    Raises:
        RefusedError: `path` is there already, or the disk refuses.
    """
    with plain_words(path):
        path.touch(exist_ok=False)
    try:
        connection = _bound(path, "rw")
        with sqlite_in_plain_words(path):
            try:
                _define(connection)
            finally:
                connection.close()
    except BaseException:
        path.unlink(missing_ok=True)
        raise


def _define(connection: sqlite3.Connection) -> None:
    for setting in _WRITING:
        connection.execute(setting)
    connection.execute("BEGIN EXCLUSIVE")
    connection.execute(f"PRAGMA application_id = {schema.APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {schema.VERSION}")
    for statement in schema.STATEMENTS:
        connection.execute(statement)
    connection.execute("COMMIT")


def _bound(path: Path, mode: str) -> sqlite3.Connection:
    with sqlite_in_plain_words(path):
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode={mode}",
            uri=True,
            timeout=BUSY_SECONDS,
            isolation_level=None,  # transactions begin and end where the code says so
        )
        try:
            for limit, value in _LIMITS.items():
                connection.setlimit(limit, value)
            for setting in _CAUTIONS:
                connection.execute(setting)
        except BaseException:
            connection.close()
            raise
    return connection


def _examine_header(path: Path) -> None:
    """Refuse what is no ledger before SQLite looks at it (a WAL file would grow files beside it).

    Once for each file: closing a file by hand drops the locks that SQLite holds on it elsewhere in
    this process (sqlite.org/howtocorrupt.html § 2.2), so it must come before all connections.
    """
    with plain_words(path, MissingError), _examining:
        status = path.stat()
        file = (status.st_dev, status.st_ino)
        if file not in _examined:
            if not _is_ledger(path):
                raise _what_it_is(path)
            _examined.add(file)


def _examine_journal(path: Path) -> None:
    """Refuse a journal that leads elsewhere, before a writer plays it back.

    The journal of a transaction over several files ends with the name of one more file, and SQLite
    deletes that file when it is done (sqlite.org/fileformat2.html § 3, "super-journal"). This
    program never writes such a journal; in one that came with a stranger's case, the name is his.
    """
    # Another writer's journal may go at any moment, so the file is asked for once, by opening it.
    leads_elsewhere = False
    with plain_words(path), suppress(FileNotFoundError), path.open("rb") as file:
        ends = file.seek(0, os.SEEK_END)
        file.seek(max(0, ends - len(_JOURNAL_MAGIC)))
        leads_elsewhere = file.read() == _JOURNAL_MAGIC
    if leads_elsewhere:
        raise ChangedError(
            str(path), "is a journal that names another file; no ledger has one", _EARLIER_COPY
        )


def _header(path: Path) -> tuple[bytes, bytes, int, int]:
    """Magic, journal format, user_version, application_id (sqlite.org/fileformat2.html § 1.3)."""
    with path.open("rb") as file:
        header = file.read(_HEADER_BYTES).ljust(_HEADER_BYTES, b"\x00")
    version, application_id = struct.unpack_from(">I4xI", header, 60)
    return header[:16], header[18:20], version, application_id


def _is_ledger(path: Path) -> bool:
    return _header(path) == (_MAGIC, _ROLLBACK, schema.VERSION, schema.APPLICATION_ID)


def _what_it_is(path: Path) -> EvidenceError:
    """Why a file whose header is not a ledger's, is none."""
    if _header(path) == (_MAGIC, _WAL, schema.VERSION, schema.APPLICATION_ID):
        return RefusedError(
            str(path),
            "was switched to WAL mode, so it may lack what lies in its -wal file",
            "Switch it back with the program that did: PRAGMA journal_mode = DELETE",
        )
    data = path.read_bytes()
    if any(statement.encode() in data for statement in schema.TABLES):
        return ChangedError(str(path), "its header was altered", _EARLIER_COPY)
    return RefusedError(
        str(path),
        "is not a ledger that this program can read",
        "Name a case folder made by this version or an older one.",
    )


def _inspect(path: Path, connection: sqlite3.Connection) -> None:
    (application_id,) = connection.execute("PRAGMA application_id").fetchone()
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (journal,) = connection.execute("PRAGMA journal_mode").fetchone()
    identity = (application_id, version, journal)
    if identity != (schema.APPLICATION_ID, schema.VERSION, "delete"):
        raise _what_it_is(path)
    (answer,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
    if answer != "ok":
        raise ChangedError(str(path), f"its pages were altered ({answer})", _EARLIER_COPY)
    if schema.objects_of(connection) != schema.expected_objects():
        raise ChangedError(
            str(path), "its tables or triggers are not those of a ledger", _EARLIER_COPY
        )


def _only_reading_and_adding(action: int, *_names: str | None) -> int:
    """SQLite asks before each statement: no UPDATE, DELETE, DROP, ALTER or ATTACH."""
    return sqlite3.SQLITE_OK if action in _RIGHTS else sqlite3.SQLITE_DENY


@contextmanager
def sqlite_in_plain_words(path: Path) -> Iterator[None]:
    """Turn what SQLite says about `path` into an error that a person can act on."""
    try:
        yield
    except sqlite3.Error as error:
        raise _in_plain_words(path, error) from error
    except UnicodeDecodeError as error:  # SQLite quoted what it cannot read, and Python tried to
        raise ChangedError(str(path), "holds bytes where text should be", _EARLIER_COPY) from error


def _in_plain_words(path: Path, error: sqlite3.Error) -> EvidenceError:
    code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_ERROR)
    # An extended code carries its primary code in the low byte (sqlite.org/rescode.html).
    words = _WORDS.get(code) or _WORDS.get(code & 0xFF)
    if words is not None:
        return RefusedError(str(path), *words)
    return ChangedError(str(path), f"SQLite cannot make sense of it ({error})", _EARLIER_COPY)

"""The ledger on disk: entries and signed heads over them, in one SQLite file that only grows."""

import os
import sqlite3
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from evidence.errors import ChangedError, EvidenceError, RefusedError
from evidence.ledger import guards
from evidence.ledger.disk import plain_words, sync_file, sync_folder
from evidence.ledger.heads import Head
from evidence.ledger.log import START, Link, Tip, entry_sha256, verify_chain
from evidence.ledger.notes import SignedNote
from evidence.ledger.tree import Frontier, leaf_hash


@dataclass(frozen=True, slots=True)
class Contents:
    """All that a ledger holds at one moment: entries by `seq`, notes by size."""

    entries: tuple[bytes, ...]
    heads: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Appended:
    """What one append added: entries from `seq` on, and the signed head over all of them."""

    seq: int
    entries: tuple[bytes, ...]
    note: SignedNote


@dataclass(frozen=True, slots=True)
class _End:
    """The end of the record, as a chain and as a tree."""

    tip: Tip
    frontier: Frontier

    def after(self, line: bytes) -> "_End":
        return _End(self.tip.after(Link.read(line)), self.frontier.append(leaf_hash(line)))

    @property
    def state(self) -> tuple[int, bytes]:
        """What a head says: size and root."""
        return self.frontier.size, self.frontier.root()


_BEFORE_ALL = _End(START, Frontier())


class Store:
    """An open ledger. Made by `create` or `open`; a context manager that closes itself."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self._path = path
        self._connection = connection
        self._read = _BEFORE_ALL

    @classmethod
    def create(cls, path: Path) -> "Store":
        """Make an empty ledger and open it for writing.

        Raises:
            RefusedError: `path` is there already, or the disk refuses.
        """
        guards.create(path)
        return cls.open(path, writable=True)

    @classmethod
    def open(cls, path: Path, *, writable: bool) -> "Store":
        """Open a ledger, for reading only or for adding too.

        Raises:
            MissingError: there is no such file.
            RefusedError: not a ledger, one of another version, or the disk refuses.
            ChangedError: a ledger whose header, pages or definitions were altered.
        """
        return cls(path, guards.connect(path, writable=writable))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    def append(
        self,
        make: Callable[[Tip], Sequence[bytes]],
        sign: Callable[[Head], SignedNote],
        origin: str,
    ) -> Appended:
        """Add entries and the head over them, all or nothing, while no one else can write.

        Args:
            make: gets the tip and answers the entries that follow it, one or more.
            sign: gets the new head and answers the note that signs it.
            origin: the origin of the record's heads.

        Raises:
            RefusedError: what `make` or `sign` answered does not belong here, or the disk refuses.
            ChangedError: the entries are not those under the last signed head.
            Exception: whatever `make` or `sign` raised. After any error the file is as before, but
                for one: the disk refused at the very last, and the error says that all stands.
        """
        signed = ""
        try:
            with self._transaction("BEGIN IMMEDIATE"):
                before = self._catch_up()
                lines = tuple(make(before.tip))
                after = self._extend(before, lines)
                head = Head(origin, *after.state)
                note = _signed(head, sign)
                signed = note.format()
                self._connection.execute(
                    "INSERT INTO heads (size, note) VALUES (?, ?)", (head.size, signed)
                )
        except RefusedError as error:
            if signed and self._stands(signed):
                raise _unconfirmed(self._path) from error
            raise
        self._read = after
        return Appended(before.frontier.size, lines, note)

    def _stands(self, signed: str) -> bool:
        """Whether a head stands although its commit was refused.

        The journal is gone then, and the entries are there; what failed is to wait until the folder
        knows that it is gone.
        """
        with suppress(EvidenceError):
            return self.head() == signed
        return False

    @contextmanager
    def alone(self) -> Iterator[None]:
        """While this lasts nobody else writes; whoever wants to, waits.

        Raises:
            RefusedError: somebody else writes and does not end, or the disk refuses.
        """
        with self._transaction("BEGIN IMMEDIATE"):
            yield

    def contents(self) -> Contents:
        """Entries and heads of the same moment, even while another program adds some."""
        with self._transaction("BEGIN"):
            return Contents(tuple(self.entries()), tuple(self.heads()))

    def entries(self) -> list[bytes]:
        """Every entry's bytes, by `seq`."""
        return [line for (line,) in self._rows("SELECT bytes FROM entries ORDER BY seq")]

    def heads(self) -> list[str]:
        """Every signed head, by size."""
        return [note for (note,) in self._rows("SELECT note FROM heads ORDER BY size")]

    def head(self) -> str | None:
        """The newest signed head; None while the record is empty."""
        rows = self._rows("SELECT note FROM heads ORDER BY size DESC LIMIT 1")
        return rows[0][0] if rows else None

    def backup(self, to: Path) -> None:
        """Copy the whole ledger to a new file, complete on disk before it gets its name.

        Raises:
            RefusedError: `to` is there already, or the disk refuses.
        """
        with plain_words(to), guards.sqlite_in_plain_words(to):
            if to.exists():
                raise RefusedError(str(to), "is there already", "Nothing was written over it.")
            handle, name = tempfile.mkstemp(prefix=".copying-", dir=to.parent)
            os.close(handle)
            copying = Path(name)
            try:
                self._copy_to(copying)
                sync_file(copying)
                copying.rename(to)
                sync_folder(to.parent)
            finally:
                copying.unlink(missing_ok=True)

    def _copy_to(self, path: Path) -> None:
        with closing(sqlite3.connect(path)) as copy:
            self._connection.backup(copy)

    def _catch_up(self) -> _End:
        """The record's end, reading only what was added since: nothing else can have changed.

        Never hands out an end that the last signed head contradicts: a log must not sign two
        heads of which one does not extend the other (c2sp.org/tlog-checkpoint).
        """
        end = self._read
        added = self._rows("SELECT bytes FROM entries WHERE seq >= ? ORDER BY seq", end.tip.size)
        note = self.head()
        try:
            for (line,) in added:
                end = end.after(line)
            signed = _BEFORE_ALL.state if note is None else _signed_state(note)
        except RefusedError as error:
            raise self._changed() from error
        if signed != end.state:
            raise self._changed()
        self._read = end
        return end

    def _changed(self) -> ChangedError:
        return ChangedError(
            str(self._path),
            "its entries are not those that were signed last; nothing was written",
            "Check the case before anything else is written.",
        )

    def _extend(self, end: _End, lines: Sequence[bytes]) -> _End:
        faults = verify_chain(lines, end.tip)
        if faults or not lines:
            why = str(faults[0]) if faults else "there is nothing to add"
            raise RefusedError("new entries", why, "Nothing was written.")
        for line in lines:
            self._connection.execute(
                "INSERT INTO entries (seq, sha256, bytes) VALUES (?, ?, ?)",
                (end.tip.size, entry_sha256(line), line),
            )
            end = end.after(line)
        return end

    @contextmanager
    def _transaction(self, begin: str) -> Iterator[None]:
        with guards.sqlite_in_plain_words(self._path):
            self._connection.execute(begin)
            try:
                yield
                self._connection.execute("COMMIT")
            except BaseException:
                with suppress(sqlite3.Error):  # SQLite may have rolled back by itself
                    self._connection.execute("ROLLBACK")
                raise

    def _rows(self, query: str, *values: int) -> list[Any]:
        with guards.sqlite_in_plain_words(self._path):
            return self._connection.execute(query, values).fetchall()


def _signed(head: Head, sign: Callable[[Head], SignedNote]) -> SignedNote:
    note = sign(head)
    if note.text != head.text():
        raise RefusedError("signed head", "is not over this record")
    return note


def _unconfirmed(path: Path) -> RefusedError:
    return RefusedError(
        str(path),
        "what was to be written stands there, but the disk does not answer for it",
        "Check the disk, then look at the record before you write the same again.",
    )


def _signed_state(note: str) -> tuple[int, bytes]:
    head = Head.parse(SignedNote.parse(note).text)
    return head.size, head.root

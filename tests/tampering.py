"""What somebody with SQL, a hex editor or a key of their own can do to a record."""

import hashlib
import json
import sqlite3
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from evidence.case import Record
from evidence.check.material import FileState
from evidence.ledger import (
    Head,
    Link,
    Signer,
    Tip,
    dumps,
    leaf_hash,
    seal,
    sign_head,
    tree_root,
)
from evidence.shapes import FileRef

LATER = "2025-09-01T12:00:00Z"
"""After everything in the small story."""


OPENING = 6
"""Entries in the unit that starts the small case: case, two keys, party, rig, rule."""


@dataclass(frozen=True)
class Handed:
    """A record in memory, as `check` takes one: anything in it may be exchanged."""

    lines: tuple[bytes, ...]
    heads: tuple[str, ...]
    files: Mapping[str, bytes] = field(default_factory=dict)
    revealed: bytes | None = None

    @classmethod
    def of(cls, case: Path) -> "Handed":
        record = Record.open(case)
        files = {path.stem: path.read_bytes() for path in record.originals.iterdir()}
        return cls(record.lines, record.heads, files)

    def read(self, ref: FileRef) -> bytes | None:
        return self.files.get(ref.sha256)

    def state(self, ref: FileRef) -> FileState:
        data = self.read(ref)
        if data is None:
            return FileState.MISSING
        same = hashlib.sha256(data).hexdigest() == ref.sha256 and len(data) == ref.bytes
        return FileState.PRESENT if same else FileState.CHANGED

    def unnamed(self, _named: Collection[str]) -> tuple[str, ...]:
        return ()  # the files of entries that a test cut off stay at hand

    def of_kind(self, kind: str) -> list[int]:
        """The seq of every entry of a kind."""
        return [seq for seq, line in enumerate(self.lines) if json.loads(line)["kind"] == kind]

    def with_line(self, seq: int, line: bytes) -> "Handed":
        return replace(self, lines=(*self.lines[:seq], line, *self.lines[seq + 1 :]))

    def then(
        self,
        kind: str,
        body: Mapping[str, Any],
        signer: Signer | None,
        files: Sequence[Mapping[str, Any]] = (),
        logged: str = LATER,
    ) -> "Handed":
        """One more entry, under a head if somebody signs it."""
        line = seal(Tip.of(self.lines), kind, body, "owner", files, logged)
        longer = replace(self, lines=(*self.lines, line))
        return longer if signer is None else longer.signed(signer)

    def signed(self, signer: Signer) -> "Handed":
        """One more head, over everything."""
        return replace(self, heads=(*self.heads, head_over(self.lines, signer)))


def head_over(lines: Sequence[bytes], signer: Signer) -> str:
    root = tree_root([leaf_hash(line) for line in lines])
    return sign_head(Head(signer.name, len(lines), root), signer).format()


def owner_of(case: Path) -> Signer:
    """The key that a sample keeps in its own folder."""
    record = Record.open(case)
    return record.key_store.load(record.case.case_id, None).signer


def stranger_to(case: Path) -> Signer:
    return Signer.generate(owner_of(case).name)


def key_body(signer: Signer, event: str = "added", **more: str) -> dict[str, str]:
    vkey = signer.verifier.vkey
    return {"party": "owner", "event": event, "key": vkey, "use": "log", **more}


def altered(line: bytes, **fields: Any) -> bytes:
    """The entry with other fields, in canonical form."""
    return dumps({**json.loads(line), **fields})


def reworded(line: bytes, **fields: Any) -> bytes:
    """The entry with other fields in its body."""
    return altered(line, body={**json.loads(line)["body"], **fields})


def rechained(lines: Iterable[bytes]) -> tuple[bytes, ...]:
    """The same entries made to fit together again: what a careful forger would do."""
    tip, fitted = Tip(), []
    for line in lines:
        kind = json.loads(line)["kind"]
        fitted.append(altered(line, seq=tip.size, nth=tip.nth(kind), prev=tip.prev))
        tip = tip.after(Link.read(fitted[-1]))
    return tuple(fitted)


def flipped(data: bytes, bit: int) -> bytes:
    """The same bytes but for one bit, counted from the first byte's lowest."""
    changed = bytearray(data)
    changed[bit // 8] ^= 1 << bit % 8
    return bytes(changed)


@contextmanager
def opened_by_force(case: Path) -> Iterator[sqlite3.Connection]:
    """The ledger with its guards taken down, and put up again as if nobody had been there."""
    with closing(sqlite3.connect(case / "ledger.sqlite", isolation_level=None)) as connection:
        guards = connection.execute(
            "SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'"
        ).fetchall()
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute("BEGIN")
        for name, _ in guards:
            connection.execute(f"DROP TRIGGER {name}")
        yield connection
        for _, sql in guards:
            connection.execute(sql)
        connection.execute("COMMIT")


def put_entries(case: Path, lines: Mapping[int, bytes]) -> None:
    """Other bytes in the place of entries, by seq."""
    rows = [(line, seq) for seq, line in lines.items()]
    with opened_by_force(case) as ledger:
        ledger.executemany("UPDATE entries SET bytes = ? WHERE seq = ?", rows)


def put_heads(case: Path, notes: Mapping[int, bytes]) -> None:
    """Other bytes in the place of heads, by size."""
    rows = [(note, size) for size, note in notes.items()]
    with opened_by_force(case) as ledger:
        ledger.executemany("UPDATE heads SET note = CAST(? AS TEXT) WHERE size = ?", rows)


def keep_first(case: Path, size: int) -> None:
    """Cut off every entry behind the first `size`, and the heads over them."""
    with opened_by_force(case) as ledger:
        ledger.execute("DELETE FROM entries WHERE seq >= ?", (size,))
        ledger.execute("DELETE FROM heads WHERE size > ?", (size,))

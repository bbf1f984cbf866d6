"""A case as large as a fleet's, written straight to the disk: what `check` is measured on."""

import hashlib
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from random import Random
from typing import Any

from evidence.ledger import Head, Signer, Tip, guards, leaf_hash, origin_of, seal, sign_head
from evidence.ledger.log import Link
from evidence.ledger.tree import Frontier
from tests.benchmarks.bench_standing import story
from tests.scenarios.build import Told, tell

CASE_ID = "5a" * 16
BEGAN = "2015-01-05T18:00:00Z"
LAST = "2025-01-05T18:00:00Z"


def signer() -> Signer:
    """The key of the large case."""
    return Signer.from_seed(origin_of(CASE_ID), bytes(range(32)))


def opening() -> list[Told]:
    """What stands before all else: the case and its key."""
    body = {"party": "owner", "event": "added", "key": signer().verifier.vkey, "use": "log"}
    return [
        tell("case", {"case_id": CASE_ID, "title": "A large case", "sample": True}, BEGAN),
        tell("key", body, BEGAN),
    ]


def lines_of(told: Iterator[Told]) -> Iterator[bytes]:
    """The entries' bytes, chained."""
    tip = Tip()
    for one in told:
        given = (one["kind"], one["body"], one["by"], one.get("files", []), one["logged"])
        line = seal(tip, *given)
        tip = tip.after(Link.read(line))
        yield line


def write_case(folder: Path, lines: Iterator[bytes]) -> Path:
    """A case folder that holds these entries, with a signed head after each."""
    folder.mkdir()
    (folder / "originals").mkdir()
    ledger, key, frontier = folder / "ledger.sqlite", signer(), Frontier()
    guards.create(ledger)
    with closing(sqlite3.connect(ledger, isolation_level=None)) as connection:
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute("BEGIN")
        for seq, line in enumerate(lines):
            frontier = frontier.append(leaf_hash(line))
            head = Head(key.name, frontier.size, frontier.root())
            row = (seq, hashlib.sha256(line).hexdigest(), line)
            connection.execute("INSERT INTO entries (seq, sha256, bytes) VALUES (?, ?, ?)", row)
            note = sign_head(head, key).format()
            connection.execute("INSERT INTO heads (size, note) VALUES (?, ?)", (head.size, note))
        connection.execute("COMMIT")
    return folder


def many_entries(folder: Path, size: int) -> Path:
    """A case of `size` entries and as many heads; the files that they name are not there."""

    def told() -> Iterator[Told]:
        yield from opening()
        yield from story(size * 11 // 10)

    def first(lines: Iterator[bytes]) -> Iterator[bytes]:
        for _, line in zip(range(size), lines, strict=False):
            yield line

    return write_case(folder, first(lines_of(told())))


def many_bytes(folder: Path, whole: int, seed: int = 1) -> Path:
    """A case whose originals hold about `whole` bytes: pictures of 2 to 8 MB, and two films."""
    random = Random(seed)
    sizes = [whole // 5, whole // 10]
    while sum(sizes) < whole:
        sizes.append(random.randrange(2_000_000, 8_000_000))
    originals = folder.with_name(f"{folder.name}-originals")
    originals.mkdir()
    block = random.randbytes(1_000_000)

    def told() -> Iterator[Told]:
        yield from opening()
        yield from _photos(originals, sizes, block)

    write_case(folder, lines_of(told()))
    (folder / "originals").rmdir()
    originals.rename(folder / "originals")
    return folder


def _photos(originals: Path, sizes: list[int], block: bytes) -> Iterator[Told]:
    for number, size in enumerate(sizes):
        film = number < 2
        path = originals / "incoming"
        digest = hashlib.sha256()
        with path.open("wb") as file:
            left = size
            for turn in range(-(-size // len(block))):
                part = (number.to_bytes(4, "big") + turn.to_bytes(4, "big") + block[8:])[:left]
                file.write(part)
                digest.update(part)
                left -= len(part)
        ext, kind = (".mp4", "video/mp4") if film else (".jpg", "image/jpeg")
        ref: dict[str, Any] = {"sha256": digest.hexdigest(), "bytes": size, "type": kind}
        path.rename(originals / f"{digest.hexdigest()}{ext}")
        yield tell("photos", {}, LAST, files=[{**ref, "name": f"{number}{ext}"}])

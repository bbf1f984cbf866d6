"""What a write that was cut off leaves among the originals: copies that no entry names.

A file is sealed before the entry that names it, so whoever is stopped in between leaves a copy that
belongs to nothing. Nobody was told that it was kept. It does no harm, and the next `intake` takes
it away.
"""

import re
import time
from collections.abc import Collection
from pathlib import Path

from evidence.case import Record
from evidence.envelope import read_entry
from evidence.errors import MissingError
from evidence.ledger import Store
from evidence.ledger.disk import plain_words

_ORIGINAL = re.compile(r"([0-9a-f]{64})\.[a-z0-9]{1,8}", re.ASCII)
_PART = re.compile(r"\.incoming-.*\.part", re.ASCII)
_PART_SECONDS = 3600
"""A copy that nobody wrote on for an hour is nobody's any more (judgement)."""


def clear_leftovers(record: Record, wanted: Collection[str]) -> tuple[str, ...]:
    """Remove originals that no entry names, and parts of copies.

    Nobody else writes meanwhile. Whoever sealed such a file and has yet to write its entry looks
    for it once more then, and seals it again.

    Args:
        record: the case.
        wanted: SHA-256 of files that are being handed in now; they stay.

    Returns:
        The names of the originals that were removed.

    Raises:
        RefusedError: the disk refuses.
    """
    with plain_words(record.originals, MissingError):
        held = {ref.sha256 for entry in record.entries for ref in entry.files}
        parts = _old_parts(record.originals)
        if not parts and not _unnamed(record.originals, {*held, *wanted}):
            return ()
        with Store.open(record.ledger, writable=True) as store, store.alone():
            named = {ref.sha256 for line in store.entries() for ref in read_entry(line).files}
            unnamed = _unnamed(record.originals, {*named, *wanted})
            for path in (*unnamed, *parts):
                path.unlink(missing_ok=True)
    return tuple(path.name for path in unnamed)


def _unnamed(originals: Path, named: Collection[str]) -> list[Path]:
    """The sealed files that are not among `named`. What is no sealed file is left alone."""
    found = ((path, _ORIGINAL.fullmatch(path.name)) for path in sorted(originals.iterdir()))
    return [path for path, match in found if match and match[1] not in named]


def _old_parts(originals: Path) -> list[Path]:
    old = time.time() - _PART_SECONDS
    return [
        path
        for path in originals.iterdir()
        if _PART.fullmatch(path.name) and path.stat().st_mtime < old
    ]

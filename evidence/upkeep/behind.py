"""What stands in the chain behind a later clock: written after it, whatever its own clock says.

Only a `clock` entry takes `logged` back, in plain view (RECORD § 4). The order of the chain is
surer than a clock that its owner sets: an entry behind another one was written after it.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime
from itertools import pairwise
from types import MappingProxyType

from evidence.entries import Clock
from evidence.envelope import Entry
from evidence.upkeep.vouched import Outsiders

Behind = Mapping[int, datetime]
"""Entries (seq) ahead of which the chain holds a later `logged`, and the latest such."""

NEVER_BACK: Behind = MappingProxyType({})
"""A record whose clock was never set back."""


def read_behind(entries: Sequence[Entry], outsiders: Outsiders) -> Behind:
    """The entries that stand behind a later clock, with that moment.

    A clock that ran ahead says too late a moment. Where an outsider held the entry already, his
    answer takes its place: the entry was written by then, and so was all ahead of it.

    Args:
        entries: the record, or its beginning.
        outsiders: the answers that count.
    """
    if not any(isinstance(entry.body, Clock) for entry in entries):
        return NEVER_BACK
    behind: dict[int, datetime] = {}
    latest: datetime | None = None
    for entry in entries:
        if latest is not None and entry.logged < latest:
            behind[entry.seq] = latest
            continue
        held = outsiders.not_after(entry.seq)
        at = entry.logged if held is None else min(entry.logged, held)
        latest = at if latest is None else max(latest, at)
    return behind


def set_back(entries: Sequence[Entry]) -> list[tuple[Entry, Entry]]:
    """Each entry that was logged before the one ahead of it, with that one ahead of it."""
    steps = pairwise(entries)
    return [(before, entry) for before, entry in steps if entry.logged < before.logged]

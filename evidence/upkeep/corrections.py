"""Which corrections stand, and what they make of each entry (RECORD § 4, `correction`)."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from pydantic import JsonValue

from evidence.entries import Body, Correction
from evidence.envelope import Entry, read_body
from evidence.upkeep.behind import NEVER_BACK, Behind

UNCORRECTABLE = ("case", "key", "witness", "issued", "handover")
"""Never corrected; a hand-over only by another that both sides sign (RECORD § 4)."""


@dataclass(frozen=True, slots=True)
class Change:
    """A correction that stands: its entry, the writer's clock, and the fields that it sets.

    A correction that was itself corrected stands as two. `known_from` is as for `Item`.
    """

    seq: int
    logged: datetime
    fields: frozenset[str]
    known_from: datetime


class Corrections:
    """What the corrections among `entries` make of each of them.

    A correction speaks of earlier entries only. Read from the end, each one is final, not itself
    corrected or withdrawn any more, by the time it is applied.

    Args:
        entries: the record, or its beginning.
        behind: the entries that stand behind a later clock, with that moment.

    Raises:
        RefusedError: a correction does not fit the entry that it corrects.
    """

    def __init__(self, entries: Sequence[Entry], behind: Behind = NEVER_BACK) -> None:
        self._behind = behind
        self._changes: dict[int, list[Change]] = {}
        self._set: dict[int, dict[str, JsonValue]] = {}
        self._withdrawn: dict[int, int] = {}
        self._bodies: dict[int, Body] = {}
        final = {entry.seq for entry in entries if entry.kind in UNCORRECTABLE}
        for entry in reversed(entries):
            if not isinstance(entry.body, Correction) or entry.seq in self._withdrawn:
                continue
            body = self.body(entry)
            if isinstance(body, Correction) and body.of < entry.seq and body.of not in final:
                self._apply(entry, body)

    def _apply(self, entry: Entry, body: Correction) -> None:
        if body.set is None:
            self._withdrawn[body.of] = entry.seq
            return
        fields = frozenset(body.set)
        own = Change(entry.seq, entry.logged, fields, self._behind.get(entry.seq, entry.logged))
        later = [replace(change, fields=fields) for change in self.changes(entry.seq)]
        self._changes[body.of] = [own, *later, *self._changes.get(body.of, ())]
        # Read from the end: what stands there already was said later, and counts.
        self._set[body.of] = {**body.set, **self._set.get(body.of, {})}

    def withdrawn_by(self, seq: int) -> int | None:
        """The entry that withdrew entry `seq`."""
        return self._withdrawn.get(seq)

    def changes(self, seq: int) -> tuple[Change, ...]:
        """The corrections of entry `seq` that stand, in order."""
        return tuple(sorted(self._changes.get(seq, ()), key=lambda change: change.seq))

    def body(self, entry: Entry) -> Body:
        """The entry's body with its corrections, the last word last."""
        if entry.seq not in self._bodies:
            changes = self._set.get(entry.seq)
            self._bodies[entry.seq] = corrected(entry, changes) if changes else entry.body
        return self._bodies[entry.seq]


def corrected(entry: Entry, changes: Mapping[str, JsonValue]) -> Body:
    """The entry's body with `changes` set; a null takes the field away.

    Raises:
        RefusedError: the result is not a body of its kind.
    """
    merged = {**entry.raw, **changes}
    return read_body(
        entry.kind, {name: value for name, value in merged.items() if value is not None}
    )

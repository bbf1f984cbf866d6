"""Which corrections stand, and what they make of each entry (RECORD § 4, `correction`)."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from pydantic import JsonValue

from evidence.entries import Body, Correction
from evidence.envelope import Entry, read_body


@dataclass(frozen=True, slots=True)
class Change:
    """A correction that stands: its entry, the writer's clock, and the fields that it sets."""

    seq: int
    logged: datetime
    fields: frozenset[str]


class Corrections:
    """What the corrections among `entries` make of each of them.

    A correction speaks of earlier entries only. Read from the end, each one is final, not itself
    corrected or withdrawn any more, by the time it is applied.

    Raises:
        RefusedError: a correction does not fit the entry that it corrects.
    """

    def __init__(self, entries: Sequence[Entry]) -> None:
        self._changes: dict[int, list[Change]] = {}
        self._set: dict[int, dict[str, JsonValue]] = {}
        self._withdrawn: dict[int, int] = {}
        self._bodies: dict[int, Body] = {}
        for entry in reversed(entries):
            if isinstance(entry.body, Correction) and entry.seq not in self._withdrawn:
                self._apply(entry)

    def _apply(self, entry: Entry) -> None:
        body = self.body(entry)
        if not isinstance(body, Correction) or body.of >= entry.seq:
            return
        if body.withdraw:
            self._withdrawn.setdefault(body.of, entry.seq)
            return
        fields = body.set or {}
        change = Change(self._last_seq(entry), self._last_logged(entry), frozenset(fields))
        self._changes.setdefault(body.of, []).insert(0, change)
        # Read from the end: what is there already was said later, and stands.
        self._set[body.of] = {**fields, **self._set.get(body.of, {})}

    def _last_seq(self, entry: Entry) -> int:
        return max([entry.seq, *(change.seq for change in self.changes(entry.seq))])

    def _last_logged(self, entry: Entry) -> datetime:
        return max([entry.logged, *(change.logged for change in self.changes(entry.seq))])

    def withdrawn_by(self, seq: int) -> int | None:
        """The entry that withdrew entry `seq`."""
        return self._withdrawn.get(seq)

    def changes(self, seq: int) -> tuple[Change, ...]:
        """The corrections of entry `seq` that stand, in order."""
        return tuple(self._changes.get(seq, ()))

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

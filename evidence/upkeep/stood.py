"""The record as it stood at an earlier moment: what a later word cannot change."""

from dataclasses import dataclass, replace
from datetime import datetime

from evidence.entries import Correction, Inspection
from evidence.upkeep.history import History
from evidence.upkeep.items import Item, build_items


@dataclass(frozen=True, slots=True)
class AsItStood:
    """The record at an earlier moment.

    Attributes:
        history: the record with the words of that moment; the present one where they have not been
            changed since, so that it may hold later entries too.
        written: the entries that stood in it.
        retold: whether any of them has been corrected or withdrawn since.
    """

    history: History
    written: frozenset[int]
    retold: bool

    def looks_at(self, zone_id: str) -> list[tuple[Item, Inspection]]:
        """The looks that covered a zone, as `History.looks_at`."""
        return [look for look in self.history.looks_at(zone_id) if look[0].seq in self.written]


def as_it_stood(history: History, moment: datetime, before: int) -> AsItStood:
    """What had been written by `moment`, with the corrections that had been made by then.

    An entry behind the outsider's answer of a later moment had not been written, whatever its own
    clock says; nor had one from `before` on.
    """

    def written_by_then(item: Item) -> bool:
        answered = history.not_before(item.seq)
        return (
            item.seq < before
            and item.entry.logged <= moment
            and (answered is None or answered <= moment)
        )

    kept = [item for item in history.items if written_by_then(item)]
    written = frozenset(item.seq for item in kept)
    retold = any(
        isinstance(body := item.entry.body, Correction)
        and item.seq not in written
        and body.of in written
        for item in history.items
    )
    if retold:
        history = replace(history, items=build_items([item.entry for item in kept]))
    return AsItStood(history, written, retold)

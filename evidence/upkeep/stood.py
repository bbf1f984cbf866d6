"""The record as it stood at an earlier moment: what a later word cannot change."""

from dataclasses import dataclass, replace
from datetime import datetime

from evidence.upkeep.history import History
from evidence.upkeep.items import Item, build_items
from evidence.upkeep.looks import LookAt


@dataclass(frozen=True, slots=True)
class AsItStood:
    """The record at an earlier moment.

    Attributes:
        history: the record with the words of that moment; the present one where they have not been
            changed since, so that it may hold later entries too.
        moment: the moment.
        size: how many entries can have been written by then, by the order of the chain.
        retold: whether any of them has been corrected or withdrawn since.
    """

    history: History
    moment: datetime
    size: int
    retold: bool

    def held(self, item: Item) -> bool:
        """Whether the entry stood in it."""
        return item.seq < self.size and item.known_from <= self.moment

    def looks_at(self, zone_id: str) -> list[LookAt]:
        """The looks that covered a zone, as `History.looks_at`."""
        return [look for look in self.history.looks_at(zone_id) if self.held(look[0])]


def as_it_stood(history: History, moment: datetime, before: int) -> AsItStood:
    """What had been written by `moment`, with the corrections that had been made by then.

    An entry behind the outsider's answer of a later moment, or behind a later clock, had not been
    written, whatever its own clock says; nor had one from `before` on.
    """
    later = history.outsiders.first_later(moment)
    size = before if later is None else min(before, later + 1)
    present = AsItStood(history, moment, size, retold=False)
    retold = any(
        not present.held(item) and (of := history.item(body.of)) is not None and present.held(of)
        for item, body in history.corrections
    )
    if not retold:
        return present
    kept = [item.entry for item in history.items if present.held(item)]
    return replace(
        present,
        history=replace(history, items=build_items(kept, history.atlas, history.behind)),
        retold=True,
    )

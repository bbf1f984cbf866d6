"""Which pictures of a roll belong to this record, by the cards of records in them. Pure.

A person with two rigs and one telephone pictures a record's card first and last at each rig. What
is sealed stays for ever: so whatever may be of another rig is left out and said, never taken in
silence, and a person takes it by naming it.
"""

from collections.abc import Iterable, Sequence
from enum import StrEnum

from evidence.photos.visits import GAP, Go, VisitItem, occasions


class Whose(StrEnum):
    """Why a picture is left out."""

    ITS_CARD = "its-card"
    """It shows the card of another record, and none of this one."""
    OTHERS = "others"
    """The cards before and after it, as far as there are any, are another record's."""
    BETWEEN = "between"
    """It lies between a card of this record and one of another: it may be of either."""
    NO_ORDER = "no-order"
    """Another record's card was handed in with it, and nothing tells which came first."""


def left_out(items: Sequence[VisitItem], case_id: str) -> dict[str, Whose]:
    """The pictures that are not to be taken, by their sum, with the reason.

    Within what one camera took in one go, a picture is told by the card before and the card after
    it. Of a camera that saw no card nothing is taken where another camera saw another record's card
    on that occasion, nor anything whose time is unknown beside any such card.

    Args:
        items: all that was handed in, what the record holds already among it.
        case_id: this record.
    """
    strange = [item for item in items if _strange(item, case_id)]
    if not strange:
        return {}
    found: dict[str, Whose] = {}
    for occasion in occasions(item for item in items if not item.loose):
        others = any(_strange(taken.item, case_id) for go in occasion for taken in go)
        for go in occasion:
            if any(taken.item.card for taken in go):
                found |= _of_go(go, case_id)
            elif others:
                found |= {taken.item.sha256: Whose.NO_ORDER for taken in go}
    for item in items:
        if item.card == case_id:
            continue
        if item.moment is None or (item.loose and any(_may_meet(item, one) for one in strange)):
            found[item.sha256] = Whose.ITS_CARD if item.card else Whose.NO_ORDER
    return found


def _of_go(go: Go, case_id: str) -> dict[str, Whose]:
    cards = [taken.item.card for taken in go]
    before, after = _last_seen(cards), _last_seen(cards[::-1])[::-1]
    found = {}
    for taken, *around in zip(go, before, after, strict=True):
        near = {card for card in around if card is not None}
        if _strange(taken.item, case_id):
            found[taken.item.sha256] = Whose.ITS_CARD
        elif taken.item.card is None and near - {case_id}:
            found[taken.item.sha256] = Whose.BETWEEN if case_id in near else Whose.OTHERS
    return found


def _last_seen(cards: Iterable[str | None]) -> list[str | None]:
    """For each picture the card in it, else the last one before it."""
    found: list[str | None] = []
    seen: str | None = None
    for card in cards:
        seen = card or seen
        found.append(seen)
    return found


def _may_meet(item: VisitItem, other: VisitItem) -> bool:
    """Whether the two can have been taken within a pause of each other."""
    if item.earliest is None or item.latest is None:
        return True
    if other.earliest is None or other.latest is None:
        return True
    return item.earliest - GAP <= other.latest and other.earliest - GAP <= item.latest


def _strange(item: VisitItem, case_id: str) -> bool:
    return item.card is not None and item.card != case_id

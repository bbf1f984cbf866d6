"""What was used on the roof: the materials that washes, treatments and reseals name."""

from collections.abc import Sequence
from dataclasses import dataclass

from evidence.entries import Deed, Reseal, Treatment, Wash
from evidence.upkeep.history import History
from evidence.upkeep.items import Item


@dataclass(frozen=True, slots=True)
class Material:
    """An entry that used something up, what that was, and whether a receipt is about it."""

    item: Item
    body: Wash | Treatment | Reseal
    used: str
    receipt: bool


def materials(history: History) -> tuple[Material, ...]:
    """Every use that names a product, or a reseal's family, in order of time."""
    found = [
        Material(item, body, used, item.seq in history.receipted)
        for item, body in history.of(Deed)
        if isinstance(body, Wash | Treatment | Reseal) and (used := _used(body))
    ]
    return tuple(sorted(found, key=lambda row: (row.item.dates, row.item.seq)))


def count_receipts(rows: Sequence[Material]) -> int:
    """How many of them a receipt on file is about."""
    return sum(row.receipt for row in rows)


def _used(body: Wash | Treatment | Reseal) -> str:
    if isinstance(body, Reseal):
        return body.product or body.family.replace("-", " ")
    return body.product or ""

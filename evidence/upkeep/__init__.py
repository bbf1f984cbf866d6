"""Pure functions from a History to facts; nothing here touches a disk, a clock or a key."""

from evidence.upkeep.admission import admit
from evidence.upkeep.due import Due, what_is_due
from evidence.upkeep.history import History, read_history
from evidence.upkeep.items import Item, Picture
from evidence.upkeep.known import Known
from evidence.upkeep.shown import as_json
from evidence.upkeep.standing import Standing, measure
from evidence.upkeep.vouched import Vouched

__all__ = [
    "Due",
    "History",
    "Item",
    "Known",
    "Picture",
    "Standing",
    "Vouched",
    "admit",
    "as_json",
    "measure",
    "read_history",
    "what_is_due",
]

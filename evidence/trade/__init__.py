"""The trade: the catalogue of words, tables and defaults, and the sums that are made of it."""

from evidence.trade.catalogue import Catalogue, Fit, load_catalogue
from evidence.trade.rows import Letter, PointsTo
from evidence.trade.working import Band, Limit, Profile, Topic

__all__ = [
    "Band",
    "Catalogue",
    "Fit",
    "Letter",
    "Limit",
    "PointsTo",
    "Profile",
    "Topic",
    "load_catalogue",
]

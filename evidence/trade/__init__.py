"""The trade: the catalogue of words, tables and defaults."""

from evidence.trade.catalogue import Catalogue, Fit, load_catalogue
from evidence.trade.rows import Letter, PointsTo

__all__ = ["Catalogue", "Fit", "Letter", "PointsTo", "load_catalogue"]

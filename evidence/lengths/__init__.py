"""A length in one plane of a picture, with its uncertainty: by a card's corners or by a coin."""

from evidence.lengths.coin import Coin
from evidence.lengths.length import K, Length, Sheet
from evidence.lengths.measured import MM_PER_INCH, Kept, Scene, Way, four, kept_in, sentence, told
from evidence.lengths.plane import Corners, Point

__all__ = [
    "MM_PER_INCH",
    "Coin",
    "Corners",
    "K",
    "Kept",
    "Length",
    "Point",
    "Scene",
    "Sheet",
    "Way",
    "four",
    "kept_in",
    "sentence",
    "told",
]

"""The sheet for a round: the next look on one or two pages, for the pocket. It is no evidence."""

from evidence.dossier.pocket.route import next_round
from evidence.dossier.pocket.sheet import print_round

__all__ = ["next_round", "print_round"]

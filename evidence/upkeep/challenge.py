"""The strongest honest case against this very record: what an opposing reader will say of it.

A pure function of the measured record, the incident and the trade's tables; the wording stands with
the pages. Nothing here names a cause.
"""

from evidence.photos.signals import Question
from evidence.trade import Catalogue
from evidence.upkeep.contest.afterwards import afterwards
from evidence.upkeep.contest.before import before
from evidence.upkeep.contest.contested import Contested
from evidence.upkeep.contest.kept import kept
from evidence.upkeep.contest.kinds import Answer, Challenge, Grave, How, Kind, Step
from evidence.upkeep.contest.mended import mended
from evidence.upkeep.contest.pictured import pictured
from evidence.upkeep.contest.written import written
from evidence.upkeep.incidents import IncidentFacts
from evidence.upkeep.standing import Standing

__all__ = ["Answer", "Challenge", "Grave", "How", "Kind", "Step", "challenge"]

_GROUPS = (before, afterwards, mended, kept, written, pictured)
_ORDER = {kind: place for place, kind in enumerate(Kind)}


def challenge(
    standing: Standing,
    facts: IncidentFacts,
    catalogue: Catalogue,
    seen: tuple[Question, ...] = (),
) -> tuple[Challenge, ...]:
    """Everything of the kinds looked for that can be held against the record, the gravest first.

    Among equally grave ones the kinds stand in their order, and those of a kind by their entries.

    Args:
        standing: the record measured.
        facts: the incident that the claim is about, as `standing` has it.
        catalogue: the trade's tables.
        seen: what the pixels raise on the machine that holds the originals; they stand as a kind of
            their own, since the record alone cannot answer them again.
    """
    contested = Contested(standing, facts, catalogue, seen)
    found = [point for group in _GROUPS for point in group(contested)]
    return tuple(sorted(found, key=lambda one: (one.grave, _ORDER[one.kind], one.entries)))

"""The ways in which a thing may be done, the safest first, and what speaks against a climb.

Nobody has to climb: a look by pole camera, drone or from a dealer's platform counts, and a dated
deferral is an entry like any other (TRADE, fact 10).
"""

from collections.abc import Collection, Iterator
from datetime import timedelta

from evidence.entries import Deferral
from evidence.upkeep.history import History
from evidence.upkeep.places import FROM_BELOW
from evidence.words import DeferralReason, Means, Task

DEFERRAL = "deferral"
"""To put it off, in writing and with its date."""

SAFEST_FIRST = (
    Means.INSIDE,
    Means.GROUND,
    Means.POLE_CAMERA,
    Means.DRONE,
    Means.PLATFORM,
    Means.LADDER,
    Means.ON_ROOF,
)
CLIMBS = frozenset({Means.LADDER, Means.ON_ROOF})

_SAYS_UNFIT = (DeferralReason.UNSAFE, DeferralReason.WEATHER, DeferralReason.ACCESS)
_PUT_OFF_FOR = timedelta(days=7)
"""How long a deferral speaks against a climb: weather and ice pass. The count is ours."""

HANDS_ON = frozenset({Task.WASH, Task.TREATMENT, Task.RESEAL})
"""What is done on the roof by hand; from a dealer's platform, where a climb is unfit."""


def against_a_climb(history: History) -> str | None:
    """Why nobody should climb on that day, as far as the record knows; None where it knows nothing.

    The roof is not on record as walkable, the rig is in storage, or a climb was put off in the days
    before because it was unsafe, for weather or for want of access. It is never a clearance.
    """
    return next(_reasons(history), None)


def _reasons(history: History) -> Iterator[str]:
    if history.rig.walkable == "no":
        yield "the roof is on record as not walkable"
    if history.rig.walkable == "unknown":
        yield "the roof is not on record as walkable"
    for item, storage, ended in history.storages():
        if ended is None and history.first_day(storage.from_) <= history.on:
            yield f"in storage since {history.first_day(storage.from_)} (entry {item.seq + 1})"
    for item, deferral in history.of(Deferral):
        last = item.dates[1]
        if deferral.why in _SAYS_UNFIT and last <= history.on <= last + _PUT_OFF_FOR:
            yield f"put off on {last}: {deferral.why} (entry {item.seq + 1})"


def ways_of_looking(means: Collection[Means] | None, *, climb: bool) -> tuple[str, ...]:
    """The means by which a look may be had, the safest first.

    Args:
        means: what the rule counts; None for all that cover a roof.
        climb: whether one may be proposed; else a deferral stands at the end.
    """
    counted = set(Means) - FROM_BELOW if means is None else set(means)
    fit = counted if climb else counted - CLIMBS
    ways = tuple(way.value for way in SAFEST_FIRST if way in fit)
    return ways if climb else (*ways, DEFERRAL)


def ways_of_working(*, climb: bool) -> tuple[str, ...]:
    """For work by hand: nothing to choose from, unless nobody should climb."""
    return () if climb else (Means.PLATFORM.value, DEFERRAL)

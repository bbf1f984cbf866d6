"""What the next look takes along: every zone as it was left, and what is to be looked at again.

Every zone that the rig has is proposed, none is taken as looked at: each needs its own grade.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

from evidence.times import Pair, days_apart
from evidence.trade import Catalogue
from evidence.upkeep.findings import FindingFacts, zone_grade
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.upkeep.places import PlaceOnRoof
from evidence.upkeep.standing import Standing
from evidence.upkeep.underfoot import KeepOff, kept_off
from evidence.upkeep.vouched import Vouched
from evidence.upkeep.walking import Walk
from evidence.upkeep.ways import against_a_climb, ways_of_looking
from evidence.words import Task


class Part(StrEnum):
    """Where on the walk a zone comes."""

    EDGE = "edge"
    MIDDLE = "middle"
    NO_PLACE = "no-place"
    BELOW = "below"


@dataclass(frozen=True, slots=True)
class Stop:
    """One zone of the round.

    Attributes:
        number: from 1, in the order of the walk.
        part: where on the walk it comes; `below` is what is not on the roof.
        place: the zone.
        look: the last look that covered it; None where there is none.
        days: since that look.
        grade: its grade, never below that of its gravest open finding; None without a look.
        pictured: the newest entry with a picture of it; None where there is none.
        recheck: its open findings, the gravest first.
        keep_off: the caution of an open finding that says to keep off; None where there is none.
        ways: the means by which it may be looked at, the safest first.
    """

    number: int
    part: Part
    place: PlaceOnRoof
    look: Item | None
    days: Pair | None
    grade: int | None
    pictured: Item | None
    recheck: tuple[FindingFacts, ...]
    keep_off: str | None = None
    ways: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Round:
    """The next look.

    Attributes:
        history: the record behind it.
        stops: the zones in walking order, those below the roof last.
        ways: the means by which it may be done, the safest first.
        unsafe: why nobody should climb, as far as the record knows.
        cautions: what is read first.
        answer: the newest outsider's answer that was verified, which a card can carry.
    """

    history: History
    stops: tuple[Stop, ...]
    ways: tuple[str, ...]
    unsafe: str | None
    cautions: tuple[str, ...]
    answer: Vouched | None


def places_now(history: History) -> list[PlaceOnRoof]:
    """The zones that the rig has today, in the order of the record."""
    return [place for place in history.places if place.until is None]


def plan_round(standing: Standing, catalogue: Catalogue, walk: Walk) -> Round:
    """The next look at every zone that the rig has.

    Args:
        standing: the measured record.
        catalogue: its cautions.
        walk: the order of the zones that have a place on the plan.
    """
    history = standing.history
    unsafe = against_a_climb(history)
    off = kept_off(history, standing.findings, catalogue)
    stops = tuple(_stops(standing, walk, off, climb=unsafe is None))
    return Round(
        history=history,
        stops=stops,
        ways=ways_of_looking(None, climb=unsafe is None),
        unsafe=unsafe,
        cautions=(
            *(stop.keep_off for stop in stops if stop.keep_off is not None),
            *(row.text for row in catalogue.cautions_for(Task.INSPECTION)),
        ),
        answer=max(history.vouched, key=lambda answer: answer.seq, default=None),
    )


def _stops(
    standing: Standing, walk: Walk, off: Mapping[str, KeepOff], *, climb: bool
) -> Iterator[Stop]:
    pictured = _pictured(standing.history)
    for number, (place, part) in enumerate(_in_order(standing.history, walk), start=1):
        ways: tuple[str, ...] = ()
        if part is not Part.BELOW:
            ways = ways_of_looking(None, climb=climb and place.id not in off)
        stop = _stop(standing, number, place, part, pictured.get(place.id))
        keep_off = off[place.id].caution if place.id in off else None
        yield replace(stop, keep_off=keep_off, ways=ways)


def _in_order(history: History, walk: Walk) -> list[tuple[PlaceOnRoof, Part]]:
    now = {place.id: place for place in places_now(history)}
    parts = [
        *((zone_id, Part.EDGE) for zone_id in walk.edge),
        *((zone_id, Part.MIDDLE) for zone_id in walk.middle),
    ]
    walked = {zone_id for zone_id, _ in parts}
    left = [place for place in now.values() if place.id not in walked]
    return [
        *((now[zone_id], part) for zone_id, part in parts),
        *((place, Part.NO_PLACE) for place in left if place.on_roof),
        *((place, Part.BELOW) for place in left if not place.on_roof),
    ]


def _stop(
    standing: Standing, number: int, place: PlaceOnRoof, part: Part, pictured: Item | None
) -> Stop:
    history = standing.history
    looks = history.looks_at(place.id)
    look = looks[-1][0] if looks else None
    return Stop(
        number=number,
        part=part,
        place=place,
        look=look,
        days=None if look is None else days_apart(look.bounds, (history.on, history.on)),
        grade=zone_grade(history, standing.findings, place.id),
        pictured=pictured,
        recheck=_open_at(standing.findings, place.id),
    )


def _open_at(findings: Sequence[FindingFacts], zone_id: str) -> tuple[FindingFacts, ...]:
    found = [f for f in findings if f.zone == zone_id and f.state == "open"]
    return tuple(sorted(found, key=lambda finding: (-finding.grade, finding.opened)))


def _pictured(history: History) -> Mapping[str, Item]:
    """The newest entry with a picture of each zone."""
    found: dict[str, Item] = {}
    for item, picture in history.pictures():
        zone_id = picture.file.zone
        if zone_id is None or not picture.of_roof:
            continue
        if zone_id not in found or _told(item) >= _told(found[zone_id]):
            found[zone_id] = item
    return found


def _told(item: Item) -> datetime:
    return item.entry.logged if item.span is None else item.span.latest

"""The zones of a rig and the days on which it had them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from evidence.entries import Rig
from evidence.shapes import Zone
from evidence.times import parse_day, zone
from evidence.upkeep.items import Item
from evidence.words import ROOF_ZONES, Means

FROM_BELOW = frozenset({Means.GROUND, Means.INSIDE})


@dataclass(frozen=True, slots=True)
class PlaceOnRoof:
    """A zone of the rig and the days on which it was there."""

    zone: Zone
    since: date | None
    until: date | None

    @property
    def id(self) -> str:
        """The zone's id."""
        return self.zone.id

    @property
    def on_roof(self) -> bool:
        """One of Z01…Z24, which a look from the ground or from inside does not cover."""
        return self.zone.type in ROOF_ZONES

    def seen_by(self, means: Means) -> bool:
        """Whether a look by these means covers it (OUTPUTS § 2, gaps)."""
        return not (self.on_roof and means in FROM_BELOW)

    def there_on(self, day: date) -> bool:
        """Whether the rig had it on that day."""
        return (self.since is None or self.since <= day) and (
            self.until is None or day <= self.until
        )


def read_places(rigs: Sequence[tuple[Item, Rig]]) -> tuple[PlaceOnRoof, ...]:
    """Every zone the rig has or had; one left out of a later statement ended that day.

    A zone that is stated again keeps the first day it was stated with: no later statement makes
    what was not looked at begin anew.
    """
    places: dict[str, PlaceOnRoof] = {}
    for item, rig in rigs:
        stated = {place.id for place in rig.zones}
        day = item.known_from.astimezone(zone(rig.home_zone)).date()
        for zone_id, place in places.items():
            if zone_id not in stated and place.until is None:
                places[zone_id] = PlaceOnRoof(place.zone, place.since, day)
        for stands in rig.zones:
            known = places.get(stands.id)
            since = None if stands.since is None else parse_day(stands.since)
            if known is not None and since is not None:
                since = None if known.since is None else min(known.since, since)
            until = None if stands.until is None else parse_day(stands.until)
            places[stands.id] = PlaceOnRoof(stands, since, until)
    return tuple(places.values())

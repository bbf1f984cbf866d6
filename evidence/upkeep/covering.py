"""What counts for a rule, and in which zones (OUTPUTS § 2, gap and met_on_time)."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from functools import cached_property

from evidence.entries import Body, Inspection, Reading, Reseal, Rule, Treatment, Wash
from evidence.trade import Catalogue
from evidence.upkeep.history import History
from evidence.upkeep.items import Item
from evidence.upkeep.places import PlaceOnRoof
from evidence.upkeep.ruled import RuleInTime
from evidence.upkeep.sealing import fitting_zones
from evidence.words import ZONE_TYPE, Task

PERIODIC = (Task.INSPECTION, Task.WASH, Task.TREATMENT, Task.RESEAL, Task.MOISTURE)
"""Tasks that come round by the days since the last time; the others follow an event."""

_DOES: Mapping[Task, type[Body]] = {
    Task.INSPECTION: Inspection,
    Task.WASH: Wash,
    Task.TREATMENT: Treatment,
    Task.RESEAL: Reseal,
    Task.MOISTURE: Reading,
}

INSIDE_TYPES = frozenset({"Z25", "Z26"})
"""Where a moisture rule that names no zones is read: below the openings and at the walls."""


def covered_places(history: History, rule: Rule) -> list[PlaceOnRoof]:
    """The zones that a rule covers: those it names by id or type, else those its task suits."""
    if rule.zones is None:
        return [place for place in history.places if _suits(rule.task, place)]
    named = set(rule.zones)
    types = {name for name in named if ZONE_TYPE.fullmatch(name)}
    return [place for place in history.places if place.id in named or place.zone.type in types]


def _suits(task: Task, place: PlaceOnRoof) -> bool:
    if task is Task.MOISTURE:
        return place.zone.type in INSIDE_TYPES
    if task in (Task.WASH, Task.TREATMENT, Task.RESEAL):
        return place.on_roof
    return True


def covered_by(history: History, item: Item, rule: Rule, catalogue: Catalogue) -> frozenset[str]:
    """The zones that an entry covers under a rule.

    `"all"` covers all, an inspection only the zones that it lists. A look from the ground or from
    inside never covers Z01-Z24 unless the rule's `means` says so; where a rule names its means,
    only those count. A treatment against anything but sunlight is none, nor is a reseal with a
    sealant that does not suit the place.
    """
    body = item.body
    if isinstance(body, Inspection):
        if rule.means is None:
            return history.seen_at(item.seq)
        return frozenset(row.zone for row in body.zones if body.means in rule.means)
    if isinstance(body, Reading):
        return frozenset([body.zone])
    if isinstance(body, Reseal):
        return fitting_zones(item.rig, body, catalogue)
    if isinstance(body, Wash) or (isinstance(body, Treatment) and body.treats == "uv"):
        return history.zone_ids if body.zones == "all" else frozenset(body.zones)
    return frozenset()


def on_time(history: History, item: Item, ruled: RuleInTime) -> bool:
    """Whether an entry counts for `met_on_time`.

    It was logged within 24 h of its earliest time, is uncorrected in `when` and `zones`, the rule
    had been logged by then, and neither an outsider's answer nor the chain contradicts its clock.
    """
    return item.time.latest >= ruled.known_from and item.seq in history.prompt


class Covering:
    """The entries that count for a periodic rule in each of its zones, in order of time."""

    def __init__(self, history: History, ruled: RuleInTime, catalogue: Catalogue) -> None:
        self.history = history
        self.ruled = ruled
        self.places = covered_places(history, ruled.rule)
        done = history.in_order(_DOES[ruled.rule.task])
        self._rows = [(item, covered_by(history, item, ruled.rule, catalogue)) for item in done]
        self._prompt: dict[str, list[Item]] = {}

    def entries(self, zone_id: str) -> Sequence[Item]:
        """All that count as stated."""
        return [item for item, zones in self._rows if zone_id in zones]

    def prompt(self, zone_id: str, before: datetime | None = None) -> Iterable[Item]:
        """Those that count on time; with `before` only what had been logged by that moment."""
        if zone_id not in self._prompt:
            self._prompt[zone_id] = [
                item for item in self.entries(zone_id) if on_time(self.history, item, self.ruled)
            ]
        counted = self._prompt[zone_id]
        if before is None:
            return counted
        return (item for item in counted if item.known_from <= before)

    @cached_property
    def alike(self) -> Sequence[Sequence[PlaceOnRoof]]:
        """The zones in groups with one window and the same entries: counted once for all."""
        together = {zones for _, zones in self._rows}
        groups: dict[object, list[PlaceOnRoof]] = defaultdict(list)
        for place in self.places:
            covered = tuple(place.id in zones for zones in together)
            groups[place.since, place.until, covered].append(place)
        return list(groups.values())

"""What was done after the incident: looks, pictures, parts, washing, cover, notice."""

from collections.abc import Iterator, Sequence

from evidence.entries import Cover, Custody, Deferral, Repair, Wash
from evidence.times import Pair, minutes_apart
from evidence.upkeep.contest.contested import Contested, answer, answer_by_zone
from evidence.upkeep.contest.kinds import Answer, Challenge, Grave, How, Kind, Step, point
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.incidents import ZoneUnderIncident
from evidence.upkeep.items import Item
from evidence.upkeep.looks import means_of
from evidence.upkeep.preserving import Lost, taken_by_wash
from evidence.words import CustodyAction, Grade, RepairWork

_DAY = 24 * 60  # in minutes

_NOTICE_WITHIN = 7
"""Days. Policies say "prompt" and give no number; this one is ours."""

_GONE = (CustodyAction.REMOVED, CustodyAction.SENT)


def afterwards(case: Contested) -> Iterator[Challenge]:
    """What an opposing reader will say of the days after the incident."""
    for zone in case.facts.zones:
        yield from _look_after(case, zone)
    yield from _washed(case)
    yield from _parts(case)
    yield from _covered(case)
    yield from _told(case)


def _look_after(case: Contested, zone: ZoneUnderIncident) -> Iterator[Challenge]:
    if zone.after is None:
        opened = [one.opened for name in zone.found if (one := case.standing.finding(name))]
        below = zone.from_below
        yield point(
            Kind.ONLY_FROM_BELOW if below else Kind.NOT_LOOKED_AFTER,
            Grave.WEIGHT,
            *(item.seq for item in below),
            answers=(answer(How.OWN_FINDING, opened),),
            today=(Step.LOOK_NOW,),
            zone=zone.zone,
            **({"means": means_of(below)} if below else {}),
        )
    elif not case.shows(zone.after.item, zone.zone):
        shown = (i.seq for i, taken in case.pictured(zone.zone) if case.shot_after(i, taken))
        yield point(
            Kind.NO_PICTURE_AFTER,
            Grave.WEIGHT,
            zone.after.seq,
            answers=(answer(How.PICTURED, shown),),
            today=(Step.LOOK_NOW,),
            zone=zone.zone,
        )


def _washed(case: Contested) -> Iterator[Challenge]:
    """A wash of the zones named behind the window and ahead of their first picture."""
    left = taken_by_wash(case.facts.incident.stated_cause)
    if left is None:
        return
    looked = {zone.zone: zone.after for zone in case.facts.zones}
    for item, body in case.history.of(Wash):
        washed = case.named if body.zones == "all" else case.named & set(body.zones)
        bare = [zone for zone in case.facts.incident.zones if zone in washed]
        bare = [zone for zone in bare if not case.pictured_ahead_of(zone, item)]
        if case.is_after(item) and bare:
            looks = {
                zone: [look.seq]
                if (look := looked[zone]) is not None and look.item.time.latest <= item.time.latest
                else []
                for zone in bare
            }
            yield point(
                Kind.WASHED_FIRST,
                Grave.WEIGHT,
                item.seq,
                answers=(answer_by_zone(How.OTHER_LOOK, looks),),
                today=(Step.METAL_PARTS,) if left is Lost.SPATTER else (Step.LOOK_NOW,),
                zones=tuple(bare),
                left=left,
            )


# Parts


def _parts(case: Contested) -> Iterator[Challenge]:
    """Parts thrown away, parts of which nothing says where they are, and parts never named."""
    kept = [(item, body) for item, body in case.history.of(Custody) if item.seq in case.naming]
    last = {body.item: (item, body) for item, body in kept}
    for item, body in last.values():
        shown = (i.seq for i, other in kept if other.item == body.item and _pictured(i))
        answers = (answer(How.PICTURED, shown),)
        if body.action is CustodyAction.DISCARDED:
            today = (Step.KEEP_PART,)
            yield point(
                Kind.PART_DISCARDED,
                Grave.WEIGHT,
                item.seq,
                answers=answers,
                today=today,
                item=body.item,
            )
        elif body.action in _GONE and body.where is None:
            today = (Step.KEEP_PART,)
            yield point(
                Kind.PART_UNACCOUNTED,
                Grave.WEIGHT,
                item.seq,
                answers=answers,
                today=today,
                item=body.item,
            )
    for item, repair in case.history.of(Repair):
        zones = tuple(zone for zone in repair.zones if zone in case.named)
        replaced = repair.what is RepairWork.REPLACE_PART and case.is_after(item)
        if zones and replaced and not kept:
            yield point(
                Kind.PARTS_UNWRITTEN,
                Grave.WEIGHT,
                item.seq,
                today=(Step.KEEP_PART,),
                zones=zones,
            )


def _pictured(item: Item) -> bool:
    return any(picture.of_roof for picture in item.pictures)


# Cover and notice


def _covered(case: Contested) -> Iterator[Challenge]:
    """Places found open that were covered late or, by the record, never."""
    found = [
        finding
        for zone in case.facts.zones
        for name in zone.found
        if (finding := case.standing.finding(name)) is not None and finding.grade >= Grade.URGENT
    ]
    if not found:
        return
    over: dict[str, Item] = {}
    covers = ((i, b) for i, b in case.history.of(Cover) if i.seq in case.naming)
    for item, body in sorted(covers, key=lambda row: (row[0].time.latest, row[0].seq)):
        if case.is_after(item):
            over = dict.fromkeys(body.zones, item) | over
    for cover in {item.seq: item for item in over.values()}.values():
        under = [one for one in found if one.zone in over and over[one.zone].seq == cover.seq]
        yield from _late(case, cover, under)
    bare = [finding for finding in found if finding.zone not in over]
    if bare:
        zones = tuple(dict.fromkeys(finding.zone for finding in bare))
        still = any(finding.state == "open" for finding in bare)
        yield point(
            Kind.NO_COVER,
            Grave.WEIGHT,
            *(finding.opened for finding in bare),
            answers=(_put_off(case, zones), _repaired(case, zones)),
            today=(Step.COVER_NOW,) if still else (),
            zones=zones,
        )


def _late(case: Contested, cover: Item, found: Sequence[FindingFacts]) -> Iterator[Challenge]:
    """The first cover over what was found, where it certainly came behind the catalogue's days."""
    if not found:
        return
    within = min(case.catalogue.act_within(one.type, one.grade) for one in found)
    minutes = _minutes_after(case, cover)
    if minutes is not None and minutes[0] > within * _DAY:
        zones = tuple(dict.fromkeys(finding.zone for finding in found))
        yield point(
            Kind.LATE_COVER,
            Grave.WEIGHT,
            cover.seq,
            answers=(_put_off(case, zones),),
            minutes=minutes,
        )


def _minutes_after(case: Contested, cover: Item) -> Pair | None:
    """From the window to a cover; None for a later one where the window has no beginning."""
    first = case.facts.covered
    if first is not None and first.seq == cover.seq:
        return first.amount
    return None if case.begins is None else minutes_apart(case.facts.window, cover.time)


def _put_off(case: Contested, zones: Sequence[str]) -> Answer:
    since = [(i.seq, body) for i, body in case.history.of(Deferral) if case.is_after(i)]
    return answer_by_zone(
        How.DEFERRAL,
        {
            zone: [seq for seq, body in since if body.zones is None or zone in body.zones]
            for zone in zones
        },
    )


def _repaired(case: Contested, zones: Sequence[str]) -> Answer:
    since = [(i.seq, body) for i, body in case.history.of(Repair) if case.is_after(i)]
    return answer_by_zone(
        How.REPAIRED, {zone: [seq for seq, b in since if zone in b.zones] for zone in zones}
    )


def _told(case: Contested) -> Iterator[Challenge]:
    notice = case.facts.notice
    if notice is None:
        yield point(Kind.NO_NOTICE, Grave.WEIGHT, today=(Step.NOTIFY_NOW,))
    elif notice.amount[0] > _NOTICE_WITHIN:
        yield point(Kind.LATE_NOTICE, Grave.WEIGHT, notice.seq, days=notice.amount)

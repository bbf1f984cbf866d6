"""What was mended, at whose risk, and what was seen and read at the place afterwards."""

import re
from collections.abc import Iterator, Sequence

from evidence.entries import Reseal
from evidence.times import Pair, days_apart, parse_day
from evidence.upkeep.contest.contested import Contested, answer, answer_by_zone
from evidence.upkeep.contest.kinds import Answer, Challenge, Grave, How, Kind, Step, point
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.items import Item
from evidence.upkeep.preserving import insurer_saw, is_lasting, set_aside
from evidence.upkeep.readings import by_spot, is_raised
from evidence.upkeep.sealing import UNFIT

_ID = re.compile(r"[a-z0-9-]+")


def mended(case: Contested) -> Iterator[Challenge]:
    """What an opposing reader will say of the work on the place, and of what came after it."""
    yield from _warned(case)
    yield from _unseen(case)
    yield from _seen_later(case)
    yield from _read_later(case)
    yield from _old_lots(case)


# Evidence taken away


def _warned(case: Contested) -> Iterator[Challenge]:
    """Warnings of this incident that were shown, and set aside by the next entry."""
    for warning, note, deed in set_aside(case.history):
        zones = _struck(case, deed)
        named = case.facts.id in _ID.findall(note) or deed.seq in case.naming
        if named or (zones and case.is_after(deed)):
            yield point(
                Kind.WARNING_OVERRIDDEN,
                Grave.WEIGHT,
                warning.seq,
                deed.seq,
                answers=(_pictured(case, zones, deed),),
                today=(Step.KEEP_PART, Step.LOOK_NOW),
                kind_of=deed.entry.kind,
            )


def _unseen(case: Contested) -> Iterator[Challenge]:
    """Lasting work on what the incident left, ahead of any insurer's answer or look.

    No permanent repair before the adjuster has seen it (TRADE § 6). Work on a place where nothing
    was left to see any more is upkeep.
    """
    notice = case.facts.notice
    sent = None if notice is None else case.history.item(notice.seq)
    for item in case.history.items:
        if item.withdrawn_by is not None or not is_lasting(item.body) or not case.is_after(item):
            continue
        zones = tuple(zone for zone in _struck(case, item) if _was_left(case, item, zone))
        seen = insurer_saw(case.history, case.standing.findings, case.facts, item.time)
        if zones and not seen:
            told = sent is not None and sent.time.latest <= item.time.latest
            yield point(
                Kind.MENDED_UNSEEN,
                Grave.WEIGHT,
                item.seq,
                answers=(
                    answer(How.NOTICED, [sent.seq] if sent is not None and told else []),
                    _pictured(case, zones, item),
                ),
                today=(Step.KEEP_PART,),
                zones=zones,
            )


def _struck(case: Contested, deed: Item) -> tuple[str, ...]:
    """The zones of a deed that the incident names, or at which it left something."""
    touched = getattr(deed.body, "zones", ())
    struck = dict.fromkeys((*case.facts.incident.zones, *(one.zone for one in case.left)))
    return tuple(zone for zone in struck if touched == "all" or zone in touched)


def _was_left(case: Contested, deed: Item, zone_id: str) -> bool:
    """Whether something found there stood open until the deed, or nobody had looked by then."""
    moment = deed.time.earliest or deed.time.latest
    there = [one for one in case.left if one.zone == zone_id]
    if any(one.settled == deed.seq or one.open_at(moment) for one in there):
        return True
    looked = next((zone.after for zone in case.facts.zones if zone.zone == zone_id), None)
    return not there and (looked is None or looked.item.time.latest > deed.time.latest)


def _pictured(case: Contested, zones: Sequence[str], deed: Item) -> Answer:
    ahead = {zone: case.pictured_ahead_of(zone, deed) for zone in zones}
    return answer_by_zone(How.PICTURED, ahead)


# What was seen and read later


def _seen_later(case: Contested) -> Iterator[Challenge]:
    for name, days in case.facts.later:
        finding = case.standing.finding(name)
        if finding is not None:
            yield point(
                Kind.LATER_FINDING,
                Grave.WEIGHT if finding.zone in case.named else Grave.QUESTION,
                finding.opened,
                answers=(_last_without(case, finding), _sound_before(case, finding.zone)),
                today=(Step.ACT_NOW,) if finding.state == "open" else (),
                days=days,
                finding=finding.type,
                zone=finding.zone,
            )


def _last_without(case: Contested, finding: FindingFacts) -> Answer:
    """A look after the incident that did not have it yet."""
    last = finding.last_without
    item = None if last is None else case.history.item(last.seq)
    return answer(How.LAST_WITHOUT, [item.seq] if item is not None and case.is_after(item) else [])


def _sound_before(case: Contested, zone_id: str) -> Answer:
    sound = (
        zone.before.seq
        for zone in case.facts.zones
        if zone.zone == zone_id and zone.before is not None and zone.before_state == "sound"
    )
    return answer(How.SOUND_BEFORE, sound)


def _read_later(case: Contested) -> Iterator[Challenge]:
    """Raised readings after the incident at its zones, or tied to it; each spot once."""
    tied = {one.id for one in case.left} | {name for name, _ in case.facts.later}
    for (zone_id, spot), rows in by_spot(case.history).items():
        raised = [
            item
            for item, body in rows
            if case.is_after(item)
            and is_raised(body, case.catalogue)
            and (zone_id in case.named or item.seq in case.naming or body.finding in tied)
        ]
        if raised:
            earlier = (item.seq for item, _ in rows if case.written_before(item))
            yield point(
                Kind.LATER_READING,
                Grave.WEIGHT if zone_id in case.named else Grave.QUESTION,
                *(item.seq for item in raised),
                answers=(answer(How.READ_BEFORE, earlier),),
                today=(Step.READ_AGAIN,),
                days=_days_after(case, raised[0]),
                zone=zone_id,
                spot=spot,
            )


def _days_after(case: Contested, item: Item) -> Pair:
    return days_apart(case.facts.window.days(case.history.home), item.bounds)


# Old sealant


def _old_lots(case: Contested) -> Iterator[Challenge]:
    """Reseals with a lot past its day; a later one from a good lot, that suits, answers."""
    laid = [(item, body) for item, body in case.history.of(Reseal) if _is_old(item, body)]
    old = {item.seq for item, _ in laid}
    for item, body in laid:
        if body.expires is None:
            continue
        later = {
            zone: [
                row.seq
                for row in case.standing.reseals
                if row.zone == zone
                and row.seq > item.seq
                and row.fit != UNFIT
                and row.seq not in old
            ]
            for zone in body.zones
        }
        resealed = answer_by_zone(How.RESEALED, later)
        yield point(
            Kind.OLD_LOT,
            Grave.WEIGHT if case.named & set(body.zones) else Grave.QUESTION,
            item.seq,
            answers=(resealed,),
            today=(Step.RESEAL,) if resealed.leaves else (),
            zones=body.zones,
            expired=parse_day(body.expires),
        )


def _is_old(item: Item, body: Reseal) -> bool:
    """Whether the lot's last day certainly lay before the work."""
    return body.expires is not None and parse_day(body.expires) < item.dates[0]

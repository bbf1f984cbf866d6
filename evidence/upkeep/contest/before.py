"""What was there before the incident, and on whose word."""

from collections.abc import Iterator
from datetime import date, timedelta

from evidence.entries import Handover, Inspection, Ownership
from evidence.times import parse_day
from evidence.upkeep.contest.contested import Contested, answer, answer_by_zone
from evidence.upkeep.contest.kinds import Answer, Challenge, Grave, How, Kind, Step, point
from evidence.upkeep.custody import NOBODY
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.incidents import Look, ZoneUnderIncident
from evidence.upkeep.items import Item
from evidence.words import Grade, KnownBy

_NO_RECORD = (NOBODY, KnownBy.NOTHING, KnownBy.HEARSAY)
_DAY = timedelta(days=1)


def before(case: Contested) -> Iterator[Challenge]:
    """Looks, outsiders and findings from before; hands from which nothing has come down."""
    vouched = any(
        given.counts and case.begins is not None and given.time <= case.begins
        for given in case.history.vouched
    )
    if not vouched:
        yield _nobody(case)
    for zone in case.facts.zones:
        yield from _zone(case, zone, vouched=vouched)
    for finding in case.standing.findings:
        yield from _stood_open(case, finding)
    yield from _hands(case)


def _nobody(case: Contested) -> Challenge:
    """No outsider before the incident. One whom the reader was not told to trust is named."""
    untrusted = [
        given.seq
        for given in case.history.vouched
        if not given.counts and case.begins is not None and given.time <= case.begins
    ]
    papers = {
        zone.zone: () if zone.before is None else case.backing(zone.before.item)[0].entries
        for zone in case.facts.zones
    }
    return point(
        Kind.NO_WITNESS_BEFORE,
        Grave.BEFORE,
        answers=(answer(How.UNTRUSTED, untrusted), answer_by_zone(How.PAPER, papers)),
        today=(Step.GIVE_TRUST, Step.WITNESS_NOW) if untrusted else (Step.WITNESS_NOW,),
    )


# Zone by zone


def _zone(case: Contested, zone: ZoneUnderIncident, *, vouched: bool) -> Iterator[Challenge]:
    if zone.before is None:
        yield point(
            Kind.NO_LOOK_BEFORE,
            Grave.BEFORE,
            *zone.claimed_before,
            answers=(_sealed_before(case, zone.zone), _handed_over(case, zone.zone)),
            today=(Step.ASK_OTHERS,),
            zone=zone.zone,
        )
    else:
        yield from _look(case, zone.zone, zone.before, vouched=vouched)
    if zone.changed_since:
        looks = [item for seq in zone.changed_since if (item := case.history.item(seq))]
        yield point(
            Kind.CHANGED_SINCE,
            Grave.BEFORE,
            *zone.changed_since,
            *(seq for look in looks for seq in _changes(look)),
            answers=(answer(How.FIRST_WORDS, zone.changed_since),),
            zone=zone.zone,
        )
    if zone.straddling:
        others = () if zone.before is None else (zone.before.seq,)
        yield point(
            Kind.STRADDLING,
            Grave.QUESTION if others else Grave.WEIGHT,
            *zone.straddling,
            answers=(answer(How.OTHER_LOOK, others),),
            zone=zone.zone,
        )


def _changes(item: Item) -> tuple[int | None, ...]:
    return (*item.corrected_by, item.withdrawn_by)


def _look(case: Contested, zone_id: str, look: Look, *, vouched: bool) -> Iterator[Challenge]:
    """The last look before: who vouches for it, and what it shows of the place."""
    if vouched and look.support == "own-clock-before":
        later = [
            given.seq for given in case.history.vouched if given.counts and given.size > look.seq
        ]
        yield point(
            Kind.OWN_CLOCK,
            Grave.BEFORE,
            look.seq,
            answers=(answer(How.WITNESSED_LATER, later[:1]), *case.backing(look.item)),
            today=() if later else (Step.WITNESS_NOW,),
            zone=zone_id,
        )
    if not case.shows(look.item, zone_id):
        yield point(
            Kind.NO_PICTURE_BEFORE,
            Grave.WEIGHT,
            look.seq,
            answers=(_sealed_before(case, zone_id),),
            today=(Step.ASK_OTHERS,),
            zone=zone_id,
        )


def _sealed_before(case: Contested, zone_id: str) -> Answer:
    """Pictures of the place that had been sealed when the window began, whatever the entry."""
    held = (item.seq for item, _ in case.pictured(zone_id) if case.written_before(item))
    return answer(How.SEALED_BEFORE, held)


def _handed_over(case: Contested, zone_id: str) -> Answer:
    graded = (
        item.seq
        for item, body in case.history.of(Handover)
        if case.written_before(item) and zone_id in {row.zone for row in body.zones or ()}
    )
    return answer(How.HANDOVER, graded)


# What stood open


def _stood_open(case: Contested, finding: FindingFacts) -> Iterator[Challenge]:
    """In a zone named: all of grade 2 or more; elsewhere: what was to be acted on before."""
    begins = case.begins or case.facts.window.latest
    if not finding.open_at(begins):
        return
    here, overdue = finding.zone in case.named, finding.act_by < case.day
    if not overdue and not (here and finding.grade_at(begins) >= Grade.MAINTAIN):
        return
    if not here and finding.responsible is not None:
        return
    first = finding.first_seen.span.days(case.history.home)
    found = [
        opened.opened
        for zone in case.facts.zones
        if zone.zone == finding.zone
        for name in zone.found
        if (opened := case.standing.finding(name)) is not None
    ]
    yield point(
        Kind.OPEN_IN_ZONE if here else Kind.OPEN_ELSEWHERE,
        Grave.BEFORE if here else Grave.WEIGHT,
        finding.opened,
        answers=(
            answer(How.RESPONSIBLE, _promises(case, finding)),
            answer(How.OWN_FINDING, found),
        ),
        today=(Step.ACT_NOW,) if finding.state == "open" else (),
        finding=finding.type,
        zone=finding.zone,
        days=((case.day - first[1]).days, (case.day - first[0]).days),
        by=finding.act_by,
    )


def _promises(case: Contested, finding: FindingFacts) -> list[int]:
    if finding.responsible is None:
        return []
    return [
        item.seq
        for item, body in case.history.of(Handover)
        if finding.id in {defect.finding for defect in body.defects or ()}
    ]


# Earlier hands


def _hands(case: Contested) -> Iterator[Challenge]:
    """Spans before the incident from which no record has come down."""
    bands = case.standing.custody
    first = bands[0].from_ if bands else _began(case)
    built = None if case.history.rig.built is None else parse_day(case.history.rig.built)
    if built is not None and built < min(first, case.day):
        yield point(
            Kind.BEFORE_ANY_HAND,
            Grave.QUESTION,
            answers=(_baseline(case),),
            today=(Step.ASK_HOLDER,),
            start=built,
            end=min(first, case.day) - _DAY,
        )
    stated = {(body.party, body.from_): item.seq for item, body in case.history.of(Ownership)}
    for band in bands:
        if band.record not in _NO_RECORD or band.from_ >= case.day:
            continue
        seq = stated.get((band.party or "", band.from_.isoformat()))
        yield point(
            Kind.UNKNOWN_HANDS,
            Grave.QUESTION,
            seq,
            answers=(_baseline(case),),
            today=(Step.ASK_HOLDER,),
            start=band.from_,
            end=case.day - _DAY if band.to is None else min(band.to, case.day - _DAY),
            record=band.record,
        )


def _began(case: Contested) -> date:
    """The day on which the record begins."""
    return case.history.items[0].entry.logged.astimezone(case.history.home).date()


def _baseline(case: Contested) -> Answer:
    """The first look written down before the incident: what was there when the record began."""
    looks = (item for item, _ in case.history.of(Inspection) if case.written_before(item))
    return answer(How.BASELINE, [item.seq for item in looks][:1])

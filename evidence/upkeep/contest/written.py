"""How it was written down: late, afterwards, corrected, against another clock."""

from collections.abc import Iterator
from itertools import count, takewhile

from evidence.entries import Correction
from evidence.times import GRACE
from evidence.upkeep.behind import set_back
from evidence.upkeep.contest.contested import Contested, answer
from evidence.upkeep.contest.kinds import Answer, Challenge, Grave, How, Kind, Step, point
from evidence.upkeep.items import Item
from evidence.upkeep.sealing import UNFIT
from evidence.upkeep.standing import logged_after


def written(case: Contested) -> Iterator[Challenge]:
    """Every entry that was not written down at the time, or not left as it was."""
    for item in case.history.items:
        yield from _when(case, item)
        yield from _changed(case, item)
    yield from _set_back(case)
    yield from _sealants(case)


def _set_back(case: Contested) -> Iterator[Challenge]:
    """What stands behind a later clock, under the entry with which the clock was set back."""
    behind = case.history.behind
    for _, step in set_back([item.entry for item in case.history.items]):
        if step.seq not in behind or behind[step.seq] - step.logged <= GRACE:
            continue
        run = takewhile(behind.__contains__, count(step.seq))
        minutes = int((behind[step.seq] - step.logged).total_seconds()) // 60
        yield point(
            Kind.CLOCK_SET_BACK,
            Grave.WEIGHT,
            *run,
            today=(Step.WITNESS_NOW,),
            minutes=(minutes, minutes),
        )


def _when(case: Contested, item: Item) -> Iterator[Challenge]:
    kind = item.entry.kind
    if item.lag_days is not None:
        if case.facts.id in logged_after(item, [case.facts]):
            yield point(
                Kind.WRITTEN_AFTER,
                Grave.WEIGHT,
                item.seq,
                answers=case.backing(item),
                today=(Step.ASK_PAPER,),
                kind_of=kind,
                days=item.lag_days,
            )
        elif not item.within_24h:
            yield point(
                Kind.LATE_ENTRY,
                Grave.QUESTION,
                item.seq,
                answers=case.backing(item),
                kind_of=kind,
                days=item.lag_days,
            )
    if item.conflict:
        papers, _ = case.backing(item)
        yield point(
            Kind.CLOCK_DISAGREES,
            Grave.WEIGHT,
            item.seq,
            answers=(papers,),
            today=(Step.TEST_CLOCK,),
            kind_of=kind,
        )
    if not case.history.in_bracket(item):
        yield point(
            Kind.WRITERS_CLOCK,
            Grave.WEIGHT,
            item.seq,
            today=(Step.TEST_CLOCK,),
            kind_of=kind,
        )


def _changed(case: Contested, item: Item) -> Iterator[Challenge]:
    if isinstance(item.body, Correction):
        return
    if item.corrected_by:
        yield point(
            Kind.CORRECTED,
            _grave(case, item.corrected_by),
            item.seq,
            *item.corrected_by,
            answers=_reasons(case, item.corrected_by),
            kind_of=item.entry.kind,
        )
    if item.withdrawn_by is not None:
        yield point(
            Kind.WITHDRAWN,
            _grave(case, (item.withdrawn_by,)),
            item.seq,
            item.withdrawn_by,
            answers=_reasons(case, (item.withdrawn_by,)),
            kind_of=item.entry.kind,
        )


def _grave(case: Contested, changes: tuple[int, ...]) -> Grave:
    """What was changed after the incident weighs more."""
    return Grave.QUESTION if _before(case, changes) == list(changes) else Grave.WEIGHT


def _before(case: Contested, changes: tuple[int, ...]) -> list[int]:
    items = (case.history.item(seq) for seq in changes)
    return [item.seq for item in items if item is not None and case.written_before(item)]


def _reasons(case: Contested, changes: tuple[int, ...]) -> tuple[Answer, Answer]:
    return answer(How.REASON, changes), answer(How.MADE_BEFORE, _before(case, changes))


def _sealants(case: Contested) -> Iterator[Challenge]:
    """Reseals that by the catalogue do not suit their place; a later one that does answers."""
    for row in case.standing.reseals:
        if row.fit != UNFIT:
            continue
        later = (
            other.seq
            for other in case.standing.reseals
            if other.zone == row.zone and other.seq > row.seq and other.fit != UNFIT
        )
        resealed = answer(How.RESEALED, later)
        yield point(
            Kind.UNFIT_SEALANT,
            Grave.WEIGHT if row.zone in case.named else Grave.QUESTION,
            row.seq,
            answers=(resealed,),
            today=() if resealed.entries else (Step.RESEAL,),
            family=row.family,
            zone=row.zone,
        )

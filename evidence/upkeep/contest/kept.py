"""How the rules were kept, and whose rules they are."""

from collections.abc import Iterator

from evidence.entries import Inspection
from evidence.upkeep.contest.contested import Contested, answer, answer_by_zone
from evidence.upkeep.contest.kinds import Answer, Challenge, Grave, How, Kind, Step, point
from evidence.upkeep.gaps import Gap, Met, RuleGaps
from evidence.upkeep.places import FROM_BELOW
from evidence.words import RuleBasis, Task

_OWN = {RuleBasis.OWNERS_OWN: Kind.OWN_RULE, RuleBasis.TOOL_DEFAULT: Kind.DEFAULT_RULE}


def kept(case: Contested) -> Iterator[Challenge]:
    """Gaps and duties beyond the rules that are counted, and the rules themselves."""
    for measured in (*case.standing.rules, *case.standing.superseded_rules):
        if measured.rule.required:
            yield from _gaps(case, measured)
            yield from _written_late(case, measured)
    yield from _duties(case)
    yield from _whose(case)


# The time between


def _gaps(case: Contested, measured: RuleGaps) -> Iterator[Challenge]:
    """Every gap beyond the rule in the zones named and in the worst zone; the rest is counted.

    Zones that share a gap share its sentence.
    """
    worst = measured.worst
    if worst is None:
        return
    told: dict[tuple[object, ...], list[Gap]] = {}
    for row in measured.zones:
        if row.zone in case.named or row is worst:
            for gap in row.gaps:
                if gap.over[1]:
                    same = (gap.from_, gap.to, gap.days, gap.open, gap.closed_by)
                    told.setdefault(same, []).append(gap)
    for gaps in told.values():
        yield _gap(case, measured, gaps)
    silent = [
        row.zone
        for row in measured.zones
        if row.over[1] and row is not worst and row.zone not in case.named
    ]
    if silent:
        yield point(
            Kind.GAPS_ELSEWHERE,
            Grave.QUESTION,
            measured.item.seq,
            rule=measured.rule.id,
            zones_more=(len(silent), len(silent)),
        )
    if measured.met_as_stated is Met.YES and measured.met_on_time is not Met.YES:
        late = [
            item
            for seq in sorted(measured.counted)
            if (item := case.history.item(seq)) is not None and not item.on_time
        ]
        yield point(
            Kind.KEPT_BY_LATE,
            Grave.WEIGHT,
            measured.item.seq,
            *(item.seq for item in late),
            answers=case.backing(*late),
            rule=measured.rule.id,
        )


def _gap(case: Contested, measured: RuleGaps, gaps: list[Gap]) -> Challenge:
    gap, rule = gaps[0], measured.rule
    zones = tuple(one.zone for one in gaps)
    put_off = answer_by_zone(How.DEFERRAL, {one.zone: one.deferrals for one in gaps})
    return point(
        Kind.OPEN_GAP if gap.open else Kind.GAP,
        Grave.WEIGHT if gap.from_ < case.day else Grave.QUESTION,
        measured.item.seq,
        gap.closed_by,
        answers=(put_off, _from_below(case, rule.task, gap, zones)),
        today=(Step.LOOK_NOW,) if gap.open and rule.task is Task.INSPECTION else (),
        days=gap.days,
        deed=rule.task,
        zones=zones,
        start=gap.from_,
        end=gap.to,
        over=gap.over,
        limit=(rule.days, rule.days),
    )


def _from_below(case: Contested, task: Task, gap: Gap, zones: tuple[str, ...]) -> Answer:
    """Looks in the gap from the ground or from inside, which cover no zone of the roof."""
    if task is not Task.INSPECTION:
        return answer(How.FROM_BELOW, ())
    looks = [
        (item.seq, {row.zone for row in body.zones})
        for item, body in case.history.of(Inspection)
        if body.means in FROM_BELOW
        and gap.from_ < item.dates[0] <= item.dates[1] <= gap.to
        and item.seq != gap.closed_by
    ]
    return answer_by_zone(
        How.FROM_BELOW, {zone: [seq for seq, seen in looks if zone in seen] for zone in zones}
    )


# Duties after events


def _duties(case: Contested) -> Iterator[Challenge]:
    for duty in case.standing.duties:
        if Met.NO not in (duty.met, duty.met_on_time):
            continue
        done = None if duty.done is None else case.history.item(duty.done)
        yield point(
            Kind.DUTY_UNDONE if duty.met is Met.NO else Kind.DUTY_LATE,
            Grave.WEIGHT if duty.from_ <= case.day else Grave.QUESTION,
            duty.trigger,
            duty.done,
            answers=() if done is None or duty.met is Met.NO else case.backing(done),
            task=duty.task,
            by=duty.by_at_latest,
        )


# The rules themselves


def _written_late(case: Contested, measured: RuleGaps) -> Iterator[Challenge]:
    """A rule that the record knows only since after its first day, or after a gap had ended."""
    known = measured.ruled.known_from.astimezone(case.history.home).date()
    first = measured.ruled.first_day
    if known <= first:
        return
    ended = [
        gap
        for row in measured.zones
        for gap in row.gaps
        if not gap.open and gap.to < known and gap.over[1]
    ]
    filed = () if measured.rule.paper is None else (measured.rule.paper,)
    answers = (answer(How.PAPER, filed),)
    if ended:
        longest = max(ended, key=lambda gap: gap.days)
        yield point(
            Kind.RULE_AFTER_GAP,
            Grave.WEIGHT,
            measured.item.seq,
            answers=answers,
            rule=measured.rule.id,
            known=known,
            days=longest.days,
            end=longest.to,
        )
    else:
        yield point(
            Kind.RULE_LATER,
            Grave.QUESTION,
            measured.item.seq,
            answers=answers,
            rule=measured.rule.id,
            known=known,
            first=first,
        )


def _whose(case: Contested) -> Iterator[Challenge]:
    """Rules in force that are the owner's own or this program's defaults, each sort once."""
    for basis, kind in _OWN.items():
        rules = [
            (item, rule)
            for item, rule in case.history.rules()
            if rule.required and rule.basis is basis
        ]
        if rules:
            yield point(
                kind,
                Grave.QUESTION,
                *(item.seq for item, _ in rules),
                today=(Step.FILE_RULE,),
                rules=tuple(rule.id for _, rule in rules),
            )

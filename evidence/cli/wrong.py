"""What is wrong by the record, in sentences: what stands open, was not done, or does not suit."""

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from evidence.dossier import say
from evidence.dossier.exhibits import file_name
from evidence.dossier.wording import wording
from evidence.upkeep.carded import CardState, cards_seen
from evidence.upkeep.gaps import Met
from evidence.upkeep.sealing import UNFIT, not_replaced
from evidence.words import Grade

if TYPE_CHECKING:
    from collections.abc import Sequence

    from evidence.upkeep import Standing
    from evidence.upkeep.findings import FindingFacts
    from evidence.upkeep.gaps import Gap, RuleGaps


def what_is_wrong(standing: "Standing") -> Iterator[str]:
    """Open findings, the gravest first; duties and rules not kept; sealants; clocks; cards."""
    open_findings = [finding for finding in standing.findings if finding.state == "open"]
    for finding in sorted(open_findings, key=lambda finding: (-finding.grade, finding.opened)):
        yield finding_line(standing, finding)
    yield from _undone(standing)
    for measured in standing.rules:
        if measured.rule.required:
            yield from _beyond(standing, measured)
    yield from _unfit(standing)
    for item in standing.history.items:
        if item.conflict:
            yield f"The picture's clock and the statement disagree ({say.entries([item.seq])})."
    yield from _wrong_cards(standing)


# Findings


def label(standing: "Standing", zone_id: str) -> str:
    """A zone's name."""
    return standing.history.place(zone_id).zone.label


def finding_name(standing: "Standing", finding: "FindingFacts") -> str:
    """`hole or tear (f3)`: its words, and the id that tells it from another of its words."""
    return f"{standing.catalogue.findings[finding.type].words} ({finding.id})"


def finding_line(standing: "Standing", finding: "FindingFacts") -> str:
    """What was seen, where, how grave it is, how long it has stood open, by when to act on it."""
    grade = standing.catalogue.grades[Grade(finding.grade)].word
    days = say.counted(finding.days_open, "day")
    over = (standing.history.on - finding.act_by).days
    late = f", {say.counted((over, over), 'day')} over its day to be acted on" if over > 0 else ""
    return (
        f"{say.sentence(label(standing, finding.zone))}: {finding_name(standing, finding)}, "
        f"grade {finding.grade} ({grade}), open for {days}{late} "
        f"({say.entries([finding.opened])})."
    )


# Duties and rules


def _undone(standing: "Standing") -> Iterator[str]:
    """Duties after and before events that were not done in full by their day."""
    for duty in standing.duties:
        if duty.met is not Met.NO:
            continue
        words = say.sentence(standing.catalogue.tasks[duty.task].words)
        if duty.done is None:
            missing = (len(duty.missing), len(duty.missing))
            state = f"not done in full, {say.counted(missing, 'zone')} missing"
        else:
            state = f"done later ({say.entries([duty.done])})"
        yield (
            f"{words}, to be done by {say.day(duty.by_at_latest)} "
            f"({say.entries([duty.trigger])}): {state}."
        )


def _beyond(standing: "Standing", measured: "RuleGaps") -> Iterator[str]:
    """The longest time beyond a rule that has ended, and the longest that goes on; then the rest.

    Zones that share a gap share its sentence: what has ended does not read as what goes on.
    """
    shared: dict[tuple[date, date, bool], list[Gap]] = {}
    for row in measured.zones:
        for gap in row.gaps:
            if gap.over[1]:
                shared.setdefault((gap.from_, gap.to, gap.open), []).append(gap)
    told: set[str] = set()
    for goes_on in (True, False):
        alike = [gaps for (*_, still), gaps in shared.items() if still is goes_on]
        if alike:
            worst = max(alike, key=lambda gaps: (gaps[0].days, len(gaps)))
            told |= {gap.zone for gap in worst}
            yield _gap(standing, measured, worst)
    others = {gap.zone for gaps in shared.values() for gap in gaps} - told
    if others:
        count = say.counted((len(others), len(others)), "zone")
        yield f"{count} more lie beyond the rule {measured.rule.id}, too: see --json."


def _gap(standing: "Standing", measured: "RuleGaps", gaps: "Sequence[Gap]") -> str:
    first, more = gaps[0], len(gaps) - 1
    places = say.sentence(label(standing, first.zone))
    places += f" and {say.counted((more, more), 'zone')} more" if more else ""
    deed = wording("common").say("deed", measured.rule.task)
    return (
        f"{places}: {say.counted(first.days, 'day')} without {deed} {_when(first)}, "
        f"{say.count(first.over)} over the rule {measured.rule.id}."
    )


def _when(gap: "Gap") -> str:
    if gap.open:
        return f"since {say.day(gap.from_)}"
    return f"between {say.day(gap.from_)} and {say.day(gap.to)}"


def longest(measured: "RuleGaps") -> str:
    """The longest gap of a rule, with its dates where it is one gap's own."""
    days = say.counted(measured.longest, "day")
    same = [g for row in measured.zones for g in row.gaps if g.days == measured.longest]
    if not same:
        return f"{days} at the longest"
    return f"{days} at the longest, {_when(max(same, key=lambda gap: gap.open))}"


# Sealants and cards


def _unfit(standing: "Standing") -> Iterator[str]:
    """Reseals that by the catalogue do not suit their place, and lie there still."""
    for row in not_replaced(standing.reseals):
        place = say.sentence(label(standing, row.zone))
        yield (
            f"{place}: sealed with {row.family}, which by the catalogue does not suit it (fit "
            f"{UNFIT}; {say.entries([row.seq])})."
        )


def _wrong_cards(standing: "Standing") -> Iterator[str]:
    """Cards that a clock contradicts, and those whose answer the record does not hold."""
    words, told = wording("entries"), set()
    for seen in cards_seen(standing.history):
        digest = seen.picture.file.sha256
        if digest in told:  # in an earlier entry already
            continue
        told.add(digest)
        key = "wrong_unknown" if seen.state is CardState.UNKNOWN else "wrong_contradicted"
        if seen.contradicted or seen.state is CardState.UNKNOWN:
            said = words.say("card", key, name=file_name(seen.picture))
            yield f"{said} ({say.entries([seen.item.seq])})."

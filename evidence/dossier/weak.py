"""What an opposing reader will say of a claim, from the record itself."""

from collections.abc import Iterator
from dataclasses import dataclass

from evidence.dossier import say
from evidence.dossier.exhibits import of_zone
from evidence.dossier.wording import wording
from evidence.upkeep import Standing
from evidence.upkeep.gaps import Gap, RuleGaps
from evidence.upkeep.incidents import IncidentFacts
from evidence.upkeep.standing import logged_after
from evidence.words import RuleBasis, Task


@dataclass(frozen=True, slots=True)
class Weakness:
    """One weak point and the entries that it is about."""

    text: str
    cites: tuple[int, ...]


def weak_points(standing: Standing, facts: IncidentFacts) -> list[Weakness]:
    """Every weak point of the kinds that are looked for, the gravest kinds first."""
    found = [
        *_looks_before(standing, facts),
        *_gaps(standing),
        *_entries(standing, facts),
        *_clocks(standing),
        *_rules(standing),
    ]
    return found or [Weakness(wording("claim").say("weak", "none"), ())]


def _looks_before(standing: Standing, facts: IncidentFacts) -> Iterator[Weakness]:
    words, history = wording("claim"), standing.history
    begins = facts.window.earliest
    vouched = [a for a in history.vouched if a.counts and begins is not None and a.time <= begins]
    if not vouched:
        yield Weakness(words.say("weak", "nobody"), ())
    for zone in facts.zones:
        label = history.place(zone.zone).zone.label
        if zone.before is None:
            yield Weakness(words.say("weak", "no_before", zone=label), ())
        else:
            number = zone.before.seq + 1
            if not of_zone(zone.before.item, zone.zone):
                text = words.say("weak", "no_picture", zone=label, number=number)
                yield Weakness(text, (zone.before.seq,))
            if zone.before.support == "own-clock-before" and vouched:
                text = words.say("weak", "own_clock", zone=label, number=number)
                yield Weakness(text, (zone.before.seq,))
        if zone.straddling:
            refs = say.entries(zone.straddling)
            text = words.say("weak", "straddling", zone=label, entries=refs)
            yield Weakness(text, zone.straddling)


def _gaps(standing: Standing) -> Iterator[Weakness]:
    words = wording("claim")
    for measured in standing.rules:
        if not measured.rule.required or measured.worst is None:
            continue
        for gap in measured.worst.gaps:
            if gap.over[1] == 0:
                continue
            text = words.say("weak", "gap", **_gap_words(standing, measured, gap))
            if gap.deferrals:
                refs = say.entries(gap.deferrals)
                text += " " + words.say("weak", "deferral", entries=refs)
            yield Weakness(text, gap.deferrals)


def _gap_words(standing: Standing, measured: RuleGaps, gap: Gap) -> dict[str, object]:
    return {
        "days": say.counted(gap.days, "day"),
        "zone": standing.history.place(gap.zone).zone.label,
        "from": say.day(gap.from_),
        "to": say.day(gap.to),
        "over": say.counted(gap.over, "day"),
        "rule": say.counted((measured.rule.days, measured.rule.days), "day"),
    }


def _entries(standing: Standing, facts: IncidentFacts) -> Iterator[Weakness]:
    words = wording("claim")
    for item in standing.history.items:
        named = {"number": item.entry.number, "kind": item.entry.kind}
        if item.span is not None and not item.within_24h and item.lag_days is not None:
            days = say.counted(item.lag_days, "day")
            yield Weakness(words.say("weak", "late", days=days, **named), (item.seq,))
        if facts.id in logged_after(item, standing.incidents):
            yield Weakness(words.say("weak", "after", **named), (item.seq,))
        if item.conflict:
            yield Weakness(words.say("weak", "conflict", **named), (item.seq,))
        if item.corrected_by:
            by = say.entries(item.corrected_by)
            text = words.say("weak", "corrected", by=by, **named)
            yield Weakness(text, (item.seq, *item.corrected_by))
        if item.withdrawn_by is not None:
            text = words.say("weak", "withdrawn", by=item.withdrawn_by + 1, **named)
            yield Weakness(text, (item.seq, item.withdrawn_by))


def _clocks(standing: Standing) -> Iterator[Weakness]:
    """Pictures whose camera wrote a time that cannot be relied on."""
    distrusted = [
        (item.seq, picture)
        for item, picture in standing.history.pictures()
        if picture.file.camera is not None
        and picture.file.camera.DateTimeOriginal is not None
        and not picture.capture.relied_on
    ]
    if distrusted:
        names = say.listed(str(picture.file.name) for _, picture in distrusted[:4])
        text = wording("claim").say("weak", "unreliable", count=len(distrusted), names=names)
        yield Weakness(text, tuple(dict.fromkeys(seq for seq, _ in distrusted)))


def _rules(standing: Standing) -> Iterator[Weakness]:
    for measured in standing.rules:
        rule = measured.rule
        own = rule.basis is not RuleBasis.PAPER_ON_FILE
        if rule.task is Task.INSPECTION and rule.required and own:
            text = wording("claim").say("weak", "own_rule", rule=rule.id)
            yield Weakness(text, (measured.item.seq,))

"""From the measured record to what the figures draw: roof plan, time strip, onset windows."""

from collections.abc import Sequence
from datetime import date

from evidence.dossier import say
from evidence.entries import Body, Cover, Inspection, Repair, Reseal, Treatment, Wash
from evidence.figures import (
    Bar,
    Deed,
    DeedKind,
    Gap,
    IncidentWindow,
    Look,
    PlanZone,
    RoofPlan,
    StripRow,
    TimeStrip,
    WindowBar,
)
from evidence.times import days_apart
from evidence.trade import Catalogue
from evidence.upkeep import History, Standing
from evidence.upkeep.findings import FindingFacts, zone_grade
from evidence.upkeep.gaps import RuleGaps
from evidence.upkeep.incidents import IncidentFacts
from evidence.upkeep.places import FROM_BELOW
from evidence.upkeep.standing import told_from

_ROWS: tuple[tuple[str, tuple[tuple[DeedKind, type[Body]], ...]], ...] = (
    ("wash, treatment", (("wash", Wash), ("treatment", Treatment))),
    ("reseal", (("reseal", Reseal),)),
    ("cover, repair", (("cover", Cover), ("repair", Repair))),
)
"""The rows below the looks: what each is called and the kinds that stand on it."""

_LONGEST_NAME = 40
"""Characters of a name that a drawing has room for; the tables say the whole."""
_MANY = 12
_LONGEST_OF_FEW, _LONGEST_OF_MANY = 24, 10
"""The same on a plan that names only the zones in question."""


def roof_plan(standing: Standing, highlight: tuple[str, ...], *, whole: bool) -> RoofPlan:
    """The rig's plan: zones, the age of each one's last look, the place in question.

    Args:
        standing: the measured record.
        highlight: the zones in question.
        whole: name every zone, and say below what greys and signs mean; else name only those
            in question.
    """
    history = standing.history
    room = _LONGEST_NAME
    if not whole:
        room = _LONGEST_OF_MANY if len(highlight) > _MANY else _LONGEST_OF_FEW
    zones = []
    for place in history.places:
        if not place.on_roof or place.until is not None:
            continue
        looks = history.looks_at(place.id)
        ages = days_apart(looks[-1][0].bounds, (history.on, history.on)) if looks else None
        zones.append(
            PlanZone(
                id=place.id,
                label=_name(history, place.id, room),
                type=place.zone.type,
                at=place.zone.at,
                size_mm=place.zone.size_mm,
                look_age_days=None if ages is None else ages[1],
                grade=zone_grade(history, standing.findings, place.id),
                highlight=place.id in highlight,
            )
        )
    return RoofPlan(
        history.rig.length_mm,
        history.rig.width_mm,
        tuple(zones),
        name=history.rig.name,
        key=whole,
        sparse=not whole,
    )


def incident_window(history: History, facts: IncidentFacts) -> IncidentWindow:
    """The incident on a line of time."""
    first, last = facts.window.days(history.home)
    begins = None if facts.window.earliest is None else first
    return IncidentWindow(begins, last, facts.incident.stated_cause)


def time_strip(
    standing: Standing,
    facts: IncidentFacts | None,
    measured: RuleGaps | None,
    start: date | None = None,
) -> TimeStrip:
    """The upkeep over the record, and what lay beyond the rule in its worst zone.

    Args:
        standing: the measured record.
        facts: the incident that it is about, if it is about one. A look is then marked as witnessed
            where an outsider vouched for it before; else where one vouches for it at all.
        measured: the rule for looks, if there is one.
        start: the first day shown; that of the record where none is given.
    """
    history = standing.history
    rows = [StripRow("looks", (*_gaps(measured), *_looks(history, facts)))]
    for label, kinds in _ROWS:
        deeds = tuple(
            Deed(item.dates[0], mark) for mark, kind in kinds for item, _ in history.of(kind)
        )
        if deeds:
            rows.append(StripRow(label, deeds))
    away = (*_trips(history), *_storages(history))
    if away:
        rows.append(StripRow("trips, storage", away))
    answers = [
        answer.time.astimezone(history.home).date() for answer in history.vouched if answer.counts
    ]
    return TimeStrip(
        start=start or told_from(history),
        end=history.on,
        rows=tuple(rows),
        witnesses=tuple(answers),
        incident=None if facts is None else incident_window(history, facts),
        key=False,
    )


def _looks(history: History, facts: IncidentFacts | None) -> list[Look]:
    def witnessed(seq: int) -> bool:
        if facts is None:
            return history.outsiders.not_after(seq) is not None
        return history.outsiders.before(seq, facts.window.earliest)

    return [
        Look(
            when=item.dates if item.dates[0] != item.dates[1] else item.dates[0],
            witnessed=witnessed(item.seq),
            late=not item.within_24h,
        )
        for item, body in history.of(Inspection)
        if body.means not in FROM_BELOW
    ]


def _gaps(measured: RuleGaps | None) -> list[Gap]:
    if measured is None or measured.worst is None:
        return []
    return [
        Gap(
            first=gap.from_,
            last=gap.to,
            over_from=gap.over_from(measured.rule.days),
            over_days=gap.over,
        )
        for gap in measured.worst.gaps
    ]


def _trips(history: History) -> list[Bar]:
    return [
        Bar(history.first_day(trip.out), None if back is None else history.last_day(back), "trip")
        for _, trip, back in history.trips()
    ]


def _storages(history: History) -> list[Bar]:
    return [
        Bar(
            history.first_day(storage.from_),
            None if to is None else history.last_day(to),
            "storage",
        )
        for _, storage, to in history.storages()
    ]


def window_bars(
    history: History, findings: Sequence[FindingFacts], catalogue: Catalogue
) -> tuple[WindowBar, ...]:
    """When each finding was first seen, and the last look without it."""
    return tuple(
        WindowBar(
            label=f"{catalogue.findings[facts.type].words}, {_name(history, facts.zone)}",
            earliest=None
            if facts.last_without is None
            else facts.last_without.span.days(history.home)[0],
            latest=facts.onset[1].astimezone(history.home).date(),
            seen=facts.first_seen.span.days(history.home)[0],
            note=say.entries([facts.first_seen.seq]),
        )
        for facts in findings
    )


def _name(history: History, zone_id: str, most: int = _LONGEST_NAME) -> str:
    return say.clipped(history.place(zone_id).zone.label, most)

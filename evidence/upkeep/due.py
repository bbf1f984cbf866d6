"""What is due, by when and by whose rule, in order of date."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from evidence.entries import Rule
from evidence.times import Pair, days_apart
from evidence.trade import Catalogue
from evidence.upkeep.duties import Duty
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.gaps import RuleGaps
from evidence.upkeep.standing import Standing
from evidence.words import Means, Role, Task

_HANDS_ON = (Task.WASH, Task.TREATMENT, Task.RESEAL, Task.MOISTURE)

WAYS_OF_LOOKING = tuple(means.value for means in Means if means not in (Means.GROUND, Means.INSIDE))


@dataclass(frozen=True, slots=True)
class Due:
    """One thing to do.

    `rule`, `basis` and `authority` are None for a finding: it is due by the catalogue's days.
    `ways` are the means by which it may be done; nobody has to climb.
    """

    task: str
    zones: tuple[str, ...]
    by: date
    rule: str | None
    basis: str | None
    authority: str | None
    required: bool
    why: str
    overdue: Pair
    ways: tuple[str, ...]
    cautions: tuple[str, ...]


def what_is_due(standing: Standing, catalogue: Catalogue) -> tuple[Due, ...]:
    """Every rule, duty and open finding with its date, the earliest first."""
    rows = [
        *(row for rule in standing.rules for row in _from_rule(standing, catalogue, rule)),
        *_from_duties(standing, catalogue),
        *(
            _from_finding(standing, catalogue, finding)
            for finding in standing.findings
            if finding.state == "open"
        ),
    ]
    return tuple(sorted(rows, key=lambda row: (row.by, row.task, row.zones)))


def _overdue(standing: Standing, by: date, by_at_latest: date | None = None) -> Pair:
    on = standing.history.on
    return days_apart((by, by_at_latest or by), (on, on))


def _ways(rule: Rule) -> tuple[str, ...]:
    if rule.means is not None:
        return tuple(means.value for means in rule.means)
    return WAYS_OF_LOOKING if rule.task not in _HANDS_ON else ()


def _cautions(catalogue: Catalogue, task: Task) -> tuple[str, ...]:
    return tuple(row.text for row in catalogue.cautions_for(task))


def _from_rule(standing: Standing, catalogue: Catalogue, measured: RuleGaps) -> Iterator[Due]:
    """One row for each date on which zones of the rule fall due."""
    rule = measured.rule
    by_date: dict[tuple[date, date], list[str]] = defaultdict(list)
    for row in measured.zones:
        if row.due is None or row.due_at_latest is None:
            continue
        if rule.applies_to is None or row.due.isoformat() <= rule.applies_to:
            by_date[row.due, row.due_at_latest].append(row.zone)
    for (by, by_at_latest), zones in by_date.items():
        yield Due(
            task=rule.task,
            zones=tuple(zones),
            by=by,
            rule=rule.id,
            basis=rule.basis,
            authority=rule.authority,
            required=rule.required,
            why=f"every {rule.days} days",
            overdue=_overdue(standing, by, by_at_latest),
            ways=_ways(rule),
            cautions=_cautions(catalogue, rule.task),
        )


def _from_duties(standing: Standing, catalogue: Catalogue) -> Iterator[Due]:
    rules = {rule.id: rule for _, rule in standing.history.rules()}
    for duty in standing.duties:
        if duty.done is None and not _too_late(standing, duty):
            yield _from_duty(standing, catalogue, duty, rules[duty.rule])


def _too_late(standing: Standing, duty: Duty) -> bool:
    """What had to be done before an event can no longer be done behind it."""
    before = duty.task in (Task.BEFORE_STORAGE, Task.BEFORE_WARRANTY_END)
    return before and duty.by_at_latest < standing.history.on


def _from_duty(standing: Standing, catalogue: Catalogue, duty: Duty, rule: Rule) -> Due:
    return Due(
        task=rule.task,
        zones=duty.missing,
        by=duty.by,
        rule=rule.id,
        basis=rule.basis,
        authority=rule.authority,
        required=rule.required,
        why=f"entry {duty.trigger + 1}, from {duty.from_}",
        overdue=_overdue(standing, duty.by, duty.by_at_latest),
        ways=_ways(rule),
        cautions=_cautions(catalogue, rule.task),
    )


def _from_finding(standing: Standing, catalogue: Catalogue, finding: FindingFacts) -> Due:
    row = catalogue.findings[finding.type]
    return Due(
        task="finding",
        zones=(finding.zone,),
        by=finding.act_by,
        rule=None,
        basis=None,
        authority=None,
        required=_falls_to_the_keeper(standing, finding),
        why=f"{row.words}, grade {finding.grade}, seen in entry {finding.first_seen.seq + 1}; "
        f"usual remedy: {row.remedy}",
        overdue=_overdue(standing, finding.act_by),
        ways=(),
        cautions=_cautions(catalogue, Task.RESEAL),
    )


def _falls_to_the_keeper(standing: Standing, finding: FindingFacts) -> bool:
    """Whether nobody else answers for it by a signed hand-over."""
    if finding.responsible is None:
        return True
    party = standing.history.parties().get(finding.responsible)
    return party is not None and party.role in (Role.OWNER, Role.BUYER)

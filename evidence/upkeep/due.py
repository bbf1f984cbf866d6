"""What is due, by when and by whose rule, in order of date."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from evidence.entries import Rule
from evidence.times import Pair, days_apart
from evidence.trade import Catalogue
from evidence.upkeep.ahead import Ahead, Once, what_follows
from evidence.upkeep.duties import Duty
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.gaps import RuleGaps
from evidence.upkeep.renewal import LEAD_DAYS, Renewal, what_to_renew
from evidence.upkeep.standing import Standing
from evidence.upkeep.underfoot import KeepOff, kept_off
from evidence.upkeep.ways import HANDS_ON, against_a_climb, ways_of_looking, ways_of_working
from evidence.words import Means, Role, RuleBasis, Task

FINDING = "finding"
WITNESS = "witness"
"""Tasks that no rule of the record sets: to act on what was found, to have it witnessed anew."""

_ZERO: Pair = (0, 0)


@dataclass(frozen=True, slots=True)
class Due:
    """One thing to do.

    Attributes:
        task: a rule's task, `finding` or `witness`.
        zones: where; empty for a `witness`.
        by: the last day of it; None where it follows something whose day is not known: `once`.
        once: what has to happen first.
        rule: the id of the rule; None for a finding, which is due by the catalogue's days.
        basis: on what that rests; None likewise.
        authority: whose rule it is; None likewise.
        required: whether it is counted.
        why: what makes it due.
        overdue: days beyond `by`.
        ways: the means by which it may be done, the safest first; nobody has to climb.
        unsafe: why a climb is not among them.
        cautions: what is read before it.
        of: the entry of the event behind a duty, None for what comes round by itself.
        finding: the finding's id, for a `finding`.
    """

    task: str
    zones: tuple[str, ...]
    by: date | None
    required: bool
    why: str
    once: Once | None = None
    rule: str | None = None
    basis: str | None = None
    authority: str | None = None
    overdue: Pair = _ZERO
    ways: tuple[str, ...] = ()
    unsafe: str | None = None
    cautions: tuple[str, ...] = ()
    of: int | None = None
    finding: str | None = None


def what_is_due(standing: Standing, catalogue: Catalogue) -> tuple[Due, ...]:
    """Every rule, duty and open finding with its date, the earliest first.

    What follows something whose day is not known yet stands at the end.
    """
    rows = list(_Rows(standing, catalogue).all())
    return tuple(sorted(rows, key=lambda row: (row.by or date.max, row.task, row.zones)))


def falls_to_the_keeper(standing: Standing, finding: FindingFacts) -> bool:
    """Whether nobody else answers for it by a signed hand-over."""
    if finding.responsible is None:
        return True
    party = standing.history.parties().get(finding.responsible)
    return party is not None and party.role in (Role.OWNER, Role.BUYER)


class _Rows:
    """The rows of one record on one day."""

    def __init__(self, standing: Standing, catalogue: Catalogue) -> None:
        self.standing = standing
        self.history = standing.history
        self.catalogue = catalogue

    def all(self) -> Iterator[Due]:
        for measured in self.standing.rules:
            yield from self._from_rule(measured)
        rules = {rule.id: rule for _, rule in self.history.rules()}
        for duty in self.standing.duties:
            if duty.done is None and not self._too_late(duty):
                yield from self._from_duty(duty, rules[duty.rule])
        for finding in self.standing.findings:
            if finding.state == "open":
                yield self._from_finding(finding)
        for ahead in what_follows(self.history):
            yield from self._from_ahead(ahead)
        renewal = what_to_renew(self.history)
        if renewal is not None:
            yield self._from_renewal(renewal)

    def _from_rule(self, measured: RuleGaps) -> Iterator[Due]:
        """One row for each date on which zones of the rule fall due."""
        rule = measured.rule
        by_date: dict[tuple[date, date], list[str]] = defaultdict(list)
        for row in measured.zones:
            if row.due is None or row.due_at_latest is None:
                continue
            if rule.applies_to is None or row.due.isoformat() <= rule.applies_to:
                by_date[row.due, row.due_at_latest].append(row.zone)
        for (by, by_at_latest), zones in by_date.items():
            why = f"every {rule.days} days"
            over = self._over(by, by_at_latest)
            yield from self._ruled(rule, zones, why, by=by, overdue=over)

    def _from_duty(self, duty: Duty, rule: Rule) -> Iterator[Due]:
        over = self._over(duty.by, duty.by_at_latest)
        why = _because(duty, rule)
        return self._ruled(rule, duty.missing, why, by=duty.by, overdue=over, of=duty.trigger)

    def _from_ahead(self, ahead: Ahead) -> Iterator[Due]:
        return self._ruled(ahead.rule, ahead.zones, ahead.why, once=ahead.once, of=ahead.of)

    def _ruled(
        self,
        rule: Rule,
        zones: Collection[str],
        why: str,
        *,
        by: date | None = None,
        overdue: Pair = _ZERO,
        once: Once | None = None,
        of: int | None = None,
    ) -> Iterator[Due]:
        """One row for the zones, and one of its own for each of them that is to be kept off."""
        apart = [zone_id for zone_id in zones if zone_id in self._kept_off]
        others = tuple(zone_id for zone_id in zones if zone_id not in self._kept_off)
        for together in [*([others] if others or not apart else []), *((each,) for each in apart)]:
            unsafe = self._unsafe(together)
            yield Due(
                task=rule.task,
                zones=together,
                by=by,
                required=rule.required,
                why=why,
                once=once,
                rule=rule.id,
                basis=rule.basis,
                authority=rule.authority,
                overdue=overdue,
                ways=self._ways(rule, together, climb=unsafe is None),
                unsafe=unsafe,
                cautions=self._cautions(rule.task, together),
                of=of,
            )

    def _from_finding(self, finding: FindingFacts) -> Due:
        row, zones = self.catalogue.findings[finding.type], (finding.zone,)
        unsafe = self._unsafe(zones)
        return Due(
            task=FINDING,
            zones=zones,
            by=finding.act_by,
            required=falls_to_the_keeper(self.standing, finding),
            why=f"{row.words}, grade {finding.grade}, seen in entry {finding.first_seen.seq + 1}; "
            f"usual remedy: {row.remedy}",
            overdue=self._over(finding.act_by, finding.act_by),
            ways=ways_of_working(climb=unsafe is None),
            unsafe=unsafe,
            cautions=self._cautions(Task.RESEAL, zones),
            finding=finding.id,
        )

    def _from_renewal(self, renewal: Renewal) -> Due:
        ended = renewal.ends < self.history.on
        return Due(
            task=WITNESS,
            zones=(),
            by=renewal.by,
            required=False,
            why=f"the certificate of {renewal.answer.name}, whose answer stands in entry "
            f"{renewal.answer.seq + 1}, {'ended' if ended else 'ends'} on {renewal.ends}; a new "
            "answer takes the old dates along while they can still be checked",
            basis=RuleBasis.TOOL_DEFAULT,
            authority=f"default of the program: {LEAD_DAYS} days before the end at most",
            overdue=self._over(renewal.by, renewal.by),
            of=renewal.answer.seq,
        )

    # What each kind of row asks for

    @cached_property
    def _against(self) -> str | None:
        return against_a_climb(self.history)

    def _on_roof(self, zones: Collection[str]) -> bool:
        return any(self.history.place(zone_id).on_roof for zone_id in zones)

    @cached_property
    def _kept_off(self) -> Mapping[str, KeepOff]:
        return kept_off(self.history, self.standing.findings, self.catalogue)

    def _unsafe(self, zones: Collection[str]) -> str | None:
        """What speaks against a climb there: of the whole roof, else of the place itself."""
        if self._against is not None and self._on_roof(zones):
            return self._against
        return next(
            (self._kept_off[each].against for each in zones if each in self._kept_off), None
        )

    def _ways(self, rule: Rule, zones: Collection[str], *, climb: bool) -> tuple[str, ...]:
        if rule.task is Task.MOISTURE:
            return ()
        if rule.task in HANDS_ON:
            return ways_of_working(climb=climb)
        if rule.means is None and not self._on_roof(zones):
            return ()
        return ways_of_looking(rule.means, climb=climb)

    def _cautions(self, task: Task, zones: Collection[str]) -> tuple[str, ...]:
        means = None if self._on_roof(zones) else Means.INSIDE
        first = (self._kept_off[each].caution for each in zones if each in self._kept_off)
        return (*first, *(row.text for row in self.catalogue.cautions_for(task, means)))

    def _over(self, by: date, by_at_latest: date) -> Pair:
        return days_apart((by, by_at_latest), (self.history.on, self.history.on))

    def _too_late(self, duty: Duty) -> bool:
        """What had to be done before an event can no longer be done behind it."""
        before = duty.task in (Task.BEFORE_STORAGE, Task.BEFORE_WARRANTY_END)
        return before and duty.by_at_latest < self.history.on


def _because(duty: Duty, rule: Rule) -> str:
    """What set a duty going, and from when it runs."""
    entry = f"(entry {duty.trigger + 1})"
    match duty.task:
        case Task.AFTER_TRIP:
            return f"back from a trip on {duty.from_} {entry}"
        case Task.AFTER_EVENT:
            return f"the incident was over on {duty.from_} {entry}"
        case Task.AFTER_RESEAL:
            return f"resealed {entry}; not before {duty.from_}"
        case Task.BEFORE_STORAGE:
            return f"storage begins {entry}; not before {duty.from_}"
        case Task.OUT_OF_STORAGE:
            return f"out of storage on {duty.from_} {entry}"
        case _:
            return f"the warranty ends on {rule.applies_to} {entry}; not before {duty.from_}"

"""The clauses of papers on file, each beside the entries that answer it (OUTPUTS § 2)."""

from collections.abc import Sequence
from dataclasses import dataclass

from evidence.entries import Paper
from evidence.upkeep.duties import Duty
from evidence.upkeep.gaps import Met, RuleGaps, together
from evidence.upkeep.history import History


@dataclass(frozen=True, slots=True)
class ClauseAnswer:
    """One clause; `met_…` are None where the record made no rule of it, or nothing is due yet."""

    paper: int
    ref: str
    rule: str | None
    answered_by: tuple[int, ...]
    met_as_stated: Met | None
    met_on_time: Met | None


def measure_clauses(
    history: History, rules: Sequence[RuleGaps], duties: Sequence[Duty]
) -> tuple[ClauseAnswer, ...]:
    """Every clause of every paper; a rule that was replaced answers together with its successor."""
    return tuple(
        ClauseAnswer(
            paper=item.seq,
            ref=clause.ref,
            rule=clause.rule,
            answered_by=tuple(sorted(_answers(clause.rule, rules, duties))),
            met_as_stated=together(
                [row.met_as_stated for row in rules if row.rule.id == clause.rule]
                + [duty.met for duty in duties if duty.rule == clause.rule]
            ),
            met_on_time=together(
                [row.met_on_time for row in rules if row.rule.id == clause.rule]
                + [duty.met_on_time for duty in duties if duty.rule == clause.rule]
            ),
        )
        for item, paper in history.of(Paper)
        for clause in paper.clauses or ()
    )


def _answers(rule: str | None, rules: Sequence[RuleGaps], duties: Sequence[Duty]) -> set[int]:
    """The entries that count for the rule in any zone, or complete a duty under it."""
    found = {entry for row in rules if row.rule.id == rule for entry in row.counted}
    return found | {duty.done for duty in duties if duty.rule == rule and duty.done is not None}


@dataclass(frozen=True, slots=True)
class ClauseTally:
    """How many clauses are on file, and how many the record keeps, both ways of counting.

    `unmeasured` are those of which the record made no rule, or of which nothing is due yet.
    """

    clauses: int
    as_stated: int
    on_time: int
    unmeasured: int


def tally_clauses(answers: Sequence[ClauseAnswer]) -> ClauseTally:
    """The clauses counted."""
    return ClauseTally(
        clauses=len(answers),
        as_stated=sum(answer.met_as_stated is Met.YES for answer in answers),
        on_time=sum(answer.met_on_time is Met.YES for answer in answers),
        unmeasured=sum(answer.met_as_stated is None for answer in answers),
    )

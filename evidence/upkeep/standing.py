"""The record measured: every figure of OUTPUTS § 2.

`measure` is a pure function of (History, Catalogue, root); whoever holds the record can compute
it again and must come to the same document.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from evidence.entries import Incident
from evidence.errors import RefusedError
from evidence.times import parse_day
from evidence.trade import Catalogue
from evidence.upkeep.custody import Band, measure_custody
from evidence.upkeep.duties import Duty, measure_duties
from evidence.upkeep.findings import FindingFacts, measure_findings
from evidence.upkeep.gaps import RuleGaps, coverings, measure_rules
from evidence.upkeep.history import History
from evidence.upkeep.incidents import IncidentFacts, measure_incidents
from evidence.upkeep.items import Item
from evidence.upkeep.papers import ClauseAnswer, measure_clauses
from evidence.upkeep.readings import Series, measure_readings
from evidence.upkeep.sealing import ResealFit, measure_reseals


@dataclass(frozen=True, slots=True)
class Standing:
    """What the record supports on one date.

    `superseded_rules` were in force until a later rule of their id took their place; `catalogue`
    holds the tables that it was measured with.
    """

    history: History
    root: str
    rules: tuple[RuleGaps, ...]
    superseded_rules: tuple[RuleGaps, ...]
    duties: tuple[Duty, ...]
    missing_rules: tuple[str, ...]
    findings: tuple[FindingFacts, ...]
    incidents: tuple[IncidentFacts, ...]
    reseals: tuple[ResealFit, ...]
    readings: tuple[Series, ...]
    clauses: tuple[ClauseAnswer, ...]
    custody: tuple[Band, ...]
    catalogue: Catalogue

    def incident(self, incident_id: str) -> IncidentFacts | None:
        """The incident of that id."""
        return next((facts for facts in self.incidents if facts.id == incident_id), None)

    def finding(self, finding_id: str) -> FindingFacts | None:
        """The finding of that id."""
        return next((facts for facts in self.findings if facts.id == finding_id), None)


def told_from(history: History) -> date:
    """The first day that the record, one of its entries or a rule speaks of."""
    days = [history.items[0].entry.logged.astimezone(history.home).date()]
    days += [item.dates[0] for item in history.items if item.span is not None]
    days += [parse_day(rule.applies_from) for _, rule in history.rules()]
    return min(*days, history.on)


def measure(history: History, catalogue: Catalogue, root: str) -> Standing:
    """Measure the record.

    Args:
        history: what had been written by the date.
        catalogue: the trade's tables (fit of sealants, days to act within, standard tasks).
        root: the Merkle root (hex) over the history's entries.
    """
    findings = measure_findings(history, catalogue)
    counted = coverings(history, catalogue)
    rules = measure_rules(counted)
    incidents = measure_incidents(history, findings, catalogue, counted)
    duties = measure_duties(history, incidents, catalogue)
    ruled = {rule.task for _, rule in history.rules()}
    return Standing(
        history=history,
        root=root,
        rules=tuple(row for row in rules if not row.ruled.superseded),
        superseded_rules=tuple(row for row in rules if row.ruled.superseded),
        duties=duties,
        missing_rules=tuple(
            task for task, row in catalogue.tasks.items() if row.standard and task not in ruled
        ),
        findings=findings,
        incidents=incidents,
        reseals=measure_reseals(history, catalogue),
        readings=measure_readings(history, catalogue),
        clauses=measure_clauses(history, rules, duties),
        custody=measure_custody(history),
        catalogue=catalogue,
    )


def incident_asked(standing: Standing, incident_id: str | None) -> IncidentFacts:
    """The incident asked for; the only one on record where none was named.

    Raises:
        RefusedError: it is not on record, or none was named of several.
    """
    known = [facts.id for facts in standing.incidents]
    if incident_id is None and len(known) == 1:
        return standing.incidents[0]
    facts = None if incident_id is None else standing.incident(incident_id)
    if facts is None:
        named = "none named" if incident_id is None else repr(incident_id)
        listed = ", ".join(known) or "none; enter it first"
        raise RefusedError(f"incident: {named}", "is not on record", f"On record: {listed}.")
    return facts


def support(item: Item, history: History) -> list[str]:
    """What backs an entry besides its writer's word: photo, receipt, cosigned, witnessed."""
    found = ["photo"] if item.pictured else []
    if item.seq in history.receipted:
        found.append("receipt")
    outside = history.outsiders.types_over(item.seq)
    if "cosign" in outside:
        found.append("cosigned")
    if outside:
        found.append("witnessed")
    return found


def logged_after(item: Item, incidents: Sequence[IncidentFacts]) -> list[str]:
    """Incidents already over when an entry about the time before them was last written down.

    An entry whose time only began before counts too, unless it names the incident.
    """
    if item.span is None or isinstance(item.body, Incident):
        return []
    begins, told = item.span.earliest, item.known_at()
    return [
        facts.id
        for facts in incidents
        if facts.window.latest < told
        and facts.window.earliest is not None
        and (begins is None or begins < facts.window.earliest)
        and facts.id not in item.incidents
    ]

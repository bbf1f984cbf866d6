"""The first page of a claim, as text: what an adjuster must find in a minute.

A pure function of the measured record. The page lays these sentences out; `check` makes them again
from the attached record and looks for each one on the page.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from evidence.dossier import say
from evidence.dossier.answers import Answers, look_rule, pair_zone
from evidence.dossier.brief import Figure, rig_words, trust_words
from evidence.dossier.describe import zone_names
from evidence.dossier.wording import wording
from evidence.trade import Catalogue
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.incidents import IncidentFacts, ZoneUnderIncident
from evidence.upkeep.standing import Standing
from evidence.words import Role

__all__ = ["OpenRow", "Summary", "claim_summary", "look_rule", "open_before"]

_MOST_OPEN = 4


@dataclass(frozen=True, slots=True)
class OpenRow:
    """One finding that stood open when the incident's window began, with its grade then."""

    grade: int
    text: str
    cites: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Summary:
    """Everything that the first page says.

    `open_rows` are the gravest findings that stood open; `open_note` says what they leave unsaid.
    """

    title: str
    subtitle: str
    figures: tuple[Figure, ...]
    pair_zone: ZoneUnderIncident
    open_heading: str
    open_rows: tuple[OpenRow, ...]
    open_note: str
    trust: tuple[str, ...]

    @property
    def cites(self) -> Sequence[int]:
        """Every entry that the page names."""
        named = [figure.cites for figure in self.figures] + [row.cites for row in self.open_rows]
        return [seq for cites in named for seq in cites]

    def sentences(self) -> Iterator[str]:
        """Every statement of the page, in its order."""
        yield self.title
        yield self.subtitle
        for figure in self.figures:
            yield figure.statement
            yield figure.text
        yield self.open_heading
        for row in self.open_rows:
            yield row.text
        yield self.open_note
        yield from self.trust


def claim_summary(standing: Standing, facts: IncidentFacts, catalogue: Catalogue) -> Summary:
    """The summary page of a claim."""
    heading, rows, note = _stood_open(standing, facts, catalogue)
    return Summary(
        title=_title(standing, facts),
        subtitle=_subtitle(standing, facts),
        figures=Answers(standing, facts, catalogue).figures(),
        pair_zone=pair_zone(facts),
        open_heading=heading,
        open_rows=rows,
        open_note=note,
        trust=tuple(trust_words(standing, "limits")),
    )


def _title(standing: Standing, facts: IncidentFacts) -> str:
    words = wording("claim")
    cause = words.say("cause", facts.incident.stated_cause)
    when = say.on_or_between(facts.window, standing.history.home)
    return words.say("summary", "title", cause=cause, when=when)


def _subtitle(standing: Standing, facts: IncidentFacts) -> str:
    words, history = wording("claim"), standing.history
    party = history.parties().get(facts.item.entry.by)
    role = Role.OWNER if party is None else party.role
    stated = words.say(
        "stated",
        facts.incident.stated_cause,
        writer=words.say("stated", "writer", role=role.replace("-", " ")),
        at=say.at(facts.window, history.home),
    )
    return f"{rig_words(standing)} {stated}"


def open_before(standing: Standing, facts: IncidentFacts) -> list[FindingFacts]:
    """Everything that stood open anywhere when the window began, the gravest first."""
    begins = _begins(facts)
    found = [finding for finding in standing.findings if finding.open_at(begins)]
    return sorted(found, key=lambda finding: (-finding.grade_at(begins), finding.opened))


def _begins(facts: IncidentFacts) -> datetime:
    return facts.window.earliest or facts.window.latest


def _stood_open(
    standing: Standing, facts: IncidentFacts, catalogue: Catalogue
) -> tuple[str, tuple[OpenRow, ...], str]:
    """The heading, the gravest findings, and a note on the others and on the zones named."""
    words, history, begins = wording("claim"), standing.history, _begins(facts)
    found = open_before(standing, facts)
    rows = tuple(
        OpenRow(
            finding.grade_at(begins),
            words.say(
                "summary",
                "open_row",
                words=catalogue.findings[finding.type].words,
                zone=zone_names([finding.zone], history),
                since=say.day(finding.first_seen.span.days(history.home)[0]),
            ),
            (finding.opened,),
        )
        for finding in found[:_MOST_OPEN]
    )
    notes = []
    if len(found) > _MOST_OPEN:
        notes.append(words.say("summary", "open_more", count=len(found) - _MOST_OPEN))
    named = facts.incident.zones
    if not found:
        notes.append(words.say("summary", "open_none"))
    elif not any(finding.zone in named for finding in found):
        notes.append(words.say("summary", "open_none_here", zones=zone_names(named, history)))
    when = say.start(begins, history.home)
    return words.say("summary", "open_heading", when=when), rows, " ".join(notes)

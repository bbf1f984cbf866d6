"""The first page of a claim, as text: what an adjuster must find in a minute.

A pure function of the measured record. The page lays these sentences out; `check` makes them again
from the attached record and looks for each one on the page.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from evidence.dossier import say
from evidence.dossier.wording import Wording, wording
from evidence.trade import Catalogue
from evidence.upkeep.findings import FindingFacts
from evidence.upkeep.gaps import RuleGaps
from evidence.upkeep.history import History, Vouched
from evidence.upkeep.incidents import IncidentFacts, Look, ZoneUnderIncident
from evidence.upkeep.standing import Standing
from evidence.witness import Trust
from evidence.words import Grade, Role, Surface, Task

_ACRONYMS = (Surface.EPDM, Surface.TPO, Surface.PVC)
_MOST_OPEN = 4
_FEW_ZONES = 3


@dataclass(frozen=True, slots=True)
class Figure:
    """One large figure, its unit, its sentence and the entries that it rests on."""

    value: str
    unit: str
    text: str
    cites: tuple[int, ...]

    @property
    def statement(self) -> str:
        """The figure with its unit, as it is read."""
        return f"{self.value} {self.unit}".rstrip()


@dataclass(frozen=True, slots=True)
class OpenRow:
    """One finding that stood open when the incident's window began."""

    grade: int
    text: str
    cites: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Summary:
    """Everything that the first page says.

    `open_rows` are the gravest findings that stood open, `open_note` says what they leave unsaid.
    """

    title: str
    subtitle: str
    figures: tuple[Figure, ...]
    pair_zone: ZoneUnderIncident
    open_heading: str
    open_rows: tuple[OpenRow, ...]
    open_note: str
    trust: tuple[str, ...]

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
    return _Claim(standing, facts, catalogue).summary()


def pair_zone(facts: IncidentFacts) -> ZoneUnderIncident:
    """The zone shown on the first page: one with a finding, and with a look before, if any."""
    return max(
        facts.zones,
        key=lambda zone: (bool(zone.found), zone.before is not None, zone.after is not None),
    )


def look_rule(standing: Standing) -> RuleGaps | None:
    """The rule for looks that a claim is measured against: required, the strictest of them."""
    rules = [
        measured
        for measured in standing.rules
        if measured.rule.task is Task.INSPECTION and measured.rule.required
    ]
    return min(rules, key=lambda measured: measured.rule.days, default=None)


class _Claim:
    """The pieces of the page, each from the facts alone."""

    def __init__(self, standing: Standing, facts: IncidentFacts, catalogue: Catalogue) -> None:
        self.standing = standing
        self.history: History = standing.history
        self.facts = facts
        self.catalogue = catalogue
        self.words: Wording = wording("claim")
        self.zone = pair_zone(facts)
        self.home = self.history.home

    def summary(self) -> Summary:
        rows = self._open_rows()
        return Summary(
            title=self._title(),
            subtitle=self._subtitle(),
            figures=(self._before(), self._gap(), self._cover(), self._witness()),
            pair_zone=self.zone,
            open_heading=self._open_heading(),
            open_rows=tuple(rows),
            open_note=self._open_note(),
            trust=tuple(self._trust()),
        )

    def _title(self) -> str:
        cause = self.words.say("cause", self.facts.incident.stated_cause)
        when = say.on_or_between(self.facts.window, self.home)
        return self.words.say("summary", "title", cause=cause, when=when)

    def _subtitle(self) -> str:
        rig = self.history.rig
        party = self.history.parties().get(self.facts.item.entry.by)
        role = Role.OWNER if party is None else party.role
        stated = self.words.say(
            "stated",
            self.facts.incident.stated_cause,
            writer=f"The {role.replace('-', ' ')}",
            at=say.at(self.facts.window, self.home),
        )
        surface = rig.surface.upper() if rig.surface in _ACRONYMS else rig.surface
        return self.words.say(
            "summary",
            "subtitle",
            rig=rig.name,
            length=say.metres(rig.length_mm),
            width=say.metres(rig.width_mm),
            surface=surface,
            stated=stated,
        )

    def label(self, zone_id: str) -> str:
        return self.history.place(zone_id).zone.label

    def _grade_word(self, grade: int) -> str:
        return self.catalogue.grades[Grade(grade)].word

    def _finding_words(self, finding: FindingFacts) -> str:
        return self.catalogue.findings[finding.type].words

    def _before(self) -> Figure:
        look, zone = self.zone.before, self.label(self.zone.zone)
        claimed = ""
        if self.zone.claimed_before:
            claimed = " " + self.words.say("before", "claimed")
        if look is None:
            text = self.words.say("before", "none", zone=zone) + claimed
            value = self.words.say("before", "none_value")
            return Figure(value, "", text, self.zone.claimed_before)
        return Figure(
            say.count(look.days),
            self.words.say("before", "unit", days_word="day" if look.days == (1, 1) else "days"),
            self._before_text(look, zone) + claimed,
            (look.seq, *self.zone.claimed_before),
        )

    def _before_text(self, look: Look, zone: str) -> str:
        open_there = [
            f"{self._finding_words(finding)} ({self._grade_word(finding.grade)})"
            for finding in self.standing.findings
            if finding.id in self.zone.open_before
        ]
        key = self.zone.before_state
        if key == "open" and not open_there:
            key = "open_grade_only"
        return self.words.say(
            "before",
            key,
            zone=zone,
            date=say.day(look.item.dates[0]),
            grade=look.grade,
            word=self._grade_word(look.grade),
            open=say.listed(open_there),
        )

    def _gap(self) -> Figure:
        measured = look_rule(self.standing)
        if measured is None:
            value = self.words.say("gap", "none_value")
            return Figure(value, "", self.words.say("gap", "none"), ())
        under = next(row for row in self.facts.rules if row.rule == measured.rule.id)
        worst = measured.worst
        over = (0, 0) if worst is None else worst.over
        text = self.words.say(
            "gap",
            "text",
            since=say.day(self.history.first_day(measured.rule.applies_from)),
            rule=measured.rule.authority,
            on_time=self._met(under.met, under.over),
            as_stated=self._met(measured.met_as_stated, over),
        )
        cites = [measured.item.seq]
        if worst is not None and worst.gaps:
            longest = max(worst.gaps, key=lambda gap: gap.days[1])
            cites += [] if longest.closed_by is None else [longest.closed_by]
        return Figure(
            say.count(measured.longest),
            self.words.say("gap", "unit", days=measured.rule.days),
            text,
            tuple(cites),
        )

    def _met(self, met: str, over: tuple[int, int]) -> str:
        return self.words.say("gap", met, over=say.counted(over, "day"))

    def _cover(self) -> Figure:
        covered, notice = self.facts.covered, self.facts.notice
        if notice is None:
            said = self.words.say("cover", "notice_none")
        elif notice.amount == (0, 0):
            said = self.words.say("cover", "notice_same_day")
        else:
            said = self.words.say("cover", "notice", days=say.counted(notice.amount, "day"))
        cites = [counted.seq for counted in (covered, notice) if counted is not None]
        if covered is None:
            value = self.words.say("cover", "none_value")
            return Figure(value, "", self.words.say("cover", "none") + said, tuple(cites))
        value, unit = _minutes(covered.amount)
        text = self.words.say("cover", "text") + said
        return Figure(value, unit, text, tuple(cites))

    def last_answer_before(self) -> Vouched | None:
        """The last outside answer before the window that counts."""
        begins = self.facts.window.earliest
        ahead = [
            answer
            for answer in self.history.vouched
            if answer.counts and begins is not None and answer.time <= begins
        ]
        return max(ahead, key=lambda answer: answer.time, default=None)

    def _witness(self) -> Figure:
        answer, look = self.last_answer_before(), self.zone.before
        if answer is None:
            value = self.words.say("witness", "none_value")
            return Figure(value, "", self.words.say("witness", "none"), ())
        held = look is not None and answer.size > look.seq
        text = self.words.say(
            "witness",
            "text" if held else "text_without_look",
            name=answer.name,
            number=0 if look is None else look.seq + 1,
            size=answer.size,
        )
        local = answer.time.astimezone(self.home).date()
        value = f"{local.day} {say.MONTHS[local.month - 1]}"
        return Figure(value, self.words.say("witness", "unit"), text, (answer.seq,))

    def _open_heading(self) -> str:
        begins = self.facts.window.earliest or self.facts.window.latest
        eve = begins.astimezone(self.home).date() - timedelta(days=1)
        return self.words.say("summary", "open_heading", when=f"on {say.day(eve)}")

    def open_before(self) -> list[FindingFacts]:
        """Everything that stood open anywhere when the window began, the gravest first."""
        begins = self.facts.window.earliest or self.facts.window.latest
        found = [finding for finding in self.standing.findings if finding.open_at(begins)]
        return sorted(found, key=lambda finding: (-finding.grade, finding.opened))

    def _open_rows(self) -> list[OpenRow]:
        return [
            OpenRow(
                finding.grade,
                self.words.say(
                    "summary",
                    "open_row",
                    words=self._finding_words(finding),
                    zone=self.label(finding.zone),
                    since=say.day(finding.first_seen.span.days(self.home)[0]),
                ),
                (finding.opened,),
            )
            for finding in self.open_before()
        ]

    def _open_note(self) -> str:
        rows = self.open_before()
        if not rows:
            return self.words.say("summary", "open_none")
        named = set(self.facts.incident.zones)
        if any(finding.zone in named for finding in rows):
            return ""
        labels = say.listed(self.label(zone_id) for zone_id in self.facts.incident.zones)
        return self.words.say("summary", "open_none_here", zones=labels)

    def _trust(self) -> Iterator[str]:
        counted = [answer for answer in self.history.vouched if answer.counts]
        yield self.words.say("trust", "marks")
        if counted:
            first = min(answer.time for answer in counted).astimezone(self.home).date()
            yield self.words.say("trust", "outside", count=len(counted), first=say.day(first))
        else:
            yield self.words.say("trust", "nobody")
        if any(answer.trust is Trust.SAMPLE for answer in counted):
            yield self.words.say("trust", "sample")
        yield self.words.say("trust", "limits")


def _minutes(amount: tuple[int, int]) -> tuple[str, str]:
    """A count of minutes in the unit in which a person would say it."""
    if amount[1] <= 180:
        return say.count(amount), "minute" if amount == (1, 1) else "minutes"
    if amount[1] <= 72 * 60:
        hours = (amount[0] // 60, -(-amount[1] // 60))
        return say.count(hours), "hours"
    days = (amount[0] // 1440, -(-amount[1] // 1440))
    return say.count(days), "days"

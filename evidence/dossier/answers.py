"""The four answers at the head of a claim: the look before, the gaps, the cover, the outsider.

Each is a large figure, its unit, a sentence and the entries that it rests on, made from the
measured record alone.
"""

from collections.abc import Sequence
from zoneinfo import ZoneInfo

from evidence.dossier import say
from evidence.dossier.brief import Figure
from evidence.dossier.describe import zone_names
from evidence.dossier.wording import Wording, wording
from evidence.times import Pair
from evidence.trade import Catalogue
from evidence.upkeep.gaps import Met, RuleGaps
from evidence.upkeep.incidents import IncidentFacts, Look, ZoneUnderIncident
from evidence.upkeep.standing import Standing
from evidence.upkeep.vouched import Vouched
from evidence.words import Grade, Task


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


def gap_figure(
    standing: Standing, measured: RuleGaps | None, *, to_incident: tuple[Met, Pair] | None = None
) -> Figure:
    """How a rule for looks was kept: the longest time between looks, on time and as stated.

    Args:
        standing: the measured record.
        measured: the rule; None where there is none.
        to_incident: how it was kept on time up to an incident, and by how many days not, where the
            page is about one.
    """
    words = wording("common")
    if measured is None:
        return Figure(words.say("gap", "none_value"), "", words.say("gap", "none"), ())

    def met(how: Met, over: Pair) -> str:
        return words.say("gap", how, over=say.counted(over, "day"))

    over = (0, 0) if measured.worst is None else measured.worst.over
    on_time = words.say("rules", measured.met_on_time) if to_incident is None else met(*to_incident)
    text = words.say(
        "gap",
        "text" if to_incident is None else "text_to_incident",
        since=say.day(standing.history.first_day(measured.rule.applies_from)),
        rule=say.clipped(measured.rule.authority),
        on_time=on_time,
        as_stated=met(measured.met_as_stated, over),
    )
    gaps = [gap for row in measured.zones for gap in row.gaps]
    longest = max(gaps, key=lambda gap: (gap.days[1], gap.days[0]), default=None)
    ends = () if longest is None or longest.closed_by is None else (longest.closed_by,)
    unit = words.say("gap", "unit", days=measured.rule.days)
    return Figure(say.count(measured.longest), unit, text, (measured.item.seq, *ends))


class Answers:
    """The four figures of one incident."""

    def __init__(self, standing: Standing, facts: IncidentFacts, catalogue: Catalogue) -> None:
        self.standing = standing
        self.facts = facts
        self.catalogue = catalogue
        self.words: Wording = wording("claim")
        self.zone = pair_zone(facts)

    def figures(self) -> tuple[Figure, Figure, Figure, Figure]:
        """The look before, the gaps under the rule, the cover and notice, the outsider."""
        return self._before(), self._gap(), self._cover(), self._witness()

    @property
    def home(self) -> ZoneInfo:
        """The zone of civil dates."""
        return self.standing.history.home

    def zones(self, ids: Sequence[str]) -> str:
        """A few zones by name, many by number."""
        return zone_names(ids, self.standing.history)

    def _figure(self, section: str, key: str, cites: Sequence[int] = (), **said: object) -> Figure:
        """An answer in words instead of a number."""
        value = self.words.say(section, "none_value")
        return Figure(value, "", self.words.say(section, key, **said), tuple(cites))

    # What was there before

    def _before(self) -> Figure:
        zone, look = self.zone, self.zone.before
        if look is None:
            key = "none" if self.facts.window.earliest is not None else "none_open"
            figure = self._figure("before", key, zone=self.zones([zone.zone]))
        else:
            unit = self.words.say(
                "before", "unit", days_word="day" if look.days == (1, 1) else "days"
            )
            figure = Figure(say.count(look.days), unit, self._before_text(look), (look.seq,))
        said = [figure.text]
        if zone.claimed_before:
            said.append(self.words.say("before", "claimed"))
        others = [other.zone for other in self.facts.zones if other.before is None]
        if look is not None and others:
            said.append(self.words.say("before", "others", zones=self.zones(others)))
        cites = (*figure.cites, *zone.claimed_before)
        return Figure(figure.value, figure.unit, " ".join(said), cites)

    def _before_text(self, look: Look) -> str:
        begins = self.facts.window.earliest
        there = [
            self.words.say(
                "before",
                "finding",
                words=self.catalogue.findings[finding.type].words,
                word=self._word(look.grade if begins is None else finding.grade_at(begins)),
            )
            for finding in self.standing.findings
            if finding.id in self.zone.open_before
        ]
        key = self.zone.before_state
        text = self.words.say(
            "before",
            "open_grade_only" if key == "open" and not there else key,
            zone=self.zones([self.zone.zone]),
            date=say.on_or_between(look.item.time, self.home),
            grade=look.grade,
            word=self._word(look.grade),
            open=say.listed(there),
        )
        return say.sentence(text)

    def _word(self, grade: int) -> str:
        return self.catalogue.grades[Grade(grade)].word

    # How the rule was kept

    def _gap(self) -> Figure:
        measured = look_rule(self.standing)
        if measured is None:
            return gap_figure(self.standing, None)
        under = next((row for row in self.facts.rules if row.rule == measured.rule.id), None)
        kept = (Met.UNCLEAR, (0, 0)) if under is None else (under.met, under.over)
        return gap_figure(self.standing, measured, to_incident=kept)

    # What was done about it

    def _cover(self) -> Figure:
        covered, notice = self.facts.covered, self.facts.notice
        if notice is None:
            said = self.words.say("cover", "notice_none")
        elif notice.amount == (0, 0):
            said = self.words.say("cover", "notice_same_day")
        else:
            said = self.words.say("cover", "notice", days=say.counted(notice.amount, "day"))
        cites = tuple(counted.seq for counted in (covered, notice) if counted is not None)
        if covered is None:
            return self._figure("cover", "none", cites, notice=said)
        value, unit = say.duration(covered.amount)
        return Figure(value, unit, self.words.say("cover", "text", notice=said), cites)

    # Who vouches for it

    def _witness(self) -> Figure:
        answer, look = self.last_answer_before(), self.zone.before
        if answer is None:
            key = "none" if self.facts.window.earliest is not None else "none_open"
            return self._figure("witness", key)
        if look is None:
            key = "text_no_look"
        else:
            key = "text" if answer.size > look.seq else "text_without_look"
        text = self.words.say(
            "witness",
            key,
            name=say.name(answer.name),
            number=0 if look is None else look.seq + 1,
            size=answer.size,
        )
        local = answer.time.astimezone(self.home).date()
        unit = self.words.say("witness", "unit", year=local.year)
        return Figure(f"{local.day} {say.MONTHS[local.month - 1]}", unit, text, (answer.seq,))

    def last_answer_before(self) -> Vouched | None:
        """The last outside answer before the window that counts."""
        begins = self.facts.window.earliest
        ahead = [
            answer
            for answer in self.standing.history.vouched
            if answer.counts and begins is not None and answer.time <= begins
        ]
        return max(ahead, key=lambda answer: answer.time, default=None)

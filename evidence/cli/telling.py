"""The measured record in sentences: first what is wrong, then what is due, then what is proved."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import click

from evidence.cli import common
from evidence.cli.dues import due_heading, how_many
from evidence.cli.strip import tell_strip
from evidence.dossier import say
from evidence.dossier.exhibits import file_name
from evidence.dossier.outside import bracket_words, known_since
from evidence.dossier.wording import wording
from evidence.upkeep import what_is_due
from evidence.upkeep.brackets import Bracket, brackets
from evidence.upkeep.carded import CardState, cards_seen
from evidence.upkeep.looks import means_of
from evidence.words import Grade

if TYPE_CHECKING:
    from evidence.upkeep import Standing
    from evidence.upkeep.findings import FindingFacts
    from evidence.upkeep.incidents import IncidentFacts, ZoneUnderIncident

_SOON = 6
_MOST_BRACKETS = 10


def tell_standing(standing: "Standing") -> None:
    """The whole record for a person."""
    history = standing.history
    click.echo(click.style(history.case.title, bold=True))
    common.tell(f"As of {say.day(history.on)}.")
    _listed("What is wrong", _wrong(standing), "Nothing that the record knows of.")
    _listed("What is due", _due(standing), "Nothing.")
    if standing.missing_rules:
        tasks = say.listed(task.replace("-", " ") for task in standing.missing_rules)
        _listed("What is missing", [f"No rule is on record for {tasks}."])
    for facts in standing.incidents:
        when = say.on_or_between(facts.window, history.home)
        heading = f"Incident {facts.id}, {when}: {facts.incident.stated_cause}, as stated"
        _listed(heading, _incident(standing, facts))
    _listed("What is proved", _proved(standing))
    common.heading("When it was written, on outsiders' clocks")
    common.rows(_brackets(standing))
    common.tell(" ".join(known_since(history)), indent=2)
    tell_strip(standing)


def _listed(heading: str, lines: Sequence[str] | Iterator[str], none: str = "") -> None:
    common.heading(heading)
    for text in [*lines] or [none]:
        common.tell(text, indent=2)


def label(standing: "Standing", zone_id: str) -> str:
    """A zone's name."""
    return standing.history.place(zone_id).zone.label


def finding_line(standing: "Standing", finding: "FindingFacts") -> str:
    """What was seen, where, how grave it is, and for how long it has stood open."""
    catalogue = standing.catalogue
    words = catalogue.findings[finding.type].words
    grade = catalogue.grades[Grade(finding.grade)].word
    days = say.counted(finding.days_open, "day")
    return (
        f"{say.sentence(label(standing, finding.zone))}: {words}, grade {finding.grade} ({grade}), "
        f"open for {days} ({say.entries([finding.opened])})."
    )


def _wrong(standing: "Standing") -> Iterator[str]:
    """Open findings, the gravest first; rules that were not kept; clocks that disagree."""
    open_findings = [finding for finding in standing.findings if finding.state == "open"]
    for finding in sorted(open_findings, key=lambda finding: (-finding.grade, finding.opened)):
        yield finding_line(standing, finding)
    for measured in standing.rules:
        worst = measured.worst
        if measured.rule.required and worst is not None and worst.over[1]:
            more = sum(1 for row in measured.zones if row.over[1] and row is not worst)
            places = say.sentence(label(standing, worst.zone))
            places += f" and {say.counted((more, more), 'zone')} more" if more else ""
            yield (
                f"{places}: {say.counted(worst.longest, 'day')} without "
                f"{_deed(measured.rule.task)}, {say.count(worst.over)} over the rule "
                f"{measured.rule.id}."
            )
    for item in standing.history.items:
        if item.conflict:
            yield f"The picture's clock and the statement disagree ({say.entries([item.seq])})."
    yield from _wrong_cards(standing)


def _wrong_cards(standing: "Standing") -> Iterator[str]:
    """Cards that a clock contradicts, and those whose answer the record does not hold."""
    words = wording("entries")
    for seen in cards_seen(standing.history):
        key = "wrong_unknown" if seen.state is CardState.UNKNOWN else "wrong_contradicted"
        if seen.contradicted or seen.state is CardState.UNKNOWN:
            said = words.say("card", key, name=file_name(seen.picture))
            yield f"{said} ({say.entries([seen.item.seq])})."


def _brackets(standing: "Standing") -> Iterator[tuple[str, str]]:
    """The runs of entries that share their bracket: the first and the newest of many."""
    runs = brackets(standing.history)
    first, *rest = ((_run(run), f"{say.sentence(bracket_words(run.ends))}.") for run in runs)
    newest = rest[-(_MOST_BRACKETS - 1) :]
    yield first
    if len(newest) < len(rest):
        hidden = len(rest) - len(newest)
        yield "\N{HORIZONTAL ELLIPSIS}", f"{hidden} more runs of entries: see --json"
    yield from newest


def _run(run: Bracket) -> str:
    first, last = run.first + 1, run.last + 1
    return f"entry {first}" if first == last else f"entries {first}\N{EN DASH}{last}"


def _deed(task: str) -> str:
    return wording("claim").say("deed", task)


def _due(standing: "Standing") -> Iterator[str]:
    rows = what_is_due(standing, standing.catalogue)
    for row in rows[:_SOON]:
        yield f"{due_heading(standing, row)}{how_many(standing, row)}."
    if len(rows) > _SOON:
        yield f"And {len(rows) - _SOON} more: see `roof-evidence due`."


def _incident(standing: "Standing", facts: "IncidentFacts") -> Iterator[str]:
    for zone in facts.zones:
        place = say.sentence(label(standing, zone.zone))
        yield f"{place}: {_before(zone)}; {_after(standing, zone)}."
    if facts.covered is not None:
        value, unit = say.duration(facts.covered.amount)
        yield f"Covered after {value} {unit} ({say.entries([facts.covered.seq])})."
    if facts.notice is not None:
        days = say.counted(facts.notice.amount, "day")
        yield f"Notice sent after {days} ({say.entries([facts.notice.seq])})."
    for finding_id, lag in facts.later:
        finding = standing.finding(finding_id)
        if finding is not None:
            words = standing.catalogue.findings[finding.type].words
            days = say.counted(lag, "day")
            yield f"Seen {days} later: {words} ({say.entries([finding.opened])})."


def _before(zone: "ZoneUnderIncident") -> str:
    if zone.before is None:
        return "no look before counts" if zone.claimed_before else "no look before on record"
    days, support = say.counted(zone.before.days, "day"), zone.before.support or ""
    entry = say.entries([zone.before.seq])
    support = support.replace("-", " ")
    return f"{zone.before_state} at the look {days} before ({entry}, {support})"


def _after(standing: "Standing", zone: "ZoneUnderIncident") -> str:
    said = {"finding": "something was found after it", "none": "nothing was found after it"}
    state = said.get(zone.after_state, "not looked at after it")
    if zone.after is not None:
        return f"{state} ({say.entries([zone.after.seq])})"
    opened = [one.opened for name in zone.found if (one := standing.finding(name)) is not None]
    if opened:
        state += f" ({say.entries(opened)})"
    if not zone.from_below:
        return f"{state}, without a look" if opened else state
    words = wording("challenge")
    ways = say.listed(words.say("below", way) for way in means_of(zone.from_below))
    seqs = [item.seq for item in zone.from_below]
    only = f"only from {ways} ({say.entries(seqs)})"
    return f"{state}, looked at {only}" if opened else f"looked at after it {only}"


def _proved(standing: "Standing") -> Iterator[str]:
    history = standing.history
    counted = [answer for answer in history.vouched if answer.counts]
    if counted:
        widest = max(counted, key=lambda answer: answer.size)
        day = say.day(widest.time.astimezone(history.home).date())
        yield (
            f"{widest.size} of {history.size} entries existed on {day}, as an outsider answers: "
            f"{widest.name}."
        )
    else:
        yield "Nobody but the owner vouches for any date here."
    for measured in standing.rules:
        yield (
            f"{measured.rule.id}: {say.counted(measured.longest, 'day')} at the longest, where "
            f"the rule has {measured.rule.days}. Kept on time: {_kept(measured.met_on_time)}; "
            f"as stated: {_kept(measured.met_as_stated)}."
        )
    yield f"The head stands over {history.size} entries, root {standing.root[:16]}\u2026."


def _kept(met: str) -> str:
    return "cannot be told" if met == "unclear" else met

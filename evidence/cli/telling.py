"""The measured record in sentences: first what is wrong, then what is due, then what it shows."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import click

from evidence.cli import common
from evidence.cli.dues import due_heading, how_many
from evidence.cli.strip import tell_strip
from evidence.cli.wrong import finding_name, label, longest, what_is_wrong
from evidence.dossier import say
from evidence.dossier.linked import linked_pairs
from evidence.dossier.outside import bracket_words, known_since
from evidence.dossier.wording import wording
from evidence.upkeep import what_is_due
from evidence.upkeep.brackets import Bracket, brackets, widest
from evidence.upkeep.looks import means_of

if TYPE_CHECKING:
    from evidence.upkeep import Standing
    from evidence.upkeep.incidents import IncidentFacts, ZoneUnderIncident

_SOON = 6
_MOST_BRACKETS = 10


def tell_standing(standing: "Standing") -> None:
    """The whole record for a person."""
    history = standing.history
    click.echo(click.style(history.case.title, bold=True))
    common.tell(f"As of {say.day(history.on)}.")
    _listed("What is wrong", what_is_wrong(standing), "Nothing that the record knows of.")
    _listed("What is due", _due(standing), "Nothing.")
    if standing.missing_rules:
        tasks = say.listed(task.replace("-", " ") for task in standing.missing_rules)
        _listed("What is missing", [f"No rule is on record for {tasks}."])
    for facts in standing.incidents:
        when = say.on_or_between(facts.window, history.home)
        heading = f"Incident {facts.id}, {when}: {facts.incident.stated_cause}, as stated"
        _listed(heading, _incident(standing, facts))
    _listed("What the record shows, and who vouches for it", _shown(standing))
    common.heading("When it was written, on outsiders' clocks")
    common.rows(_brackets(standing))
    common.tell(" ".join(known_since(history)), indent=2)
    tell_strip(standing)


def _listed(heading: str, lines: Sequence[str] | Iterator[str], none: str = "") -> None:
    common.heading(heading)
    for text in [*lines] or [none]:
        common.tell(text, indent=2)


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
            days = say.counted(lag, "day")
            named = finding_name(standing, finding)
            yield f"Seen {days} later: {named} ({say.entries([finding.opened])})."


def _before(zone: "ZoneUnderIncident") -> str:
    if zone.before is None:
        return "no look before counts" if zone.claimed_before else "no look before on record"
    days, support = say.counted(zone.before.days, "day"), zone.before.support or ""
    entry = say.entries([zone.before.seq])
    support = support.replace("-", " ")
    return f"{zone.before_state} at the look {days} before ({entry}, {support})"


def _after(standing: "Standing", zone: "ZoneUnderIncident") -> str:
    found = [one for name in zone.found if (one := standing.finding(name)) is not None]
    if zone.after is None and zone.from_below:
        words = wording("challenge")
        ways = say.listed(words.say("below", way) for way in means_of(zone.from_below))
        refs = say.entries([item.seq for item in zone.from_below])
        state = f"looked at after it only from {ways} ({refs})"
    elif zone.after is None:
        state = "not looked at after it"
    else:
        none = "" if found else "nothing found "
        state = f"{none or 'looked at '}after it ({say.entries([zone.after.seq])})"
    names = [
        f"{finding_name(standing, one)} ({say.entries([one.opened])})"
        if zone.after is None or one.opened != zone.after.seq
        else finding_name(standing, one)
        for one in found
    ]
    return f"{state}, found: {say.listed(names)}" if names else state


def _shown(standing: "Standing") -> Iterator[str]:
    history = standing.history
    most = widest(history)
    if most is not None:
        day = say.day(most.time.astimezone(history.home).date())
        yield (
            f"{most.size} of {history.size} entries existed on {day}, as an outsider answers: "
            f"{most.name}."
        )
    else:
        yield "Nobody but the owner vouches for any date here."
    for measured in standing.rules:
        yield (
            f"{measured.rule.id}: {longest(measured)}, where "
            f"the rule has {measured.rule.days}. Kept on time: {_kept(measured.met_on_time)}; "
            f"as stated: {_kept(measured.met_as_stated)}."
        )
    pairs = list(linked_pairs(history))
    if pairs:
        yield wording("photos").say("link", "shown", pairs="; ".join(pairs))
    yield f"The head stands over {history.size} entries, root {standing.root[:16]}\u2026."


def _kept(met: str) -> str:
    return "cannot be told" if met == "unclear" else met

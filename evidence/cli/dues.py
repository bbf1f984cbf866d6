"""`due`: what is due, by when and by whose rule, for a person, a program or a calendar."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, own, typed

if TYPE_CHECKING:
    from evidence.trade import Catalogue
    from evidence.upkeep import Due, History, Standing

_FEW = 3
_AHEAD = timedelta(days=400)
"""What is due later than this is told in one line: longer than any yearly task."""


@click.command(cls=typed.Command)
@common.case_argument
@common.on_option
@common.trust_option
@click.option(
    "--ics",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.ics",
    help="Put it into a calendar file too; a later file moves the same events.",
)
@own.catalogue_option
@common.json_option
def due(
    case: Path,
    on: str | None,
    trusted: tuple[Path, ...],
    ics: Path | None,
    own_rows: str | None,
    as_json: bool,
) -> None:
    """What is due, by when, by whose rule, and the cautions that go with it.

    Example:  roof-evidence due my-rig --on 2026-03-01 --ics roof.ics
    """
    from evidence.upkeep import what_is_due

    catalogue = own.catalogue_given(own_rows)
    standing = common.measured(case, on, trusted, catalogue)
    rows = what_is_due(standing, catalogue)
    written = ics is not None and _write_calendar(standing, rows, catalogue, ics)
    if as_json:
        common.emit([due_document(row) for row in rows])
        return
    common.sample_line(standing.history)
    _tell(standing, rows, catalogue, case)
    if ics is not None:
        held = "holds these dates" if written else "was not written: nothing has a date"
        common.tell(f"{ics} {held} for a calendar.")


def _write_calendar(
    standing: "Standing", rows: "Sequence[Due]", catalogue: "Catalogue", out: Path
) -> bool:
    """Put the calendar there; False where there is nothing to put into one."""
    from evidence.calendar import calendar_of
    from evidence.placing import CALENDAR, put

    data = calendar_of(standing, rows, catalogue)
    if data is not None:
        put(data, out, CALENDAR)
    return data is not None


def due_document(row: "Due") -> dict[str, object]:
    """A row for a program (OUTPUTS § 2); `by` is null where it follows what `once` names."""
    return {
        "task": row.task,
        "zones": list(row.zones),
        "by": None if row.by is None else row.by.isoformat(),
        "once": row.once,
        "rule": row.rule,
        "basis": row.basis,
        "authority": row.authority,
        "why": row.why,
        "overdue": list(row.overdue),
        "required": row.required,
        "finding": row.finding,
        "of": row.of,
        "ways": list(row.ways),
        "unsafe": row.unsafe,
        "cautions": list(row.cautions),
    }


def _tell(standing: "Standing", rows: "Sequence[Due]", catalogue: "Catalogue", case: Path) -> None:
    near = [row for row in rows if not _far(standing, row.by)]
    if not rows:
        common.tell("Nothing is due: the record has no rules, or nothing is open.")
    for row in near:
        _tell_due(standing, row)
    far = [row for row in rows if _far(standing, row.by)]
    if far:
        click.echo()
        heads = "; ".join(due_heading(standing, row) for row in far)
        common.tell(f"Later: {heads}.")
    for text in _about_answers(standing.history):
        click.echo()
        common.tell(text)
    _tell_ways(standing.history, rows, case)
    cautions = list(dict.fromkeys(text for row in rows for text in row.cautions))
    if cautions:
        common.heading("Before anybody climbs")
        for text in cautions:
            common.tell(f"- {text}", indent=2)
    own.tell_changes(catalogue)
    click.echo()
    common.tell(catalogue.footer)


def _far(standing: "Standing", by: date | None) -> bool:
    return by is not None and by > standing.history.on + _AHEAD


def _tell_due(standing: "Standing", row: "Due") -> None:
    from evidence.dossier import say

    common.heading(due_heading(standing, row))
    common.tell(f"{say.sentence(say.dated(row.why))}{_whose(row)}.", indent=2)
    if row.zones and row.finding is None:
        common.tell(f"{say.sentence(_zone_names(standing, row.zones))}.", indent=2)


def _whose(row: "Due") -> str:
    """`, by the care booklet, p. 14 (paper on file)`."""
    from evidence.dossier.wording import wording

    if row.authority is None or row.basis is None:
        return ""
    basis = wording("due").say("basis", row.basis)
    return f", by {row.authority} ({basis})" if row.rule else f" ({row.authority})"


def _tell_ways(history: "History", rows: "Sequence[Due]", case: Path) -> None:
    """How a look may be had, said once; first why nobody should climb, where anything says so."""
    from evidence.dossier import say
    from evidence.dossier.ways import ways_listed
    from evidence.upkeep.ways import against_a_climb

    if not any(row.ways for row in rows):
        return
    common.heading("How it may be done, the safest first")
    whole = against_a_climb(history)
    for against in sorted(
        {row.unsafe for row in rows if row.ways}, key=lambda a: a in (None, whole)
    ):
        if against is not None:
            there = "" if against == whole else " there"
            common.tell(f"Nobody should climb{there}: {say.dated(against)}.", indent=2)
        alike = [row for row in rows if row.ways and row.unsafe == against]
        for those in dict.fromkeys(row.ways for row in alike):
            doers = dict.fromkeys(_doing(row) for row in alike if row.ways == those)
            common.tell(f"{say.sentence(say.listed(doers))}: {ways_listed(those)}.", indent=2)
    common.tell("To put it off counts as an entry, with its date and its reason:", indent=2)
    common.call("enter", case, "deferral")


def _doing(row: "Due") -> str:
    from evidence.upkeep.ways import HANDS_ON

    return "work by hand" if row.finding is not None or row.task in HANDS_ON else "a look"


def _about_answers(history: "History") -> Iterator[str]:
    """Why nothing is told of the end of an outsider's certificate."""
    if history.vouched and not any(answer.counts for answer in history.vouched):
        yield (
            "Outsiders' answers stand in the record, but none from somebody whom you said you "
            "trust: give --trust PEM to be told when a certificate among them ends."
        )


def due_heading(standing: "Standing", row: "Due") -> str:
    """`18 November 2025: look at every bead`, and by how many days it is over."""
    from evidence.dossier import say
    from evidence.dossier.wording import wording
    from evidence.words import Task

    if row.finding is not None:
        place = say.name(standing.history.place(row.zones[0]).zone.label)
        words = (
            f"{wording('due').say('task', row.task)} at {place}: {_finding(standing, row.finding)}"
        )
    elif row.rule is None:
        words = wording("due").say("task", row.task)
    else:
        words = standing.catalogue.tasks[Task(row.task)].words
    counted = "" if row.required else " (not counted)"
    if row.by is None:
        once = wording("due").say("once", str(row.once))
        return f"{once}: {words}{counted}"
    over = f", {say.counted(row.overdue, 'day')} over" if row.overdue[1] else ""
    return f"{say.day(row.by)}{over}: {words}{counted}"


def _finding(standing: "Standing", finding_id: str) -> str:
    """`hole or tear (f3)`."""
    facts = standing.finding(finding_id)
    if facts is None:
        return finding_id
    return f"{standing.catalogue.findings[facts.type].words} ({finding_id})"


def how_many(standing: "Standing", row: "Due") -> str:
    """`, all zones`, `, 3 zones`, or the one by its name."""
    if row.finding is not None or not row.zones:
        return ""
    if len(row.zones) == 1:
        return f", {standing.history.place(row.zones[0]).zone.label}"
    whole = len(row.zones) == len(standing.history.places)
    return ", all zones" if whole else f", {len(row.zones)} zones"


def _zone_names(standing: "Standing", zones: tuple[str, ...]) -> str:
    """The zones by name; where it is nearly all of them, those that are left out."""
    from evidence.dossier import say

    labels = {place.id: place.zone.label for place in standing.history.places}
    others = [name for zone_id, name in labels.items() if zone_id not in zones]
    if not others:
        return "All zones"
    if len(others) <= _FEW < len(zones):
        return f"All zones but {say.listed(others)}"
    return say.listed(labels.get(zone_id, zone_id) for zone_id in zones)

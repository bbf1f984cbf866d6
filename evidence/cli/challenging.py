"""`challenge`: what the other side will say of this very record."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, own

if TYPE_CHECKING:
    from evidence.dossier.challenged import Said


@click.command
@common.case_argument
@click.option("--incident", help="The incident's id; may be left out where there is one only.")
@common.on_option
@common.trust_option
@own.catalogue_option
@common.json_option
def challenge(
    case: Path,
    incident: str | None,
    on: str | None,
    trusted: tuple[Path, ...],
    own_rows: str | None,
    as_json: bool,
) -> None:
    """The strongest honest case against this record, the gravest first.

    Each point with its entries, what in the record answers it, and what could still be done today.

    Example:  roof-evidence challenge my-rig --incident branch-1
    """
    from evidence.dossier.challenged import as_json as document
    from evidence.dossier.challenged import challenged
    from evidence.looking import seen_questions
    from evidence.upkeep import measure
    from evidence.upkeep.standing import incident_asked

    record, catalogue = common.open_to_read(case), own.catalogue_given(own_rows)
    day = common.day_given(on, record)
    history = record.history(day, common.read_anchors(trusted))
    standing = measure(history, catalogue, record.root_on(day))
    facts = incident_asked(standing, incident)
    with common.progress("looking", quiet=as_json) as advance:
        seen = seen_questions(record, history, advance)
    rows = challenged(standing, facts, catalogue, seen)
    if as_json:
        common.emit(document(rows))
        return
    if history.case.sample:
        common.tell("This is a sample: an invented case.")
    tell_challenge(rows)
    own.tell_changes(catalogue)


def tell_challenge(rows: "Sequence[Said]") -> None:
    """The case against a record for a person, under a heading for each grade of gravity."""
    from evidence.dossier.wording import wording

    words = wording("challenge")
    if not rows:
        common.tell(words.say("challenge_page", "none"))
    grave = None
    for number, row in enumerate(rows, start=1):
        if row.challenge.grave is not grave:
            grave = row.challenge.grave
            common.heading(words.say("grave", str(int(grave))))
        click.echo()
        first, *rest = _lines(row)
        common.rows([(f"{number:>2}.", first), *(("", text) for text in rest)])


def _lines(row: "Said") -> Iterator[str]:
    """What is said, what answers it, and what could still be done, with their entries."""
    from evidence.dossier import say
    from evidence.dossier.wording import wording

    for cited in (row.point, *row.answers):
        refs = say.entries(cited.entries)
        yield f"{cited.text} ({refs})" if refs else cited.text
    if row.today:
        steps = " ".join(row.today)
        yield wording("challenge").say("challenge_page", "today", steps=steps)

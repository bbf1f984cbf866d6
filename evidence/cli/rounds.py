"""`round`: what the next look takes along, on paper or on the terminal."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, own, typed

if TYPE_CHECKING:
    from evidence.trade import Catalogue
    from evidence.upkeep.rounds import Round, Stop


@click.command("round", cls=typed.Command)
@common.case_argument
@common.on_option
@common.trust_option
@common.paper_option
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE.pdf",
    help="Where the sheet is put; without it the list is told here.",
)
@own.catalogue_option
@common.json_option
def round_(
    case: Path,
    on: str | None,
    trusted: tuple[Path, ...],
    paper: str,
    out: Path | None,
    own_rows: str | None,
    as_json: bool,
) -> None:
    """A sheet for the next look: zones in walking order, last grades, open findings, cautions.

    It is a working sheet and no evidence: what is marked on it counts once it is entered.

    Example:  roof-evidence round my-rig --out round.pdf
    """
    from evidence.dossier.pocket import next_round, print_round
    from evidence.placing import SHEET, put

    catalogue = own.catalogue_given(own_rows)
    standing = common.measured(case, on, trusted, catalogue)
    planned = next_round(standing, catalogue)
    if out is not None:
        record = common.open_to_read(case)
        with common.stages(quiet=as_json) as told:
            told("preparing pictures and pages")
            put(print_round(record, standing, planned, catalogue, paper), out, SHEET)
    if as_json:
        common.emit(_document(planned, catalogue, out))
        return
    common.sample_line(planned.history)
    if out is None:
        _tell(planned, catalogue, paper)
        own.tell_changes(catalogue)
    else:
        zones = len(planned.stops)
        common.tell(f"{out} has {zones} zones in walking order. It is no evidence: enter the look.")


def _document(planned: "Round", catalogue: "Catalogue", out: Path | None) -> dict[str, object]:
    answer = planned.answer
    return {
        "on": planned.history.on.isoformat(),
        "file": None if out is None else str(out),
        "stops": [_stop_document(stop, catalogue) for stop in planned.stops],
        "ways": list(planned.ways),
        "unsafe": planned.unsafe,
        "cautions": list(planned.cautions),
        "answer": None if answer is None else answer.seq,
    }


def _stop_document(stop: "Stop", catalogue: "Catalogue") -> dict[str, object]:
    look = stop.look
    return {
        "number": stop.number,
        "part": stop.part,
        "zone": stop.place.id,
        "label": stop.place.zone.label,
        "grade": stop.grade,
        "last": None
        if look is None
        else {"seq": look.seq, "date": look.dates[0].isoformat(), "days": list(stop.days or ())},
        "keep_off": stop.keep_off,
        "ways": list(stop.ways),
        "pictured": None if stop.pictured is None else stop.pictured.seq,
        "recheck": [
            {
                "finding": facts.id,
                "type": facts.type,
                "words": catalogue.findings[facts.type].words,
                "grade": facts.grade,
                "length_mm": facts.finding.length_mm,
                "width_mm": facts.finding.width_mm,
                "first_seen": facts.first_seen.seq,
            }
            for facts in stop.recheck
        ],
    }


def _tell(planned: "Round", catalogue: "Catalogue", paper: str) -> None:
    """The list for a person: cautions first."""
    from evidence.dossier import say
    from evidence.dossier.pocket.stops import (
        keep_off_words,
        last_seen,
        recheck_words,
        unit_of,
        walk_words,
    )
    from evidence.dossier.ways import ways_listed
    from evidence.dossier.wording import wording

    words = wording("round")
    common.heading(words.say("first", "cautions"))
    if planned.unsafe is not None:
        common.tell(words.say("first", "unsafe", why=say.dated(planned.unsafe)), indent=2)
    if planned.unsafe is not None:
        common.tell(words.say("first", "start-safe"), indent=2)
    common.tell(words.say("first", "ways", ways=ways_listed(planned.ways)), indent=2)
    for text in planned.cautions:
        common.tell(f"- {text}", indent=2)
    part = None
    for stop in planned.stops:
        if stop.part is not part:
            part = stop.part
            common.heading(walk_words(planned, part))
        name = say.sentence(say.name(stop.place.zone.label))
        common.tell(f"{stop.number:>2} {name}: {last_seen(stop, planned, catalogue)}", indent=2)
        if stop.keep_off is not None:
            common.tell(keep_off_words(stop), indent=5)
        for finding in stop.recheck:
            said = recheck_words(finding, planned, catalogue, unit_of(paper))
            common.tell(f"again: {said}", indent=5)
    click.echo()
    common.tell(words.say("after", "no-evidence"))
    common.tell(catalogue.footer)

"""`due`, `standing`, `zone`, `schema` and `export`: what can be read out of the record."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common

if TYPE_CHECKING:
    from evidence.upkeep import Due, History, Standing

_FEW = 3


def _standing(case: Path, on: str | None, trusted: tuple[Path, ...]) -> "Standing":
    from evidence.trade import load_catalogue
    from evidence.upkeep import measure

    record = common.open_record(case)
    day = common.day_given(on, record)
    history = record.history(day, common.read_anchors(trusted))
    return measure(history, load_catalogue(), record.root_on(day))


@click.command
@common.case_argument
@common.on_option
@common.json_option
def due(case: Path, on: str | None, as_json: bool) -> None:
    """What is due, by when, by whose rule, and the cautions that go with it.

    Example:  roof-evidence due my-rig --on 2026-03-01
    """
    from evidence.trade import load_catalogue
    from evidence.upkeep import what_is_due

    catalogue = load_catalogue()
    standing = _standing(case, on, ())
    rows = what_is_due(standing, catalogue)
    if as_json:
        common.emit([_due_json(row) for row in rows])
        return
    _sample_line(standing.history)
    if not rows:
        common.tell("Nothing is due: the record has no rules, or nothing is open.")
    for row in rows:
        _tell_due(standing, row)
    cautions = list(dict.fromkeys(text for row in rows for text in row.cautions))
    if cautions:
        common.heading("Before anybody climbs")
        for text in cautions:
            common.tell(f"- {text}", indent=2)
    click.echo()
    common.tell(catalogue.footer)


def _due_json(row: "Due") -> dict[str, object]:
    return {
        "task": row.task,
        "zones": list(row.zones),
        "by": row.by.isoformat(),
        "rule": row.rule,
        "basis": row.basis,
        "authority": row.authority,
        "why": row.why,
        "overdue": list(row.overdue),
        "required": row.required,
        "ways": list(row.ways),
        "cautions": list(row.cautions),
    }


def _tell_due(standing: "Standing", row: "Due") -> None:
    from evidence.cli.telling import due_heading
    from evidence.dossier import say

    common.heading(due_heading(standing, row))
    whose = "" if row.authority is None else f", by {row.authority}"
    common.tell(f"{say.sentence(row.why)}{whose}.", indent=2)
    if row.task != "finding":
        common.tell(f"{say.sentence(_zone_names(standing, row.zones))}.", indent=2)
    if row.ways:
        *others, last = (way.replace("-", " ") for way in row.ways)
        ways = f"{', '.join(others)} or {last}" if others else last
        common.tell(f"By any of these: {ways}.", indent=2)


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


def _sample_line(history: "History") -> None:
    if history.case.sample:
        common.tell("This is a sample: an invented case.")


@click.command
@common.case_argument
@common.on_option
@common.trust_option
@common.json_option
def standing(case: Path, on: str | None, trusted: tuple[Path, ...], as_json: bool) -> None:
    """The record measured: what is wrong, what is due, what is proved.

    Example:  roof-evidence standing my-rig --on 2025-11-03 --json
    """
    from evidence.cli.telling import tell_standing
    from evidence.upkeep import as_json as document

    measured = _standing(case, on, trusted)
    if as_json:
        common.emit(document(measured))
        return
    _sample_line(measured.history)
    tell_standing(measured)


@click.command
@common.case_argument
@click.argument("zone_id", metavar="ZONE")
@common.on_option
@common.trust_option
@common.json_option
def zone(
    case: Path, zone_id: str, on: str | None, trusted: tuple[Path, ...], as_json: bool
) -> None:
    """Everything about one place on the roof, in order.

    Example:  roof-evidence zone my-rig skylight-1
    """
    from evidence.cli.place import tell_zone, zone_document

    measured = _standing(case, on, trusted)
    measured.history.place(zone_id)
    if as_json:
        common.emit(zone_document(measured, zone_id))
        return
    _sample_line(measured.history)
    tell_zone(measured, zone_id)


@click.command
@click.argument("kind", required=False)
def schema(kind: str | None) -> None:
    """JSON Schema of the entries: of one kind, or of all of them.

    Example:  roof-evidence schema inspection
    """
    from evidence.cli.fields import model_of
    from evidence.entries import BODIES

    if kind is not None:
        common.emit(model_of(kind).model_json_schema(by_alias=True))
        return
    common.emit({name: model.model_json_schema(by_alias=True) for name, model in BODIES.items()})


@click.command
@common.case_argument
@click.option(
    "--to",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    required=True,
    metavar="DIR",
    help="The folder for the tables; made where there is none.",
)
@common.json_option
def export(case: Path, folder: Path, as_json: bool) -> None:
    """The record as CSV and JSON Lines, for any other program.

    Example:  roof-evidence export my-rig --to tables
    """
    from evidence.export import export_record

    written = export_record(common.open_record(case), folder)
    if as_json:
        common.emit({"files": [str(path) for path in written]})
        return
    for path in written:
        common.tell(f"{path}")

"""`standing`, `zone`, `schema` and `export`: what can be read out of the record."""

from pathlib import Path

import click

from evidence.cli import common, own


@click.command
@common.case_argument
@common.on_option
@common.trust_option
@own.catalogue_option
@common.json_option
def standing(
    case: Path, on: str | None, trusted: tuple[Path, ...], own_rows: str | None, as_json: bool
) -> None:
    """The record measured: what is wrong, what is due, what is proved.

    Example:  roof-evidence standing my-rig --on 2025-11-03 --json
    """
    from evidence.cli.telling import tell_standing
    from evidence.upkeep import as_json as document

    measured = common.measured(case, on, trusted, own.catalogue_given(own_rows))
    if as_json:
        common.emit(document(measured))
        return
    common.sample_line(measured.history)
    tell_standing(measured)
    own.tell_changes(measured.catalogue)


@click.command
@common.case_argument
@click.argument("zone_id", metavar="ZONE")
@common.on_option
@common.trust_option
@own.catalogue_option
@common.json_option
def zone(
    case: Path,
    zone_id: str,
    on: str | None,
    trusted: tuple[Path, ...],
    own_rows: str | None,
    as_json: bool,
) -> None:
    """Everything about one place on the roof, in order.

    Example:  roof-evidence zone my-rig skylight-1
    """
    from evidence.cli.place import tell_zone, zone_document

    measured = common.measured(case, on, trusted, own.catalogue_given(own_rows))
    measured.history.place(zone_id)
    if as_json:
        common.emit(zone_document(measured, zone_id))
        return
    common.sample_line(measured.history)
    tell_zone(measured, zone_id)
    own.tell_changes(measured.catalogue)


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

    record = common.open_to_read(case)
    written = export_record(record, folder)
    common.refresh_index(record, "The files are written.")
    if as_json:
        common.emit({"files": [str(path) for path in written]})
        return
    for path in written:
        common.tell(f"{path}")

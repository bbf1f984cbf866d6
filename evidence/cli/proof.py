"""`dossier`: what leaves the house."""

from pathlib import Path

import click

from evidence.cli import common, own

_LARGEST_MB = 15


@click.command
@common.case_argument
@click.option("--form", default="claim", show_default=True, help="Which dossier.")
@click.option("--incident", help="The incident's id; may be left out where there is one only.")
@common.on_option
@click.option(
    "--attach",
    type=click.Choice(["none", "cited"]),
    default="cited",
    show_default=True,
    help="Which originals go with it; the record always does.",
)
@click.option(
    "--max-mb",
    type=click.IntRange(0, 2000),
    default=_LARGEST_MB,
    show_default=True,
    help="How many megabytes of originals; the rest is listed as left out.",
)
@common.paper_option
@click.option(
    "--without-challenge",
    is_flag=True,
    help="Leave out the case against the record; the pages then say that it was left out.",
)
@click.option("--for", "meant_for", help="To whom it goes; written down in the record.")
@common.trust_option
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    metavar="FILE.pdf",
    help="Where the PDF is put.",
)
@own.catalogue_option
@common.json_option
def dossier(
    case: Path,
    form: str,
    incident: str | None,
    on: str | None,
    attach: str,
    max_mb: int,
    paper: str,
    without_challenge: bool,
    meant_for: str | None,
    trusted: tuple[Path, ...],
    out: Path,
    own_rows: str | None,
    as_json: bool,
) -> None:
    """Issue a signed PDF that carries the record and its proof.

    Example:  roof-evidence dossier my-rig --form claim --incident branch-1 --out claim.pdf
    """
    from evidence.dossier.issue import Order, issue
    from evidence.errors import RefusedError
    from evidence.words import Form

    record, catalogue = common.open_record(case), own.catalogue_given(own_rows)
    if form not in list(Form):
        raise RefusedError(f"form {form!r}", "is not a form", f"Forms: {', '.join(Form)}.")
    order = Order(
        form=Form(form),
        incident=incident,
        on=common.day_given(on, record),
        paper=paper,
        attach_cited=attach == "cited",
        most_bytes=max_mb * 1_000_000,
        meant_for=meant_for,
        with_challenge=not without_challenge,
        anchors=common.read_anchors(trusted),
    )
    keys = common.keys_of(record)
    with common.stages(quiet=as_json) as told:
        made = issue(record, order, catalogue, keys, out, progress=told)
    if as_json:
        common.emit({"file": str(made.path), "sha256": made.sha256, "seq": made.seq})
        return
    common.tell(
        f"{made.path} is signed and written down as entry {made.seq + 1}.",
        f"Its SHA-256 is {made.sha256}.",
        "Anybody can check it:",
    )
    common.call("check", made.path)
    own.tell_changes(catalogue)

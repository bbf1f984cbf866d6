"""`dossier` and `check`: what leaves the house, and what a stranger does with it."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, handed, own

if TYPE_CHECKING:
    from evidence.check.comparison import Comparison
    from evidence.check.report import Report, WitnessReport

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


@click.command
@click.argument("path", type=click.Path(path_type=Path))
@click.option(
    "--earlier",
    type=click.Path(path_type=Path),
    metavar="OLD",
    help="An earlier state to compare with: a case, a pack, a dossier, a signed head or heads.txt.",
)
@common.trust_option
@click.option(
    "--key",
    "keys",
    multiple=True,
    metavar="VKEY",
    help="A key that you were told by another way: the keeper's, or a cosigner's.",
)
@common.json_option
def check(
    path: Path,
    earlier: Path | None,
    trusted: tuple[Path, ...],
    keys: tuple[str, ...],
    as_json: bool,
) -> int:
    """Verify a case folder, a pack or a dossier, in ten numbered steps.

    Leaves with 0 where nothing was changed, 3 where something is missing, 4 where something was
    changed. With --earlier also: 4 where the record forks from the earlier state or lacks entries
    of it, 2 where the two are different records. With --key: 4 where no head is signed by that key,
    though nothing of the record was changed: it is not the one that you were told of.

    \b
    Example:
      roof-evidence check claim.pdf
      roof-evidence check rig.zip
      roof-evidence check claim.pdf --earlier claim-of-june.pdf
      roof-evidence check my-rig --key roof-evidence/0f0e…+1a2b3c4d+AX…
    """  # noqa: D301 - click reads the character itself
    from evidence.check import check_path
    from evidence.check.report import as_json as document

    anchors = common.read_anchors(trusted)
    named, cosigners = handed.read_keys(keys)
    anchors = replace(anchors, cosigners=(*anchors.cosigners, *cosigners))
    report = check_path(path, anchors, named=named, earlier=earlier)
    if as_json:
        common.emit(document(report))
    else:
        print_report(report)
    return report.exit_code


def print_report(report: "Report") -> None:
    """The numbered report for a person: the result, on whose word, then every step."""
    click.echo(click.style(_headline(report), bold=True))
    if report.record.sample:
        common.tell("This is a sample: an invented case.")
    common.tell(_anchored(report.anchor))
    click.echo()
    common.rows(
        (f"{step.n:>2}", step.name, _FOUND[step.found], step.detail) for step in report.steps
    )
    if report.earlier is not None:
        _print_comparison(report.earlier)
    click.echo()
    common.tell("No check can exclude that another record was kept beside this one.")


def _headline(report: "Report") -> str:
    """What became of it, in one sentence."""
    from evidence.check.comparison import Relation

    words = {
        "unchanged": "Unchanged: all of it is as it was sealed.",
        "incomplete": "Incomplete: nothing was changed, but something is missing.",
        "excerpt": "An excerpt: what is here was not changed; the rest was withheld.",
        "changed": "CHANGED: it is not what was sealed.",
    }
    if report.of_another_key:
        return "ANOTHER RECORD: this is not the record of the key that you named."
    if report.earlier is not None and report.holds:
        if report.earlier.relation is Relation.UNRELATED:
            return "UNRELATED: this is another record than the one that was shown earlier."
        if report.earlier.contradicts:
            return "CHANGED: it does not continue what was shown earlier."
    only_withheld = {step.n for step in report.steps if step.found == "missing"} == {1}
    return words["excerpt" if report.result == "incomplete" and only_withheld else report.result]


def _print_comparison(found: "Comparison") -> None:
    """How the record stands to the earlier state, and what came since."""
    from evidence.check.comparison import Relation

    common.heading("Compared with the earlier state")
    common.tell(f"The record {found.detail}.")
    common.rows((f"entry {row.seq + 1}", row.kind, row.logged) for row in found.added)
    if found.relation is Relation.FORKS:
        common.tell(
            "A record that was continued on two machines looks like this, and so does one that was "
            "written anew. Neither is merged into the other; keep both."
        )


def _anchored(anchor: "WitnessReport | None") -> str:
    """On whose word the dates rest."""
    from evidence.witness import Trust

    if anchor is None:
        return "Nobody but the owner vouches for any date here."
    existed = (
        f"the first {anchor.size} entries existed on {anchor.time:%Y-%m-%d %H:%M} UTC: "
        f"{anchor.name}."
    )
    if anchor.trust is Trust.TRUSTED:
        return f"An outsider whom you trust answers that {existed}"
    if anchor.trust is Trust.SAMPLE:
        return f"The sample's own outsider, who vouches for nothing, answers that {existed}"
    if anchor.type == "letter":
        return f"A letter, by a mail key that its keeper gave, answers that {existed}"
    if anchor.type == "cosign":
        return f"A cosigner, by a key that the record alone names, answers that {existed}"
    return f"An outsider whose certificate you did not give answers that {existed}"


_FOUND = {
    "ok": "ok",
    "named": "named",
    "not-checked": "not checked",
    "missing": "MISSING",
    "changed": "CHANGED",
}

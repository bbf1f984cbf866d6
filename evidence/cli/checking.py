"""`check`: what a stranger does with what he was given."""

from dataclasses import replace
from pathlib import Path

import click

from evidence.cli import common, handed
from evidence.cli.checked import print_report


def _print_format(context: click.Context, _option: click.Parameter, asked: bool) -> None:
    """The format as a page, for whoever writes a checker of his own."""
    if asked:
        from evidence.check import format_page

        click.echo(format_page(), nl=False)
        context.exit()


@click.command
@click.argument("path", type=click.Path(path_type=Path))
@click.option(
    "--format",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    callback=_print_format,
    help="Print the format, for a checker of your own, and do nothing else.",
)
@click.option(
    "--earlier",
    type=click.Path(path_type=Path),
    metavar="OLD",
    help="An earlier state to compare with: a case, a pack, a dossier, a signed head or heads.txt; "
    "- takes the head from standard input.",
)
@common.trust_option
@click.option(
    "--key",
    "keys",
    multiple=True,
    metavar="VKEY",
    help="A key that you were told by another way: the keeper's, or a cosigner's.",
)
@click.option(
    "--explain",
    is_flag=True,
    help="Say in plain words what each step means, what it cannot show, and what to ask.",
)
@common.json_option
def check(
    path: Path,
    earlier: Path | None,
    trusted: tuple[Path, ...],
    keys: tuple[str, ...],
    explain: bool,
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
      roof-evidence check rig.zip --explain
      roof-evidence check claim.pdf --earlier claim-of-june.pdf
      roof-evidence check my-rig --key roof-evidence/0f0e…+1a2b3c4d+AX…
    """  # noqa: D301 - click reads the character itself
    from evidence.check import check_path
    from evidence.check.explain import as_json as explained
    from evidence.check.report import as_json as document

    anchors = common.read_anchors(trusted)
    named, cosigners = handed.read_keys(keys)
    anchors = replace(anchors, cosigners=(*anchors.cosigners, *cosigners))
    before = handed.read_heads() if str(earlier) == "-" else earlier
    with common.steps_told(quiet=as_json) as told:
        report = check_path(path, anchors, named=named, earlier=before, progress=told)
    if as_json:
        words = {"explained": explained(report)} if explain else {}
        common.emit({**document(report), **words})
    else:
        print_report(report, explain=explain)
    return report.exit_code

"""`demo`: the whole job on an invented case."""

from pathlib import Path

import click

from evidence.cli import common


@click.command
@click.option(
    "--into",
    "folder",
    type=click.Path(path_type=Path),
    default=Path("demo"),
    show_default=True,
    metavar="DIR",
    help="A new folder.",
)
@click.option(
    "--story",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Another story than the sample case's.",
)
@common.json_option
def demo(folder: Path, story: Path | None, as_json: bool) -> int:
    """Build the sample case, issue its dossier, pack it and check all of it.

    Example:  roof-evidence demo --into demo
    """
    from evidence.check.report import as_json as document
    from evidence.cli.checked import print_report
    from evidence.demo import run_demo

    with common.progress("writing entries", quiet=as_json) as advance:
        shown = run_demo(folder, story, advance)
    worst = max(report.result.exit_code for report in shown.reports)
    if as_json:
        common.emit(
            {
                "case": str(shown.case),
                "dossiers": [str(path) for path in shown.dossiers],
                "pack": str(shown.pack),
                "checks": [document(report) for report in shown.reports],
            }
        )
        return worst
    common.tell(
        f"{shown.record.case.title}: a sample, invented from end to end, with "
        f"{len(shown.record.entries)} entries."
    )
    common.heading("The case")
    common.tell(f"{shown.case}: {shown.reports[0].result}", indent=2)
    common.heading("The whole of it in one file")
    common.tell(f"{shown.pack}: {shown.reports[-1].result}", indent=2)
    for path, report in zip(shown.dossiers, shown.reports[1:-1], strict=True):
        common.heading("A signed dossier")
        common.tell(f"{path}", indent=2)
        click.echo()
        print_report(report)
    common.heading("Try next")
    common.call("standing", shown.case)
    common.call("due", shown.case)
    common.call("check", shown.dossiers[0] if shown.dossiers else shown.case)
    common.call("zone", shown.pack, "skylight-1")
    return worst

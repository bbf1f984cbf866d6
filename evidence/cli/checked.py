"""What a check found, as a person reads it on a terminal."""

from typing import TYPE_CHECKING

import click

from evidence.cli import common

if TYPE_CHECKING:
    from evidence.check.comparison import Comparison
    from evidence.check.report import Report, WitnessReport


def print_report(report: "Report", *, explain: bool = False) -> None:
    """The numbered report for a person: the result, on whose word, then every step.

    With `explain` each step says what it is about, what follows, what it cannot show, what to ask.
    """
    click.echo(click.style(_headline(report), bold=True))
    if report.record.sample:
        common.tell("This is a sample: an invented case.")
    common.tell(_anchored(report.anchor))
    if explain:
        _print_explained(report)
    else:
        click.echo()
        common.rows(
            (f"{step.n:>2}", step.name, _FOUND[step.found], step.detail) for step in report.steps
        )
    if report.earlier is not None:
        _print_comparison(report.earlier)
    click.echo()
    common.tell("No check can exclude that another record was kept beside this one.")
    if not explain:
        common.tell("What each step means, and what to ask the sender: add --explain.")


def _print_explained(report: "Report") -> None:
    """Every step in plain words."""
    from evidence.check.explain import explained

    whole, rows = explained(report)
    click.echo()
    common.tell(whole)
    for row, step in zip(rows, report.steps, strict=True):
        common.heading(f"{row.n}. {row.title}: {_FOUND[step.found]}")
        common.tell(row.plain)
        common.rows(
            (label, text)
            for label, text in (
                ("Found here", f"{row.found[:1].upper()}{row.found[1:]}."),
                ("What follows", row.follows),
                ("Limits", row.cannot),
                ("Ask", row.ask),
            )
            if text
        )
    if report.target == "case":
        common.heading("9 and 10. Signature and figures")
        common.tell("A case folder has neither; a dossier and a pack have.")


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
    return words["excerpt" if report.only_withheld else report.result]


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

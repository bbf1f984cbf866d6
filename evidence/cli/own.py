"""The keeper's own rows of the catalogue: where they come from, and how they are shown."""

import os
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from evidence.cli import common

if TYPE_CHECKING:
    from evidence.trade import Catalogue
    from evidence.trade.rows import Claim

F = TypeVar("F", bound=Callable[..., Any])

VARIABLE = "ROOF_EVIDENCE_CATALOGUE"
"""Names the file instead; `none` for no file."""

_NONE = "none"
_UNMARKED = "common practice, no source"


def catalogue_option(command: F) -> F:
    """`--catalogue FILE`: the keeper's own rows, laid over the program's."""
    return click.option(
        "--catalogue",
        "own_rows",
        metavar="FILE",
        help="Your own rows of the catalogue (TOML); without it catalogue.toml in your "
        "configuration folder is taken, with `none` no file.",
    )(command)


def catalogue_given(own_rows: str | None) -> "Catalogue":
    """The catalogue with the rows of `--catalogue`, else of the keeper's configuration folder.

    Raises:
        RefusedError: the file cannot be read or is not whole; it names file, row and field.
    """
    from evidence.trade import load_catalogue

    named = own_rows or os.environ.get(VARIABLE)
    if named is not None:
        return load_catalogue(override=None if named == _NONE else Path(named))
    usual = _usual()
    return load_catalogue(override=usual if usual.exists() else None)


def _usual() -> Path:
    import platformdirs

    return platformdirs.user_config_path("roof-evidence") / "catalogue.toml"


def changes_json(catalogue: "Catalogue") -> list[dict[str, str | None]]:
    """What the keeper's own rows change: row, field, the program's value and theirs."""
    return [
        {"row": change.row, "field": change.field, "built_in": change.built_in, "own": change.own}
        for change in catalogue.changes
    ]


def tell_changes(catalogue: "Catalogue") -> None:
    """The same for a person; nothing where the catalogue is as it came."""
    if not catalogue.changes:
        return
    common.heading("Your own rows of the catalogue")
    for change in catalogue.changes:
        built_in, mine = change.words
        was = "not in the program's" if built_in is None else f"the program has {built_in}"
        common.tell(f"{change.row}, {change.field}: {mine} ({was}).", indent=2)


def marked(text: str, rests_on: str, catalogue: "Catalogue") -> str:
    """A sentence with its source; common practice bears no mark, and `tell_cautions` says so."""
    return text if rests_on == _UNMARKED else f"{text} [{catalogue.named(rests_on)}]"


def tell_claims(claims: "Iterable[Claim]", catalogue: "Catalogue", lead: str = "") -> None:
    """Sentences of the catalogue, each on its own line."""
    for claim in claims:
        common.tell(f"- {lead}{marked(claim.text, claim.rests_on, catalogue)}", indent=2)


def claims_json(claims: "Iterable[Claim]") -> list[dict[str, str]]:
    """The same for a program."""
    return [{"text": claim.text, "source": claim.rests_on} for claim in claims]


def tell_foot(catalogue: "Catalogue") -> None:
    """What a missing mark means, and whose word comes first."""
    click.echo()
    common.tell(f"What bears no mark is {_UNMARKED}. {catalogue.footer}")


def tell_cautions(catalogue: "Catalogue") -> None:
    """What is shown before sealing work, and whose word comes first."""
    from evidence.words import Task

    common.heading("Before anybody climbs")
    for row in catalogue.cautions_for(Task.RESEAL):
        common.tell(f"- {marked(row.text, row.rests_on, catalogue)}", indent=2)
    tell_foot(catalogue)

"""`pack`: the record, its proof and its files in one ZIP, to be handed on."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, own

if TYPE_CHECKING:
    from evidence.bundle import Packed


@click.command
@common.case_argument
@click.argument("out", type=click.Path(path_type=Path, dir_okay=False), metavar="OUT.zip")
@click.option(
    "--excerpt",
    "incident",
    metavar="INCIDENT",
    help="Only what speaks of this incident, its zones and their findings; the rest is withheld, "
    "and the pack says how much.",
)
@click.option(
    "--without-originals",
    is_flag=True,
    help="Leave out pictures and other sealed files, and the dossiers, which hold some.",
)
@click.option(
    "--reveal",
    multiple=True,
    metavar="FIELD",
    help="Tell a sealed value: serial, or 2.serial for that of entry 2; may be given again.",
)
@common.on_option
@common.trust_option
@own.catalogue_option
@common.json_option
def pack(
    case: Path,
    out: Path,
    incident: str | None,
    without_originals: bool,
    reveal: tuple[str, ...],
    on: str | None,
    trusted: tuple[Path, ...],
    own_rows: str | None,
    as_json: bool,
) -> None:
    """The record, its proof, its files and the checking page in one ZIP.

    The same case makes the same file, whenever it is packed: its figures are those of the day of
    the newest entry, unless --on names another.

    \b
    Example:
      roof-evidence pack my-rig rig.zip
      roof-evidence pack my-rig branch.zip --excerpt branch-1
    """  # noqa: D301 - click reads the character itself
    from evidence.bundle import PackOrder
    from evidence.bundle import pack as make
    from evidence.times import parse_day

    record, catalogue = common.open_record(case), own.catalogue_given(own_rows)
    order = PackOrder(
        on=None if on is None else parse_day(on),
        incident=incident,
        with_originals=not without_originals,
        reveal=reveal,
        anchors=common.read_anchors(trusted),
    )
    with common.progress("packing", quiet=as_json) as advance:
        made = make(record, order, catalogue, out, advance)
    if as_json:
        common.emit(_document(made))
        return
    common.tell(*_lines(made))
    common.tell("Anybody can check it:")
    common.call("check", made.path)
    own.tell_changes(catalogue)


def _document(made: "Packed") -> dict[str, object]:
    return {
        "file": str(made.path),
        "bytes": made.bytes,
        "files": made.files,
        "entries": made.entries,
        "withheld": made.size - made.entries,
        "size": made.size,
        "originals": made.originals,
        "positions": made.positions,
        "positions_told": made.positions_told,
        "left_out": made.left_out,
        "missing": list(made.missing),
        "revealed": list(made.revealed),
    }


def _lines(made: "Packed") -> Iterator[str]:
    """What went in, what did not, and what its holder may not want to hand on."""
    size = f"{made.bytes / 1_000_000:.1f} MB in all"
    yield (
        f"{made.path} holds {_many(made.entries, 'entry', 'entries')} and "
        f"{_many(made.originals, 'sealed file')}, {size}."
    )
    if made.entries < made.size:
        yield (
            f"It is an excerpt: {made.size - made.entries} of {made.size} entries are withheld, "
            "and it says so. No gap and no last look can be told from it."
        )
    if made.left_out:
        yield f"Left out, and listed as left out: {_many(made.left_out, 'sealed file')}."
    if made.missing:
        gone = _many(len(made.missing), "sealed file")
        yield f"Missing there, for the case does not hold them any more: {gone}."
    for name in made.revealed:
        number, _, field = name.partition(".")
        yield f"It reveals what entry {number} seals: {field}."
    if made.positions_told:
        inside = f", {made.positions} of them inside" if made.positions else ", though none inside"
        told = _many(made.positions_told, "picture")
        yield click.style(
            f"Take care: it names where the camera was for {told}{inside}. "
            "That may be where you live.",
            bold=True,
        )


def _many(count: int, one: str, more: str | None = None) -> str:
    return f"1 {one}" if count == 1 else f"{count} {more or one + 's'}"

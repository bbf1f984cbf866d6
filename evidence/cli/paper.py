"""`card`, and the `--slip` of `witness`: what is printed for outsiders and for the next photos."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from evidence.cli import common
from evidence.errors import RefusedError

if TYPE_CHECKING:
    from evidence.case import Record

F = TypeVar("F", bound=Callable[..., Any])

_PNG, _PDF = ".png", ".pdf"


def slip_option(command: F) -> F:
    """`--slip FILE.pdf`: one page with the head, for somebody else to keep."""
    return click.option(
        "--slip",
        type=click.Path(path_type=Path, dir_okay=False),
        metavar="FILE.pdf",
        help="One page with the present head and its QR code, for somebody else to keep.",
    )(command)


@click.command
@common.case_argument
@click.option(
    "--out",
    type=click.Path(path_type=Path, dir_okay=False),
    required=True,
    metavar="FILE",
    help="A page to print (.pdf), or the card alone as a picture (.png).",
)
@click.option("--zone", "zone_id", metavar="ZONE", help="Name a zone on it.")
@common.paper_option
@common.json_option
def card(case: Path, out: Path, zone_id: str | None, paper: str, as_json: bool) -> None:
    """A card to lay in the next photos: they are then younger than the answer printed on it.

    It carries the newest outsider's answer in the record. Print it in its true size.

    Example:  roof-evidence card my-rig --zone skylight-1 --out card.pdf
    """
    from evidence.dossier import say
    from evidence.paper import card_of, card_pdf, card_png
    from evidence.placing import PICTURE, SHEET, put
    from evidence.times import utc_text
    from evidence.trade import load_catalogue

    ending = out.suffix.lower()
    if ending not in (_PNG, _PDF):
        raise RefusedError(str(out), "ends neither in .pdf nor in .png", "Name a file of either.")
    printed = card_of(common.open_record(case), zone_id)
    footer = load_catalogue().footer
    if ending == _PNG:
        put(card_png(printed), out, PICTURE)
    else:
        put(card_pdf(printed, paper, footer), out, SHEET)
    if as_json:
        common.emit(
            {
                "file": str(out),
                "answer": printed.card.answer,
                "time": utc_text(printed.answered),
                "name": printed.name,
                "seq": printed.seq,
                "zone": zone_id,
                "letters": printed.card.letters,
                "text": printed.card.text,
            }
        )
        return
    answer = f"{say.utc(printed.answered)} ({say.entries([printed.seq])})"
    common.tell(
        f"{out} carries the outsider's answer of {answer}: {printed.card.letters}. Its day rests "
        f"on the clock of {say.name(printed.name)}, as the card says.",
        "Print it at 100 % and measure its line; then lay it in the next photos.",
    )


def write_slip(record: "Record", out: Path, paper: str = "letter") -> None:
    """Write the slip of the present head.

    Raises:
        RefusedError: `out` is not a PDF's name, cannot be written, or no key signed the head.
    """
    from evidence.paper import slip_of, slip_pdf
    from evidence.placing import SHEET, put
    from evidence.trade import load_catalogue

    if out.suffix.lower() != _PDF:
        raise RefusedError(str(out), "does not end in .pdf", "Name a file that does.")
    put(slip_pdf(slip_of(record), paper, load_catalogue().footer), out, SHEET)

"""`measure`: a length in a picture, with its uncertainty, by a card or a coin that lies there."""

import re
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, own, typed
from evidence.errors import RefusedError

if TYPE_CHECKING:
    from evidence.case import Record
    from evidence.cli.measuring_told import Measured
    from evidence.lengths import Coin, Point, Sheet
    from evidence.measuring import Shown
    from evidence.trade import Catalogue
    from evidence.trade.units import Measure

_PAIR = re.compile(r"(\d{1,6}(?:\.\d{1,2})?),(\d{1,6}(?:\.\d{1,2})?)", re.ASCII)
_PIXELS = re.compile(r"\d{1,3}(?:\.\d{1,2})?", re.ASCII)
_SHEET_SURE, _COIN_SURE = 0.5, 0.1
"""Standard uncertainty in mm of a size that was typed, where nothing else is said."""


def _point(text: str, option: str) -> "Point":
    found = _PAIR.fullmatch(text.strip())
    if found is None:
        raise RefusedError(f"{option} {text!r}", "is no place in a picture", "Write 640,1210.")
    return float(found[1]), float(found[2])


def _points(text: str, option: str) -> "tuple[Point, ...]":
    return tuple(_point(part, option) for part in text.split())


def _pixels(text: str, option: str) -> float:
    if _PIXELS.fullmatch(text) is None or float(text) == 0:
        raise RefusedError(f"{option} {text!r}", "is no number of pixels", "Write 1 or 2.5.")
    return float(text)


POINT = typed.Typed("X,Y", _point)
POINTS = typed.Typed("POINTS", _points)
PIXELS = typed.Typed("PX", _pixels)


@click.command(cls=typed.Command)
@common.case_argument
@click.argument("photo", required=False)
@click.option("--from", "start", type=POINT, help="One end: 640,1210.")
@click.option("--to", "end", type=POINT, help="The other end.")
@click.option("--card", is_flag=True, help="By a card of this program; so it is if left out.")
@click.option(
    "--corners",
    type=POINTS,
    help='By something flat: its four corners in order around it, "1012,804 1427,828 …". The first'
    " figure of --size runs from the first to the second.",
)
@click.option(
    "--rim", type=POINTS, help='By a coin: five or more places all around its rim, "901,640 …".'
)
@click.option(
    "--size",
    metavar="NAME|SIZE",
    help="Of what lies there: id-1, letter, a4, us-quarter, us-nickel, us-cent, us-dime; or"
    " 85.6x54mm, 23.25mm. With a card: of its marks, where its line was not 100 mm.",
)
@click.option("--basis", metavar="TEXT", help="On what a typed size rests: calipers, a booklet.")
@click.option("--known-to", type=typed.LENGTH, help="How well a typed size is known: 0.5mm.")
@click.option(
    "--read-to",
    type=PIXELS,
    default="1",
    show_default=True,
    help="How well you read a place in the picture, in pixels: two times in three it is that near.",
)
@click.option(
    "--as",
    "way",
    type=click.Choice(["length", "width"]),
    default="length",
    show_default=True,
    help="Which of a finding's two sizes it is.",
)
@click.option(
    "--finding",
    metavar="ID[,NAME=VALUE]…",
    help="The finding it belongs to: f3,zone=vent-1,type=D02,grade=2 for a new one,"
    " f3,state=worse,grade=3 for one on record.",
)
@click.option(
    "--into",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write the finding with its measure, for `enter CASE inspection … --from FILE`; a second"
    " measure goes into the same file.",
)
@click.option(
    "--again", is_flag=True, help="Reckon the measures on record again, from their notes."
)
@own.catalogue_option
@common.json_option
def measure(
    case: Path,
    photo: str | None,
    start: "Point | None",
    end: "Point | None",
    card: bool,
    corners: "tuple[Point, ...] | None",
    rim: "tuple[Point, ...] | None",
    size: str | None,
    basis: str | None,
    known_to: "Measure | None",
    read_to: float,
    way: str,
    finding: str | None,
    into: Path | None,
    again: bool,
    own_rows: str | None,
    as_json: bool,
) -> None:
    """A length between two places in a picture, by a card or a coin in the same plane.

    PHOTO is a path, or the name or the first digits of the SHA-256 of a picture of the case. Places
    are pixels of the upright picture as it is shown, across and down from its upper left corner.

    \b
    Example:
      roof-evidence measure my-rig IMG_0412.jpg --from 640,1210 --to 1585,742
      roof-evidence measure my-rig IMG_0412.jpg --from 640,1210 --to 1585,742
        --corners "1012,804 1427,828 1398,1097 978,1064" --size id-1
        --finding f3,zone=vent-1,type=D02,grade=2 --into tear.json
      roof-evidence enter my-rig inspection when=2025-05-30 means=on-roof
        occasion=routine zones=vent-1:2 --from tear.json
    """  # noqa: D301 - click reads the character itself
    from evidence.cli import measuring_told as told
    from evidence.lengths import Scene, Way

    record = common.open_record(case)
    if again:
        told.tell_again(record, as_json=as_json)
        return
    if photo is None or start is None or end is None:
        raise click.UsageError("PHOTO, --from and --to are needed", click.get_current_context())
    if (into is None) != (finding is None):
        raise click.UsageError("--into and --finding go together", click.get_current_context())
    if sum((card, corners is not None, rim is not None)) > 1:
        raise click.UsageError(
            "--card, --corners and --rim: give one of them", click.get_current_context()
        )
    catalogue = own.catalogue_given(own_rows)
    sized = _Size(catalogue, size, basis, known_to)
    picture, by, rests_on = _by(record, photo, corners, rim, sized, read_to)
    scene = Scene(picture.sha256, picture.size, start, end, read_to, by, rests_on)
    found = told.Measured(picture, scene, scene.length(), Way(way))
    if into is not None and finding is not None:
        _keep(record, found, finding, into)
    if as_json:
        common.emit(told.document(found, catalogue))
        return
    told.tell(found, catalogue)
    if into is not None:
        told.tell_kept(case, into)


class _Size:
    """The size of what lies there, by its name in the catalogue or as typed."""

    def __init__(
        self,
        catalogue: "Catalogue",
        text: str | None,
        basis: str | None,
        known_to: "Measure | None",
    ) -> None:
        self.text = text
        self.basis = basis
        self._rows = catalogue.sizes
        self._known_to = known_to
        self._named = catalogue.named

    def of(self, sides: int, what: str) -> "tuple[str, tuple[float, ...], float, str]":
        """Its name, its sizes in mm, their standard uncertainty and their basis.

        Raises:
            RefusedError: there is none, it has not so many sides, or nobody says what it rests on.
        """
        from evidence.trade import units

        if self.text is None:
            raise RefusedError("--size", f"is needed: that of {what}", "Write id-1 or 85.6x54mm.")
        row = self._rows.get(self.text)
        given = row.size if row else units.sizes(self.text, "--size")
        if len(given) != sides:
            raise RefusedError(
                f"--size {self.text!r}",
                "is no size of a coin" if sides == 1 else "has not two sides",
                "Write one length for a coin, two with an x between them for all else.",
            )
        usual = _COIN_SURE if sides == 1 else _SHEET_SURE
        if row is not None:
            usual = float(units.measure(row.known_to, units.LENGTH, "size").base)
        elif self.basis is None:
            raise RefusedError(
                f"--size {self.text!r}", "needs its basis", 'Say how you know: --basis "calipers".'
            )
        known = usual if self._known_to is None else float(self._known_to.base)
        basis = self.basis or self._named(row.rests_on if row else "")
        return (row.label if row else what), tuple(float(one.base) for one in given), known, basis


def _by(
    record: "Record",
    photo: str,
    corners: "tuple[Point, ...] | None",
    rim: "tuple[Point, ...] | None",
    sized: _Size,
    read_to: float,
) -> "tuple[Shown, Sheet | Coin, str]":
    """The picture, by what is measured in it, and on what its size rests."""
    from dataclasses import replace

    from evidence.lengths import Coin, Sheet, four
    from evidence.measuring import PRINTED_BASIS, card_in, shown

    if rim is not None:
        name, (across,), known, basis = sized.of(1, "a coin")
        coin = Coin(name, across, known, rim, read_to)
        return shown(record, photo, seek_cards=False), coin, basis
    if corners is not None:
        name, (wide, high), known, basis = sized.of(2, "something flat")
        sheet = Sheet(name, (wide, high), known, four(corners), read_to)
        return shown(record, photo, seek_cards=False), sheet, basis
    picture = shown(record, photo, seek_cards=True)
    if sized.text is None:
        return picture, card_in(picture, record), PRINTED_BASIS
    _, (wide, high), known, basis = sized.of(2, "the card")
    return picture, replace(card_in(picture, record, (wide, high)), size_sure=known), basis


def _keep(record: "Record", found: "Measured", finding: str, into: Path) -> None:
    """Write the finding with its measure, or add the measure to the same finding's file."""
    from evidence.cli.fields import photo_of
    from evidence.cli.measuring_file import keep

    name, said = photo_of(finding)
    keep(record, found, name, said, into)

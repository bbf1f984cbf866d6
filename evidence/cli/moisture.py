"""`moisture`: what a reading says beside the air and a dry place, and what it cannot tell."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, own, typed
from evidence.errors import RefusedError
from evidence.words import Meter, Scale

if TYPE_CHECKING:
    from evidence.cli.moisture_told import Shown
    from evidence.trade.units import Measure


@click.command(cls=typed.Command)
@click.argument("case", type=click.Path(path_type=Path), required=False)
@click.option("--zone", "zone_id", metavar="ZONE", help="Only this zone of the case.")
@click.option("--spot", metavar="NAME", help="Only this spot of the case.")
@click.option("--value", type=typed.READING, help="One reading, without a case: 18.5.")
@click.option("--air", type=typed.AIR, help="Air where it was read: 68F or 20C.")
@click.option("--humidity", type=typed.HUMIDITY, help="Relative humidity there: 65.")
@click.option("--reference", type=typed.READING, help="The same meter at a dry place that day.")
@click.option(
    "--meter", type=typed.Word(Meter), default="pin", show_default=True, help="The kind of meter."
)
@click.option(
    "--scale",
    type=typed.Word(Scale),
    default="wood-mc",
    show_default=True,
    help="Per cent of wood's moisture, or the meter's own figure.",
)
@click.option(
    "--correct",
    "corrected",
    is_flag=True,
    help="Show a pin meter's reading by each published rule for cold or warm wood, too.",
)
@click.option("--celsius", is_flag=True, help="Show a case's temperatures in °C instead of °F.")
@common.on_option
@own.catalogue_option
@common.json_option
def moisture(
    case: Path | None,
    zone_id: str | None,
    spot: str | None,
    value: int | None,
    air: "Measure | None",
    humidity: int | None,
    reference: int | None,
    meter: Meter,
    scale: Scale,
    corrected: bool,
    celsius: bool,
    on: str | None,
    own_rows: str | None,
    as_json: bool,
) -> None:
    """Is a reading above what the air alone explains, and which way does the spot go.

    With a CASE every spot on record; without one, the reading that you type.

    \b
    Example:
      roof-evidence moisture my-rig --zone ceiling-3
      roof-evidence moisture --value 18.5 --air 68F --humidity 65 --reference 11
    """  # noqa: D301 - click reads the character itself
    from evidence.cli.moisture_told import Shown, bounds, document, tell_bounds, tell_reading
    from evidence.trade.moisture import Taken, beside
    from evidence.trade.units import Unit

    catalogue = own.catalogue_given(own_rows)
    metric = celsius or (air is not None and air.unit is Unit.CELSIUS)
    shown = Shown(catalogue, Unit.CELSIUS if metric else Unit.FAHRENHEIT, corrected)
    if case is not None:
        typed.refuse(
            typed.given("value", "air", "humidity", "reference", "meter", "scale"),
            "does not go with a CASE, which has its own",
        )
        _of_case(case, zone_id, spot, on, shown, as_json=as_json)
        return
    typed.refuse(typed.given("zone_id", "spot", "on"), "needs the CASE that has it")
    if value is None:
        raise RefusedError("moisture", "has nothing to read", "Name a CASE, or give --value 18.5.")
    air_c = None if air is None else float(air.base)
    taken = Taken(value, scale, meter, air_c, humidity, reference)
    found = beside(taken, catalogue)
    if as_json:
        common.emit({**document(taken, found), **bounds(catalogue)})
        return
    tell_reading(taken, found, shown)
    tell_bounds(catalogue)


def _of_case(
    case: Path,
    zone_id: str | None,
    spot: str | None,
    on: str | None,
    shown: "Shown",
    *,
    as_json: bool,
) -> None:
    from evidence.cli.moisture_told import bounds, spot_document, tell_bounds, tell_spot
    from evidence.upkeep.spots import measure_spots

    record = common.open_to_read(case)
    history = record.history(common.day_given(on, record))
    spots = measure_spots(history, shown.catalogue, zone_id, spot)
    if as_json:
        common.emit({"spots": [spot_document(row) for row in spots], **bounds(shown.catalogue)})
        return
    if history.case.sample:
        common.tell("This is a sample: an invented case.")
    if not spots:
        common.tell("No such reading is on record.")
    for row in spots:
        tell_spot(history, row, shown)
    tell_bounds(shown.catalogue)

"""`moisture`: what a reading says beside the air and a dry place, and what it cannot tell."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, own, typed
from evidence.errors import RefusedError

if TYPE_CHECKING:
    from evidence.cli.moisture_told import Shown
    from evidence.trade.moisture import Taken


@click.command
@click.argument("case", type=click.Path(path_type=Path), required=False)
@click.option("--zone", "zone_id", metavar="ZONE", help="Only this zone of the case.")
@click.option("--spot", metavar="NAME", help="Only this spot of the case.")
@click.option("--value", metavar="PCT", help="One reading, without a case: 18.5.")
@click.option("--air", metavar="TEMP", help="Air where it was read: 68F or 20C.")
@click.option("--humidity", metavar="PCT", help="Relative humidity there: 65.")
@click.option("--reference", metavar="PCT", help="The same meter at a dry place that day.")
@click.option("--meter", type=click.Choice(["pin", "pinless"]), default="pin", show_default=True)
@click.option(
    "--scale", type=click.Choice(["wood-mc", "relative"]), default="wood-mc", show_default=True
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
    value: str | None,
    air: str | None,
    humidity: str | None,
    reference: str | None,
    meter: str,
    scale: str,
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
    from evidence.trade.moisture import beside
    from evidence.trade.units import Unit

    if (case is None) == (value is None):
        raise RefusedError(
            "moisture", "needs a CASE or one reading, not both", "Name a CASE, or give --value."
        )
    catalogue = own.catalogue_given(own_rows)
    customary = not celsius and (air is None or air.strip().upper().endswith("F"))
    shown = Shown(catalogue, Unit.FAHRENHEIT if customary else Unit.CELSIUS, corrected)
    if case is not None:
        _only_with(value, {"--air": air, "--humidity": humidity, "--reference": reference})
        _of_case(case, zone_id, spot, on, shown, as_json=as_json)
        return
    taken = _taken(value or "", air, humidity, reference, meter, scale)
    found = beside(taken, catalogue)
    if as_json:
        common.emit({**document(taken, found), **bounds(catalogue)})
        return
    tell_reading(taken, found, shown)
    tell_bounds(catalogue)


def _only_with(value: str | None, options: dict[str, str | None]) -> None:
    for name, text in options.items():
        if value is None and text is not None:
            raise RefusedError(name, "goes with --value: a case has its own", "Leave it out.")


def _taken(
    value: str, air: str | None, humidity: str | None, reference: str | None, meter: str, scale: str
) -> "Taken":
    from evidence.trade.moisture import Taken
    from evidence.trade.units import TEMPERATURE, measure
    from evidence.words import Meter, Scale

    return Taken(
        value_pct10=typed.tenths(value, "--value"),
        scale=Scale(scale),
        meter=Meter(meter),
        air_c=None if air is None else float(measure(air, TEMPERATURE, "--air").base),
        humidity_pct=None if humidity is None else typed.humidity(humidity),
        reference_pct10=None if reference is None else typed.tenths(reference, "--reference"),
    )


def _of_case(
    case: Path, zone_id: str | None, spot: str | None, on: str | None, shown: "Shown", *, as_json: bool
) -> None:
    from evidence.cli.moisture_told import bounds, spot_document, tell_bounds, tell_spot
    from evidence.upkeep.spots import measure_spots

    record = common.open_record(case)
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

"""`dryness`: whether air, surface and weather allow sealing now."""

import json
from collections.abc import Mapping
from math import inf
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, own, typed
from evidence.placing import Kind, put

if TYPE_CHECKING:
    from evidence.trade import Catalogue
    from evidence.trade.dryness import Dryness, Weather
    from evidence.trade.units import Measure

_FIELDS = ("air_dC", "surface_dC", "humidity_pct", "dry_check", "last_wet", "next_rain")
"""The fields of a `reseal` entry that this command fills."""
_NEEDED = {"air_dC", "surface_dC", "humidity_pct", "dry_check"}
"""Those of them that are always there."""


@click.command(cls=typed.Command)
@click.argument("case", type=click.Path(path_type=Path), required=False)
@click.option("--air", type=typed.AIR, required=True, help="Of the air: 68F or 20C.")
@click.option("--surface", type=typed.SURFACE, required=True, help="Of the place itself.")
@click.option("--humidity", type=typed.HUMIDITY, required=True, help="Relative humidity: 65.")
@click.option("--last-wet", metavar="WHEN", help="Last rain or dew: 36h ago, a day or a time.")
@click.option("--next-rain", metavar="WHEN", help="As forecast: 48h, a day, a time, or none.")
@click.option("--label", type=typed.WINDOW, help="The label's own temperatures: 40F..100F.")
@click.option("--checked", metavar="TEXT", help="How you looked for water in the joint.")
@click.option("--at", metavar="TIME", help="When it was read; now, if left out.")
@click.option(
    "--into",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Write the fields of a reseal entry, for `enter CASE reseal … --from FILE`.",
)
@own.catalogue_option
@common.json_option
def dryness(
    case: Path | None,
    air: "Measure",
    surface: "Measure",
    humidity: int,
    last_wet: str | None,
    next_rain: str | None,
    label: "tuple[Measure, Measure] | None",
    checked: str | None,
    at: str | None,
    into: Path | None,
    own_rows: str | None,
    as_json: bool,
) -> None:
    """Is it fit to seal now: go, wait or no, each with its figure and reason.

    It reckons with condensation. What water is in the joint already, you must look for. With a CASE
    days and times are local to the rig's home.

    \b
    Example:
      roof-evidence dryness my-rig --air 68F --surface 75F --humidity 65
        --last-wet 36h --next-rain 48h --checked "towel stayed clean" --into air.json
      roof-evidence enter my-rig reseal when=2025-06-01 zones=skylight-1
        extent=strip family=self-levelling --from air.json
    """  # noqa: D301 - click reads the character itself
    from evidence.cli.since import ReadAt
    from evidence.trade.dryness import Weather
    from evidence.trade.dryness import dryness as held_against

    catalogue = own.catalogue_given(own_rows)
    clock = ReadAt.of(None if case is None else common.open_to_read(case).home, at)
    wet, rain = clock.span(last_wet, "--last-wet", -1), clock.span(next_rain, "--next-rain", 1)
    weather = Weather(
        air=air,
        surface=surface,
        humidity_pct=humidity,
        since_wet=clock.hours(wet, "--last-wet", -1),
        until_rain=(inf, inf) if next_rain == "none" else clock.hours(rain, "--next-rain", 1),
        warm=label,
    )
    found = held_against(weather, catalogue)
    fields = _fields(weather, found, checked)
    fields |= {"last_wet": wet[0]} if wet else {}
    fields |= {"next_rain": rain[0]} if rain else {}
    if into is not None:
        _write(into, fields)
    if as_json:
        common.emit(_document(weather, found, fields, catalogue))
        return
    _tell(weather, found, catalogue)
    if into is not None:
        common.heading("For the record")
        common.tell(f"{into} holds these figures. Take them into the entry:")
        common.call("enter", case or "CASE", "reseal", "when=DAY", "zones=ZONE", "--from", into)
    own.tell_changes(catalogue)
    own.tell_cautions(catalogue)


def _fields(weather: "Weather", found: "Dryness", checked: str | None) -> dict[str, object]:
    return {
        "air_dC": weather.air.tenths,
        "surface_dC": weather.surface.tenths,
        "humidity_pct": weather.humidity_pct,
        "dry_check": f"{checked or _NOT_CHECKED}; {_verdict(found)}",
    }


_NOT_CHECKED = "joint not checked"


def _verdict(found: "Dryness") -> str:
    """The answer and the one rule on which it rests."""
    rule = found.deciding
    if rule is None:
        return f"{found.answer}: every rule met"
    return f"{found.answer}: {rule.name} {rule.figure}, rule {rule.rule}: {rule.held}"


def _write(path: Path, fields: Mapping[str, object]) -> None:
    text = json.dumps(fields, ensure_ascii=False, indent=2) + "\n"
    put(text.encode(), path, Kind("file of a reseal's fields", _made_here))


def _made_here(data: bytes) -> bool:
    try:
        held = json.loads(data)
    except ValueError:
        return False
    return isinstance(held, dict) and _NEEDED <= held.keys() <= set(_FIELDS)


def _document(
    weather: "Weather", found: "Dryness", fields: dict[str, object], catalogue: "Catalogue"
) -> dict[str, object]:
    from evidence.trade import Topic

    return {
        "answer": found.answer,
        "dew_point_C": f"{found.dew_point_c:.1f}",
        "margin_C": f"{found.margin_c:.1f}",
        "margin_uncertainty_C": f"{found.sure_c:.1f}",
        "unit": weather.air.unit,
        "checks": [
            {
                "name": row.name,
                "figure": row.figure,
                "rule": row.rule,
                "held": row.held,
                "reason": row.reason,
                "source": row.rests_on,
            }
            for row in found.checks
        ],
        "heat": _heat_json(weather, catalogue),
        "flags": list(found.flags),
        "cannot_tell": own.claims_json(catalogue.practised(Topic.CHECKING)),
        "fields": fields,
        "own_rows": own.changes_json(catalogue),
    }


def _heat_json(weather: "Weather", catalogue: "Catalogue") -> dict[str, str] | None:
    from evidence.trade.heat import heat

    hot = heat(weather.air, weather.humidity_pct, catalogue)
    if hot is None:
        return None
    return {"felt": str(hot.felt), "band": hot.band, "source": hot.source}


_SENTENCE = {
    "go": "Go: every rule below is met.",
    "wait": "Wait: nothing stands against it but time, or a figure that is missing or not sure.",
    "no": "No: a figure stands against sealing now.",
}


def _tell(weather: "Weather", found: "Dryness", catalogue: "Catalogue") -> None:
    from fractions import Fraction

    from evidence.dossier import say
    from evidence.trade import Topic
    from evidence.trade.heat import heat
    from evidence.trade.units import Measure, Unit

    dew = Measure(Fraction(found.dew_point_c), Unit.CELSIUS).to(weather.air.unit)
    click.echo(click.style(_SENTENCE[found.answer], bold=True))
    common.tell(
        f"Air {weather.air} at {weather.humidity_pct} %: dew forms at {dew} and below. "
        f"The place is at {weather.surface}."
    )
    click.echo()
    for row in found.checks:
        why = f": {row.reason}" if row.reason else ""
        said = f"{say.sentence(row.name)}: {row.figure}; the rule is {row.rule}{why}."
        said = own.marked(said, row.rests_on, catalogue)
        common.rows([(f"{row.held.upper():<9}", said)])
    for flag in found.flags:
        common.tell(flag)
    hot = heat(weather.air, weather.humidity_pct, catalogue)
    if hot is not None:
        more = "up to 15 °F (8 °C) more in the sun"
        said = f"In the shade it feels like {hot.felt}: {hot.band}; {more}."
        common.tell(own.marked(said, hot.source, catalogue))
    common.heading("What this does not tell")
    own.tell_claims(catalogue.practised(Topic.CHECKING), catalogue)

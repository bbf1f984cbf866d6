"""A moisture reading in sentences and as JSON: beside the air, a dry place, and its own past."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import click

from evidence.cli import common, own
from evidence.dossier import say
from evidence.trade import Catalogue, Topic
from evidence.trade.moisture import Beside, Taken
from evidence.trade.units import Unit, from_record

if TYPE_CHECKING:
    from evidence.upkeep import History
    from evidence.upkeep.spots import Spot, Trend


@dataclass(frozen=True, slots=True)
class Shown:
    """How it is shown: the reader's unit of temperature, and whether corrections stand beside."""

    catalogue: Catalogue
    unit: Unit
    corrected: bool


def tell_reading(taken: Taken, found: Beside, shown: Shown) -> None:
    """One reading that belongs to no case."""
    click.echo(click.style(_heading(taken, found, shown), bold=True))
    for text in _lines(taken, found, shown):
        common.tell(text, indent=2)


def tell_spot(history: "History", spot: "Spot", shown: Shown) -> None:
    """Every reading of a spot, and its trend."""
    from evidence.upkeep.spots import taken_from

    label = say.sentence(history.place(spot.zone).zone.label)
    common.heading(f"{label} ({spot.zone}): {spot.spot}")
    for row in spot.readings:
        taken = taken_from(row.body)
        setting = f", setting {row.body.setting}" if row.body.setting else ""
        how = f"{row.body.meter}{setting}; {say.entries([row.seq])}"
        common.tell(f"{say.day(row.date)}: {_heading(taken, row.beside, shown)} ({how})", indent=2)
        for text in _lines(taken, row.beside, shown):
            common.tell(text, indent=4)
    for text in _trend(spot.trend, len(spot.readings)):
        common.tell(text, indent=2)


def _trend(trend: "Trend | None", count: int) -> Iterator[str]:
    if trend is None:
        alone = "one reading only" if count == 1 else "no two readings were taken alike"
        yield f"Trend: {alone}."
        return
    between = f"over {say.counted(trend.days, 'day')} ({say.entries([trend.first, trend.last])})"
    yield f"Trend: {trend.way}; the reading went by {_signed(trend.change)} points {between}."
    if trend.over_reference is not None:
        yield f"Above the dry place it went by {_signed(trend.over_reference)} points."


def _heading(taken: Taken, found: Beside, shown: Shown) -> str:
    if found.band is None:
        return f"{taken.value_pct10 / 10:.1f} on the meter's own scale"
    row = shown.catalogue.moisture_bands[found.band]
    return f"{taken.value_pct10 / 10:.1f} %, {row.words} [{shown.catalogue.named(row.rests_on)}]"


def _lines(taken: Taken, found: Beside, shown: Shown) -> Iterator[str]:
    """What stands beside a reading, the evidence before the context."""
    if found.over_reference is not None and taken.reference_pct10 is not None:
        dry = f"{taken.reference_pct10 / 10:.1f}"
        yield f"Evidence: {_apart(found.over_reference)} a dry place on the same day ({dry})."
    if found.emc is not None and found.over_air is not None and taken.air_c is not None:
        air = f"air of {from_record(round(taken.air_c * 10), shown.unit)}, {taken.humidity_pct} %"
        yield (
            f"Context: {_apart(found.over_air)} what wood comes to in {air} ({found.emc:.1f} %)."
        )
    yield from found.said
    if shown.corrected and not found.corrected:
        yield "No published rule for cold or warm wood applies to it."
    for rule, value in found.corrected if shown.corrected else ():
        row = shown.catalogue.corrections[rule]
        yield (
            f"As if at room temperature, by the rule {row.label}: {value:.1f} % "
            f"[{shown.catalogue.named(row.rests_on)}]."
        )
    if shown.corrected and found.corrected:
        yield "The rules disagree; the reading as taken stands."


def tell_bounds(catalogue: Catalogue) -> None:
    """What is known of moisture, what a meter cannot tell, and whose word comes first."""
    common.heading("What is known of moisture")
    own.tell_claims(catalogue.practised(Topic.MOISTURE), catalogue)
    common.heading("What a meter cannot tell")
    own.tell_claims(catalogue.practised(Topic.CANNOT_TELL), catalogue)
    own.tell_changes(catalogue)
    own.tell_foot(catalogue)


def bounds(catalogue: Catalogue) -> dict[str, object]:
    """The same for a program."""
    return {
        "cannot_tell": own.claims_json(catalogue.practised(Topic.CANNOT_TELL)),
        "own_rows": own.changes_json(catalogue),
    }


def spot_document(spot: "Spot") -> dict[str, object]:
    """A spot for a program."""
    from evidence.upkeep.spots import taken_from

    trend = spot.trend
    return {
        "zone": spot.zone,
        "spot": spot.spot,
        "readings": [
            {
                "seq": row.seq,
                "date": row.date.isoformat(),
                **document(taken_from(row.body), row.beside),
                "like_last": row.like_last,
            }
            for row in spot.readings
        ],
        "trend": None
        if trend is None
        else {
            "from": trend.first,
            "to": trend.last,
            "days": list(trend.days),
            "change": f"{trend.change:.1f}",
            "over_reference": _text(trend.over_reference),
            "way": trend.way,
        },
    }


def document(taken: Taken, found: Beside) -> dict[str, object]:
    """A reading for a program."""
    reference = taken.reference_pct10
    return {
        "value": f"{taken.value_pct10 / 10:.1f}",
        "scale": taken.scale,
        "meter": taken.meter,
        "reference": None if reference is None else f"{reference / 10:.1f}",
        "band": found.band,
        "emc": _text(found.emc),
        "over_air": _text(found.over_air),
        "over_reference": _text(found.over_reference),
        "corrected": {rule: f"{value:.1f}" for rule, value in found.corrected},
        "said": list(found.said),
    }


def _text(value: float | None) -> str | None:
    return None if value is None else f"{value:.1f}"


def _apart(value: float) -> str:
    if not round(value, 1):
        return "the same as"
    return f"{abs(value):.1f} points {'above' if value > 0 else 'below'}"


def _signed(value: float) -> str:
    text = f"{value:+.1f}"
    return "0.0" if text in ("+0.0", "-0.0") else text.replace("-", "−")

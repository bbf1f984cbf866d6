"""What is asked of a person at the terminal: starting a case, and the fields that are missing."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

import click
from pydantic import JsonValue

from evidence.case import Draft, Record
from evidence.cli.fields import fields_of, model_of, value_of
from evidence.entries import Party, Rig, Rule
from evidence.errors import RefusedError
from evidence.times import zone
from evidence.trade import load_catalogue
from evidence.words import Surface

_OWNER = "owner"

_OPENINGS = (
    ("skylight", "Z11", "Skylight", "flat", 1),
    ("powered-vent", "Z12", "Powered vent", "flat", 1),
    ("vent", "Z13", "Ceiling vent", "flat", 1),
    ("plumbing", "Z14", "Plumbing vent", "flat", 2),
    ("refrigerator", "Z15", "Refrigerator vent", "flat", 1),
    ("air-conditioner", "Z16", "Air conditioner", "flat", 1),
    ("antenna", "Z17", "Antenna", "flat", 1),
    ("solar", "Z19", "Solar feet and glands", "flat", 0),
    ("ladder", "Z20", "Ladder mounts", "vertical", 1),
)
"""What a roof may carry, and how many are proposed (common practice, no source)."""

_EDGES = (
    ("front-strip", "Z01", "Front strip", "sloped"),
    ("front-corner-left", "Z02", "Front corner, left", "sloped"),
    ("front-corner-right", "Z02", "Front corner, right", "sloped"),
    ("rear-strip", "Z03", "Rear strip", "sloped"),
    ("rear-corner-left", "Z04", "Rear corner, left", "sloped"),
    ("rear-corner-right", "Z04", "Rear corner, right", "sloped"),
    ("rail-left", "Z05", "Left rail", "vertical"),
    ("rail-right", "Z06", "Right rail", "vertical"),
)
_ALONG = ("front", "middle", "rear")
_ACROSS = ("left", "centre", "right")
_MILLIMETRES = {"ft": 304.8, "m": 1000.0}


def opening_from(given: Mapping[str, Any]) -> tuple[str, list[Draft]]:
    """Title and first entries from `{"title","party","rig","rules"}`.

    Raises:
        RefusedError: a part is missing, unknown or of another form.
    """
    unknown = sorted(set(given) - {"title", "party", "rig", "rules"})
    if unknown:
        raise RefusedError(
            f"start: {unknown[0]!r}", "is not known here", "Known: title, party, rig, rules."
        )
    title, party, rig = given.get("title"), given.get("party"), given.get("rig")
    rules = given.get("rules", [])
    if not isinstance(title, str) or not isinstance(party, dict) or not isinstance(rig, dict):
        raise RefusedError("start", "needs a title, a party and a rig")
    if not isinstance(rules, list) or not all(isinstance(rule, dict) for rule in rules):
        raise RefusedError("start: rules", "is not a list of rules")
    by = str(party.get("id", _OWNER))
    drafts = [Draft("party", party, by), Draft("rig", rig, by)]
    return title, [*drafts, *(Draft("rule", rule, by) for rule in rules)]


def opening_like(other: Record) -> tuple[str, list[Draft]]:
    """The title, owner, rig and rules of another case, as last stated."""
    stated: dict[tuple[str, str], Draft] = {}
    for entry in other.entries:
        if isinstance(entry.body, Rig | Rule | Party):
            stated[entry.kind, entry.body.id] = Draft(entry.kind, entry.raw, entry.by)
    kinds = ("party", "rig", "rule")
    ordered = [d for kind in kinds for (of, _), d in stated.items() if of == kind]
    ordered = [Draft(d.kind, _of_any_record(d.body), ordered[0].by) for d in ordered]
    return other.case.title, ordered


def _of_any_record(body: Mapping[str, JsonValue]) -> dict[str, JsonValue]:
    """What holds in another record, too: no paper that stands there, no value sealed there."""
    return {
        name: value
        for name, value in body.items()
        if name != "paper" and not (isinstance(value, dict) and "sealed" in value)
    }


def ask_opening() -> tuple[str, list[Draft]]:
    """Ask for title, owner, rig and zones; the rules are the catalogue's, marked as defaults."""
    click.echo("A new case. Everything can be stated anew later; nothing is ever lost.\n")
    name = click.prompt("Your name, as it shall stand on papers")
    rig_name = click.prompt("The rig, as you call it")
    surfaces = [surface.value for surface in Surface]
    surface = click.prompt("Roof surface", type=click.Choice(surfaces), default="unknown")
    unit = click.prompt("Measure in", type=click.Choice(list(_MILLIMETRES)), default="ft")
    length = round(click.prompt(f"Length of the roof, {unit}", type=float) * _MILLIMETRES[unit])
    width = round(click.prompt(f"Width of the roof, {unit}", type=float) * _MILLIMETRES[unit])
    home = click.prompt("Home time zone", default="America/Chicago", value_proc=_zone_key)
    walkable = click.prompt(
        "May the roof be walked on", type=click.Choice(["yes", "no", "unknown"]), default="unknown"
    )
    rig: dict[str, JsonValue] = {
        "id": "rig",
        "name": rig_name,
        "surface": surface,
        "length_mm": length,
        "width_mm": width,
        "home_zone": home,
        "walkable": walkable,
        "zones": list(_ask_zones()),
    }
    party: dict[str, JsonValue] = {"id": _OWNER, "name": name, "role": "owner"}
    today = datetime.now(zone(home)).date().isoformat()
    drafts = [Draft("party", party, _OWNER), Draft("rig", rig, _OWNER)]
    drafts += [Draft("rule", rule, _OWNER) for rule in default_rules(today)]
    return rig_name, drafts


def _zone_key(text: str) -> str:
    try:
        return zone(text.strip()).key
    except RefusedError as error:
        raise click.BadParameter(f"{error.what} {error.why}. {error.what_to_do}") from error


def _ask_zones() -> list[dict[str, JsonValue]]:
    zones: list[dict[str, JsonValue]] = [
        {"id": key, "type": kind, "label": label, "slope": slope}
        for key, kind, label, slope in _EDGES
    ]
    for along in _ALONG:
        for across in _ACROSS:
            label = f"Field, {along} {across}"
            key = f"field-{along}-{across}"
            zones.append({"id": key, "type": "Z08", "label": label, "slope": "flat"})
    click.echo("\nHow many of each are on the roof?")
    for key, kind, label, slope, proposed in _OPENINGS:
        count = click.prompt(f"  {label}", type=click.IntRange(0, 12), default=proposed)
        for nth in range(1, count + 1):
            number = f" {nth}" if count > 1 else ""
            zones.append(
                {"id": f"{key}-{nth}", "type": kind, "label": label + number, "slope": slope}
            )
    return zones


def default_rules(applies_from: str) -> list[dict[str, JsonValue]]:
    """The catalogue's standard tasks as rules, each said to be this program's default."""
    rules = []
    for task, row in load_catalogue().tasks.items():
        if not row.standard or row.days is None:
            continue
        rule: dict[str, JsonValue] = {
            "id": task,
            "task": task,
            "days": row.days,
            "authority": f"this program's default ({row.rests_on})",
            "basis": "tool-default",
            "applies_from": applies_from,
            "required": True,
        }
        if row.from_days is not None:
            rule["from_days"] = row.from_days
        rules.append(rule)
    return rules


def ask_missing(kind: str, body: dict[str, Any], record: Record) -> dict[str, Any]:
    """Ask for every needed field that was not given; an empty answer is refused by the model."""
    model = model_of(kind)
    annotations = fields_of(model)
    for name, about in model.model_fields.items():
        key = about.alias or name
        if key in body or not about.is_required():
            continue
        now = datetime.now(zone(record.home)).strftime("%Y-%m-%dT%H:%M")
        default = now if key == "when" else None
        text = click.prompt(_question(key, record), default=default)
        body[key] = value_of(key, text, annotations[key], record.home)
    return body


def _question(name: str, record: Record) -> str:
    if name != "zones":
        return name
    rigs = [entry.body for entry in record.entries if isinstance(entry.body, Rig)]
    click.echo(f"Zones: {', '.join(place.id for place in rigs[-1].zones)}")
    return "zones (zone:grade, … for a look)"

"""Fields typed on a command line, turned into a body: `when=… zones=front-strip:0,vent-1:2`."""

import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any, cast, get_args, get_origin

from pydantic import JsonValue

from evidence.entries import BODIES, Body, ZoneGrade
from evidence.errors import RefusedError
from evidence.ledger import parse
from evidence.times import zone
from evidence.words import nearest

_LOCAL_TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d(:\d\d)?", re.ASCII)
_TIMES = ("when", "out", "back", "from", "to", "dated", "last_wet", "next_rain")


def model_of(kind: str) -> type[Body]:
    """The model of a kind.

    Raises:
        RefusedError: there is no such kind; the nearest one is named.
    """
    if kind not in BODIES:
        raise RefusedError(f"kind {kind!r}", "is not a kind of entry", nearest(kind, BODIES))
    return BODIES[kind]


def fields_of(model: type[Body]) -> dict[str, Any]:
    """Every field of a kind by the name under which it is written, with its annotation."""
    return {about.alias or name: about.annotation for name, about in model.model_fields.items()}


def body_of(kind: str, pairs: Sequence[str], home: str) -> dict[str, JsonValue]:
    """The body that `name=value` pairs describe; the model has the last word on it.

    Args:
        kind: the kind of entry.
        pairs: as typed.
        home: the IANA zone whose offset completes a time of day typed without one.

    Raises:
        RefusedError: a pair without `=`, or a field that the kind does not have.
    """
    known = fields_of(model_of(kind))
    body: dict[str, JsonValue] = {}
    for pair in pairs:
        name, equals, text = pair.partition("=")
        if not equals:
            raise RefusedError(f"{kind}: {pair!r}", "is not a field", "Write name=value.")
        if name not in known:
            raise RefusedError(
                f"{kind}: field {name!r}", "is not a field of this kind", nearest(name, known)
            )
        body[name] = value_of(name, text, known[name], home)
    return body


def value_of(  # noqa: PLR0911 - one answer for each type
    name: str, text: str, annotation: object, home: str
) -> JsonValue:
    """One typed value: JSON where it looks like JSON, else as the field's type reads it."""
    if text.startswith(("{", "[")):
        return cast("JsonValue", parse(text.encode()))
    if name in _TIMES:
        return with_offset(text, home)
    kinds = _inside(annotation)
    if ZoneGrade in kinds:
        return [_zone_grade(part) for part in _parts(text)]
    if bool in kinds and text in ("yes", "no", "true", "false"):
        return text in ("yes", "true")
    if int in kinds and str not in kinds and re.fullmatch(r"-?\d+", text, re.ASCII):
        return int(text)
    if tuple in kinds and text not in ("all", "undetermined"):
        return [int(part) if _seqs(kinds, part) else part for part in _parts(text)]
    return text


def _seqs(kinds: set[object], part: str) -> bool:
    return int in kinds and str not in kinds and part.isascii() and part.isdigit()


def _parts(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def _zone_grade(part: str) -> dict[str, JsonValue]:
    place, colon, grade = part.partition(":")
    if not colon or not re.fullmatch(r"\d+", grade, re.ASCII):
        raise RefusedError(f"zones: {part!r}", "has no grade", "Write zone:grade, as vent-1:0.")
    return {"zone": place, "grade": int(grade)}


def _inside(annotation: object) -> set[object]:
    """Every plain type within an annotation."""
    found: set[object] = set()
    origin = get_origin(annotation)
    if isinstance(origin, type):
        found.add(origin)
    for part in get_args(annotation):
        found |= _inside(part)
    if isinstance(annotation, type):
        found.add(annotation)
        if issubclass(annotation, str):
            found.add(str)
    return found


def with_offset(text: str, home: str) -> str:
    """A local time of day with the home zone's offset; everything else as it stands.

    Raises:
        RefusedError: clocks were changed: the time existed twice, or not at all.
    """
    parts = text.split("/")
    return "/".join(_offset_added(part, home) for part in parts)


def _offset_added(text: str, home: str) -> str:
    if _LOCAL_TIME.fullmatch(text) is None:
        return text
    try:
        local = datetime.fromisoformat(text)
    except ValueError:
        return text  # the model says what is wrong with it
    first, second = (local.replace(tzinfo=zone(home), fold=fold) for fold in (0, 1))
    if first.utcoffset() != second.utcoffset():
        gone = first.astimezone(UTC).astimezone(zone(home)).replace(tzinfo=None) != local
        raise RefusedError(
            f"time {text}",
            "did not exist" if gone else "existed twice: clocks were changed that day",
            f"Write the offset: {text}{_offset(first)} or {text}{_offset(second)}.",
        )
    return text + _offset(first)


def _offset(moment: datetime) -> str:
    stamp = moment.isoformat()
    return stamp[-6:]


def photo_of(text: str) -> tuple[str, Mapping[str, JsonValue]]:
    """A picture as typed: `a.jpg` or `a.jpg,zone=vent-1,role=close`.

    Commas in the name stay in the name: only `,word=` starts a description.
    """
    path, *described = re.split(r",(?=[a-z]+=)", text)
    fields: dict[str, JsonValue] = {}
    for pair in described:
        name, _, value = pair.partition("=")
        fields[name] = [*_parts(value)] if name == "incidents" else value
    return path, fields

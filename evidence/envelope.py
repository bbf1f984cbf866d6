"""One entry: its envelope (RECORD § 2) around the body of its kind, read strictly.

What a person typed wrongly is answered with the field's name, what is wrong and what is allowed.
"""

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Annotated

from pydantic import AfterValidator, Field, JsonValue, ValidationError

from evidence import words as w
from evidence.entries import BODIES, Body
from evidence.errors import RefusedError
from evidence.shapes import FileRef, Strict
from evidence.times import parse_utc

VERSION = 1

_RESERVED = "rehash"


def _known_version(given: int) -> int:
    if given != VERSION:
        raise ValueError(f"this program reads format {VERSION}")
    return given


class _Envelope(Strict):
    v: Annotated[int, AfterValidator(_known_version)]
    seq: w.Seq
    nth: Annotated[int, Field(ge=1)]
    prev: w.Sha256
    kind: str
    body: dict[str, JsonValue]
    logged: w.UtcTime
    by: w.Slug
    files: tuple[FileRef, ...]


def entry_shape() -> type[Strict]:
    """The model of what stands around every body, for its JSON Schema."""
    return _Envelope


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry as written: `seq` counts from 0, people are shown `number`, counting from 1."""

    seq: int
    nth: int
    kind: str
    body: Body
    raw: Mapping[str, JsonValue]
    logged: datetime
    by: str
    files: tuple[FileRef, ...]
    sha256: str

    @property
    def number(self) -> int:
        """What people are shown: "entry 18"."""
        return self.seq + 1


def refuse_reserved(kind: str) -> None:
    """Refuse the kind that no record of this format holds.

    Raises:
        RefusedError: it is that kind.
    """
    if kind == _RESERVED:
        raise RefusedError(
            f"kind {_RESERVED!r}",
            "is reserved for a record hashed again with a newer algorithm; "
            "no record of format 1 holds one",
            "Where somebody hands you one, look for a newer version of this program.",
        )


def read_entry(line: bytes) -> Entry:
    """Read one entry's bytes; the chain and the canonical form are `ledger`'s to check.

    Raises:
        RefusedError: a field is missing, unknown or not as its kind asks.
    """
    try:
        envelope = _Envelope.model_validate_json(line)
    except ValidationError as error:
        raise _explained("entry", error) from error
    refuse_reserved(envelope.kind)
    return Entry(
        seq=envelope.seq,
        nth=envelope.nth,
        kind=envelope.kind,
        body=read_body(envelope.kind, envelope.body),
        raw=envelope.body,
        logged=parse_utc(envelope.logged),
        by=envelope.by,
        files=envelope.files,
        sha256=sha256(line).hexdigest(),
    )


def read_body(kind: str, value: Mapping[str, JsonValue]) -> Body:
    """Read a body of `kind`.

    Raises:
        RefusedError: the kind is unknown, or a field is not as the kind asks.
    """
    model = BODIES.get(kind)
    if model is None:
        raise RefusedError(f"kind {kind!r}", "is not a kind of entry", w.nearest(kind, BODIES))
    try:
        return model.model_validate_json(_as_json(value))
    except ValidationError as error:
        raise _explained(kind, error, model) from error


def tallies(entries: Iterable[Entry]) -> dict[str, int]:
    """How many entries there are of each kind, in the order in which the kinds first came."""
    return dict(Counter(entry.kind for entry in entries))


def _as_json(value: Mapping[str, JsonValue]) -> str:
    return json.dumps(value, ensure_ascii=True)


def _explained(
    where: str, error: ValidationError, model: type[Strict] | None = None
) -> RefusedError:
    """The first fault of a validation, in a person's words."""
    fault = error.errors(include_url=False)[0]
    # pydantic names the branch of a union within the path: "zones.tuple[constrained-str, ...].0"
    path = ".".join(str(part) for part in fault["loc"] if not set("[(-") & set(str(part)))
    if fault["type"] == "extra_forbidden":
        name = str(fault["loc"][-1])
        fields = [] if model is None else [f.alias or key for key, f in model.model_fields.items()]
        hint = w.nearest(name, fields) if len(fault["loc"]) == 1 and fields else ""
        return RefusedError(f"{where}: field {path!r}", "is not a field of this kind", hint)
    if fault["type"] == "missing":
        return RefusedError(f"{where}: field {path!r}", "is needed", "See `roof-evidence schema`.")
    message = str(fault["msg"]).removeprefix("Value error, ")
    given = fault.get("input")
    shown = f" (given: {given!r})" if isinstance(given, str | int | float) and given != "" else ""
    what = f"{where}: field {path!r}" if path else where  # several fields together name themselves
    return RefusedError(what, f"{message[:200]}{shown[:80]}")

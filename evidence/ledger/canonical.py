"""JSON that has exactly one spelling (RFC 8785), so that its bytes can be hashed and signed.

Narrower than the RFC in one point: there are no floats. Numbers are integers within ±(2^53 - 1),
as every JSON reader can hold them (RFC 7493 § 2.2); fractions are decimal strings.
"""

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import NoReturn, TypeAlias, cast

import rfc8785

from evidence.errors import EvidenceError, RefusedError
from evidence.ledger.strict import shown

JSONValue: TypeAlias = (
    "bool | int | float | str | Sequence[JSONValue] | Mapping[str, JSONValue] | None"
)
"""What JSON can say. Floats are in the type, as in pydantic's `JsonValue`, so that a float from
outside meets `dumps` and is refused by name. At run time only lists, tuples and dicts are taken."""

MAX_DEPTH = 64
"""How deep lists and objects may stand within each other."""

_MANY_DIGITS = re.compile(rb"[0-9]{16}")
"""What every integer beyond ±(2^53 - 1) holds: a run of digits as long as that number's."""


def dumps(value: JSONValue) -> bytes:
    """Write `value` in RFC 8785 canonical form: UTF-8, no line break.

    Raises:
        RefusedError: a float, an integer beyond ±(2^53 - 1), a lone surrogate, a key that is not
            text, nesting beyond `MAX_DEPTH`, or a type that JSON does not have.
    """
    _refuse_what_json_blurs(value, "")
    try:
        return rfc8785.dumps(value)
    except rfc8785.CanonicalizationError as error:
        raise RefusedError("canonical JSON", str(error)) from error
    except UnicodeEncodeError as error:  # what rfc8785 0.1.4 lets through for a key
        raise RefusedError("canonical JSON", "a field's name is not Unicode text") from error


def loads(data: bytes) -> JSONValue:
    """Read canonical JSON, and nothing else: `dumps(loads(data)) == data`, always.

    Raises:
        RefusedError: as `parse`, or not in canonical form.
    """
    plain = _quickly(data)
    if plain is not None:
        return plain
    value = parse(data)
    if dumps(value) != data:
        raise RefusedError("JSON", "is not in canonical form (RFC 8785)")
    return value


def _quickly(data: bytes) -> Mapping[str, JSONValue] | None:
    """An object in canonical form, read at a tenth of the cost; None where that is not certain.

    Where every name is ASCII their order is that of UTF-16, and the escapes of Python's own writer
    are those of RFC 8785 § 3.2.2.2: what it writes again as it was is canonical. White space,
    another order, a name that stands twice, a lone surrogate: none comes out as it went in.
    """
    if _MANY_DIGITS.search(data):
        return None
    try:
        value = _READ.decode(data.decode())
        if not isinstance(value, dict) or _WRITE.encode(value).encode() != data:
            return None
    except (ValueError, RecursionError, EvidenceError):
        return None
    flat = data.count(b"{") + data.count(b"[") <= MAX_DEPTH
    return value if (flat and data.isascii()) or _is_plain(value, 1) else None


def _is_plain(value: object, depth: int) -> bool:
    """Whether every name is ASCII and nothing is nested too deep."""
    inner: Iterable[object]
    if isinstance(value, dict):
        if not "".join(value).isascii():
            return False
        inner = value.values()
    elif isinstance(value, list):
        inner = value
    else:
        return True
    return depth <= MAX_DEPTH and all(_is_plain(item, depth + 1) for item in inner)


def parse(data: bytes) -> JSONValue:
    """Read JSON of any form whose value `dumps` would take: what a person or a program hands in.

    Raises:
        RefusedError: not UTF-8, not JSON, a duplicate key, a float, NaN, an integer beyond
            ±(2^53 - 1), a lone surrogate, or nesting beyond `MAX_DEPTH`.
    """
    try:
        value = cast(
            "JSONValue",
            json.loads(
                data.decode("utf-8"),
                object_pairs_hook=_unique_keys,
                parse_float=_refuse_float,
                parse_constant=_refuse_float,
            ),
        )
    except UnicodeDecodeError as error:
        raise RefusedError("JSON", "is not UTF-8 text") from error
    except ValueError as error:  # JSONDecodeError, or an integer of thousands of digits
        raise RefusedError("JSON", f"cannot be read ({error})") from error
    except RecursionError as error:
        raise _too_deep() from error
    _refuse_what_json_blurs(value, "")
    return value


def _refuse_what_json_blurs(value: object, path: str, depth: int = 0) -> None:
    """Refuse floats and deep nesting: the two things the RFC allows and this program does not."""
    if isinstance(value, float):
        where = f"field {path!r}" if path else "value"
        raise RefusedError(
            where, "is a float", "Write an integer, or a decimal number as text: '1.5'."
        )
    if isinstance(value, dict | list | tuple) and depth >= MAX_DEPTH:
        raise _too_deep()
    if isinstance(value, dict):
        for key, item in value.items():
            _refuse_what_json_blurs(item, f"{path}.{key}" if path else str(key), depth + 1)
    elif isinstance(value, list | tuple):
        for place, item in enumerate(value):
            _refuse_what_json_blurs(item, f"{path}[{place}]", depth + 1)


def _unique_keys(pairs: list[tuple[str, JSONValue]]) -> dict[str, JSONValue]:
    value = dict(pairs)
    if len(value) != len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise RefusedError(f"field {shown(twice)}", "stands twice in one object")
    return value


def _refuse_float(text: str) -> NoReturn:
    raise RefusedError(f"number {shown(text)}", "is not an integer")


_READ = json.JSONDecoder(parse_float=_refuse_float, parse_constant=_refuse_float)
_WRITE = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def _too_deep() -> RefusedError:
    return RefusedError("JSON", f"is nested deeper than {MAX_DEPTH} levels")

"""The program's own models, written in the notation of FORMAT.md § 3"""

import types
from collections.abc import Iterator
from enum import Enum
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic import JsonValue

from evidence import words as w
from evidence.entries import BODIES
from evidence.envelope import _Envelope
from evidence.proving import Proofs
from evidence.sealed_values import Revealed
from evidence.shapes import Strict

_BASICS = {
    "text": w.Text, "slug": w.Slug, "sha256": w.Sha256, "case-id": w.CaseId, "decimal": w.Decimal,
    "currency": w.Currency, "zone": w.ZoneKey, "when": w.When, "day": w.Day, "utc": w.UtcTime,
    "zone-type": w.ZoneType, "finding-type": w.FindingType, "0..4": w.GivenGrade,
    "bool": bool, "str": str, "int": int, "null": type(None), "any": JsonValue,
}  # fmt: skip

_PATTERNS = {r"^([0-9a-f]{2})*$": "hex", r"^[a-z0-9.+-]+/[a-z0-9.+-]+$": "media-type"}


class Grammar:
    """Every line of the two blocks: word lists and fields, in the order in which they are met."""

    def __init__(self) -> None:
        self.words: dict[str, str] = {}
        self.fields: dict[str, str] = {}
        self._object("entry", _Envelope)
        for kind, model in BODIES.items():
            self._object(kind, model)
        for model in (Proofs, Revealed):
            self._object(model.__name__, model)

    def _object(self, name: str, model: type[Strict]) -> None:
        if name not in self.fields:
            self.fields[name] = ""  # its place, ahead of what it holds
            self.fields[name] = " ".join(self._fields(model))

    def _fields(self, model: type[Strict]) -> Iterator[str]:
        hints = get_type_hints(model, include_extras=True)
        for name, about in model.model_fields.items():
            shown = self._type(hints[name]).removesuffix("|null")
            yield f"{about.alias or name}{'' if about.is_required() else '?'}:{shown}"

    def _type(self, hint: Any) -> str:  # noqa: PLR0911 - one line for each form of a type
        for name, known in _BASICS.items():
            if hint == known:
                return name
        origin, inner = get_origin(hint), get_args(hint)
        if origin is Annotated:
            return self._annotated(*inner)
        if origin is Literal:
            return "|".join(f'"{word}"' for word in inner)
        if origin in (Union, types.UnionType):
            return "|".join(self._type(one) for one in inner)
        if origin is tuple:
            times = "" if inner[1] is Ellipsis else f"*{len(inner)}"
            return f"[{self._type(inner[0])}]{times}"
        if origin is dict:
            return "{" + ":".join(self._type(one) for one in inner) + "}"
        if issubclass(hint, Enum):
            self.words[hint.__name__] = "|".join(f'"{word.value}"' for word in hint)
        else:
            self._object(hint.__name__, hint)
        return hint.__name__

    def _annotated(self, base: Any, *limits: Any) -> str:
        bounds = [limit for one in limits for limit in getattr(one, "metadata", [one])]
        if base is int:
            least = next((b.ge for b in bounds if hasattr(b, "ge")), "")
            most = next((b.le for b in bounds if hasattr(b, "le")), "")
            return f"{least}..{most}" if bounds and (least, most) != ("", "") else "1..1"
        if base is str:
            return _PATTERNS[next(b.pattern for b in bounds)]
        assert [b.min_length for b in bounds] == [1]
        return self._type(base) + "+"

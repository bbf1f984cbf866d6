"""Text in the one form that the record takes: Unicode normal form NFC (RECORD § 2)."""

import unicodedata
from collections.abc import Mapping

from pydantic import JsonValue


def nfc_fields(fields: Mapping[str, JsonValue]) -> dict[str, JsonValue]:
    """The same fields, every name and text in them in NFC, however deep."""
    return {_text(name): _value(value) for name, value in fields.items()}


def _value(value: JsonValue) -> JsonValue:
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, list):
        return [_value(item) for item in value]
    return nfc_fields(value) if isinstance(value, dict) else value


def _text(text: str) -> str:
    return unicodedata.normalize("NFC", text)

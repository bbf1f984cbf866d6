"""Figures and words as people type them behind an option, read once and refused by name."""

import re
from collections.abc import Callable, Iterable
from enum import StrEnum
from typing import Generic, TypeVar

import click

from evidence.errors import RefusedError
from evidence.times import parse_day
from evidence.trade import units
from evidence.trade.units import Measure
from evidence.words import nearest

V = TypeVar("V")
W = TypeVar("W", bound=StrEnum)

_WHOLE = re.compile(r"(\d{1,3}) ?%?", re.ASCII)
_TENTHS = re.compile(r"(\d{1,3})(?:\.(\d))? ?%?", re.ASCII)


class Typed(click.ParamType, Generic[V]):  # type: ignore[type-arg]  # generic since click 8.4
    """An option's type: `read` takes the text and the option's name."""

    def __init__(self, name: str, read: Callable[[str, str], V]) -> None:
        self.name = name
        self.read = read

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> object:
        """The value; what has been read already stays as it is."""
        del ctx
        if not isinstance(value, str):
            return value
        return self.read(value, param.opts[0] if param is not None else self.name)


class Word(Typed[W]):
    """One of the record's words, as listed in `--help`."""

    def __init__(self, words: type[W], without: Iterable[W] = ()) -> None:
        known = {word.value: word for word in words if word not in set(without)}

        def read(text: str, option: str) -> W:
            if text not in known:
                raise RefusedError(f"{option} {text!r}", "is not known", nearest(text, known))
            return known[text]

        super().__init__("|".join(known), read)

    def get_metavar(self, param: click.Parameter, ctx: click.Context) -> str:
        """The words themselves."""
        del param, ctx
        return f"[{self.name}]"


def humidity(text: str, option: str) -> int:
    """Relative humidity in whole per cent, 1 to 100."""
    found = _WHOLE.fullmatch(text.strip())
    if found is None or not 1 <= int(found[1]) <= 100:
        raise RefusedError(
            f"{option} {text!r}", "is no relative humidity", "Write a whole number, 1 to 100."
        )
    return int(found[1])


def tenths(text: str, option: str) -> int:
    """Tenths of a per cent."""
    found = _TENTHS.fullmatch(text.strip())
    if found is None:
        raise RefusedError(f"{option} {text!r}", "is no reading in per cent", "Write 18 or 18.5.")
    return int(found[1]) * 10 + int(found[2] or 0)


def allowance(text: str, option: str) -> int:
    """An allowance in whole per cent, 0 to 100."""
    found = _WHOLE.fullmatch(text.strip())
    if found is None or int(found[1]) > 100:
        raise RefusedError(f"{option} {text!r}", "is no allowance", "Write per cent, 0 to 100.")
    return int(found[1])


def window(text: str, option: str) -> tuple[Measure, Measure]:
    """Two temperatures as `40F..100F`."""
    first, dots, last = text.partition("..")
    if not dots:
        raise RefusedError(f"{option} {text!r}", "is no window", "Write 40F..100F.")
    low, high = (units.measure(part, units.TEMPERATURE, option) for part in (first, last))
    if high.base < low.base:
        raise RefusedError(f"{option} {text!r}", "ends below its start", "Write 40F..100F.")
    return low, high


def _measured(kind: str) -> Callable[[str, str], Measure]:
    def read(text: str, option: str) -> Measure:
        found = units.measure(text, kind, option)
        if kind != units.TEMPERATURE and not found.base:
            raise RefusedError(f"{option} {text!r}", "is nothing", "Give more than 0.")
        return found

    return read


TEMPERATURE = Typed("TEMP", _measured(units.TEMPERATURE))
LENGTH = Typed("LENGTH", _measured(units.LENGTH))
VOLUME = Typed("VOLUME", _measured(units.VOLUME))
SIZE = Typed("SIZE", units.sizes)
HUMIDITY = Typed("PCT", humidity)
READING = Typed("PCT", tenths)
ALLOWANCE = Typed("PCT", allowance)
WINDOW = Typed("FROM..TO", window)
DAY = Typed("DATE", lambda text, _option: parse_day(text))

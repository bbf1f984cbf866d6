"""Figures and words as people type them behind an option, read once and refused by name."""

import re
from collections import Counter
from collections.abc import Callable, Iterable
from enum import StrEnum
from fractions import Fraction
from typing import Generic, TypeVar

import click

from evidence.errors import RefusedError
from evidence.times import parse_day
from evidence.trade import units
from evidence.trade.units import Measure, Unit
from evidence.words import nearest

V = TypeVar("V")
W = TypeVar("W", bound=StrEnum)


def _celsius(least: int, most: int) -> tuple[Measure, Measure]:
    return Measure(Fraction(least), Unit.CELSIUS), Measure(Fraction(most), Unit.CELSIUS)


_AIR = _celsius(-60, 60)
"""Air where a rig may stand: wider than nearly every place where people live, and just beyond the
hottest air ever measured (from memory). What lies outside was read or typed wrongly."""
_SURFACE = _celsius(-60, 100)
"""A dark roof in the sun may come to 90 °C (common practice, no source); water boils above it."""

_WHOLE = re.compile(r"(\d{1,3}) ?%?", re.ASCII)
_TENTHS = re.compile(r"(\d{1,3})(?:\.(\d))? ?%?", re.ASCII)


class Command(click.Command):
    """A command that refuses an option given twice, of which it could take only the last."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Parse as click does, after a look at what was given how often.

        Raises:
            click.UsageError: an option that takes one value was given more.
        """
        _, _, order = self.make_parser(ctx).parse_args(args=list(args))
        for param, times in Counter(order).items():
            if times > 1 and isinstance(param, click.Option) and not param.multiple:
                raise click.UsageError(f"{param.opts[0]} is given {times} times; give it once", ctx)
        return super().parse_args(ctx, args)


def given(*names: str) -> tuple[str, ...]:
    """Those of the parameters that were typed, as options: `--value`."""
    ctx = click.get_current_context()
    from_line = click.core.ParameterSource.COMMANDLINE
    typed = {name for name in names if ctx.get_parameter_source(name) is from_line}
    return tuple(p.opts[0] for p in ctx.command.params if p.name in typed)


def refuse(options: Iterable[str], why: str) -> None:
    """Refuse the first of the options, where there is one.

    Raises:
        click.UsageError: there is one.
    """
    for option in options:
        raise click.UsageError(f"{option}: {why}", click.get_current_context())


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
    low, high = (_surface(part, option) for part in (first, last))
    if high.base < low.base:
        raise RefusedError(f"{option} {text!r}", "ends below its start", "Write 40F..100F.")
    return low, high


def _between(limits: tuple[Measure, Measure]) -> Callable[[str, str], Measure]:
    def read(text: str, option: str) -> Measure:
        found = units.measure(text, units.TEMPERATURE, option)
        return units.within(found, text, option, limits)

    return read


_surface = _between(_SURFACE)


def _measured(kind: str) -> Callable[[str, str], Measure]:
    def read(text: str, option: str) -> Measure:
        found = units.measure(text, kind, option)
        if not found.base:
            raise RefusedError(f"{option} {text!r}", "is nothing", "Give more than 0.")
        return found

    return read


AIR = Typed("TEMP", _between(_AIR))
SURFACE = Typed("TEMP", _surface)
LENGTH = Typed("LENGTH", _measured(units.LENGTH))
VOLUME = Typed("VOLUME", _measured(units.VOLUME))
SIZE = Typed("SIZE", units.sizes)
HUMIDITY = Typed("PCT", humidity)
READING = Typed("PCT", tenths)
ALLOWANCE = Typed("PCT", allowance)
WINDOW = Typed("FROM..TO", window)
DAY = Typed("DATE", lambda text, _option: parse_day(text))

"""Figures as people type them behind an option; measures with a unit are `trade.units`'s."""

import re
from typing import TYPE_CHECKING

from evidence.errors import RefusedError

if TYPE_CHECKING:
    from evidence.trade.units import Measure

_WHOLE = re.compile(r"(\d{1,3}) ?%?", re.ASCII)
_TENTHS = re.compile(r"(\d{1,3})(?:\.(\d))? ?%?", re.ASCII)


def humidity(text: str) -> int:
    """Relative humidity in whole per cent.

    Raises:
        RefusedError: it is none, or nothing, or more than 100.
    """
    found = _WHOLE.fullmatch(text.strip())
    if found is None or not 1 <= int(found[1]) <= 100:
        raise RefusedError(
            f"--humidity {text!r}", "is no relative humidity", "Write a whole number, 1 to 100."
        )
    return int(found[1])


def tenths(text: str, name: str) -> int:
    """Tenths of a per cent.

    Raises:
        RefusedError: it is no number of at most one decimal.
    """
    found = _TENTHS.fullmatch(text.strip())
    if found is None:
        raise RefusedError(f"{name} {text!r}", "is no reading in per cent", "Write 18 or 18.5.")
    return int(found[1]) * 10 + int(found[2] or 0)


def waste(text: str) -> int:
    """An allowance in whole per cent.

    Raises:
        RefusedError: it is none, or more than 100.
    """
    found = _WHOLE.fullmatch(text.strip())
    if found is None or int(found[1]) > 100:
        raise RefusedError(f"--waste {text!r}", "is no allowance", "Write per cent, 0 to 100.")
    return int(found[1])


def window(text: str, name: str) -> "tuple[Measure, Measure]":
    """Two temperatures as `40F..100F`.

    Raises:
        RefusedError: they are none, or the second is below the first.
    """
    from evidence.trade.units import TEMPERATURE, measure

    first, dots, last = text.partition("..")
    if not dots:
        raise RefusedError(f"{name} {text!r}", "is no window", "Write 40F..100F.")
    low, high = (measure(part, TEMPERATURE, name) for part in (first, last))
    if high.base < low.base:
        raise RefusedError(f"{name} {text!r}", "ends below its start", "Write 40F..100F.")
    return low, high

"""Measures as people type them, kept as exact fractions.

`68F`, `20C`, `3/8in`, `1 1/2in`, `10mm`, `8ft`, `10.3oz`, `300ml`. Every unit has an exact ratio to
the base of its kind, so that a measure taken to another unit and back is the same measure:

- 1 in = 25.4 mm and 1 US gallon = 231 in³, hence 1 US fl oz = 231/128 in³ (NIST Handbook 44,
  appendix C, from memory)
- °F = °C × 9/5 + 32
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from evidence.errors import RefusedError


class Unit(StrEnum):
    """What can be typed behind a number; the value is how it is written."""

    CELSIUS = "C"
    FAHRENHEIT = "F"
    MILLIMETRE = "mm"
    CENTIMETRE = "cm"
    METRE = "m"
    INCH = "in"
    FOOT = "ft"
    MILLILITRE = "ml"
    FLUID_OUNCE = "oz"

    @property
    def kind(self) -> str:
        """Temperature, length or volume: measures of one kind can be compared."""
        return _UNITS[self][0]

    @property
    def customary(self) -> bool:
        """Whether it is a unit of the United States."""
        return self in (Unit.FAHRENHEIT, Unit.INCH, Unit.FOOT, Unit.FLUID_OUNCE)


MM3_PER_CUBIC_INCH = Fraction(254, 10) ** 3
_ML_PER_OUNCE = Fraction(231, 128) * MM3_PER_CUBIC_INCH / 1000

TEMPERATURE, LENGTH, VOLUME = "temperature", "length", "volume"

# Kind, how much of the base one unit is, and the base's value at zero of the unit.
_UNITS: dict[Unit, tuple[str, Fraction, Fraction]] = {
    Unit.CELSIUS: (TEMPERATURE, Fraction(1), Fraction(0)),
    Unit.FAHRENHEIT: (TEMPERATURE, Fraction(5, 9), Fraction(-160, 9)),
    Unit.MILLIMETRE: (LENGTH, Fraction(1), Fraction(0)),
    Unit.CENTIMETRE: (LENGTH, Fraction(10), Fraction(0)),
    Unit.METRE: (LENGTH, Fraction(1000), Fraction(0)),
    Unit.INCH: (LENGTH, Fraction(254, 10), Fraction(0)),
    Unit.FOOT: (LENGTH, Fraction(3048, 10), Fraction(0)),
    Unit.MILLILITRE: (VOLUME, Fraction(1), Fraction(0)),
    Unit.FLUID_OUNCE: (VOLUME, _ML_PER_OUNCE, Fraction(0)),
}

_SPELLINGS = {
    "°c": Unit.CELSIUS,
    "c": Unit.CELSIUS,
    "°f": Unit.FAHRENHEIT,
    "f": Unit.FAHRENHEIT,
    '"': Unit.INCH,
    "″": Unit.INCH,
    "inch": Unit.INCH,
    "inches": Unit.INCH,
    "'": Unit.FOOT,
    "′": Unit.FOOT,
    "floz": Unit.FLUID_OUNCE,
    "fl oz": Unit.FLUID_OUNCE,
    **{unit.value: unit for unit in Unit if unit.kind != TEMPERATURE},
}

_EXAMPLES = {
    TEMPERATURE: "68F or 20C",
    LENGTH: "3/8in, 1 1/2in, 8ft or 10mm",
    VOLUME: "10.3oz or 300ml",
}

_FRACTION = r"(?:(?P<besides>\d{1,4})[ -])?(?P<top>\d{1,3})/(?P<bottom>\d{1,3})"
_NUMBER = re.compile(rf"{_FRACTION}|(?P<decimal>\d{{1,6}}(?:\.\d{{1,4}})?)", re.ASCII)
_FEET_AND_INCHES = re.compile(r"(?P<feet>\d{1,4}) ?(?:ft|['′]) ?(?P<inches>\d.*)", re.ASCII)
_ABSOLUTE_ZERO_C = Fraction(-27315, 100)
"""Nothing is colder (SI Brochure, 9th edition, § 2.3.1, from memory)."""
_SIXTEENTHS = 16
_DECIMALS = {TEMPERATURE: 1, LENGTH: 1, VOLUME: 1}


@dataclass(frozen=True, slots=True)
class Measure:
    """An exact amount of a unit."""

    amount: Fraction
    unit: Unit

    @property
    def base(self) -> Fraction:
        """In °C, millimetres or millilitres."""
        _, ratio, zero = _UNITS[self.unit]
        return self.amount * ratio + zero

    def to(self, unit: Unit) -> "Measure":
        """The same measure in another unit of its kind, without rounding.

        Raises:
            RefusedError: the unit is of another kind.
        """
        if unit.kind != self.unit.kind:
            raise RefusedError(str(self), f"is no {unit.kind}", f"Write {_EXAMPLES[unit.kind]}.")
        _, ratio, zero = _UNITS[unit]
        return Measure((self.base - zero) / ratio, unit)

    @property
    def tenths(self) -> int:
        """Tenths of the base unit as the record keeps a temperature: the nearest, half to even."""
        return round(self.base * 10)

    @property
    def figure(self) -> str:
        """The number as a person writes it: `68`, `1 3/8`."""
        if self.unit is Unit.INCH and _SIXTEENTHS % self.amount.denominator == 0:
            return _mixed(self.amount)
        return decimal(self.amount, _DECIMALS[self.unit.kind])

    def __str__(self) -> str:
        """With its unit: `68 °F`, `1 3/8 in`, `300 ml`."""
        named = f"°{self.unit}" if self.unit.kind == TEMPERATURE else self.unit
        named = "fl oz" if self.unit is Unit.FLUID_OUNCE else named
        return f"{self.figure} {named}"


def measure(text: str, kind: str, name: str) -> Measure:
    """Read a measure as typed.

    Args:
        text: a whole number, a decimal with a point or a fraction, then the unit.
        kind: what it must be: temperature, length or volume.
        name: what was asked for, named in a refusal.

    Raises:
        RefusedError: no number, no unit, a unit of another kind, or nothing that can be.
    """
    given = text.strip()
    feet = _FEET_AND_INCHES.fullmatch(given)
    if feet is not None and kind == LENGTH:
        inches = measure(feet["inches"], LENGTH, name).to(Unit.INCH)
        return Measure(inches.amount + 12 * int(feet["feet"]), Unit.INCH)
    sign = -1 if given[:1] in ("-", "−") else 1
    unsigned = given[1:] if sign < 0 else given
    number = _NUMBER.match(unsigned)
    if number is None or (sign < 0 and kind != TEMPERATURE):
        raise _refused(name, text, "is not a number with its unit", kind)
    unit = _unit(name, text, unsigned[number.end() :].strip(), kind)
    found = Measure(sign * _fraction(number, lambda why: _refused(name, text, why, kind)), unit)
    if kind == TEMPERATURE and found.base < _ABSOLUTE_ZERO_C:
        raise _refused(name, text, "is below absolute zero", kind)
    return found


def within(found: Measure, text: str, name: str, limits: tuple[Measure, Measure]) -> Measure:
    """The measure, where it lies between the limits or on one.

    Raises:
        RefusedError: it does not; the limits are told in its own unit.
    """
    least, most = (limit.to(found.unit) for limit in limits)
    if not least.amount <= found.amount <= most.amount:
        raise RefusedError(
            f"{name} {text!r}",
            f"lies outside {least} to {most}",
            "See the unit: F and C are not the same.",
        )
    return found


def sizes(text: str, name: str) -> tuple[Measure, ...]:
    """One length, or two with an x between them: `3/8in`, `1x1/4in`, `14in x 22in`.

    A number without a unit takes that of the one behind it.

    Raises:
        RefusedError: it is no length, or there are more than two.
    """
    first, x, second = text.lower().replace("×", "x").partition("x")
    if not x:
        return (measure(first, LENGTH, name),)
    behind = measure(second, LENGTH, name)
    bare = _NUMBER.fullmatch(first.strip()) is not None
    return measure(f"{first.strip()}{behind.unit}" if bare else first, LENGTH, name), behind


def from_record(deci_celsius: int, unit: Unit) -> Measure:
    """A temperature of the record in the reader's unit.

    In °F to the nearest half: a tenth of a degree Celsius is 0.18 °F, so whatever was typed in
    whole or half degrees comes back as typed.
    """
    exact = Measure(Fraction(deci_celsius, 10), Unit.CELSIUS).to(unit)
    if unit is Unit.FAHRENHEIT:
        return Measure(Fraction(round(exact.amount * 2), 2), unit)
    return exact


def from_millimetres(length: int, unit: Unit) -> Measure:
    """A length of the record in the reader's unit.

    In inches to the nearest sixteenth: that is 1.6 mm, so whatever was typed in sixteenths comes
    back as typed.
    """
    exact = Measure(Fraction(length), Unit.MILLIMETRE).to(unit)
    if unit is Unit.INCH:
        return Measure(Fraction(round(exact.amount * _SIXTEENTHS), _SIXTEENTHS), unit)
    return exact


def decimal(value: Fraction, places: int) -> str:
    """A decimal text of at most so many places, half to even, without needless zeros."""
    scaled = round(value * 10**places)
    whole, part = divmod(abs(scaled), 10**places)
    text = f"{whole}.{part:0{places}}".rstrip("0").rstrip(".") if places else str(whole)
    return f"-{text}" if scaled < 0 else text


def _mixed(value: Fraction) -> str:
    whole, part = divmod(value, 1)
    if not part:
        return str(whole)
    return f"{whole} {part}" if whole else str(part)


def _fraction(number: re.Match[str], refused: Callable[[str], RefusedError]) -> Fraction:
    if number["decimal"] is not None:
        return Fraction(number["decimal"])
    if int(number["bottom"]) == 0:
        raise refused("is divided by nothing")
    return int(number["besides"] or 0) + Fraction(int(number["top"]), int(number["bottom"]))


def _unit(name: str, text: str, typed: str, kind: str) -> Unit:
    if not typed:
        raise _refused(name, text, "has no unit", kind)
    unit = _SPELLINGS.get(typed.lower())
    if unit is None and typed.startswith(","):
        raise _refused(name, text, "has a comma; write a point", kind)
    if unit is None or unit.kind != kind:
        raise _refused(name, text, f"is no {kind}", kind)
    return unit


def _refused(name: str, text: str, why: str, kind: str) -> RefusedError:
    return RefusedError(f"{name} {text!r}", why, f"Write {_EXAMPLES[kind]}.")

"""Whether the air and the surface allow sealing now: figures and reasons, never the word for dry.

The dew point is that of Alduchov and Eskridge 1996 (J. Appl. Meteor. 35:601) over water:
γ = ln(RH/100) + 17.625 T/(243.04 + T), Td = 243.04 γ/(17.625 − γ), in °C. It tells of condensation
only, not of water that is already in the joint.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from math import ceil, floor, hypot, inf, log

from evidence.errors import RefusedError
from evidence.trade.catalogue import Catalogue
from evidence.trade.units import Measure, Unit
from evidence.trade.working import Limit

_B, _C = 17.625, 243.04
FITTED_C = (-40.0, 50.0)
"""Air temperatures for which the coefficients were fitted (from memory)."""


class Held(StrEnum):
    """How a figure stands to its rule; undecided where the reading is not sure enough to say."""

    MET = "met"
    NOT_MET = "not met"
    UNDECIDED = "undecided"


class Answer(StrEnum):
    """Whether to seal now."""

    GO = "go"
    WAIT = "wait"
    NO = "no"


@dataclass(frozen=True, slots=True)
class Check:
    """One rule: the figure found, the rule, how it stands and why, and on what the rule rests.

    `passes` is true where time alone mends it: then the answer is to wait.
    """

    name: str
    figure: str
    rule: str
    held: Held
    reason: str
    rests_on: str
    passes: bool = False


@dataclass(frozen=True, slots=True)
class Weather:
    """What was read at the place, and the hours to the last and the next water, [least, most].

    Endless hours to the next rain: none is in sight. `warm` is the label's own window of
    temperature, where it was given.
    """

    air: Measure
    surface: Measure
    humidity_pct: int
    since_wet: tuple[float, float] | None = None
    until_rain: tuple[float, float] | None = None
    warm: tuple[Measure, Measure] | None = None


@dataclass(frozen=True, slots=True)
class Dryness:
    """The answer, its checks, and the dew point and margin in °C; `flags` bound what they say."""

    answer: Answer
    checks: tuple[Check, ...]
    flags: tuple[str, ...]
    dew_point_c: float
    margin_c: float
    sure_c: float

    @property
    def deciding(self) -> Check | None:
        """The rule on which the answer rests: one that stands against it before one left open.

        None where every rule is met. Where the answer is no, time alone does not mend it.
        """
        open_ones = [check for check in self.checks if check.held is not Held.MET]
        against = [check for check in open_ones if check.held is Held.NOT_MET]
        lasting = [check for check in against if not check.passes]
        return next(iter([*lasting, *against, *open_ones]), None)


def dew_point(air_c: float, humidity_pct: float) -> float:
    """The dew point over water, °C.

    Args:
        air_c: air temperature, °C; the coefficients were fitted from -40 to 50.
        humidity_pct: relative humidity, above 0 and at most 100 per cent.

    Raises:
        RefusedError: a humidity outside that range, or air for which there is no formula.
    """
    if air_c <= -_C:
        raise RefusedError(f"air of {air_c:.0f} °C", "has no dew point", "Give the air's own.")
    if not 0 < humidity_pct <= 100:
        raise RefusedError(
            f"humidity {humidity_pct} %", "has no dew point", "Give more than 0 and at most 100."
        )
    g = log(humidity_pct / 100) + _B * air_c / (_C + air_c)
    return _C * g / (_B - g)


def margin_uncertainty(air_c: float, humidity_pct: float, catalogue: Catalogue) -> float:
    """By how much the margin, surface less dew point, may be off, °C.

    The root of the sum of squares of what each instrument may be off by, each times the slope of
    the margin in that reading.
    """
    g = log(humidity_pct / 100) + _B * air_c / (_C + air_c)
    by_g = _C * _B / (_B - g) ** 2
    by_air = by_g * _B * _C / (_C + air_c) ** 2
    by_humidity = by_g / humidity_pct
    return hypot(
        by_air * _sure(catalogue, Limit.SURE_OF_AIR),
        by_humidity * _sure(catalogue, Limit.SURE_OF_HUMIDITY),
        _sure(catalogue, Limit.SURE_OF_SURFACE),
    )


def dryness(weather: Weather, catalogue: Catalogue) -> Dryness:
    """Hold what was read against every rule.

    The answer is no where a figure stands against a rule, wait where time alone or another reading
    is missing, and go where all of them are met.

    Raises:
        RefusedError: a humidity that has no dew point.
    """
    air = float(weather.air.base)
    dew = dew_point(air, weather.humidity_pct)
    margin = float(weather.surface.base) - dew
    sure = margin_uncertainty(air, weather.humidity_pct, catalogue)
    flags = tuple(_flags(weather, dew))
    checks = (
        _margin(weather, margin, sure, catalogue, flagged=bool(flags)),
        _humidity(weather, catalogue),
        _warmth(weather, catalogue),
        _water("last wet", weather.since_wet, "ago", catalogue, passes=True),
        _water("next rain", weather.until_rain, "ahead", catalogue, passes=False),
    )
    return Dryness(_answer(checks), checks, flags, dew, margin, sure)


def _answer(checks: tuple[Check, ...]) -> Answer:
    if any(check.held is Held.NOT_MET and not check.passes for check in checks):
        return Answer.NO
    return Answer.GO if all(check.held is Held.MET for check in checks) else Answer.WAIT


def _flags(weather: Weather, dew: float) -> Iterator[str]:
    air, surface = float(weather.air.base), float(weather.surface.base)
    if not FITTED_C[0] <= air <= FITTED_C[1]:
        yield "The air is outside the range of the formula, −40 to 50 °C (−40 to 122 °F)."
    if min(air, surface, dew) < 0:
        yield (
            "Below freezing: the formula is for dew over water, and frost forms at another "
            "temperature, so the margin decides nothing here."
        )


def _margin(
    weather: Weather, margin: float, sure: float, catalogue: Catalogue, *, flagged: bool
) -> Check:
    customary = weather.air.unit is Unit.FAHRENHEIT
    row = catalogue.limits[Limit.MARGIN_F if customary else Limit.MARGIN_C]
    scale = 1.8 if customary else 1.0
    found, spread, least = margin * scale, sure * scale, float(row.value)
    held = Held.UNDECIDED if flagged else _against(found - least, spread)
    against = "the place is too near the temperature at which dew forms on it"
    return Check(
        name="margin over the dew point",
        figure=f"{_signed(found)} ± {spread:.1f} °{row.unit}",
        rule=f"at least {row.figure} °{row.unit}",
        held=held,
        reason="see below" if flagged else _reason(held, against),
        rests_on=row.rests_on,
    )


def _humidity(weather: Weather, catalogue: Catalogue) -> Check:
    row = catalogue.limits[Limit.HUMIDITY]
    spread = _sure(catalogue, Limit.SURE_OF_HUMIDITY)
    held = _against(float(row.value) - weather.humidity_pct, spread)
    return Check(
        name="humidity of the air",
        figure=f"{weather.humidity_pct} ± {spread:.0f} %",
        rule=f"at most {row.figure} %",
        held=held,
        reason=_reason(held, "the air is too humid"),
        rests_on=row.rests_on,
    )


def _warmth(weather: Weather, catalogue: Catalogue) -> Check:
    rows = catalogue.limits[Limit.WARM_FROM], catalogue.limits[Limit.WARM_TO]
    unit = weather.surface.unit
    least, most = (bound.to(unit) for bound in weather.warm or [row.measure for row in rows])
    sure = Measure(catalogue.limits[Limit.SURE_OF_SURFACE].value, Unit.CELSIUS)
    spread = float(sure.base) * (1.8 if unit is Unit.FAHRENHEIT else 1.0)
    above, below = weather.surface.amount - least.amount, most.amount - weather.surface.amount
    held = _against(float(min(above, below)), spread)
    borne = [part for row in rows for part in row.rests_on.split("; ")]
    return Check(
        name="warmth of the place",
        figure=f"{_signed(float(weather.surface.amount))} ± {spread:.1f} °{unit}",
        rule=f"{least} to {most}",
        held=held,
        reason=_reason(held, "the place is too cold" if above < below else "the place is too hot"),
        rests_on="the label, as given" if weather.warm else "; ".join(dict.fromkeys(borne)),
    )


def _water(
    name: str,
    hours: tuple[float, float] | None,
    way: str,
    catalogue: Catalogue,
    *,
    passes: bool,
) -> Check:
    row = catalogue.limits[Limit.RAIN]
    needed = float(row.value)
    rule = f"at least {row.figure} h {way}"
    if hours is None:
        missing = "nobody said; find out"
        return Check(name, "not said", rule, Held.UNDECIDED, missing, row.rests_on, passes=passes)
    least, most = hours
    held = Held.MET if least >= needed else Held.NOT_MET if most < needed else Held.UNDECIDED
    reason = {
        Held.MET: "",
        Held.NOT_MET: f"wait another {ceil(needed - least)} h" if passes else "it would rain on it",
        Held.UNDECIDED: "the time given is too wide to tell",
    }[held]
    figure = "none in sight" if least == inf else f"{_hours(least, most)} {way}"
    return Check(name, figure, rule, held, reason, row.rests_on, passes=passes)


def _reason(held: Held, against: str) -> str:
    near = "nearer to the rule than the instruments can tell; measure again later"
    return {Held.MET: "", Held.NOT_MET: against, Held.UNDECIDED: near}[held]


def _against(room: float, spread: float) -> Held:
    """Met with that much room to the rule, which may be off by `spread`."""
    if abs(room) < spread:
        return Held.UNDECIDED
    return Held.MET if room > 0 else Held.NOT_MET


def _sure(catalogue: Catalogue, limit: Limit) -> float:
    return float(catalogue.limits[limit].value)


def _hours(least: float, most: float) -> str:
    first, last = f"{floor(least)}", f"{floor(most)}"  # 23 h 50 min is not yet 24
    return f"{first} h" if first == last else f"{first} to {last} h"


def _signed(value: float) -> str:
    return f"{value:.1f}".replace("-", "−")

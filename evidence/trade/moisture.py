"""What wood would hold in the air where it was read, beside what the meter said.

Equilibrium moisture content (EMC) by the equation of the Wood Handbook, chapter 4 (number of the
equation from memory), with the coefficients in °C of Simpson 1998, FPL-RN-0268, as cited in
published code: with h the relative humidity as a fraction and x = K h,
M % = 1800/W · [x/(1 − x) + (K1 x + 2 K1 K2 x²)/(1 + K1 x + K1 K2 x²)].
"""

from collections.abc import Iterator
from dataclasses import dataclass

from evidence.errors import RefusedError
from evidence.trade.catalogue import Catalogue
from evidence.trade.working import Band, CorrectionRule, Limit
from evidence.words import Meter, Scale

EMC_RANGE_C = (-1.2, 60.0)
"""30 to 140 °F: where the equation was held against table 4-2 of the Wood Handbook."""
EMC_RANGE_PCT = (5, 95)
"""Relative humidity, per cent: the span of the same table."""


@dataclass(frozen=True, slots=True)
class Taken:
    """A reading and the circumstances of it: tenths of a per cent, °C, per cent."""

    value_pct10: int
    scale: Scale
    meter: Meter
    air_c: float | None = None
    humidity_pct: int | None = None
    reference_pct10: int | None = None


@dataclass(frozen=True, slots=True)
class Beside:
    """A reading beside what can be set beside it, all in per cent of wood moisture.

    Args:
        emc: what wood would hold in that air; None where the air is not known or out of range.
        over_air: the reading less that: context.
        over_reference: the reading less that at a dry place, same meter and day: evidence.
        band: by the reading as taken; None on a meter's own scale.
        corrected: the reading by each published rule for the temperature of the wood.
        said: what bounds these figures.
    """

    emc: float | None
    over_air: float | None
    over_reference: float | None
    band: Band | None
    corrected: tuple[tuple[CorrectionRule, float], ...]
    said: tuple[str, ...]


def equilibrium(air_c: float, humidity_pct: float) -> float:
    """The moisture that wood comes to in that air, per cent of its dry weight.

    Raises:
        RefusedError: outside 30 to 140 °F (−1.1 to 60 °C) or 5 to 95 per cent.
    """
    if not in_range(air_c, humidity_pct):
        raise RefusedError(
            f"air of {air_c:.1f} °C and {humidity_pct} %",
            "is outside the table of wood's moisture",
            "It spans 30 to 140 °F (−1 to 60 °C) and 5 to 95 %.",
        )
    t = air_c
    w = 349 + 1.29 * t + 0.0135 * t**2
    x = (0.805 + 0.000736 * t - 0.00000273 * t**2) * humidity_pct / 100
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    first, second = k1 * x, k1 * k2 * x**2
    return 1800 / w * (x / (1 - x) + (first + 2 * second) / (1 + first + second))


def in_range(air_c: float, humidity_pct: float) -> bool:
    """Whether the equation was held against the published table there."""
    (cold, hot), (arid, damp) = EMC_RANGE_C, EMC_RANGE_PCT
    return cold <= air_c <= hot and arid <= humidity_pct <= damp


def corrected(reading_pct: float, wood_c: float, rule: CorrectionRule) -> float:
    """A pin meter's reading by a published rule for the temperature of the wood, per cent.

    Args:
        reading_pct: as the meter showed it.
        wood_c: temperature of the wood, °C.
        rule: which of the rules; `templates/catalogue/corrections.toml` says what each rests on.
    """
    if rule is CorrectionRule.KILN:
        return reading_pct + (70 - (wood_c * 9 / 5 + 32)) / 20
    if rule is CorrectionRule.METER:
        off = 20 - wood_c
        return reading_pct + (off / 10 if abs(off) > 5 else 0.0)
    linear = reading_pct + 0.567 - 0.026 * wood_c + 0.000051 * wood_c**2
    return float(linear / (0.881 * 1.0056**wood_c))


def beside(taken: Taken, catalogue: Catalogue) -> Beside:
    """A reading beside what the air and a dry place alone explain."""
    value = taken.value_pct10 / 10
    reference = taken.reference_pct10
    over_reference = None if reference is None else (taken.value_pct10 - reference) / 10
    if taken.scale is not Scale.WOOD_MC:
        said = "The meter's own scale is relative: no band, and nothing that air would explain."
        return Beside(None, None, over_reference, None, (), (said,))
    emc = _emc(taken)
    told = _told(taken, catalogue)
    reliable = not _out_of_range(value, catalogue)
    return Beside(
        emc=emc,
        over_air=None if emc is None else value - emc,
        over_reference=over_reference,
        band=catalogue.band(taken.value_pct10),
        corrected=tuple(_corrections(taken)) if reliable else (),
        said=tuple(told),
    )


def _emc(taken: Taken) -> float | None:
    if taken.air_c is None or taken.humidity_pct is None:
        return None
    if not in_range(taken.air_c, taken.humidity_pct):
        return None
    return equilibrium(taken.air_c, taken.humidity_pct)


def _corrections(taken: Taken) -> Iterator[tuple[CorrectionRule, float]]:
    if taken.meter is Meter.PIN and taken.air_c is not None:
        for rule in CorrectionRule:
            yield rule, corrected(taken.value_pct10 / 10, taken.air_c, rule)


def _out_of_range(value: float, catalogue: Catalogue) -> str | None:
    low = float(catalogue.limits[Limit.WOOD_FROM].value)
    high = float(catalogue.limits[Limit.WOOD_TO].value)
    if value < low:
        return f"Out of range: below {low:g} % a meter says little but that it is low."
    if value > high:
        return f"Out of range: above {high:g} % a meter says little but that it is high."
    return None


def _told(taken: Taken, catalogue: Catalogue) -> Iterator[str]:
    bounded = _out_of_range(taken.value_pct10 / 10, catalogue)
    if bounded is not None:
        yield bounded
    if taken.air_c is None or taken.humidity_pct is None:
        yield "The air was not measured: what it would explain cannot be told."
    elif not in_range(taken.air_c, taken.humidity_pct):
        yield "That air is outside the table, which spans 30 to 140 °F (−1 to 60 °C) and 5 to 95 %."
    if taken.reference_pct10 is None:
        yield "No reading at a dry place on the same day: nothing to compare it with."

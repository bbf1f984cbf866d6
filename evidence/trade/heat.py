"""How hot it feels before anybody climbs: the heat index of the US National Weather Service.

A caution, never a clearance: the figures hold in the shade and in a light wind.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import sqrt

from evidence.trade.catalogue import Catalogue
from evidence.trade.units import Measure, Unit
from evidence.trade.working import Limit

BANDS = (
    (Limit.HEAT_EXTREME, "extreme danger"),
    (Limit.HEAT_DANGER, "danger"),
    (Limit.HEAT_GREAT_CAUTION, "extreme caution"),
    (Limit.HEAT_CAUTION, "caution"),
)
"""The bands, the gravest first; editions differ by a few degrees, and the lower one is taken."""


@dataclass(frozen=True, slots=True)
class Heat:
    """What the air feels like, and the band that it falls into."""

    felt: Measure
    band: str
    source: str


def heat_index(air_f: float, humidity_pct: float) -> float:
    """The heat index in °F (Rothfusz regression as the Weather Prediction Center gives it).

    Args:
        air_f: the air's temperature in the shade, °F.
        humidity_pct: relative humidity, per cent.

    Below about 80 °F the simple formula answers; the full one has an error of ±1.3 °F. The printed
    table leaves the adjustment for damp air out, so that it reads up to 2 °F less there.
    """
    t, r = air_f, humidity_pct
    simple = 0.5 * (t + 61 + 1.2 * (t - 68) + 0.094 * r)
    if (simple + t) / 2 < 80:
        return simple
    full = (
        -42.379
        + 2.04901523 * t
        + 10.14333127 * r
        - 0.22475541 * t * r
        - 0.00683783 * t * t
        - 0.05481717 * r * r
        + 0.00122874 * t * t * r
        + 0.00085282 * t * r * r
        - 0.00000199 * t * t * r * r
    )
    if r < 13 and 80 <= t <= 112:
        return full - (13 - r) / 4 * sqrt((17 - abs(t - 95)) / 17)
    if r > 85 and 80 <= t <= 87:
        return full + (r - 85) / 10 * (87 - t) / 5
    return full


def heat(air: Measure, humidity_pct: int, catalogue: Catalogue) -> Heat | None:
    """What it feels like in the unit in which the air was typed; None where no band is reached."""
    felt = heat_index(float(air.to(Unit.FAHRENHEIT).amount), humidity_pct)
    for limit, band in BANDS:
        row = catalogue.limits[limit]
        if felt >= row.value:
            shown = Measure(Fraction(round(felt)), Unit.FAHRENHEIT).to(air.unit)
            return Heat(shown, band, row.rests_on)
    return None

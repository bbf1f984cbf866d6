"""What wood would hold, against the Wood Handbook's table; readings beside it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.errors import EvidenceError
from evidence.trade import load_catalogue
from evidence.trade.moisture import Taken, beside, corrected, equilibrium, in_range
from evidence.trade.working import CorrectionRule
from evidence.words import Meter, Scale

CATALOGUE = load_catalogue()
# Wood Handbook (FPL-GTR-190), table 4-2: °F, relative humidity, moisture content in per cent.
TABLE_4_2 = [
    (30, 50, 9.5), (30, 90, 21.0), (40, 65, 12.3), (50, 80, 16.4), (60, 75, 14.6), (70, 25, 5.4),
    (70, 50, 9.2), (70, 65, 12.0), (70, 80, 16.0), (70, 95, 23.9), (90, 30, 5.9), (100, 85, 17.0),
    (120, 40, 6.8), (140, 55, 8.4),
]  # fmt: skip


def celsius(degrees):
    return (degrees - 32) * 5 / 9


def taken(value=180, **more):
    return Taken(value, **{"scale": Scale.WOOD_MC, "meter": Meter.PIN} | more)


# --- the equation ----------------------------------------------------------------------------


@pytest.mark.parametrize(("air", "humidity", "content"), TABLE_4_2)
def test_wood_holds_what_the_handbooks_table_says(air, humidity, content):
    """Within the table's rounding and the 0.056 that its own equation leaves over 266 entries."""
    assert equilibrium(celsius(air), humidity) == pytest.approx(content, abs=0.056)


@pytest.mark.parametrize(
    ("air", "humidity", "content"), [(20, 50, 9.271), (20, 65, 11.996), (35, 30, 5.857)]
)
def test_wood_holds_what_the_equation_worked_out_elsewhere_says(air, humidity, content):
    assert equilibrium(air, humidity) == pytest.approx(content, abs=0.0006)


@given(st.floats(30, 140), st.integers(5, 95))
def test_the_coefficients_in_fahrenheit_say_the_same(air, humidity):
    """Coefficients of the edition in °F (from memory); the two sets differ by at most 0.013."""
    w = 330 + 0.452 * air + 0.00415 * air**2
    x = (0.791 + 0.000463 * air - 0.000000844 * air**2) * humidity / 100
    k1 = 6.34 + 0.000775 * air - 0.0000935 * air**2
    k2 = 1.09 + 0.0284 * air - 0.0000904 * air**2
    first, second = k1 * x, k1 * k2 * x**2
    theirs = 1800 / w * (x / (1 - x) + (first + 2 * second) / (1 + first + second))
    assert equilibrium(celsius(air), humidity) == pytest.approx(theirs, abs=0.0135)


@given(st.floats(-1.1, 60), st.integers(5, 94))
def test_wood_holds_more_in_damper_air(air, humidity):
    assert equilibrium(air, humidity) < equilibrium(air, humidity + 1)


@pytest.mark.parametrize(("air", "humidity"), [(-1.3, 50), (60.1, 50), (20, 4), (20, 96)])
def test_air_outside_the_table_has_no_answer(air, humidity):
    assert not in_range(air, humidity)
    with pytest.raises(EvidenceError, match="is outside the table"):
        equilibrium(air, humidity)


def test_the_coldest_line_of_the_table_is_inside():
    assert in_range(celsius(30), 5)
    assert in_range(celsius(140), 95)


# --- corrections -----------------------------------------------------------------------------


@pytest.mark.parametrize(("wood", "value"), [(10, 16.44), (20, 15.30), (40, 13.26)])
def test_pfaff_and_garrahan_with_neutral_species(wood, value):
    """The formula (from memory) worked out elsewhere for a reading of 15 %."""
    found = corrected(15, wood, CorrectionRule.PFAFF_GARRAHAN)
    assert found == pytest.approx(value, abs=0.005)


@pytest.mark.parametrize(
    ("rule", "wood", "value"),
    [
        (CorrectionRule.KILN, celsius(70), 15),  # 1 % for each 20 °F from room temperature
        (CorrectionRule.KILN, celsius(50), 16),
        (CorrectionRule.KILN, celsius(110), 13),
        (CorrectionRule.METER, 25, 15),  # half a per cent for each 5 °C, none within 5 °C of 20
        (CorrectionRule.METER, 10, 16),
        (CorrectionRule.METER, 40, 13),
    ],
)
def test_the_rules_of_the_manuals(rule, wood, value):
    assert corrected(15, wood, rule) == pytest.approx(value)


@given(st.sampled_from(list(CorrectionRule)), st.integers(70, 280), st.floats(-20, 14))
def test_every_rule_raises_a_reading_of_cold_wood(rule, tenths, wood):
    assert corrected(tenths / 10, wood, rule) > tenths / 10


# --- a reading beside them -------------------------------------------------------------------


def test_evidence_is_the_dry_place_and_context_is_the_air():
    found = beside(taken(240, air_c=20, humidity_pct=65, reference_pct10=110), CATALOGUE)
    assert found.over_reference == pytest.approx(13.0)
    assert found.emc == pytest.approx(12.0, abs=0.01)
    assert found.over_air == pytest.approx(12.0, abs=0.01)
    assert (found.band, found.said) == ("investigate", ())


def test_the_reading_as_taken_has_the_band_whatever_the_corrections_say():
    cold = beside(taken(149, air_c=0, humidity_pct=50), CATALOGUE)
    assert cold.band == "normal"
    assert {rule for rule, _ in cold.corrected} == set(CorrectionRule)
    assert all(value > 15 for _, value in cold.corrected)


def test_no_rule_for_pin_meters_is_used_on_a_pinless_one_or_without_a_temperature():
    assert beside(taken(meter=Meter.PINLESS, air_c=5), CATALOGUE).corrected == ()
    assert beside(taken(), CATALOGUE).corrected == ()


@pytest.mark.parametrize(("value", "side"), [(69, "below 7 %"), (281, "above 28 %")])
def test_outside_a_meters_range_it_is_said_and_nothing_is_corrected(value, side):
    found = beside(taken(value, air_c=5, humidity_pct=50), CATALOGUE)
    assert any(side in text for text in found.said)
    assert found.corrected == ()


@pytest.mark.parametrize("value", [70, 280])
def test_the_ends_of_the_range_are_inside(value):
    found = beside(taken(value, air_c=5, humidity_pct=50, reference_pct10=100), CATALOGUE)
    assert found.said == ()


def test_a_relative_scale_is_compared_with_nothing_but_its_own_dry_place():
    found = beside(
        taken(600, scale=Scale.RELATIVE, air_c=20, humidity_pct=65, reference_pct10=200), CATALOGUE
    )
    assert (found.emc, found.over_air, found.band, found.corrected) == (None, None, None, ())
    assert found.over_reference == 40.0
    assert "relative" in found.said[0]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "The air was not measured"),
        ({"air_c": 20}, "The air was not measured"),
        ({"air_c": -5, "humidity_pct": 50}, "outside the table"),
        ({"air_c": 20, "humidity_pct": 97}, "outside the table"),
    ],
)
def test_what_cannot_be_told_of_the_air_is_said(more, said):
    found = beside(taken(**more), CATALOGUE)
    assert found.emc is None
    assert any(said in text for text in found.said)


def test_a_missing_dry_place_is_said():
    assert any("dry place" in text for text in beside(taken(), CATALOGUE).said)


# --- bands -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tenths", "band"),
    [
        (0, "normal"),
        (150, "normal"),
        (151, "re-test"),
        (200, "re-test"),
        (201, "investigate"),
        (300, "investigate"),
        (301, "possibly-structural"),
        (9999, "possibly-structural"),
    ],
)
def test_each_value_lies_in_one_band(tenths, band):
    """TRADE § 5: 0-15 normal, 15-20 re-test, 20-30 investigate, over 30 possibly structural."""
    assert CATALOGUE.band(tenths) == band

"""Measures as typed: read exactly, shown as typed, kept by the record without loss."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.errors import EvidenceError
from evidence.trade.units import (
    LENGTH,
    TEMPERATURE,
    VOLUME,
    Measure,
    Unit,
    decimal,
    from_record,
    measure,
    sizes,
)

AMOUNTS = st.fractions(min_value=-1000, max_value=100_000, max_denominator=10_000)


# --- what is exact by definition -------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "base"),
    [
        ("68F", TEMPERATURE, Fraction(20)),
        ("20 C", TEMPERATURE, Fraction(20)),
        ("-40°F", TEMPERATURE, Fraction(-40)),
        ("−4.5c", TEMPERATURE, Fraction(-9, 2)),
        ("3/8in", LENGTH, Fraction(9525, 1000)),
        ('1 1/2"', LENGTH, Fraction(381, 10)),
        ("1-1/2 inches", LENGTH, Fraction(381, 10)),
        ("8ft 4in", LENGTH, Fraction(2540)),
        ("8'", LENGTH, Fraction(24384, 10)),
        ("10mm", LENGTH, Fraction(10)),
        ("2.4 m", LENGTH, Fraction(2400)),
        ("300ml", VOLUME, Fraction(300)),
        # One US fluid ounce is 231/128 in³, an inch 25.4 mm.
        ("1 fl oz", VOLUME, Fraction(231, 128) * Fraction(254, 10) ** 3 / 1000),
    ],
)
def test_a_measure_is_read_exactly(text, kind, base):
    assert measure(text, kind, "--x").base == base


@pytest.mark.parametrize(
    ("typed", "ml"),
    [("10.1oz", "298.69"), ("10.3oz", "304.61"), ("20oz", "591.5"), ("1oz", "29.5735")],
)
def test_fluid_ounces_come_to_the_published_millilitres(typed, ml):
    """10.1 oz = 298.69 ml, 10.3 = 304.61, 20 = 591.5 (not 600), 1 = 29.5735 (NIST Handbook 44)."""
    places = len(ml.partition(".")[2])
    assert decimal(measure(typed, VOLUME, "--x").base, places) == ml


# --- round trips -----------------------------------------------------------------------------


@given(AMOUNTS, st.sampled_from(list(Unit)), st.data())
def test_to_another_unit_and_back_is_the_same_measure(amount, unit, data):
    other = data.draw(st.sampled_from([each for each in Unit if each.kind == unit.kind]))
    given_measure = Measure(amount, unit)
    assert given_measure.to(other).to(unit) == given_measure
    assert given_measure.to(other).base == given_measure.base


@given(st.integers(-120, 300))
def test_what_is_typed_in_half_degrees_fahrenheit_comes_back_from_the_record(halves):
    typed = Measure(Fraction(halves, 2), Unit.FAHRENHEIT)
    assert from_record(typed.tenths, Unit.FAHRENHEIT) == typed


@given(st.integers(-900, 1500))
def test_what_is_typed_in_tenths_celsius_comes_back_from_the_record(tenths):
    typed = Measure(Fraction(tenths, 10), Unit.CELSIUS)
    assert typed.tenths == tenths
    assert from_record(tenths, Unit.CELSIUS) == typed


@given(st.integers(1, 16 * 1200))
def test_sixteenths_of_an_inch_come_back_from_whole_millimetres(sixteenths):
    typed = Measure(Fraction(sixteenths, 16), Unit.INCH)
    kept = Measure(Fraction(round(typed.base)), Unit.MILLIMETRE).to(Unit.INCH)
    assert Fraction(round(kept.amount * 16), 16) == typed.amount


@given(st.integers(1, 16 * 1000), st.sampled_from([Unit.INCH]))
def test_what_is_shown_of_an_inch_can_be_typed_again(sixteenths, unit):
    shown = Measure(Fraction(sixteenths, 16), unit)
    assert measure(str(shown), LENGTH, "--x") == shown


@given(st.integers(-400, 1400), st.sampled_from([Unit.CELSIUS, Unit.FAHRENHEIT]))
def test_what_is_shown_of_a_temperature_can_be_typed_again(tenths, unit):
    shown = Measure(Fraction(tenths, 10), unit)
    assert measure(str(shown), TEMPERATURE, "--x") == shown


# --- as people write them --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "kind", "shown"),
    [
        ("68f", TEMPERATURE, "68 °F"),
        ("20.5C", TEMPERATURE, "20.5 °C"),
        ("6/16in", LENGTH, "3/8 in"),
        ("1.5in", LENGTH, "1 1/2 in"),
        ("0.3in", LENGTH, "0.3 in"),
        ("9.5mm", LENGTH, "9.5 mm"),
        ("10.3oz", VOLUME, "10.3 fl oz"),
    ],
)
def test_a_measure_is_shown_as_a_person_writes_it(text, kind, shown):
    assert str(measure(text, kind, "--x")) == shown


def test_two_sides_may_share_a_unit():
    for text in ("1x1/4in", "1in x 1/4in", "1 × 1/4 in", "25.4mm x 1/4in"):
        assert [side.base for side in sizes(text, "--bead")] == [
            Fraction(254, 10),
            Fraction(635, 100),
        ]
    assert [str(side) for side in sizes("3/8in", "--bead")] == ["3/8 in"]


@pytest.mark.parametrize(
    ("text", "kind", "why"),
    [
        ("68", TEMPERATURE, "has no unit"),
        ("68K", TEMPERATURE, "is no temperature"),
        ("68mm", TEMPERATURE, "is no temperature"),
        ("warm", TEMPERATURE, "is not a number with its unit"),
        ("", TEMPERATURE, "is not a number"),
        ("F", TEMPERATURE, "is not a number"),
        ("5,5mm", LENGTH, "has a comma; write a point"),
        ("3/0in", LENGTH, "is divided by nothing"),
        ("-273.16C", TEMPERATURE, "is below absolute zero"),
        ("-459.68F", TEMPERATURE, "is below absolute zero"),
        ("-3in", LENGTH, "is not a number"),
        ("1..5mm", LENGTH, "is no length"),
        ("1e3mm", LENGTH, "is no length"),
        ("10mm5", LENGTH, "is no length"),
        ("٣mm", LENGTH, "is not a number"),
        ("12345678mm", LENGTH, "is no length"),
        ("300mm", VOLUME, "is no volume"),
    ],
)
def test_what_is_no_measure_is_refused_by_name(text, kind, why):
    with pytest.raises(EvidenceError, match=f"--x .*{why}") as caught:
        measure(text, kind, "--x")
    assert caught.value.what_to_do.startswith("Write ")


@pytest.mark.parametrize("text", ["x", "1x", "x1in", "1x2x3in", "1 by 2in"])
def test_what_is_no_size_is_refused(text):
    with pytest.raises(EvidenceError):
        sizes(text, "--size")


def test_a_measure_is_not_taken_to_another_kind():
    with pytest.raises(EvidenceError, match="is no volume"):
        measure("1in", LENGTH, "--x").to(Unit.MILLILITRE)


@given(st.text(max_size=12))
def test_no_text_does_worse_than_a_refusal(text):
    for kind in (TEMPERATURE, LENGTH, VOLUME):
        try:
            measure(text, kind, "--x")
        except EvidenceError:
            continue

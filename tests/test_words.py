"""The words of the record and the shapes of its values."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from evidence import words as w


def test_the_roof_is_z01_to_z24():
    """OUTPUTS § 2: what a look from the ground or from inside never covers."""
    assert len(w.ROOF_ZONES) == 24
    assert {"Z01", "Z24"} <= w.ROOF_ZONES
    assert not {"Z00", "Z25", "Z26", "Z27"} & w.ROOF_ZONES


@pytest.mark.parametrize(("value", "taken"), [("Z01", True), ("Z27", True), ("Z00", False)])
def test_zone_types_are_z01_to_z27(value: str, taken: bool):  # noqa: FBT001
    assert reads(w.ZoneType, value) == taken


@pytest.mark.parametrize("value", ["D00", "D31", "d01", "D1"])
def test_finding_types_are_d01_to_d30(value: str):
    assert reads(w.FindingType, "D01")
    assert reads(w.FindingType, "D30")
    assert not reads(w.FindingType, value)


@pytest.mark.parametrize("char", ["\x00", "\t", "\r", "\x7f", "\x85", "\ud800", "\u202e", "\u2066"])
def test_what_no_page_shows_as_written_is_control(char: str):
    assert w.is_control(char)


@pytest.mark.parametrize("char", ["\n", " ", "é", "…", "\u200d", "\u05d0", "😀"])
def test_what_people_write_is_not(char: str):
    """U+200D joins the parts of a picture sign; U+05D0 is written from right to left by itself."""
    assert not w.is_control(char)


@given(st.text(max_size=50))
def test_text_is_taken_as_it_is_or_refused_never_changed(text: str):
    clean = unicodedata.normalize("NFC", text) == text and not any(map(w.is_control, text))
    assert reads(w.Text, text) == (clean and bool(text))


def test_a_near_miss_is_answered_with_what_was_meant():
    assert w.nearest("inspektion", ["wash", "inspection"]) == "Did you mean 'inspection'?"
    assert w.nearest("xyz", ["wash", "trip"]) == "Known: wash, trip."


@pytest.mark.parametrize("value", ["0", "-0.5", "123456789012345.123456789", "10.00"])
def test_decimals_are_plain(value: str):
    assert reads(w.Decimal, value)


@pytest.mark.parametrize("value", ["", ".5", "1.", "+1", "1e3", "00", "1234567890123456", "٣"])
def test_other_spellings_of_a_number_are_refused(value: str):
    assert not reads(w.Decimal, value)


def reads(shape: object, value: str) -> bool:
    try:
        return TypeAdapter(shape).validate_python(value) == value
    except ValidationError:
        return False

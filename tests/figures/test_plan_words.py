import pytest

from evidence.figures.plan_words import cell_of, side_of


@pytest.mark.parametrize(
    ("label", "zone_id", "side"),
    [
        ("left rail", "rail-1", "left"),
        ("Right Rail", "left-rail", "right"),
        ("Dachschiene", "rail-l", "left"),
        ("rail, left and right", "rail-l", None),
        ("gutter", "gutter", None),
        ("leftover patch", "patch", None),
    ],
)
def test_a_side_is_taken_from_the_label_or_else_from_the_id(label, zone_id, side):
    assert side_of(label, zone_id) == side


@pytest.mark.parametrize(
    ("label", "zone_id", "cell"),
    [
        ("field middle right", "x", ("middle", "right")),
        ("field rear middle", "x", ("rear", "centre")),
        ("field front", "x", ("front", "")),
        ("field left", "x", ("", "left")),
        ("membrane", "field-fc", ("front", "centre")),
        ("membrane", "roof", ("", "")),
        ("field front and rear", "x", ("", "")),
    ],
)
def test_a_field_is_named_along_and_across(label, zone_id, cell):
    assert cell_of(label, zone_id) == cell

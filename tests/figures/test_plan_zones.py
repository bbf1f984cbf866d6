import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.errors import RefusedError
from evidence.figures import PlanZone
from evidence.figures.plan_zones import Form, Frame, field_of, place_zones

FRAME = Frame.of(7400, 2400, 14.0, 384.0, 10.0)  # 370 pt for 7.4 m: 0.05 pt/mm


def one(*zones: PlanZone):
    placed, missing = place_zones(zones, FRAME)
    assert missing == ()
    return placed


def test_the_scale_is_the_same_both_ways():
    assert FRAME.scale == pytest.approx(0.05)
    assert FRAME.body.height == pytest.approx(2400 * 0.05)


@pytest.mark.parametrize(("length", "width"), [(0, 2400), (7400, 0)])
def test_a_rig_without_measures_is_refused_with_what_to_do(length, width):
    with pytest.raises(RefusedError, match="length_mm and width_mm"):
        Frame.of(length, width, 0.0, 100.0, 0.0)


@given(
    st.tuples(st.integers(0, 7000), st.integers(0, 2000)),
    st.tuples(st.integers(40, 400), st.integers(40, 400)),
)
def test_a_measured_zone_stands_at_its_true_place_in_its_true_size(at, size):
    (vent,) = one(PlanZone("vent", "vent", "Z12", at, size))
    box = vent.box
    assert vent.form is Form.BOX
    assert (box.x0 - 14.0) / 0.05 == pytest.approx(at[0], abs=1e-6)
    assert (130.0 - box.y1) / 0.05 == pytest.approx(at[1], abs=1e-6)
    assert (box.width / 0.05, box.height / 0.05) == (
        pytest.approx(size[0], abs=1e-6),
        pytest.approx(size[1], abs=1e-6),
    )


@given(
    st.lists(
        st.builds(
            PlanZone,
            st.uuids().map(str),
            st.sampled_from(("left", "right", "front left", "rear centre", "vent", "")),
            st.sampled_from([f"Z{n:02}" for n in range(1, 28)]),
            st.none() | st.tuples(st.integers(0, 9000), st.integers(0, 4000)),
            st.none() | st.tuples(st.integers(0, 9000), st.integers(0, 4000)),
        ),
        max_size=40,
    )
)
def test_every_zone_lies_inside_the_outline_or_is_named_as_missing(zones):
    ids = {zone.id for zone in zones}
    placed, missing = place_zones(zones, FRAME)
    assert {zone.id for zone in missing} == ids - {place.zone.id for place in placed}
    assert len(placed) + len(missing) == len(zones)
    body = FRAME.body.grown(1e-6)
    assert all(body.holds(box) for zone in placed for box in zone.boxes)
    assert all(box.width > 0 and box.height > 0 for zone in placed for box in zone.boxes)


def test_a_zone_that_passes_the_outline_is_cut_at_it():
    (slide,) = one(PlanZone("slide", "slide-out", "Z22", (6000, 2000), (1000, 900)))
    assert slide.box.y0 == FRAME.body.y0
    assert slide.box.height == pytest.approx(400 * 0.05)
    assert slide.box.width == pytest.approx(50.0)


def test_a_zone_beyond_the_roof_is_not_drawn():
    _, missing = place_zones([PlanZone("x", "awning", "Z21", (1000, 2600), (500, 500))], FRAME)
    assert [zone.id for zone in missing] == ["x"]


def test_a_place_without_a_size_is_a_point_on_it():
    (cable,) = one(PlanZone("cable", "cable entry", "Z18", (3700, 1200)))
    assert cable.form is Form.POINT
    assert cable.box.centre == (pytest.approx(14 + 185), pytest.approx(10 + 60))


def test_a_place_near_the_left_side_is_a_point_near_the_bottom():
    (cable,) = one(PlanZone("cable", "cable entry", "Z18", (3700, 400)))
    assert cable.box.centre == (pytest.approx(14 + 185), pytest.approx(130 - 20))


@given(st.integers(1500, 2600), st.integers(2500, 13_000), st.floats(240.0, 560.0))
def test_a_place_on_either_side_is_on_the_roof_and_one_beyond_it_is_not(width, length, x1):
    frame = Frame.of(length, width, 3.0, x1, 14.0)
    zones = [
        PlanZone("left", "screw", "Z18", (1000, 0)),
        PlanZone("right", "screw", "Z18", (1000, width)),
        PlanZone("beyond", "screw", "Z18", (1000, width + 1)),
    ]
    placed, missing = place_zones(zones, frame)
    assert [zone.zone.id for zone in placed] == ["left", "right"]
    assert [zone.id for zone in missing] == ["beyond"]


def test_a_ceiling_has_no_place_on_the_roof():
    _, missing = place_zones([PlanZone("c", "ceiling 3", "Z25")], FRAME)
    assert [zone.label for zone in missing] == ["ceiling 3"]


def test_strips_and_rails_lie_along_their_edges_without_measures():
    front, rear, left, right = one(
        PlanZone("f", "front strip", "Z01"),
        PlanZone("r", "rear strip", "Z03"),
        PlanZone("a", "gutter rail", "Z05"),
        PlanZone("b", "gutter rail", "Z06"),
    )
    middle = FRAME.body.centre
    assert front.box.x1 < middle[0] < rear.box.x0
    assert right.box.y1 < middle[1] < left.box.y0
    assert all(zone.form is Form.EDGE for zone in (front, rear, left, right))
    assert not any(
        a.box.meets(b.box)
        for a in (front, rear, left, right)
        for b in (front, rear, left, right)
        if a is not b
    )


def test_a_measured_rail_is_an_edge_where_it_reaches_the_outline():
    rail, patch = one(
        PlanZone("a", "gutter rail", "Z05", (300, 0), (6800, 90)),
        PlanZone("b", "spare rail", "Z05", (2000, 1000), (2000, 90)),
    )
    assert (rail.form, patch.form) == (Form.EDGE, Form.BOX)


def test_the_name_says_the_side_of_a_rail_before_its_type_does():
    insert, rail = one(
        PlanZone("a", "right rail insert", "Z05"), PlanZone("b", "left rail insert", "Z06")
    )
    assert insert.box.y1 < FRAME.body.centre[1] < rail.box.y0


def test_two_zones_of_one_rail_divide_it():
    front, rear = one(
        PlanZone("a", "left rail, front half", "Z05"), PlanZone("b", "left rail, rear half", "Z05")
    )
    assert front.box.x1 == pytest.approx(rear.box.x0)
    assert front.box.width == pytest.approx(rear.box.width)


def test_two_zones_of_one_strip_divide_it_from_the_left_side():
    left, right = one(
        PlanZone("a", "front strip, first half", "Z01"),
        PlanZone("b", "front strip, second half", "Z01"),
    )
    assert left.box.y0 == pytest.approx(right.box.y1)
    assert left.box.height == pytest.approx(right.box.height)


def test_corners_stand_where_their_names_say():
    left, right, both = one(
        PlanZone("a", "front corner left", "Z02"),
        PlanZone("b", "front corner right", "Z02"),
        PlanZone("c", "rear corners", "Z04"),
    )
    assert right.box.y1 < FRAME.body.centre[1] < left.box.y0
    assert left.box.x0 == right.box.x0
    assert len(both.boxes) == 2
    assert both.boxes[0].y0 == left.box.y0
    assert both.boxes[0].x0 > FRAME.body.centre[0]


def test_corners_whose_side_nobody_says_are_not_guessed():
    zones = [PlanZone("a", "corner one", "Z02"), PlanZone("b", "corner two", "Z02")]
    placed, missing = place_zones(zones, FRAME)
    assert placed == ()
    assert [zone.id for zone in missing] == ["a", "b"]


@pytest.mark.parametrize(
    ("label", "id_", "column", "row"),
    [
        ("field front left", "x", 0, 2),
        ("field, middle right", "x", 1, 0),
        ("rear center membrane", "x", 2, 1),
        ("field rear middle", "x", 2, 1),
        ("Dachhaut", "field-mr", 1, 0),
        ("Dachhaut", "fc", 0, 1),
    ],
)
def test_a_field_is_one_ninth_by_its_name_or_its_id(label, id_, column, row):
    (field,) = one(PlanZone(id_, label, "Z08"))
    whole = field_of(FRAME)
    assert field.box.x0 == pytest.approx(whole.x0 + column * whole.width / 3)
    assert field.box.y0 == pytest.approx(whole.y0 + row * whole.height / 3)
    assert field.box.width == pytest.approx(whole.width / 3)
    assert field.evident


def test_a_field_named_in_one_direction_only_runs_through_the_other():
    (rear,) = one(PlanZone("x", "field rear", "Z08"))
    whole = field_of(FRAME)
    assert (rear.box.y0, rear.box.y1) == (pytest.approx(whole.y0), pytest.approx(whole.y1))
    assert rear.box.width == pytest.approx(whole.width / 3)
    assert not rear.evident


def test_a_field_without_a_direction_is_the_whole_membrane():
    (field,) = one(PlanZone("roof", "membrane", "Z08"))
    assert field.box == field_of(FRAME)


def test_the_roof_is_seen_from_above_front_to_the_left_and_left_side_at_the_bottom():
    front_left, rear_right = one(
        PlanZone("a", "vent", "Z12", (100, 100), (200, 200)),
        PlanZone("b", "vent", "Z12", (7000, 2100), (200, 200)),
    )
    assert front_left.box.x1 < FRAME.body.centre[0] < rear_right.box.x0
    assert rear_right.box.y1 < FRAME.body.centre[1] < front_left.box.y0


def test_a_place_by_type_and_a_measured_one_lie_on_the_same_side():
    measured = PlanZone("m", "vent", "Z12", (3600, 100), (200, 200))
    by_type = [
        PlanZone("rail", "gutter rail", "Z05"),
        PlanZone("c", "front corner left", "Z02"),
        PlanZone("f", "field middle left", "Z08"),
    ]
    assert all(zone.box.y0 > FRAME.body.centre[1] for zone in one(measured, *by_type))

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evidence.errors import RefusedError
from evidence.figures import PlanZone, RoofPlan, draw_roof_plan
from evidence.figures.plan_drawing import TINTS, tint
from evidence.figures.plan_zones import Form
from evidence.figures.roof_plan import FIELDS, lay_out
from evidence.figures.scene import Circle, Hatch, Line, Path, Rect
from evidence.figures.style import COPPER, PAPER

from .samples import beyond_the_edge, edges, forty_zones, kestrel, nine_fields, overlaps, words_of


def said(plan, width=534):
    return [text.text for text in words_of(draw_roof_plan(plan, width))]


def check_labels(plan, width):
    """What must hold for the names on a plan, by computed rectangles."""
    layout = lay_out(plan, width)
    shown = layout.labels.shown
    boxes = [label.spot.box for label in shown]
    assert not [pair for pair in combinations(boxes, 2) if pair[0].meets(pair[1])]
    assert all(layout.bounds.holds(box) for box in boxes)
    for label in shown:
        mine = label.placed.boxes
        for other in layout.placed:
            if other.form is Form.FIELD:
                whole = other.zone.highlight
                assert not whole or other.box.holds(label.spot.box) or not meets(label, other)
            elif not (label.number is not None and mine[0].holds(label.spot.box)):
                assert not meets(label, other)
    named = {label.placed.zone.id for label in shown}
    silent = {zone.zone.id for zone in layout.labels.nameless}
    evident = {zone.zone.id for zone in layout.placed if zone.evident}
    missing = {zone.id for zone in layout.missing}
    assert not named & silent
    assert named | silent | evident | missing == {zone.id for zone in plan.zones}
    numbers = sorted(label.number for label in shown if label.number is not None)
    assert numbers == list(range(1, len(numbers) + 1))


def meets(label, placed):
    return any(label.spot.box.meets(box) for box in placed.boxes)


@pytest.mark.parametrize("width", [240, 347, 534])
def test_forty_zones_stay_legible(width):
    plan = forty_zones()
    assert len(plan.zones) == 40
    check_labels(plan, width)
    scene = draw_roof_plan(plan, width)
    assert overlaps(scene) == []
    assert beyond_the_edge(scene) == []


@pytest.mark.parametrize("width", [347, 534])
def test_every_zone_of_forty_is_named_somewhere(width):
    words = " ".join(said(forty_zones(), width))
    fields = {zone.id for zone in nine_fields()}
    nowhere = [
        zone.label
        for zone in forty_zones().zones
        if zone.id not in fields and not all(word in words for word in zone.label.split())
    ]
    assert nowhere == []


labels = st.one_of(
    st.sampled_from(("vent", "air conditioner", "refrigerator vent, rear left", "skylight 1")),
    st.text(max_size=40),
)
measures = st.tuples(st.integers(0, 8000), st.integers(0, 2600))
sizes = st.tuples(st.integers(0, 1500), st.integers(0, 1500))
zones = st.lists(
    st.builds(
        PlanZone,
        st.integers(0, 10_000).map(lambda n: f"zone-{n}"),
        labels,
        st.sampled_from([f"Z{n:02}" for n in range(1, 28)]),
        st.none() | measures,
        st.none() | sizes,
        st.none() | st.integers(0, 1000),
        st.none() | st.integers(0, 4),
        st.booleans(),
    ),
    max_size=40,
    unique_by=lambda zone: zone.id,
)


@settings(max_examples=60, deadline=None)
@given(zones, st.integers(2500, 13_000), st.integers(1500, 2600), st.floats(240.0, 560.0))
def test_whatever_the_roof_no_words_meet_or_leave_the_plan(zones, length, width_mm, width):
    plan = RoofPlan(length, width_mm, tuple(zones), "Kestrel", "tear")
    check_labels(plan, width)
    scene = draw_roof_plan(plan, width)
    assert overlaps(scene) == []
    assert beyond_the_edge(scene) == []


def test_forty_zones_on_one_spot_are_all_accounted_for():
    zones = tuple(
        PlanZone(f"vent-{n}", f"vent {n}", "Z12", (3000, 1000), (300, 300)) for n in range(40)
    )
    plan = RoofPlan(7400, 2400, zones)
    check_labels(plan, 534)
    words = " ".join(said(plan))
    assert all(f"vent {n}" in words for n in range(40))


def test_a_measured_box_is_drawn_to_scale():
    plan = replace(kestrel(), key=False)
    frame = lay_out(plan, 347).frame
    drawn = [
        item
        for item in draw_roof_plan(plan, 347).items
        if isinstance(item, Rect) and item.stroke is not None
    ]
    scale = frame.body.width / 7400
    assert any(
        item.x == pytest.approx(frame.body.x0 + 2900 * scale)
        and item.y + item.height == pytest.approx(frame.body.y1 - 830 * scale)
        and item.width == pytest.approx(900 * scale)
        and item.height == pytest.approx(550 * scale)
        for item in drawn
    )


def test_the_outline_is_as_long_and_wide_as_the_rig_and_round_at_the_front_only():
    scene = draw_roof_plan(RoofPlan(7400, 2400), 347)
    outline = next(item for item in scene.items if isinstance(item, Path))
    points = [(step.x, step.y) for step in outline.steps if hasattr(step, "x")]
    length = max(x for x, _ in points) - min(x for x, _ in points)
    width = max(y for _, y in points) - min(y for _, y in points)
    assert width / length == pytest.approx(2400 / 7400)
    at_the_front = [y for x, y in points if x == min(x for x, _ in points)]
    at_the_rear = [y for x, y in points if x == max(x for x, _ in points)]
    assert len(at_the_front) == 1
    assert max(at_the_rear) - min(at_the_rear) > width * 0.8


def test_only_the_place_in_question_is_copper():
    scene = draw_roof_plan(replace(kestrel(), key=False), 347)
    hatches = [
        item for item in scene.items if isinstance(item, Hatch) and item.stroke.colour == COPPER
    ]
    frame = lay_out(kestrel(), 347).frame
    (hatch,) = hatches
    box = frame.box((3100, 1700), (600, 400))
    assert hatch.outline == box.corners
    copper = [text.text for text in words_of(scene) if text.colour == COPPER]
    assert " ".join(copper) == "field patch, tear 210 mm"
    plain = replace(kestrel(), zones=kestrel().zones[:-1])
    assert COPPER not in repr(draw_roof_plan(plain, 347))


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (0, "looked at within 30 days"),
        (30, "looked at within 30 days"),
        (31, "31 to 90 days ago"),
        (90, "31 to 90 days ago"),
        (91, "91 to 180 days ago"),
        (180, "91 to 180 days ago"),
        (181, "over 180 days ago"),
    ],
)
def test_the_age_of_the_last_look_is_a_grey_named_in_the_key(days, words):
    assert tint(days) == TINTS[words]
    plan = RoofPlan(7400, 2400, (PlanZone("v", "vent", "Z12", (900, 900), (400, 400), days),))
    drawn = said(plan)
    assert words in drawn
    assert not (set(TINTS) - {words}) & set(drawn)
    assert "not looked at" not in drawn


def test_what_was_not_looked_at_is_dotted_and_said():
    vent = PlanZone("v", "vent", "Z12", (900, 900), (400, 400))
    plan = RoofPlan(7400, 2400, (vent,), key=False)
    dots = [item for item in draw_roof_plan(plan, 534).items if isinstance(item, Hatch)]
    assert len(dots) == 1
    assert dots[0].stroke.round_ends
    assert "not looked at" in said(replace(plan, key=True))


def test_older_looks_are_darker():
    greys = [int(colour[1:3], 16) for colour in TINTS.values()]
    assert greys == sorted(greys, reverse=True)
    assert TINTS["looked at within 30 days"] == PAPER


def test_a_sound_zone_has_no_sign_and_a_graded_one_has_its_bead_and_word():
    vent = PlanZone("v", "vent", "Z12", (900, 900), (400, 400), 5, 0)

    def beads(grade):
        plan = RoofPlan(7400, 2400, (replace(vent, grade=grade),), key=False)
        return sum(isinstance(item, Path) for item in draw_roof_plan(plan, 534).items) - 2

    assert [beads(grade) for grade in (None, 0, 1, 3, 4)] == [0, 0, 1, 2, 3]
    assert "3 open path" in said(RoofPlan(7400, 2400, (replace(vent, grade=3),)))


def test_nine_fields_are_named_by_their_place_in_the_key_alone():
    words = said(RoofPlan(7400, 2400, tuple(nine_fields())))
    assert FIELDS in words
    assert not any(word.startswith("field ") for word in words)


def test_a_field_in_question_says_what_was_found_and_the_key_says_which_it_is():
    asked = replace(nine_fields()[5], highlight=True, grade=4)
    words = said(RoofPlan(7400, 2400, (*nine_fields()[:5], asked), "", "tear 210 mm"), 347)
    assert "tear 210 mm" in words
    assert "place in question: field middle right" in words


def test_a_field_between_others_shares_one_dashed_line_with_each():
    scene = draw_roof_plan(RoofPlan(7400, 2400, tuple(nine_fields()), key=False), 534)
    dashed = [item for item in scene.items if isinstance(item, Line) and item.stroke.dash]
    assert len(dashed) == 12  # three columns and rows: two inner lines each way, in three pieces


def test_dashed_lines_make_room_for_a_name_that_stands_on_them():
    vent = PlanZone("v", "refrigerator", "Z15", (3500, 1070), (400, 260), 5)
    plan = RoofPlan(7400, 2400, (*nine_fields(), vent), key=False)
    layout = lay_out(plan, 240)
    (label,) = layout.labels.shown
    box = label.spot.box
    assert not any(field.box.holds(box) for field in layout.placed)
    dashed = [
        item
        for item in draw_roof_plan(plan, 240).items
        if isinstance(item, Line) and item.stroke.dash
    ]
    assert not [
        line
        for line in dashed
        if line.x1 < box.x1 and box.x0 < line.x2 and line.y1 < box.y1 and box.y0 < line.y2
    ]


def test_what_has_no_place_is_listed_with_its_grade():
    ceiling = PlanZone("c", "ceiling 3", "Z25", grade=4)
    assert "Not drawn, place not in the record: ceiling 3 (4 urgent)" in said(
        RoofPlan(7400, 2400, (ceiling,))
    )


def test_a_point_is_a_ring_at_its_place():
    cable = PlanZone("v", "cable entry", "Z18", (3700, 1200), None, 5)
    scene = draw_roof_plan(RoofPlan(7400, 2400, (cable,), key=False), 534)
    (ring,) = [item for item in scene.items if isinstance(item, Circle)]
    assert (ring.x, ring.y) == lay_out(RoofPlan(7400, 2400), 534).frame.body.centre


def test_the_words_for_those_who_cannot_see_it_name_the_grades_and_the_place_in_question():
    alt = draw_roof_plan(kestrel(), 347).alt
    assert "7.4 by 2.4 m, front to the left, left side at the bottom, seen from above" in alt
    assert "Place in question: field patch, tear 210 mm." in alt
    assert "3 open path: rear strip." in alt
    assert "Not looked at: plumbing." in alt


@pytest.mark.parametrize("width", [240, 347, 534])
def test_the_key_says_in_full_which_way_the_roof_lies(width):
    assert "front to the left, left side at the bottom, seen from above" in said(kestrel(), width)


def measured_edges():
    places = {
        "Z01": ((0, 310), (150, 1780)),
        "Z03": ((7250, 310), (150, 1780)),
        "Z05": ((310, 0), (6780, 90)),
        "Z06": ((310, 2310), (6780, 90)),
    }
    return [
        replace(zone, at=places[zone.type][0], size_mm=places[zone.type][1]) for zone in edges()
    ]


@pytest.mark.parametrize("around", [edges(), measured_edges()], ids=["by type", "measured"])
def test_the_names_of_rails_and_strips_stand_outside_the_outline_on_their_own_side(around):
    layout = lay_out(RoofPlan(7400, 2400, (*around, *nine_fields())), 534)
    at = {label.name: label.spot.box for label in layout.labels.shown}
    body = layout.frame.body
    assert at["right rail"].y1 <= body.y0
    assert at["left rail"].y0 >= body.y1
    assert at["front strip"].x1 <= body.x0
    assert at["rear strip"].x0 >= body.x1


# Numbers that stand for the names


def numbered(plan):
    """The zones numbered backwards, so that no number is its zone's place by chance."""
    numbers = {zone.id: len(plan.zones) - nth for nth, zone in enumerate(plan.zones)}
    return replace(plan, numbers=numbers), numbers


@pytest.mark.parametrize("width", [347, 534])
def test_every_zone_of_forty_is_drawn_with_the_number_it_was_given(width):
    plan, numbers = numbered(forty_zones())
    layout = lay_out(plan, width)
    shown = {label.placed.zone.id: label.number for label in layout.labels.shown}
    unplaced = {zone.id for zone in layout.missing}
    silent = {zone.zone.id for zone in layout.labels.nameless}
    assert shown == {name: n for name, n in numbers.items() if name not in unplaced | silent}
    assert not silent
    boxes = [label.spot.box for label in layout.labels.shown]
    assert not [pair for pair in combinations(boxes, 2) if pair[0].meets(pair[1])]


def test_the_names_behind_given_numbers_are_not_listed_below():
    plan, numbers = numbered(kestrel())
    words = said(plan)
    assert {str(number) for number in numbers.values()} <= set(words)
    assert not [zone.name for zone in plan.zones if zone.name in words]


def test_a_zone_that_cannot_be_drawn_is_told_with_its_number():
    lost = PlanZone("awning", "awning bracket", "Z21")
    plan = replace(RoofPlan(7400, 2400, (lost,)), numbers={"awning": 7})
    assert "Not drawn, place not in the record: 7 awning bracket" in said(plan)


def test_the_number_of_a_strip_stands_upright():
    ungraded = tuple(replace(zone, grade=None) for zone in edges())
    plan, _ = numbered(RoofPlan(7400, 2400, ungraded))
    assert not any(label.spot.turned for label in lay_out(plan, 534).labels.shown)


def test_a_rig_without_measures_is_refused():
    with pytest.raises(RefusedError, match="length and width are not known"):
        draw_roof_plan(RoofPlan(0, 0), 347)

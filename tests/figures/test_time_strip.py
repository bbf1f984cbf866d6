from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evidence.errors import RefusedError
from evidence.figures import (
    Bar,
    Deed,
    Gap,
    IncidentWindow,
    Look,
    StripRow,
    TimeStrip,
    draw_time_strip,
)
from evidence.figures.axis import TimeAxis
from evidence.figures.box import text_box
from evidence.figures.scene import Circle, Hatch, Line, Path, Polygon, Rect
from evidence.figures.style import COPPER, COPPER_PALE, FAINT, HAIRLINE, INK, PAPER

from .samples import beyond_the_edge, gap_of_fifty, overlaps, ten_years, two_years, words_of

START, END = date(2025, 1, 1), date(2025, 12, 31)


def strip(*items, **more) -> TimeStrip:
    return TimeStrip(START, END, (StripRow("looks", items),), **more)


def axis_of(label: str, width: float) -> TimeAxis:
    """The axis of a strip with this one row, as its hairline shows it."""
    scene = draw_time_strip(TimeStrip(START, END, (StripRow(label),), key=False), width)
    (level,) = [item for item in scene.items if isinstance(item, Line) and item.y1 == item.y2]
    return TimeAxis(START, END, level.x1, level.x2)


def copper(scene, kind):
    return [item for item in scene.items if isinstance(item, kind) and COPPER in repr(item)]


def test_the_days_over_are_printed_as_given():
    words = [text.text for text in words_of(draw_time_strip(gap_of_fifty(), 534))]
    assert words.count("50 over") == 1


def test_a_pair_of_days_over_is_printed_as_a_pair_and_an_equal_one_as_one_figure():
    gap = Gap(START, END, date(2025, 4, 1), (48, 50))
    assert gap.over_text == "48–50 over"
    assert replace(gap, over_days=(50, 50)).over_text == "50 over"
    assert replace(gap, over_from=None).over_text == ""


def test_only_the_part_beyond_the_rule_is_hatched():
    first, last = date(2025, 3, 1), date(2025, 7, 19)
    over_from = first + timedelta(days=90)
    scene = draw_time_strip(strip(Gap(first, last, over_from, 50), key=False), 534)
    (hatch,) = [item for item in scene.items if isinstance(item, Hatch)]
    axis = axis_of("looks", 534)
    assert hatch.outline[0][0] == pytest.approx(axis.at(over_from))
    assert hatch.outline[1][0] == pytest.approx(axis.at(last))
    # 50 of the strip's 364 days, to scale
    assert hatch.outline[1][0] - hatch.outline[0][0] == pytest.approx(
        (axis.x1 - axis.x0) * 50 / 364
    )


def test_a_gap_within_the_rule_is_a_plain_line():
    scene = draw_time_strip(strip(Gap(START, date(2025, 3, 1)), key=False), 534)
    assert not any(isinstance(item, Hatch) for item in scene.items)
    assert not any("over" in text.text for text in words_of(scene))


def test_marks_stand_on_their_days_hollow_or_filled():
    days = (date(2025, 2, 1), date(2025, 6, 30))
    scene = draw_time_strip(strip(Look(days[0]), Look(days[1], witnessed=True), key=False), 534)
    hollow, filled = [item for item in scene.items if isinstance(item, Circle)]
    axis = axis_of("looks", 534)
    assert (hollow.x, filled.x) == (
        pytest.approx(axis.at(days[0])),
        pytest.approx(axis.at(days[1])),
    )
    assert (hollow.fill, filled.fill) == (PAPER, INK)


def test_a_look_known_to_a_stretch_of_days_is_drawn_as_long_as_that():
    days = date(2025, 5, 1), date(2025, 6, 1)
    scene = draw_time_strip(strip(Look(days), key=False), 534)
    (ring,) = [item for item in scene.items if isinstance(item, Rect) and item.radius]
    axis = axis_of("looks", 534)
    assert ring.x + ring.radius == pytest.approx(axis.at(days[0]))
    assert ring.x + ring.width - ring.radius == pytest.approx(axis.at(days[1]))


def test_a_known_day_of_the_incident_is_a_triangle_with_one_dashed_line_and_no_band():
    scene = draw_time_strip(replace(two_years(), key=False), 534)
    (triangle,) = copper(scene, Polygon)
    tip = triangle.points[0][0]
    lines = [line for line in copper(scene, Line) if line.stroke.dash]
    assert {line.x1 for line in lines} == {tip}
    assert COPPER_PALE not in {item.fill for item in scene.items if isinstance(item, Rect)}


def test_an_incident_of_unknown_day_is_a_band_with_a_dashed_line_at_both_ends():
    scene = draw_time_strip(replace(gap_of_fifty(), key=False), 534)
    (band,) = [item for item in scene.items if isinstance(item, Rect) and item.fill == COPPER_PALE]
    ends = {round(line.x1, 6) for line in copper(scene, Line) if line.stroke.dash}
    assert ends == {round(band.x, 6), round(band.x + band.width, 6)}


def test_an_incident_of_which_only_the_end_is_known_opens_to_the_left():
    window = IncidentWindow(None, date(2025, 6, 1), "found on 1 June")
    scene = draw_time_strip(strip(incident=window, key=False), 534)
    (band,) = [item for item in scene.items if isinstance(item, Rect) and item.fill == COPPER_PALE]
    dashed = {round(line.x1, 6) for line in copper(scene, Line) if line.stroke.dash}
    assert dashed == {round(band.x + band.width, 6)}
    assert "not after 1 June 2025" in scene.alt


def test_an_incident_beyond_the_strip_is_said_not_drawn():
    window = IncidentWindow(date(2027, 1, 1), date(2027, 1, 1), "hail")
    scene = draw_time_strip(strip(incident=window), 534)
    assert not copper(scene, Polygon)
    assert any("not within these dates" in text.text for text in words_of(scene))


def test_an_incident_that_ends_before_it_starts_is_refused():
    with pytest.raises(RefusedError, match="ends before it starts"):
        IncidentWindow(END, START, "hail")


def test_outsiders_stand_on_their_lines_from_top_to_bottom():
    days = (date(2025, 2, 1), date(2025, 9, 1))
    scene = draw_time_strip(strip(witnesses=days, key=False), 534)
    squares = [item for item in scene.items if isinstance(item, Rect) and item.fill == INK]
    axis = axis_of("looks", 534)
    assert [square.x + square.width / 2 for square in squares] == [
        pytest.approx(axis.at(day)) for day in days
    ]
    lines = [item for item in scene.items if isinstance(item, Line) and item.stroke.colour == INK]
    assert [line.x1 for line in lines] == [pytest.approx(axis.at(day)) for day in days]


def test_no_line_across_the_strip_crosses_a_word():
    for scene in (draw_time_strip(gap_of_fifty(), 534), draw_time_strip(ten_years(), 534)):
        boxes = [text_box(text) for text in words_of(scene)]
        strong = [
            item
            for item in scene.items
            if isinstance(item, Line)
            and item.x1 == item.x2
            and item.stroke.colour not in (FAINT, HAIRLINE)
        ]
        assert strong
        assert not [
            line
            for line in strong
            for box in boxes
            if box.x0 < line.x1 < box.x1 and line.y1 < box.y1 and box.y0 < line.y2
        ]


def test_what_lies_outside_the_dates_is_counted():
    scene = draw_time_strip(
        strip(Look(date(2019, 1, 1)), Deed(date(2030, 1, 1), "wash"), Look(START)), 534
    )
    assert any(text.text == "2 marks lie outside these dates" for text in words_of(scene))


def test_a_storage_that_has_not_ended_has_an_open_end():
    def steps(last):
        scene = draw_time_strip(strip(Bar(date(2025, 10, 1), last, "storage"), key=False), 534)
        (edge,) = [item for item in scene.items if isinstance(item, Path)]
        return len(edge.steps)

    assert steps(None) == steps(date(2025, 11, 1)) - 1


def test_the_key_explains_only_what_is_there():
    plain = {text.text for text in words_of(draw_time_strip(strip(Look(START)), 534))}
    full = {text.text for text in words_of(draw_time_strip(gap_of_fifty(), 534))}
    assert {"days beyond the rule", "some day in between"} <= full
    assert not {"days beyond the rule", "some day in between", "entered late"} & plain


def test_a_strip_that_ends_before_it_starts_is_refused():
    with pytest.raises(RefusedError, match="no stretch of time"):
        draw_time_strip(TimeStrip(END, START, ()), 534)


def test_a_strip_without_rows_is_still_a_line_of_time():
    scene = draw_time_strip(TimeStrip(START, END, ()), 534)
    assert {"Jan 2025", "Oct"} <= {text.text for text in words_of(scene)}


days = st.dates(date(2024, 1, 1), date(2026, 12, 31))
spans = st.tuples(days, st.integers(0, 300)).map(
    lambda pair: (pair[0], pair[0] + timedelta(days=pair[1]))
)
gaps = st.tuples(spans, st.integers(0, 300), st.integers(1, 400)).map(
    lambda parts: Gap(*parts[0], min(parts[0][0] + timedelta(days=parts[1]), parts[0][1]), parts[2])
)
items = st.one_of(
    st.builds(Look, st.one_of(days, spans), st.booleans(), st.booleans()),
    st.builds(Deed, days, st.sampled_from(("wash", "reseal", "repair", "cover"))),
    spans.flatmap(
        lambda span: st.sampled_from([Bar(*span, "trip"), Bar(span[0], None, "storage")])
    ),
    gaps,
)
rows = st.builds(StripRow, st.text(max_size=60), st.lists(items, max_size=25).map(tuple))
incidents = st.builds(lambda span, label: IncidentWindow(*span, label), spans, st.text(max_size=80))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(rows, max_size=5).map(tuple),
    st.lists(days, max_size=30).map(tuple),
    st.none() | incidents,
    st.floats(240.0, 560.0),
)
def test_whatever_happened_no_words_meet_or_leave_the_strip(rows, witnesses, incident, width):
    scene = draw_time_strip(TimeStrip(START, END, rows, witnesses, incident), width)
    assert overlaps(scene) == []
    assert beyond_the_edge(scene) == []

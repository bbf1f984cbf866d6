from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evidence.errors import RefusedError
from evidence.figures import IncidentWindow, WindowBar, draw_window_bars
from evidence.figures.axis import TimeAxis
from evidence.figures.scene import Line, Polygon, Rect
from evidence.figures.style import INK, MIDDLE_GREY
from evidence.figures.window_bars import NO_EARLIER_LOOK

from .samples import beyond_the_edge, overlaps, words_of

START, END = date(2025, 1, 1), date(2025, 12, 31)
SEEN = date(2025, 6, 8)


def without_key(scene):
    """What is drawn on the axis: everything above the words of the calendar."""
    calendar = min(text.y for text in words_of(scene) if text.text.startswith("Jan"))
    return [
        item
        for item in scene.items
        if not isinstance(item, Rect | Line | Polygon) or top_of(item) < calendar - 10
    ]


def top_of(item):
    if isinstance(item, Rect):
        return item.y
    return item.y1 if isinstance(item, Line) else min(y for _, y in item.points)


def drawn(bar):
    items = without_key(draw_window_bars((bar,), START, END, 534))
    slices = [item for item in items if isinstance(item, Rect) and item.fill == MIDDLE_GREY]
    caps = [item for item in items if isinstance(item, Line) and item.stroke.colour == INK]
    (level,) = [item for item in items if isinstance(item, Line) and item.y1 == item.y2]
    return slices, caps, TimeAxis(START, END, level.x1, level.x2), items


def test_a_window_between_two_looks_is_closed_at_both_ends():
    earliest = date(2025, 3, 1)
    (bar,), caps, axis, _ = drawn(WindowBar("crack", earliest, SEEN, SEEN))
    assert (bar.x, bar.x + bar.width) == (
        pytest.approx(axis.at(earliest)),
        pytest.approx(axis.at(SEEN)),
    )
    assert sorted(cap.x1 for cap in caps) == [
        pytest.approx(axis.at(earliest)),
        pytest.approx(axis.at(SEEN)),
    ]


def test_a_window_without_an_earlier_look_dissolves_to_the_left_and_has_no_cap_there():
    slices, caps, axis, _ = drawn(WindowBar("crack", None, SEEN, SEEN))
    assert [cap.x1 for cap in caps] == [pytest.approx(axis.at(SEEN))]
    by_place = sorted(slices, key=lambda piece: piece.x)
    widths = [piece.width for piece in by_place]
    assert len(widths) > 5
    assert widths == sorted(widths)
    assert axis.x0 < by_place[0].x < axis.x0 + 6
    gaps = [b.x - (a.x + a.width) for a, b in pairwise(by_place)]
    assert gaps == sorted(gaps, reverse=True)


def test_it_says_so_in_words_too():
    scene = draw_window_bars((WindowBar("crack", None, SEEN, SEEN, "entry 3"),), START, END, 534)
    assert any(text.text == f"entry 3 · {NO_EARLIER_LOOK}" for text in words_of(scene))
    assert f"crack: {NO_EARLIER_LOOK}, not after 8 June 2025" in scene.alt


def test_a_window_that_begins_before_the_drawing_is_pointed_not_capped():
    _, caps, axis, items = drawn(WindowBar("crack", date(2023, 1, 1), SEEN, SEEN))
    assert [cap.x1 for cap in caps] == [pytest.approx(axis.at(SEEN))]
    points = [item for item in items if isinstance(item, Polygon) and item.fill == MIDDLE_GREY]
    assert [min(x for x, _ in point.points) for point in points] == [pytest.approx(axis.x0)]


def test_a_window_outside_the_drawing_is_said_not_drawn():
    old = WindowBar("crack", date(2020, 1, 1), date(2021, 1, 1), date(2021, 1, 1))
    slices, caps, _, _ = drawn(old)
    assert (slices, caps) == ([], [])
    scene = draw_window_bars((old,), START, END, 534)
    assert any("not within these dates" in text.text for text in words_of(scene))


def test_the_day_it_was_first_seen_has_its_own_mark():
    seen = date(2025, 5, 1)
    _, _, axis, items = drawn(WindowBar("crack", date(2025, 3, 1), SEEN, seen))
    (diamond,) = [item for item in items if isinstance(item, Polygon) and item.fill == INK]
    assert diamond.points[0][0] == pytest.approx(axis.at(seen))


def test_a_window_that_ends_before_it_starts_is_refused():
    with pytest.raises(RefusedError, match="window of crack"):
        WindowBar("crack", SEEN, date(2025, 1, 1), SEEN)


days = st.dates(date(2024, 1, 1), date(2026, 12, 31))
bars = st.tuples(
    st.text(max_size=80), days, st.none() | st.integers(0, 500), st.text(max_size=80)
).map(
    lambda parts: WindowBar(
        parts[0],
        None if parts[2] is None else parts[1] - timedelta(days=parts[2]),
        parts[1],
        parts[1],
        parts[3],
    )
)
incidents = st.tuples(days, st.integers(0, 400), st.text(max_size=80)).map(
    lambda parts: IncidentWindow(parts[0], parts[0] + timedelta(days=parts[1]), parts[2])
)


@settings(max_examples=60, deadline=None)
@given(st.lists(bars, max_size=12).map(tuple), st.none() | incidents, st.floats(260.0, 560.0))
def test_whatever_the_windows_no_words_meet_or_leave_the_drawing(bars, incident, width):
    scene = draw_window_bars(bars, START, END, width, incident)
    assert overlaps(scene) == []
    assert beyond_the_edge(scene) == []

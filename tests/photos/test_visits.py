from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from evidence.photos import Visit, VisitItem, group
from evidence.times import parse_utc

NOON = parse_utc("2025-05-30T12:00:00Z")


def item(name, minutes=None, *, camera="phone", zone=None, wide=0):
    if minutes is None:
        return VisitItem(name, None, None, camera, zone)
    start = NOON + timedelta(minutes=minutes)
    return VisitItem(name, start, start + timedelta(minutes=wide), camera, zone)


def files(visits):
    return [visit.files for visit in visits]


def test_no_pictures_make_no_visit():
    assert group([]) == []


def test_pictures_close_in_time_are_one_visit_in_their_order():
    visits = group([item("b", 10, wide=5), item("a", 0), item("c", 190)])
    assert visits == [
        Visit(NOON, NOON + timedelta(minutes=190), ("a", "b", "c"), "phone", None),
    ]


def test_a_pause_of_three_hours_is_still_one_visit_and_a_longer_one_is_not():
    assert files(group([item("a", 0), item("b", 180)])) == [("a", "b")]
    assert files(group([item("a", 0), item("b", 181)])) == [("a",), ("b",)]


def test_the_pause_may_be_chosen():
    assert len(group([item("a", 0), item("b", 20)], timedelta(minutes=10))) == 2


def test_wide_intervals_of_one_clock_do_not_hide_the_pause_between_them():
    # a day and two hours each, yet taken five hours apart
    assert len(group([item("a", 0, wide=1560), item("b", 300, wide=1560)])) == 2


def test_each_camera_has_visits_of_its_own():
    visits = group([item("a", 0), item("b", 1, camera="compact"), item("c", 2)])
    assert [(visit.camera, visit.files) for visit in visits] == [
        ("phone", ("a", "c")),
        ("compact", ("b",)),
    ]


def test_pictures_without_a_time_make_one_group_at_the_end():
    visits = group([item("x"), item("a", 0), item("y", camera="compact")])
    assert visits[-1] == Visit(None, None, ("x", "y"), None, None)
    assert files(visits) == [("a",), ("x", "y")]


def test_a_card_names_the_zone_of_the_pictures_around_it():
    visits = group([item("a", 0), item("card", 1, zone="skylight-1"), item("b", 2)])
    assert [(visit.zone, visit.files) for visit in visits] == [("skylight-1", ("a", "card", "b"))]


def test_a_card_for_another_zone_starts_another_visit():
    visits = group(
        [item("c1", 0, zone="vent"), item("a", 1), item("c2", 2, zone="rail"), item("b", 3)]
    )
    assert [(visit.zone, visit.files) for visit in visits] == [
        ("vent", ("c1", "a")),
        ("rail", ("c2", "b")),
    ]


def test_a_zone_does_not_outlast_its_visit():
    visits = group([item("c1", 0, zone="vent"), item("a", 600), item("c2", 601, zone="rail")])
    assert [(visit.zone, visit.files) for visit in visits] == [
        ("vent", ("c1",)),
        ("rail", ("a", "c2")),
    ]


items = st.builds(
    lambda name, minutes, camera, zone: item(str(name), minutes, camera=camera, zone=zone),
    st.integers(0, 10**6),
    st.one_of(st.none(), st.integers(0, 2000)),
    st.sampled_from([None, "phone", "compact"]),
    st.sampled_from([None, "vent", "rail"]),
)


@given(st.lists(items, max_size=30, unique_by=lambda each: each.sha256), st.randoms())
def test_every_picture_is_in_one_visit_whatever_the_order_given(given_items, random):
    visits = group(given_items)
    assert sorted(name for visit in visits for name in visit.files) == sorted(
        each.sha256 for each in given_items
    )
    dated = [each for each in given_items if each.earliest]
    random.shuffle(dated)
    assert group(dated) == [visit for visit in visits if visit.earliest]

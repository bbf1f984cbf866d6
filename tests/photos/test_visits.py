import time
from datetime import timedelta
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from evidence.photos import Visit, VisitItem, group
from evidence.photos.visits import GAP, occasions
from evidence.times import parse_utc

NOON = parse_utc("2025-05-30T12:00:00Z")


def item(name, minutes=None, *, camera="phone", zone=None, wide=0, **more):
    """A picture so many minutes after noon; `wide` opens its interval on both sides."""
    if minutes is None:
        return VisitItem(name, None, None, camera, zone, name=name, **more)
    at = NOON + timedelta(minutes=minutes)
    half = timedelta(minutes=wide / 2)
    return VisitItem(name, at - half, at + half, camera, zone, at=at, name=name, **more)


def files(visits):
    return [visit.files for visit in visits]


def test_no_pictures_make_no_visit():
    assert group([]) == []


def test_pictures_close_in_time_are_one_visit_in_their_order():
    visits = group([item("b", 10, wide=4), item("a", 0), item("c", 190)])
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


def test_a_card_gives_the_zone_of_the_pictures_that_follow_it_and_of_none_ahead_of_it():
    visits = group([item("a", 0), item("card", 1, zone="skylight-1"), item("b", 2)])
    assert [(visit.zone, visit.files) for visit in visits] == [
        (None, ("a",)),
        ("skylight-1", ("card", "b")),
    ]


def test_the_next_card_ends_the_zone_whether_or_not_it_names_one():
    visits = group([item("c1", 0, zone="vent"), item("a", 1), item("c2", 2, card="c"),
                    item("b", 3)])  # fmt: skip
    assert [(visit.zone, visit.files) for visit in visits] == [
        ("vent", ("c1", "a")),
        (None, ("c2", "b")),
    ]


def test_a_card_for_the_same_zone_goes_on_with_the_visit():
    visits = group([item("c1", 0, zone="vent"), item("a", 1), item("c2", 2, zone="vent")])
    assert files(visits) == [("c1", "a", "c2")]


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
        (None, ("a",)),
        ("rail", ("c2",)),
    ]


def test_pictures_of_one_second_stand_in_the_order_of_their_names():
    assert files(group([item("LF_3", 0), item("LF_1", 0), item("LF_2", 0)])) == [
        ("LF_1", "LF_2", "LF_3")
    ]


def test_a_zoneless_picture_stands_between_those_of_the_same_camera_with_a_zone():
    """A telephone that found its offset for some pictures only: one visit, in its true order."""
    visits = group([item("a", 0), item("b", 5, wide=26 * 60), item("c", 10)])
    assert files(visits) == [("a", "b", "c")]


def test_a_visit_goes_on_past_midnight():
    before = (24 - 12) * 60 - 10
    assert files(group([item("a", before), item("b", before + 20)])) == [("a", "b")]


def test_what_is_told_may_be_less_than_what_shows_what_belongs_together():
    visits = group([item("c", 0, zone="vent"), item("a", 1), item("b", 300)], of={"a"})
    assert [(visit.zone, visit.files, visit.earliest) for visit in visits] == [
        ("vent", ("a",), NOON + timedelta(minutes=1))
    ]


def test_two_cameras_on_one_roof_are_one_occasion_and_a_pause_ends_it():
    found = occasions([item("a", 0), item("b", 30, camera="compact"), item("c", 60),
                       item("d", 400, camera="compact")])  # fmt: skip
    names = [[[taken.item.sha256 for taken in go] for go in one] for one in found]
    assert names == [[["a", "c"], ["b"]], [["d"]]]


def test_two_thousand_pictures_are_grouped_in_a_moment():
    roll = [item(f"{n:05}", n * 7 % 100_000, camera=f"c{n % 3}", zone="vent" if n % 50 == 0 else
                 None) for n in range(2000)]  # fmt: skip
    began = time.process_time()
    visits = group(roll)
    assert sum(len(visit.files) for visit in visits) == 2000
    assert time.process_time() - began < 1


items = st.builds(
    lambda name, minutes, camera, zone, wide: item(
        str(name), minutes, camera=camera, zone=zone, wide=wide
    ),
    st.integers(0, 10**6),
    st.one_of(st.none(), st.integers(0, 2000)),
    st.sampled_from([None, "phone", "compact"]),
    st.sampled_from([None, "vent", "rail"]),
    st.sampled_from([0, 60, 1560]),
)


@given(st.lists(items, max_size=30, unique_by=lambda each: each.sha256), st.randoms())
def test_every_picture_is_in_one_visit_whatever_the_order_given(given_items, random):
    visits = group(given_items)
    assert sorted(name for visit in visits for name in visit.files) == sorted(
        each.sha256 for each in given_items
    )
    shuffled = [*given_items]
    random.shuffle(shuffled)
    assert group(shuffled) == visits


@given(st.lists(items, max_size=30, unique_by=lambda each: each.sha256))
def test_no_visit_mixes_cameras_or_holds_a_long_pause(given_items):
    by_sum = {each.sha256: each for each in given_items}
    for visit in group(given_items):
        taken = [by_sum[digest] for digest in visit.files]
        if visit.earliest is None:
            continue
        assert len({one.camera_name for one in taken}) <= 1
        moments = [one.moment for one in taken]
        assert moments == sorted(moments)
        assert all(after - before <= GAP for before, after in pairwise(moments))

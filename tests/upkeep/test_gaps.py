"""Gaps by rule and zone (OUTPUTS § 2). The figures are worked out by hand beside each test."""

from datetime import date, timedelta
from itertools import pairwise, product

from hypothesis import given
from hypothesis import strategies as st

from evidence.upkeep.gaps import Gap, RuleGaps, _least_longest
from tests.scenarios.build import LOOK_90, RIG, ZONES, Told, look, measured, shown, starter, tell

BOTH = {"skylight": 0, "vent": 0}


def rule(**changes: object) -> Told:
    return {**LOOK_90, **changes}


def measure(entries: list[Told], on: str, *rules: Told) -> RuleGaps:
    (row,) = measured([*starter(rules=rules or (LOOK_90,)), *entries], on).rules
    return row


def days(gaps: tuple[Gap, ...]) -> list[tuple[int, int]]:
    return [gap.days for gap in gaps]


def zone_days(row: RuleGaps, zone: str) -> list[tuple[int, int]]:
    return days(next(found.gaps for found in row.zones if found.zone == zone))


# Windows


def test_the_first_gap_starts_at_the_windows_start_and_the_last_is_open():
    """5 Jan → 1 Mar: 26 + 28 + 1 = 55. → 1 May: 30 + 30 + 1 = 61."""
    row = measure([look("2025-03-01")], "2025-05-01")
    gaps = row.zones[0].gaps
    assert days(gaps) == [(55, 55), (61, 61)]
    assert [gap.open for gap in gaps] == [False, True]
    assert [(gap.closed_by, gap.means) for gap in gaps] == [(6, "on-roof"), (None, None)]


def test_zero_day_gaps_are_left_out():
    """A look on the first day, one on the day asked for, two on one day."""
    told = [look("2025-01-05"), look("2025-02-01"), look("2025-02-01"), look("2025-03-01")]
    row = measure(told, "2025-03-01")
    assert zone_days(row, "skylight") == [(27, 27), (28, 28)]


def test_a_gap_never_looked_into_is_one_open_gap():
    row = measure([], "2025-05-01")
    assert days(row.zones[0].gaps) == [(116, 116)]  # 26 + 28 + 31 + 30 + 1
    assert (row.zones[0].over, row.last, row.due) == ((26, 26), None, date(2025, 4, 5))


def test_the_window_ends_with_the_rule():
    """5 Jan → 31 Mar: 26 + 28 + 31 = 85; nothing falls due behind it."""
    row = measure([], "2025-12-31", rule(applies_to="2025-03-31"))
    assert zone_days(row, "skylight") == [(85, 85)]
    assert (row.due, row.met_as_stated) == (None, "yes")


def test_a_look_behind_the_window_does_not_count():
    row = measure([look("2025-05-01")], "2025-12-31", rule(applies_to="2025-03-31"))
    assert (zone_days(row, "skylight"), row.zones[0].last) == ([(85, 85)], None)


def test_a_gap_lies_beyond_its_rule_from_a_day_on():
    """5 Jan + 90 = 5 April; the open gap reaches to 1 May."""
    gap = measure([], "2025-05-01").zones[0].gaps[0]
    assert gap.over_from(90) == date(2025, 4, 5)
    assert measure([], "2025-02-01").zones[0].gaps[0].over_from(90) is None


def test_a_zone_added_later_is_counted_from_its_day():
    fan = {"id": "fan", "type": "Z12", "label": "fan", "since": "2025-05-20"}
    told = [tell("rig", RIG | {"zones": [*ZONES, fan]}, "2025-06-01T12:00:00Z")]
    row = measure(told, "2025-07-01", rule(zones=["Z12"]))
    assert zone_days(row, "fan") == [(42, 42)]  # 20 May → 1 July: 11 + 30 + 1


def test_a_dropped_zone_is_counted_to_its_day_and_falls_due_no_more():
    kept = [zone for zone in ZONES if zone["id"] != "vent"]
    told = [
        look("2025-03-01", BOTH),
        tell("rig", RIG | {"zones": kept}, "2025-06-01T12:00:00Z"),
        look("2025-05-01"),
    ]
    told.sort(key=lambda one: one["logged"])
    row = measure(told, "2025-07-01", rule(zones=["skylight", "vent"]))
    assert zone_days(row, "vent") == [(55, 55), (92, 92)]  # 1 Mar → 1 June: 30 + 30 + 31 + 1
    assert (row.last, row.due) == (date(2025, 5, 1), date(2025, 7, 30))
    assert [found.due_at_latest for found in row.zones] == [date(2025, 7, 30), None]
    assert row.met_as_stated == "no"


def test_a_rule_that_does_not_apply_yet_keeps_nothing_and_breaks_nothing():
    row = measure([], "2025-03-01", rule(applies_from="2025-06-01"))
    assert (row.zones, row.met_as_stated, row.met_on_time) == ((), "unclear", "unclear")


def test_a_rule_that_covers_no_zone_is_not_kept_by_that():
    row = measure([], "2025-03-01", rule(zones=["Z16"]))
    assert (row.zones, row.met_as_stated) == ((), "unclear")


# The worst zone


def test_a_rules_gaps_are_those_of_the_zone_that_goes_furthest_over_then_the_first_by_id():
    told = [look("2025-02-01", BOTH), look("2025-03-01")]
    over = measure(told, "2025-06-01", rule(zones=["skylight", "vent"]))
    assert over.worst is not None
    assert (over.worst.zone, over.worst.over) == ("vent", (30, 30))  # 1 Feb → 1 June = 120
    assert over.due == date(2025, 5, 2)  # the vent's, before the skylight's of 30 May
    equal = measure(told, "2025-03-15", rule(zones=["vent", "skylight"]))
    assert equal.worst is not None
    assert (equal.worst.zone, equal.worst.over) == ("skylight", (0, 0))
    assert equal.last == date(2025, 2, 1)
    doc = shown([*starter(rules=[rule(zones=["skylight", "vent"])]), *told], "2025-06-01")
    assert {gap["zone"] for gap in doc["rules"][0]["gaps"]} == {"vent"}


def test_of_zones_that_may_be_as_far_over_the_one_that_is_for_certain_goes_furthest():
    """A look at the skylight some time before 1 June may have been on the rule's first day."""
    told = [look("../2025-06-01", logged="2025-06-01T12:00:00Z")]
    row = measure(told, "2025-07-01", rule(zones=["skylight", "vent"]))
    skylight, vent = row.zones
    assert (skylight.over[1], vent.over) == (87, (87, 87))
    assert skylight.over[0] < vent.over[0]
    assert row.worst is vent


def test_where_a_zone_was_never_looked_at_the_rule_has_no_last_look():
    row = measure([look("2025-02-01")], "2025-03-01", rule(zones=["skylight", "vent"]))
    assert (row.last, row.due) == (None, date(2025, 4, 5))


def test_a_look_that_may_have_ended_on_the_first_day_counts():
    early = look("2024-12-30/2025-01-05", logged="2025-01-05T20:00:00Z")
    row = measure([early], "2025-02-01")
    assert (row.zones[0].entries, row.last) == ((6,), date(2025, 1, 5))


# Intervals


def test_a_month_dated_look_makes_the_gap_an_interval_and_the_answer_unclear():
    """5 Jan → some day of April (1st … 30th): 26 + 28 + 31 + 1 = 86 at least, 115 at most."""
    told = [look("2025-04", logged="2025-05-01T12:00:00Z")]
    row = measure(told, "2025-05-02")
    first = row.zones[0].gaps[0]
    assert (first.days, first.over) == ((86, 115), (0, 25))
    assert (first.from_, first.to) == (date(2025, 1, 5), date(2025, 4, 1))
    assert row.met_as_stated == "unclear"
    assert row.last == date(2025, 4, 1)
    assert row.due == date(2025, 6, 30)
    assert (row.longest, row.zones[0].due_at_latest) == ((86, 115), date(2025, 7, 29))


def test_a_look_some_time_in_a_month_may_lie_behind_one_that_is_dated_within_it():
    """Looks on 10 March and some day of March; measured on 15 June.

    From 10 March it is 97 days to 15 June, from 31 March 76: which of them was the last look is not
    told. Up to the first of the two it is 55 days (to 1 March) to 64 (to 10 March).
    """
    told = [look("2025-03-10"), look("2025-03", logged="2025-03-31T23:00:00Z")]
    row = measure(told, "2025-06-15")
    assert days(row.zones[0].gaps) == [(55, 64), (0, 9), (76, 97)]
    assert (row.longest, row.zones[0].over, row.met_as_stated) == ((76, 97), (0, 7), "unclear")


def test_an_interval_cannot_hide_a_gap_that_lies_somewhere_for_certain():
    """Looks on 5 Jan and 4 July (180 days apart), one some time between: one half is ≥ 90.

    Each gap alone could be none at all; but at best the look lay in the middle, 90 and 90. A rule
    of 90 days may have been kept; one of 89 was not.
    """
    told = [
        look("2025-01-05"),
        look("2025-01-06/2025-07-03", logged="2025-07-03T23:00:00Z"),
        look("2025-07-04"),
    ]
    assert measure(told, "2025-07-04").met_as_stated == "unclear"
    row = measure(told, "2025-07-04", rule(days=89))
    assert [gap.over[0] for gap in row.zones[0].gaps] == [0, 0]
    assert row.met_as_stated == "no"
    assert row.longest == (90, 179)
    assert row.zones[0].over == (1, 90)


def test_not_after_closes_no_gap_for_certain():
    """A look "not after 1 April" may have been on any day since the window began."""
    row = measure([look("../2025-04-01")], "2025-05-01")
    assert zone_days(row, "skylight") == [(0, 86), (30, 116)]
    assert (row.met_as_stated, row.met_on_time) == ("unclear", "no")


def test_a_look_that_may_lie_before_the_window_gains_nothing():
    row = measure([look("2024-12-01/2025-02-01", logged="2025-02-01T12:00:00Z")], "2025-02-01")
    assert zone_days(row, "skylight") == [(0, 27), (0, 27)]


def brute_force(looks: list[tuple[int, int]], end: int) -> int:
    """Every placing of every look, tried."""
    best = end
    for placed in product(*(range(first, last + 1) for first, last in looks)):
        stops = sorted([0, *placed, end])
        best = min(best, max(b - a for a, b in pairwise(stops)))
    return best


@given(
    st.lists(st.tuples(st.integers(0, 12), st.integers(0, 5)), max_size=4),
    st.integers(12, 18),
)
def test_the_least_that_the_longest_gap_can_be_is_that_of_the_best_placing(looks, end):
    day = date(2025, 1, 1)
    placed = [(first, min(first + width, end)) for first, width in looks]
    dates = [(day + timedelta(first), day + timedelta(last)) for first, last in placed]
    found = _least_longest(dates, day, day + timedelta(end))
    assert found == brute_force(placed, end)


# Deferrals


def test_a_deferral_is_listed_in_its_gap_and_closes_nothing():
    put_off = {"when": "2025-03-15", "task": "inspection", "why": "unsafe"}
    other_task = put_off | {"task": "wash"}
    other_zone = put_off | {"zones": ["vent"]}
    told = [
        look("2025-02-01"),
        *(tell("deferral", body, "2025-03-15T20:00:00Z") for body in (put_off, other_task)),
        tell("deferral", other_zone, "2025-03-15T20:00:00Z"),
        look("2025-06-01"),
    ]
    row = measure(told, "2025-06-10")
    assert zone_days(row, "skylight") == [(27, 27), (120, 120), (9, 9)]
    assert [gap.deferrals for gap in row.zones[0].gaps] == [(), (7,), ()]
    assert row.zones[0].over == (30, 30)


def test_a_deferral_is_listed_where_it_may_lie_in_the_gap():
    """From a look of some day up to 20 March to one of 10 April, which may be 40 days."""
    told = [
        look("2025-03-01/2025-03-20", logged="2025-03-20T23:00:00Z"),
        *(
            tell("deferral", {"when": when, "task": "inspection", "why": "ill"}, logged)
            for when, logged in (
                ("2025-03-10", "2025-03-21T12:00:00Z"),
                ("2025-04-05/2025-04-20", "2025-04-20T12:00:00Z"),
                ("2025-04-15", "2025-04-20T12:00:00Z"),
            )
        ),
        look("2025-04-10", logged="2025-04-20T13:00:00Z"),
    ]
    _, gap, _ = measure(told, "2025-04-20").zones[0].gaps
    assert (gap.days, gap.deferrals) == ((21, 40), (7, 8))


# Every gap together


@given(st.lists(st.integers(0, 300), max_size=8), st.integers(0, 330))
def test_exact_gaps_add_up_to_the_window(offsets: list[int], length: int):
    start = date(2025, 1, 5)
    told = [look((start + timedelta(offset)).isoformat()) for offset in sorted(offsets)]
    on = start + timedelta(length)
    (row,) = measured([*starter(), *told], on.isoformat()).rules
    assert sum(gap.days[0] for gap in row.zones[0].gaps) == length
    assert all(gap.days[0] == gap.days[1] > 0 for gap in row.zones[0].gaps)
    assert row.zones[0].longest == max((gap.days for gap in row.zones[0].gaps), default=(0, 0))

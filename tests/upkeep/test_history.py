"""The record cut at a day: `--on`, the rig's places, what lasts, outsiders' brackets."""

from datetime import date

import pytest

from evidence.entries import Inspection
from evidence.errors import RefusedError
from evidence.times import parse_utc, utc_text
from evidence.upkeep import read_history
from evidence.witness import Trust
from tests.scenarios.build import RIG, ZONES, Told, build, history, look, photo, starter, tell

FAN: Told = {"id": "fan", "type": "Z12", "label": "powered vent", "slope": "flat"}


def rig(logged: str, zones: list[Told], **more: object) -> Told:
    return tell("rig", RIG | {"zones": zones} | more, logged)


# --on


def test_on_cuts_at_the_end_of_the_local_day():
    """2 March 05:59 UTC is still 1 March in Chicago; 06:01 is the 2nd."""
    told = [
        look("2025-03-01", logged="2025-03-02T05:59:00Z"),
        look("2025-03-02", logged="2025-03-02T06:01:00Z"),
    ]
    assert history(told, "2025-03-01").size == 7
    assert history(told, "2025-03-02").size == 8


def test_on_cuts_by_logged_what_was_done_before_but_written_after():
    told = [look("2025-03-01", logged="2025-04-01T12:00:00Z")]
    assert [*history(told, "2025-03-31").of(Inspection)] == []


def test_on_leaves_out_what_is_said_of_a_later_time_but_counts_its_entry():
    """The clock may be ten minutes slow: logged 23:55 on the 1st, done at 00:01 on the 2nd."""
    told = [look("2025-03-02T00:01-06:00", logged="2025-03-02T05:55:00Z")]
    cut = history(told, "2025-03-01")
    assert [*cut.of(Inspection)] == []
    assert cut.size == 7


def test_a_correction_that_came_later_does_not_count_before_it():
    change = tell(
        "correction",
        {"of": 6, "set": {"when": "2025-02-01"}, "why": "mistyped"},
        "2025-06-01T12:00:00Z",
    )
    told = [look("2025-03-01"), change]
    ((before, _),) = history(told, "2025-05-31").of(Inspection)
    ((after, _),) = history(told, "2025-06-01").of(Inspection)
    assert (before.dates[0], before.corrected_by) == (date(2025, 3, 1), ())
    assert (after.dates[0], after.corrected_by) == (date(2025, 2, 1), (7,))


def test_a_withdrawal_that_came_later_does_not_count_before_it():
    gone = tell(
        "correction", {"of": 6, "withdraw": True, "why": "not this rig"}, "2025-06-01T12:00:00Z"
    )
    told = [look("2025-03-01"), gone]
    assert len([*history(told, "2025-05-31").of(Inspection)]) == 1
    assert len([*history(told, "2025-06-01").of(Inspection)]) == 0


def test_a_clock_that_ran_ahead_for_a_while_does_not_take_entries_out():
    """Entry 6 was logged by a clock a year ahead; entry 8, behind it, in 2025: both were there."""
    reset = {"was": "2026-03-01T23:59:00Z", "is": "2025-03-02T12:00:00Z", "why": "wrong year"}
    told = [
        look("2025-03-01", logged="2026-03-01T23:59:00Z"),
        tell("clock", reset, "2025-03-02T12:00:00Z"),
        look("2025-03-02"),
    ]
    cut = history(told, "2025-03-31")
    assert (cut.size, len([*cut.of(Inspection)])) == (9, 2)


def test_a_record_that_did_not_exist_yet_is_refused():
    with pytest.raises(RefusedError, match="did not exist yet"):
        history([], "2025-01-04")


def test_a_record_without_its_case_is_refused():
    with pytest.raises(RefusedError, match="no case and rig"):
        read_history(build(starter())[1:], on=date(2025, 2, 1))


# Places


def test_a_zone_left_out_of_a_later_statement_ended_that_day():
    told = [rig("2025-06-01T12:00:00Z", [zone for zone in ZONES if zone["id"] != "vent"])]
    place = history(told, "2025-12-31").place("vent")
    assert (place.since, place.until) == (None, date(2025, 6, 1))
    assert place.there_on(date(2025, 6, 1))
    assert not place.there_on(date(2025, 6, 2))


def test_a_zone_added_later_has_the_day_that_it_says():
    told = [rig("2025-06-01T12:00:00Z", [*ZONES, FAN | {"since": "2025-05-20"}])]
    assert history(told, "2025-12-31").place("fan").since == date(2025, 5, 20)
    with pytest.raises(RefusedError, match="'fan': is not a zone of this rig"):
        history(told, "2025-05-31").place("fan")


def test_a_zone_added_later_without_a_day_counts_as_there_all_along():
    told = [rig("2025-06-01T12:00:00Z", [*ZONES, FAN])]
    assert history(told, "2025-12-31").place("fan").since is None


@pytest.mark.parametrize("gone_between", ["gone for a month", ""])
def test_a_zone_stated_again_does_not_begin_anew(gone_between: str):
    later = [zone | {"since": "2025-09-01"} if zone["id"] == "vent" else zone for zone in ZONES]
    without = [zone for zone in ZONES if zone["id"] != "vent"]
    told = [rig("2025-09-01T12:00:00Z", later)]
    if gone_between:
        told.insert(0, rig("2025-08-01T12:00:00Z", without))
    assert history(told, "2025-12-31").place("vent").since is None


def test_the_last_statement_of_the_rig_is_the_rig():
    told = [rig("2025-06-01T12:00:00Z", ZONES, name="Wren II")]
    assert history(told, "2025-05-31").rig.name == "Wren"
    assert history(told, "2025-06-01").rig.name == "Wren II"


# Looks


def test_a_look_from_below_covers_no_zone_of_the_roof():
    told = [look("2025-03-01", {"skylight": 0, "ceiling": 0}, body={"means": "ground"})]
    cut = history(told, "2025-04-01")
    assert (cut.looks_at("skylight"), len(cut.looks_at("ceiling"))) == ([], 1)


def test_looks_stand_in_the_order_in_which_they_had_ended():
    told = [
        look("2025-03", logged="2025-03-31T12:00:00Z"),
        look("2025-03-15", logged="2025-04-01T12:00:00Z"),
    ]
    assert [item.seq for item, _ in history(told, "2025-05-01").looks_at("skylight")] == [7, 6]


def test_the_pictures_are_those_of_what_was_not_withdrawn():
    shots = [look(day, files=[photo(None, name=day)]) for day in ("2025-03-01", "2025-03-02")]
    gone = tell("correction", {"of": 6, "withdraw": True, "why": "x"}, "2025-03-03T12:00:00Z")
    told = history([*shots, gone], "2025-04-01")
    assert [(item.seq, picture.file.name) for item, picture in told.pictures()] == [
        (7, "2025-03-02")
    ]


# What lasts


def test_an_end_closes_what_is_open_of_its_id():
    told = [
        tell("trip", {"id": "t1", "out": "2025-06-01"}, "2025-06-01T12:00:00Z"),
        tell("storage", {"id": "s1", "from": "2025-05-01"}, "2025-06-01T12:00:00Z"),
        tell("end", {"of": "t1", "when": "2025-06-08"}, "2025-06-08T23:00:00Z"),
    ]
    cut = history(told, "2025-07-01")
    assert [end for _, _, end in cut.trips()] == ["2025-06-08"]
    assert [end for _, _, end in cut.storages()] == [None]
    ((item, trip, _),) = cut.trips()
    closing = cut.closing(item, trip)
    assert closing is not None
    assert utc_text(closing.latest) == "2025-06-08T23:00:00Z"  # cut at `logged`
    assert history(told, "2025-06-07").trips()[0][2] is None


def test_a_withdrawn_end_ends_nothing():
    told = [
        tell("trip", {"id": "t1", "out": "2025-06-01"}, "2025-06-01T12:00:00Z"),
        tell("end", {"of": "t1", "when": "2025-06-08"}, "2025-06-08T23:00:00Z"),
        tell("correction", {"of": 7, "withdraw": True, "why": "still out"}, "2025-06-09T12:00:00Z"),
        tell("end", {"of": "t1", "when": "2025-06-12"}, "2025-06-12T23:00:00Z"),
    ]
    assert history(told[:3], "2025-07-01").trips()[0][2] is None
    assert history(told, "2025-07-01").trips()[0][2] == "2025-06-12"


def test_a_stated_time_has_a_first_and_a_last_day_at_home():
    told = history([], "2025-02-01")
    assert (told.first_day("2025-05"), told.last_day("2025-05")) == (
        date(2025, 5, 1),
        date(2025, 5, 31),
    )


def test_an_evening_at_home_is_of_its_own_day():
    """20:00 on 8 June in Chicago is 9 June in UTC."""
    told, evening = history([], "2025-02-01"), "2025-06-08T20:00-05:00"
    assert (told.first_day(evening), told.last_day(evening)) == (date(2025, 6, 8),) * 2


@pytest.mark.parametrize(
    ("kind", "first", "last"), [("trip", "out", "back"), ("storage", "from", "to")]
)
def test_an_end_that_was_added_is_cut_at_the_entry_that_added_it(kind: str, first: str, last: str):
    """From 1 to 10 June, it was said on 5 June."""
    added = {"of": 6, "set": {last: "2025-06-01/2025-06-10"}, "why": "it is back"}
    told = [
        tell(kind, {"id": "x1", first: "2025-05-25"}, "2025-05-25T12:00:00Z"),
        tell("correction", added, "2025-06-05T12:00:00Z"),
    ]
    cut = history(told, "2025-07-01")
    item = cut.item(6)
    assert item is not None
    closing = cut.closing(item, item.body)
    assert closing is not None
    assert utc_text(closing.latest) == "2025-06-05T12:00:00Z"


# Rules


def test_a_rule_stated_again_is_the_last_one():
    again = tell(
        "rule",
        {
            "id": "look-90",
            "task": "inspection",
            "days": 180,
            "authority": "owner",
            "basis": "owners-own",
            "applies_from": "2025-06-01",
            "required": True,
        },
        "2025-06-01T12:00:00Z",
    )
    ((_, rule),) = history([again], "2025-07-01").rules()
    assert rule.days == 180


# Outsiders


def test_an_answer_brackets_the_entries_before_and_behind_it():
    told = [look("2025-03-01", witness=True), look("2025-03-02")]
    cut = history(told, "2025-04-01")
    answered = parse_utc("2025-03-02T00:00:00Z")
    assert (cut.outsiders.not_before(6), cut.outsiders.not_after(6)) == (None, answered)
    assert (cut.outsiders.not_before(8), cut.outsiders.not_after(8)) == (answered, None)
    assert cut.outsiders.before(6, answered)
    assert not cut.outsiders.before(6, parse_utc("2025-03-01T23:59:59Z"))
    assert not cut.outsiders.before(8, parse_utc("2030-01-01T00:00:00Z"))


@pytest.mark.parametrize("trust", [{}, {7: Trust.UNTRUSTED}])
def test_an_answer_that_nobody_trusts_bounds_nothing(trust: dict[int, Trust]):
    entries = build([*starter(), look("2025-03-01", witness=True)])
    cut = read_history(entries, on=date(2025, 4, 1), trust=trust)
    assert cut.outsiders.not_after(6) is None
    assert len(cut.vouched) == len(trust)


def test_entries_behind_an_answer_of_a_later_moment_had_not_been_written():
    """The answer of 00:00 UTC stands in entry 7; entry 8 lies behind it."""
    cut = history([look("2025-03-01", witness=True), look("2025-03-02")], "2025-04-01")
    moments = ("2025-03-01T23:59:59Z", "2025-03-02T00:00:00Z")
    assert [cut.outsiders.first_later(parse_utc(moment)) for moment in moments] == [7, None]


def test_a_place_is_there_from_its_first_day_to_its_last_and_an_unknown_one_is_refused():
    zones = [ZONES[1] | {"since": "2025-02-01", "until": "2025-03-01"}, *ZONES[2:]]
    cut = history(starter(rig=RIG | {"zones": zones}), "2025-04-01")
    days = [date(2025, 1, 31), date(2025, 2, 1), date(2025, 3, 1), date(2025, 3, 2)]
    assert [cut.place("skylight").there_on(day) for day in days] == [False, True, True, False]
    with pytest.raises(RefusedError) as caught:
        cut.place("x")
    assert caught.value.args == (
        "zone 'x'",
        "is not a zone of this rig",
        "Known: skylight, vent, rail-left, ceiling.",
    )

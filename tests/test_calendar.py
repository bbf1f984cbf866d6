"""What is due as a calendar: read back strictly by RFC 5545, and by a library that is not ours."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from importlib.util import find_spec
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from evidence.calendar import calendar_of
from evidence.times import zone
from evidence.trade import load_catalogue
from evidence.upkeep import Standing, measure, read_history, what_is_due
from evidence.witness import Trust
from tests import calendars
from tests.conftest import needed
from tests.scenarios.build import (
    LOOK_90,
    OWNER,
    RIG,
    ZONES,
    Told,
    build,
    finding,
    look,
    measured,
    starter,
)
from tests.upkeep.telling import found, recheck, reseal, trip

RULES = (LOOK_90, LOOK_90 | {"id": "wash-365", "task": "wash", "days": 365, "zones": ["Z11"]})


def written(*told: Told, on: str = "2025-06-20", rules=RULES, **rig: object) -> bytes:
    standing = measured([*starter(rules=rules, rig=RIG | rig), *told], on)
    data = calendar_of(standing, what_is_due(standing, load_catalogue()), load_catalogue())
    assert data is not None
    return data


def events(data: bytes) -> dict[str, dict[str, Any]]:
    """The events by their UID, as the strict reader has them."""
    read = calendars.read(data).inner
    by_uid = {str(event.values["UID"]): event.values for event in read}
    assert len(by_uid) == len(read)
    return by_uid


def days(data: bytes) -> dict[str, date]:
    return {str(values["SUMMARY"]): values["DTSTART"] for values in events(data).values()}


LOOK = "Sample, invented: Roof: look at every bead"
WASH = "Sample, invented: Roof: wash the roof"
FINDING = "Sample, invented: Roof: act on a finding, grade 3: crack through, pinhole or bubble (f1)"


def test_each_thing_with_a_date_is_an_event_of_that_very_day():
    assert days(written(found())) == {
        LOOK: date(2025, 9, 8),  # 10 June + 90: 20 + 31 + 31 + 8
        WASH: date(2026, 1, 5),
        FINDING: date(2025, 6, 17),
    }


def test_a_second_library_reads_the_same_days_names_and_alarms():
    needed(find_spec("vobject") is not None, "the library vobject")
    import vobject

    data = written(found())
    calendar = vobject.readOne(data.decode())
    theirs = {
        event.uid.value: (event.dtstart.value, event.summary.value, event.status.value)
        for event in calendar.vevent_list
    }
    ours = {
        uid: (values["DTSTART"], values["SUMMARY"], values["STATUS"])
        for uid, values in events(data).items()
    }
    assert theirs == ours
    for event in calendar.vevent_list:
        triggers = [alarm.trigger.value for alarm in event.valarm_list]
        assert triggers == [timedelta(days=-7, hours=9), timedelta(hours=-15)]


def test_what_follows_something_without_a_day_is_left_out():
    after = LOOK_90 | {"id": "after", "task": "after-trip", "days": 7}
    assert days(written(trip("t", "2025-06-18"), rules=(LOOK_90, after))).keys() == {LOOK}


def test_a_rule_whose_zones_fall_due_on_several_days_is_one_event_on_the_first():
    both = LOOK_90 | {"zones": ["skylight", "vent"]}
    told = [look("2025-02-01", {"skylight": 0, "vent": 0}), look("2025-03-01")]
    (values,) = events(written(*told, on="2025-03-10", rules=(both,))).values()
    assert values["DTSTART"] == date(2025, 5, 2)
    assert "by 2 May 2025.\n" in values["DESCRIPTION"]
    assert " by 30 May 2025.\n" in values["DESCRIPTION"]


def test_a_later_file_moves_the_same_events_and_adds_none():
    before, after = events(written()), events(written(look("2025-06-19")))
    assert before.keys() == after.keys()
    (uid,) = (uid for uid, values in before.items() if values["SUMMARY"] == LOOK)
    assert (before[uid]["DTSTART"], after[uid]["DTSTART"]) == (date(2025, 4, 5), date(2025, 9, 17))
    assert all(after[uid]["SEQUENCE"] > before[uid]["SEQUENCE"] for uid in before)
    assert all(after[uid]["DTSTAMP"] > before[uid]["DTSTAMP"] for uid in before)


def test_the_same_record_gives_the_same_bytes_stamped_with_its_newest_entry():
    assert written(found()) == written(found())
    for values in events(written(found())).values():
        assert values["DTSTAMP"] == datetime(2025, 6, 10, 23, 59, tzinfo=UTC)


@pytest.mark.parametrize("ended", [reseal("2025-06-12"), recheck("2025-06-12", "gone", 0)])
def test_what_was_done_before_its_day_is_struck_out_and_rings_no_more(ended: Told):
    before = written(found())
    (uid,) = (uid for uid, values in events(before).items() if values["SUMMARY"] == FINDING)
    after = calendars.read(written(found(), ended, on="2025-06-12"))
    (event,) = (event for event in after.inner if event.values["UID"] == uid)
    assert event.values["STATUS"] == "CANCELLED"
    assert event.values["DTSTART"] == date(2025, 6, 17)
    assert event.inner == []
    later = events(written(found(), ended, on="2026-06-18"))[uid]
    assert (later["STATUS"], later["DTSTART"]) == ("CANCELLED", date(2025, 6, 17))


def test_a_duty_done_in_time_is_struck_out_under_the_name_that_it_had():
    after = LOOK_90 | {"id": "after", "task": "after-trip", "days": 7}
    told = [trip("t", "2025-06-01", "2025-06-08")]
    due = events(written(*told, on="2025-06-09", rules=(after,)))
    done = events(written(*told, look("2025-06-10"), on="2025-06-10", rules=(after,)))
    assert due.keys() == done.keys()
    (values,) = done.values()
    assert (values["STATUS"], values["DTSTART"]) == ("CANCELLED", date(2025, 6, 15))


def test_two_cases_never_share_an_event():
    standing = measured([*starter(rules=RULES)], "2025-02-01")
    rows = what_is_due(standing, load_catalogue())
    first = calendar_of(standing, rows, load_catalogue())
    other = _of_another_case(standing, case_id="f" * 32)
    second = calendar_of(other, rows, load_catalogue())
    assert first is not None
    assert second is not None
    assert not events(first).keys() & events(second).keys()
    assert b"f" * 32 not in second


def _of_another_case(standing: Standing, **fields: str) -> Standing:
    case = standing.history.case.model_copy(update=fields)
    return replace(standing, history=replace(standing.history, case=case))


# Dates across changes of the clock, far from UTC

CHANGES = [  # the look, and the day 90 days later on which clocks change there
    ("America/Chicago", "2025-08-04", date(2025, 11, 2)),
    ("America/Chicago", "2025-12-08", date(2026, 3, 8)),
    ("Europe/London", "2025-07-28", date(2025, 10, 26)),
    ("Europe/London", "2025-12-29", date(2026, 3, 29)),
    ("Australia/Sydney", "2025-07-07", date(2025, 10, 5)),
    ("Australia/Lord_Howe", "2025-07-07", date(2025, 10, 5)),
    ("Pacific/Kiritimati", "2025-07-07", date(2025, 10, 5)),  # UTC+14, no change
    ("Pacific/Pago_Pago", "2025-07-07", date(2025, 10, 5)),  # UTC-11, no change
]


def soon(seen: str) -> str:
    """Two days later: by then the look is logged, whatever the zone."""
    return (date.fromisoformat(seen) + timedelta(days=2)).isoformat()


@pytest.mark.parametrize(("home", "seen", "due"), CHANGES)
def test_a_day_stays_that_day_where_clocks_change(home: str, seen: str, due: date):
    data = written(look(seen), on=soon(seen), rules=(LOOK_90,), home_zone=home)
    assert days(data) == {LOOK: due}
    assert b"TZID" not in data
    assert b"VTIMEZONE" not in data


@pytest.mark.parametrize(("home", "seen", "due"), CHANGES)
def test_the_alarm_rings_at_nine_the_day_before_on_either_side_of_a_change(
    home: str, seen: str, due: date
):
    """Days of a duration are nominal, its hours exact (RFC 5545 § 3.3.6)."""
    event = calendars.read(
        written(look(seen), on=soon(seen), rules=(LOOK_90,), home_zone=home)
    ).inner[0]
    week, eve = (alarm.values["TRIGGER"] for alarm in event.inner)
    for after in (0, 1):  # the day of the change, and the day after it
        day = due + timedelta(days=after)
        assert _rings(day, eve, zone(home)) == datetime.combine(
            day - timedelta(days=1), time(9), zone(home)
        )
        assert _rings(day, week, zone(home)).time() == time(9)


def _rings(day: date, trigger: timedelta, home: ZoneInfo) -> datetime:
    """The moment of an alarm: whole days by the calendar, what is left by the clock."""
    before = -trigger
    midnight = datetime.combine(day - timedelta(days=before.days), time.min, home)
    exact = midnight.astimezone(UTC) - timedelta(seconds=before.seconds)
    return exact.astimezone(home)


def test_a_duty_that_was_done_too_late_is_struck_out_in_every_later_file():
    after = LOOK_90 | {"id": "after", "task": "after-trip", "days": 7}
    told = [trip("t", "2025-06-01", "2025-06-08"), look("2025-06-30")]
    due = events(written(told[0], on="2025-06-20", rules=(after,)))
    for on in ("2025-06-30", "2026-01-01"):
        assert {
            uid: values["STATUS"]
            for uid, values in events(written(*told, on=on, rules=(after,))).items()
        } == dict.fromkeys(due, "CANCELLED")


def test_a_rule_that_has_ended_is_struck_out():
    ended = RULES[1] | {"applies_to": "2025-12-31"}
    before = events(written(rules=(RULES[1],)))
    after = events(written(rules=(ended,)))
    assert before.keys() == after.keys()
    assert {values["STATUS"] for values in after.values()} == {"CANCELLED"}


def test_two_findings_of_one_kind_in_one_zone_are_told_apart():
    two = [finding("f1"), finding("f2")]
    data = written(look("2025-06-10", {"skylight": 3}, body={"findings": two}))
    named = [name for name in days(data) if "finding" in name]
    assert sorted(named) == [FINDING, FINDING.replace("(f1)", "(f2)")]


def test_an_event_says_where_whose_rule_and_on_what_that_rests():
    data = written(found(), rules=(LOOK_90,))
    by_name = {str(v["SUMMARY"]): str(v["DESCRIPTION"]) for v in events(data).values()}
    assert "Whose rule: maker's booklet, 2023 edition, p. 14 (the owner's own)." in by_name[LOOK]
    assert "Skylight by 8 September 2025." in by_name[LOOK]
    assert "At skylight." in by_name[FINDING]


# What leaves


def test_no_person_and_no_position_leaves_that_no_rule_or_zone_is_named_after():
    places = [zone | {"at": [123, 4567]} for zone in ZONES]
    data = written(found(), zones=places, walkable="no")
    text = "".join(str(v) for values in events(data).values() for v in values.values())
    for name in (OWNER["name"], RIG["name"], "4567"):
        assert name not in text
    assert "A story" in text


def test_text_of_any_letters_is_escaped_and_folded_between_characters():
    title = "Ruß; Öl, \\ und ein sehr langer Name, 屋根の記録, damit die Zeile gefaltet wird"
    named = _of_another_case(measured([*starter(rules=RULES)], "2025-02-01"), title=title)
    data = calendar_of(named, what_is_due(named, load_catalogue()), load_catalogue())
    assert data is not None
    assert calendars.read(data).values["NAME"] == f"Roof: {title}"


def test_the_cautions_and_safe_ways_go_along_with_what_asks_for_a_climb():
    (values, *_) = events(written(rules=(LOOK_90,), walkable="no")).values()
    said = values["DESCRIPTION"]
    assert "Nobody should climb (the roof is on record as not walkable)." in said
    assert "pole camera, drone, a dealer's platform or a dated deferral" in said
    assert load_catalogue().cautions["ladder"].text in said
    assert said.endswith(load_catalogue().footer)


def test_where_nothing_has_a_date_there_is_no_calendar():
    standing = measured(starter(rules=()), "2025-02-01")
    assert calendar_of(standing, what_is_due(standing, load_catalogue()), load_catalogue()) is None


def test_a_certificate_that_ends_is_an_event_without_the_name_of_its_authority():
    entries = build([*starter(rules=()), look("2025-03-01", witness=True)])
    seq = entries[-1].seq
    ends = {seq: datetime(2030, 12, 1, 12, tzinfo=UTC)}
    cut = read_history(entries, on=date(2025, 9, 1), trust={seq: Trust.TRUSTED}, ends=ends)
    standing = measure(cut, load_catalogue(), "ab" * 32)
    data = calendar_of(standing, what_is_due(standing, load_catalogue()), load_catalogue())
    assert data is not None
    (values,) = events(data).values()
    assert values["DTSTART"] == date(2030, 6, 4)
    assert "ends on 1 December 2030" in values["DESCRIPTION"]

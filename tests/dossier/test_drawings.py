"""What the drawings are given is what the standing says."""

from datetime import date, timedelta
from typing import Any

from evidence.dossier.drawings import incident_window, roof_plan, time_strip, window_bars
from evidence.dossier.summary import look_rule
from evidence.figures import (
    Bar,
    Deed,
    Gap,
    IncidentWindow,
    Look,
    draw_time_strip,
    draw_window_bars,
)
from evidence.figures.scene import Text
from evidence.trade import load_catalogue
from evidence.upkeep import as_json
from tests.dossier.claims import FIELD, RULE, after, before, claim, cover, incident
from tests.scenarios.build import RIG, ZONES, Told, finding, look, tell

BOTH = FIELD | {"skylight": 0}


def told() -> list[Told]:
    """A year with a gap over the rule, an interval-dated look, a trip, and work on the roof."""
    cracked = finding("f1", "skylight", 3)
    return [
        look("2025-01-20/2025-01-22", BOTH, logged="2025-01-22T23:59:00Z", witness=True),
        tell("wash", {"when": "2025-04-12", "zones": "all"}, "2025-09-20T20:00:00Z"),
        look("2025-10-01", BOTH | {"skylight": 3}, body={"findings": [cracked]}, witness=True),
        tell("trip", {"id": "t1", "out": "2025-10-02", "back": "2025-10-06"},
             "2025-10-06T20:00:00Z"),
        tell("storage", {"id": "s1", "from": "2025-11-01"}, "2025-11-01T20:00:00Z"),
        incident("2025-11-05", "2025-11-05T21:00:00Z"),
        look("2025-11-05T15:00-06:00", {"field-mr": 4, "vent": 0}, logged="2025-11-05T21:30:00Z",
             body={"incidents": ["i1"], "means": "ladder"}),
        look("2025-11-06", {"vent": 0}, body={"means": "ground"}),
        tell("repair", {"when": "2025-11-20", "zones": ["skylight"], "what": "patch",
                        "settles": ["f1"]}, "2025-11-20T20:00:00Z"),
    ]  # fmt: skip


ON = "2025-12-15"


def drawn() -> tuple[Any, Any, Any]:
    standing, facts = claim(*told(), on=ON)
    return standing, facts, as_json(standing)


def test_the_gaps_of_the_strip_are_those_of_the_rule():
    standing, facts, document = drawn()
    strip = time_strip(standing, facts, look_rule(standing))
    gaps = [item for item in strip.rows[0].items if isinstance(item, Gap)]
    (rule,) = document["rules"]
    assert [(gap.first.isoformat(), gap.last.isoformat()) for gap in gaps] == [
        (gap["from"], gap["to"]) for gap in rule["gaps"]
    ]
    assert [list(gap.over_days) for gap in gaps] == [gap["over"] for gap in rule["gaps"]]
    assert any(most > 0 for gap in gaps for most in gap.over_days)


def test_what_lies_over_begins_the_days_of_the_rule_after_the_gap():
    standing, facts, _ = drawn()
    strip = time_strip(standing, facts, look_rule(standing))
    gaps = [item for item in strip.rows[0].items if isinstance(item, Gap)]
    for gap in gaps:
        over = gap.over_days[1] if isinstance(gap.over_days, tuple) else gap.over_days
        assert (gap.over_from is not None) == (over > 0)
        if gap.over_from is not None:
            assert gap.over_from == gap.first + timedelta(days=90)


def test_the_looks_of_the_strip_are_those_that_cover_the_roof_with_their_days_and_marks():
    standing, facts, document = drawn()
    strip = time_strip(standing, facts, look_rule(standing))
    looks = [item for item in strip.rows[0].items if isinstance(item, Look)]
    assert [look.when for look in looks] == [
        (date(2025, 1, 20), date(2025, 1, 22)),
        date(2025, 10, 1),
        date(2025, 11, 5),
    ]
    assert [look.witnessed for look in looks] == [True, True, False]
    timing = {
        row["seq"]: row["timing"] for row in document["entries"] if row["kind"] == "inspection"
    }
    assert [look.late for look in looks] == [timing[seq] == "late" for seq in list(timing)[:3]]
    assert looks[0].late  # logged on the 22nd, its earliest time is the 20th


def test_deeds_and_absences_stand_in_rows_of_their_own():
    standing, facts, _ = drawn()
    strip = time_strip(standing, facts, None)
    rows = {row.label: row.items for row in strip.rows}
    assert rows["wash, treatment"] == (Deed(date(2025, 4, 12), "wash"),)
    assert rows["cover, repair"] == (Deed(date(2025, 11, 20), "repair"),)
    assert rows["trips, storage"] == (
        Bar(date(2025, 10, 2), date(2025, 10, 6), "trip"),
        Bar(date(2025, 11, 1), None, "storage"),
    )
    assert "reseal" not in rows
    assert not any(isinstance(item, Gap) for item in rows["looks"])


def test_an_incident_on_the_records_first_day_is_drawn_over_that_day():
    """The record is started, the branch falls, the dossier is issued, all on 5 January."""
    told = incident("2025-01-05T13:00-06:00", "2025-01-05T20:00:00Z")
    standing, facts = claim(told, on="2025-01-05")
    strip = time_strip(standing, facts, look_rule(standing))
    assert (strip.start, strip.end) == (date(2025, 1, 5), date(2025, 1, 5))
    scene = draw_time_strip(strip, 534)
    words = [item.text for item in scene.items if isinstance(item, Text)]
    assert words.count("5 January 2025") == 1
    window = incident_window(standing.history, facts)
    draw_window_bars((), strip.start, strip.end, 534, window)


def test_the_strip_runs_from_the_first_day_spoken_of_to_the_day_of_the_record():
    standing, facts, document = drawn()
    strip = time_strip(standing, facts, None)
    assert (strip.start, strip.end.isoformat()) == (date(2025, 1, 5), document["on"])
    early = RULE | {"applies_from": "2024-06-01"}
    standing, facts = claim(before(), incident(), after(), rules=[early])
    assert time_strip(standing, facts, None).start == date(2024, 6, 1)


def test_the_outsiders_and_the_incident_stand_on_their_days():
    standing, facts, document = drawn()
    strip = time_strip(standing, facts, None)
    assert strip.witnesses == (date(2025, 1, 22), date(2025, 10, 1))
    assert len(document["case"]["witnesses"]) == 2
    assert strip.incident == IncidentWindow(date(2025, 11, 5), date(2025, 11, 5), "branch")


def test_a_window_without_a_beginning_is_drawn_without_one():
    standing, facts = claim(before(), incident("../2025-06-08"), after())
    assert incident_window(standing.history, facts) == IncidentWindow(
        None, date(2025, 6, 8), "branch"
    )


def test_the_plan_has_each_zone_of_the_roof_with_the_age_of_its_last_look_and_its_grade():
    """On 15 December: field 40 days (5 November, ladder), skylight 75 (1 October), vent 40.

    The look at the vent on 6 November was from the ground, which covers nothing on the roof.
    """
    standing, _, document = drawn()
    plan = roof_plan(standing, ("field-mr",), whole=True)
    zones = {zone.id: zone for zone in plan.zones}
    assert zones.keys() == {zone["id"] for zone in ZONES} - {"ceiling"}
    assert {name: zone.look_age_days for name, zone in zones.items()} == {
        "field-mr": 40, "skylight": 75, "vent": 40, "rail-left": None,
    }  # fmt: skip
    assert {name: zone.grade for name, zone in zones.items()} == {
        "field-mr": 4, "skylight": 3, "vent": 0, "rail-left": None,
    }  # fmt: skip
    assert [name for name, zone in zones.items() if zone.highlight] == ["field-mr"]
    assert (plan.length_mm, plan.width_mm, plan.name) == (6400, 2300, RIG["name"])
    lasts = {row["zone"]: row["last"] for row in document["rules"][0]["zones"]}
    on = date.fromisoformat(document["on"])
    for name, last in lasts.items():
        assert zones[name].look_age_days == (on - date.fromisoformat(last)).days


def test_a_zone_that_the_rig_no_longer_has_is_not_drawn():
    fewer = RIG | {"zones": [zone for zone in ZONES if zone["id"] != "vent"]}
    standing, _ = claim(before(), incident(), after(), tell("rig", fewer, "2025-07-01T12:00:00Z"))
    assert "vent" not in {zone.id for zone in roof_plan(standing, (), whole=False).zones}


def test_an_open_finding_keeps_its_grade_on_the_plan_whatever_the_last_look_gave():
    cracked = finding("f1", "vent", 3)
    standing, _ = claim(
        before(grades=FIELD | {"vent": 3}, body={"findings": [cracked]}),
        incident(),
        after(),
        look("2025-07-01", {"vent": 0}),
    )
    grades = {zone.id: zone.grade for zone in roof_plan(standing, (), whole=False).zones}
    assert grades["vent"] == 3


def test_the_bars_of_the_findings_are_their_onsets():
    standing, _, document = drawn()
    bars = window_bars(standing.history, standing.findings, load_catalogue())
    (facts,) = document["findings"]
    assert [(bar.earliest, bar.seen, bar.latest) for bar in bars] == [
        (date(2025, 1, 20), date(2025, 10, 1), date(2025, 10, 1))
    ]
    assert facts["last_without"]["earliest"].startswith("2025-01-20")
    assert facts["onset"]["latest"] == "2025-10-01T23:59:00Z"
    assert bars[0].label == "crack through, pinhole or bubble, skylight"
    assert bars[0].note == f"entry {facts['opened'] + 1}"


def test_a_finding_that_was_there_at_the_first_look_has_an_open_start():
    standing, _ = claim(
        before(grades={"vent": 3}, body={"findings": [finding("f1", "vent", 3)]}),
        incident(),
        after(),
        cover(logged="2025-06-08T23:40:00Z"),
    )
    bars = window_bars(standing.history, standing.findings, load_catalogue())
    assert bars[0].earliest is None

"""`standing` for a person: first what is wrong, then what is due, then what the record shows."""

import json

from evidence.case import Record
from evidence.upkeep import as_json
from tests.cli.conftest import ON, measured
from tests.scenarios.build import LOOK_90, finding, look, starter, tell


def test_the_standing_says_first_what_is_wrong_then_what_is_due_then_what_it_shows(built, run):
    out = run("standing", built, "--on", ON).out
    order = [
        "Kestrel\nAs of 3 November 2025.",
        "What is wrong",
        "Field, middle right: hole or tear (f3), grade 4 (urgent), open for 148 days",
        "Skylight: surface crazing, chalky bead (f1), grade 1 (watch), open for",
        "What is due",
        "5 June 2025, 151 days over: act on what was found at Skylight: surface crazing",
        "18 November 2025: look at every bead, all zones.",
        "What is missing",
        "No rule is on record for wash, treatment, moisture",
        "Incident i1, on 8 June 2025: branch, as stated",
        "What the record shows, and who vouches for it",
    ]
    places = [out.find(text) for text in order]
    assert -1 not in places, order[places.index(-1)]
    assert places == sorted(places)


def test_an_incident_is_told_by_what_lay_around_it(built, run):
    said = run("standing", built, "--on", ON).said
    assert (
        "Field, middle right: sound at the look 9 days before (entry 11, witnessed before); "
        "looked at after it (entry 14), found: hole or tear (f3). "
        "Covered after 50 minutes (entry 15). Notice sent after 1 day (entry 17)."
    ) in said


def test_a_look_from_below_is_told_alike_by_the_standing_and_the_challenge():
    """A reader who lays one beside the other must not find that they contradict each other."""
    from evidence.cli.telling import _incident
    from evidence.dossier.challenged import challenged
    from evidence.trade import load_catalogue
    from tests.dossier.claims import before, claim, incident
    from tests.scenarios.build import finding, look

    torn = finding("f3", "field-mr", 4, type="D12")
    body = {"means": "ground", "occasion": "after-event", "incidents": ["i1"], "findings": [torn]}
    below = look("2025-06-08T17:40-05:00", {"field-mr": 4}, body=body,
                 logged="2025-06-08T22:55:00Z")  # fmt: skip
    standing, facts = claim(before(), incident(), below)
    told = next(_incident(standing, facts))
    assert told.endswith(
        "looked at after it only from the ground (entry 9), found: hole or tear (f3) (entry 9)."
    )
    points = [row.point.text for row in challenged(standing, facts, load_catalogue())]
    assert "Field, middle right was looked at after the stated time only from the ground." in points


def test_what_the_record_shows_names_the_outsider_the_rules_and_the_head(built, run):
    said = run("standing", built, "--on", ON).said
    root = Record.open(built).root_on(measured(built).history.on)
    assert "15 of 18 entries existed on 8 June 2025, as an outsider answers: Sample" in said
    assert (
        "look-90: 84 days at the longest, between 7 March 2025 and 30 May 2025, where "
        "the rule has 90. Kept on time: yes"
    ) in said
    assert f"The head stands over 18 entries, root {root[:16]}" in said


def test_a_record_without_an_outsider_says_that_nobody_vouches(own, run):
    assert "Nobody but the owner vouches for any date here." in run("standing", own).said


def test_a_rule_that_was_not_kept_is_wrong(built, run):
    said = run("standing", built, "--on", "2026-01-31").said
    assert (
        "Front strip and 6 zones more: 164 days without a look since 20 August 2025, 74 over "
        "the rule look-90."
    ) in said
    assert "Kept on time: no; as stated: no." in said


def test_the_standing_as_json_is_the_document_of_the_contract(built, run):
    document = run("standing", built, "--on", ON, "--json").json
    assert document == json.loads(json.dumps(as_json(measured(built))))


def test_without_a_day_it_is_today(own, run):
    assert run("standing", own, "--json").json["on"] == Record.open(own).today().isoformat()


def test_what_was_written_later_is_not_in_an_earlier_standing(built, run):
    document = run("standing", built, "--on", "2025-06-01", "--json").json
    assert (document["incidents"], document["case"]["entries"]) == ([], 12)


def test_a_gap_that_has_ended_reads_as_ended_and_stands_beside_the_one_that_goes_on():
    said = [*wrong(look("2025-01-05"), look("2025-07-19"), on="2025-12-01")]
    assert said == [
        "Skylight: 135 days without a look since 19 July 2025, 45 over the rule look-90.",
        (
            "Skylight: 195 days without a look between 5 January 2025 and 19 July 2025, "
            "105 over the rule look-90."
        ),
    ]


def test_undone_duties_and_sealants_that_do_not_suit_are_wrong():
    out = {"id": "t1", "out": "2025-01-06", "back": "2025-01-09"}
    laid = {"when": "2025-01-12", "zones": ["skylight"], "extent": "spot", "family": "silicone"}
    after_trip = LOOK_90 | {"id": "trip-7", "task": "after-trip", "days": 7}
    told = [
        *starter(rules=[after_trip]),
        tell("trip", out, "2025-01-09T23:00:00Z"),
        tell("reseal", laid, "2025-01-12T23:00:00Z"),
    ]
    undone, unfit = wrong(*told, on="2025-01-20")
    assert undone.endswith(
        "to be done by 16 January 2025 (entry 7): not done in full, 1 zone missing."
    )
    assert unfit == (
        "Skylight: sealed with silicone, which by the catalogue does not suit it (fit N; entry 8)."
    )
    again = laid | {"when": "2025-01-14", "family": "self-levelling"}
    late = look("2025-01-18")
    told += [tell("reseal", again, "2025-01-14T23:00:00Z"), late]
    assert [*wrong(*told, on="2025-01-20")] == [
        undone.partition(":")[0] + ": done later (entry 10)."
    ]


def test_two_findings_of_one_zone_are_told_apart_by_id_and_entry():
    def seen(day: str, name: str):
        return look(day, {"skylight": 3}, body={"findings": [finding(name)]})

    first, second = wrong(seen("2025-01-05", "f1"), seen("2025-01-06", "f2"), on="2025-01-07")
    assert ("(f1)" in first, "(entry 7)" in first) == (True, True)
    assert ("(f2)" in second, "(entry 8)" in second) == (True, True)


def wrong(*told, on: str):
    from evidence.cli.wrong import what_is_wrong
    from tests.scenarios.build import measured as told_of

    return what_is_wrong(told_of(told, on))


# Outsiders' clocks


def test_the_standing_says_between_which_answers_every_entry_was_written(built, run):
    said = run("standing", built, "--on", ON).out
    part = said.partition("When it was written, on outsiders' clocks")[2]
    rows = [line.strip() for line in part.splitlines()[1:5]]
    assert rows == [
        "entries 1–9    By 7 Mar 2025 17:31Z.",
        "entry 11       7 Mar 2025 17:31Z to 30 May 2025 18:23Z.",
        "entries 13–15  30 May 2025 18:23Z to 8 Jun 2025 22:51Z.",
        "entries 17–18  After 8 Jun 2025 22:51Z.",
    ]
    assert "An outsider first knew of this record on 7 Mar 2025 17:31Z (entry 10)" in part
    assert "That another record was kept beside this one cannot be excluded." in " ".join(
        part.split()
    )


def test_without_an_outsider_the_standing_says_that_nobody_vouches(own, run):
    said = run("standing", own).said
    assert "entries 1–6 Nobody vouches for this date." in said
    assert "No outsider vouches for any date here." in said


def test_of_many_answers_the_first_run_and_the_newest_are_told():
    from evidence.cli.telling import _brackets
    from tests.scenarios.build import look
    from tests.scenarios.build import measured as told

    looks = [look(f"2025-{month:02}-{day:02}", witness=True)
             for month in (2, 3) for day in range(1, 11)]  # fmt: skip
    rows = list(_brackets(told(looks, "2025-11-03")))
    assert len(rows) == 11
    assert rows[0][0] == "entries 1–7"
    assert rows[1] == ("…", "10 more runs of entries: see --json")
    assert rows[-1][0] == "entry 45"

"""`standing` for a person: first what is wrong, then what is due, then what is proved."""

import json

from evidence.case import Record
from evidence.upkeep import as_json
from tests.cli.conftest import ON, measured


def test_the_standing_says_first_what_is_wrong_then_what_is_due_then_what_is_proved(built, run):
    out = run("standing", built, "--on", ON).out
    order = [
        "Kestrel\nAs of 3 November 2025.",
        "What is wrong",
        "Field, middle right: hole or tear, grade 4 (leaking), open for 148 days (entry 14).",
        "Skylight: surface crazing, chalky bead, grade 1 (watch), open for 241 days (entry 9).",
        "What is due",
        "5 June 2025, 151 days over: act on what was found at Skylight: surface crazing",
        "18 November 2025: look at every bead, all zones.",
        "What is missing",
        "No rule is on record for wash, treatment, moisture",
        "Incident i1, on 8 June 2025: branch, as stated",
        "What is proved",
    ]
    places = [out.find(text) for text in order]
    assert -1 not in places, order[places.index(-1)]
    assert places == sorted(places)


def test_an_incident_is_told_by_what_lay_around_it(built, run):
    said = run("standing", built, "--on", ON).said
    assert (
        "Field, middle right: sound at the look 9 days before (entry 11, witnessed before); "
        "something was found after it (entry 14). Covered after 50 minutes (entry 15). "
        "Notice sent after 1 day (entry 17)."
    ) in said


def test_what_is_proved_names_the_outsider_the_rules_and_the_head(built, run):
    said = run("standing", built, "--on", ON).said
    root = Record.open(built).root_on(measured(built).history.on)
    assert "15 of 18 entries existed on 8 June 2025, as an outsider answers: Sample" in said
    assert "look-90: 84 days at the longest, where the rule has 90. Kept on time: yes" in said
    assert f"The head stands over 18 entries, root {root[:16]}" in said


def test_a_record_without_an_outsider_says_that_nobody_vouches(own, run):
    assert "Nobody but the owner vouches for any date here." in run("standing", own).said


def test_a_rule_that_was_not_kept_is_wrong(built, run):
    said = run("standing", built, "--on", "2026-01-31").said
    assert (
        "Field, middle left and 6 zones more: 164 days without a look, 74 over the rule look-90."
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

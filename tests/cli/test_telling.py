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
        "5 June 2025, 151 days over: act on what was found at Skylight.",
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

"""The four answers at the head of a claim, in every variant that a record can lead to."""

import pytest

from evidence.dossier.answers import look_rule
from evidence.trade import load_catalogue
from tests.dossier.claims import FIELD, RULE, after, before, claim, cover, incident, notice, summary
from tests.scenarios.build import LOOK_90, finding, look, tell

LOOK, GAP, COVER, OUTSIDER = range(4)
SKY_AND_FIELD = {"field-mr": 0, "skylight": 0}


# What was there before


def test_without_a_look_before_the_page_says_so():
    page = summary(incident(), after())
    figure = page.figures[LOOK]
    assert (figure.value, figure.unit, figure.cites) == ("no look", "", ())
    assert figure.text == (
        "No look at field, middle right was logged before the stated time. "
        "How it was before is not on record."
    )


def test_a_look_that_was_only_logged_afterwards_does_not_count_and_is_cited():
    page = summary(incident(), after(), before(logged="2025-06-20T12:00:00Z"))
    figure = page.figures[LOOK]
    assert figure.value == "no look"
    assert figure.text.endswith("logged only afterwards do not count.")
    assert figure.cites == (8,)


def test_a_look_logged_afterwards_stands_beside_the_one_that_counts():
    page = summary(before("2025-04-30"), incident(), after(), before(logged="2025-06-20T12:00:00Z"))
    figure = page.figures[LOOK]
    assert figure.statement == "39 days before"
    assert figure.text.endswith("logged only afterwards do not count.")
    assert figure.cites == (6, 9)


def test_what_stood_open_there_is_named_with_its_grade():
    page = summary(
        before(
            grades={"field-mr": 3},
            body={"findings": [finding("f1", "field-mr", 3, type="D02")]},
        ),
        incident(),
        after(),
    )
    crack = load_catalogue().findings["D02"].words
    assert page.figures[LOOK].text == (
        f"Field, middle right was looked at on 30 May 2025 and graded 3, open path. "
        f"Stood open there: {crack} (open path)."
    )


def test_a_finding_that_grew_worse_afterwards_stands_with_its_grade_of_then():
    worse = {"rechecks": [{"finding": "f1", "state": "worse", "grade": 4}]}
    page = summary(
        before(
            grades={"field-mr": 2},
            body={"findings": [finding("f1", "field-mr", 2, type="D02")]},
        ),
        incident(),
        look("2025-07-01", {"field-mr": 4}, body=worse),
    )
    assert "(maintain)." in page.figures[LOOK].text
    assert [row.grade for row in page.open_rows] == [2]


def test_a_grade_alone_is_told_without_a_finding():
    page = summary(before(grades={"field-mr": 2}), incident(), after())
    assert page.figures[LOOK].text == (
        "Field, middle right was looked at on 30 May 2025 and graded 2, maintain."
    )


def test_a_look_of_the_day_before_is_one_day_before():
    page = summary(before("2025-06-07"), incident(), after())
    assert page.figures[LOOK].statement == "1 day before"


def test_a_look_known_only_by_its_days_is_counted_from_both():
    """From 20-22 May to 8 June: 17 to 19 days."""
    page = summary(
        look("2025-05-20/2025-05-22", FIELD, logged="2025-05-22T23:59:00Z"), incident(), after()
    )
    assert page.figures[LOOK].statement == "17–19 days before"
    assert "was looked at between 20 May 2025 and 22 May 2025" in page.figures[LOOK].text


# Several zones


def test_the_zone_with_a_finding_and_a_look_before_stands_on_the_first_page():
    page = summary(
        before(grades={"vent": 0}),
        incident(zones=["rail-left", "skylight", "vent"]),
        look(
            "2025-06-08T17:40-05:00",
            {"rail-left": 0, "skylight": 4, "vent": 4},
            logged="2025-06-08T22:55:00Z",
            body={
                "incidents": ["i1"],
                "findings": [
                    finding("f2", "skylight", 4, type="D12"),
                    finding("f3", "vent", 4, type="D12"),
                ],
            },
        ),
    )
    assert page.pair_zone.zone == "vent"


def test_zones_named_besides_that_had_no_look_before_are_not_left_out():
    page = summary(before(), incident(zones=["field-mr", "skylight", "vent"]), after())
    assert page.figures[LOOK].text.endswith(
        "No look before is on record for skylight and ceiling vent, also named."
    )


# How the rule was kept


def test_without_a_rule_that_requires_looks_nothing_is_measured():
    page = summary(before(), incident(), after(), rules=[RULE | {"required": False}])
    assert page.figures[GAP].statement == "no rule"
    assert page.figures[GAP].text.startswith("No rule that requires looks is on record.")
    assert page.figures[GAP].cites == ()


def test_a_gap_over_the_rule_is_told_on_time_and_as_stated():
    """TRADE § 10, case 5: 1 March to 19 July is 140 days, 50 over 90."""
    rule = RULE | {"applies_from": "2025-03-01", "zones": ["field-mr"]}
    page = summary(
        look("2025-03-01", FIELD),
        look("2025-07-19", FIELD),
        incident("2025-07-20", "2025-07-20T20:00:00Z"),
        look("2025-07-20", FIELD, body={"incidents": ["i1"]}),
        rules=[rule],
        on="2025-08-01",
    )
    figure = page.figures[GAP]
    assert figure.statement == "140 of 90 days"
    assert "On time, to the stated time: 50 days over. As stated, to this day: 50 days over." in (
        figure.text
    )
    assert figure.cites == (5, 7)


def test_a_look_entered_late_counts_as_stated_but_not_on_time():
    rule = RULE | {"zones": ["field-mr"]}
    page = summary(
        look("2025-03-01", FIELD, logged="2025-05-01T12:00:00Z"),
        look("2025-05-20", FIELD),
        incident(),
        after(),
        rules=[rule],
        on="2025-06-30",
    )
    assert "On time, to the stated time: 45 days over. As stated, to this day: kept." in (
        page.figures[GAP].text
    )


def test_a_rule_that_began_after_the_incident_cannot_be_told_for_it():
    rule = RULE | {"applies_from": "2025-07-01"}
    told = tell("rule", rule, "2025-07-01T12:00:00Z")
    page = summary(before(), incident(), after(), told, rules=[], on="2025-07-10")
    assert "On time, to the stated time: cannot be told." in page.figures[GAP].text


def test_the_entry_cited_ends_the_very_gap_that_is_the_longest():
    """The field: 46, 40 and 59 days. The skylight: 86 days until 1 April (entry 8), then 59."""
    page = summary(
        look("2025-02-20", FIELD),
        look("2025-04-01", SKY_AND_FIELD),
        look("2025-05-30", SKY_AND_FIELD),
        incident(),
        after(),
        on="2025-06-30",
    )
    assert page.figures[GAP].value == "86"
    assert page.figures[GAP].cites == (5, 7)


def test_the_strictest_rule_that_is_required_is_the_one_measured():
    yearly = LOOK_90 | {"id": "look-365", "days": 365}
    idle = LOOK_90 | {"id": "look-30", "days": 30, "required": False}
    standing, _ = claim(before(), incident(), after(), rules=[yearly, LOOK_90, idle])
    rule = look_rule(standing)
    assert rule is not None
    assert rule.rule.id == "look-90"


# What was done about it


def test_no_cover_and_no_notice_are_said():
    figure = summary(before(), incident(), after()).figures[COVER]
    assert (figure.statement, figure.cites) == ("not covered", ())
    assert figure.text == "No cover is on record; no notice is on record."


def test_a_notice_of_the_same_day_is_said_so():
    same_day = notice("2025-06-08T18:00-05:00", "2025-06-08T23:10:00Z")
    figure = summary(before(), incident(), cover(), after(), same_day).figures[COVER]
    assert figure.text.endswith("; notice sent on the same day.")
    assert figure.cites == (8, 10)


@pytest.mark.parametrize(
    ("when", "logged", "statement"),
    [
        ("2025-06-08T16:41-05:00", "2025-06-08T22:40:00Z", "1 minute"),
        ("2025-06-08T19:40-05:00", "2025-06-09T01:40:00Z", "180 minutes"),
        ("2025-06-08T22:10-05:00", "2025-06-09T04:00:00Z", "5.5 hours"),
        ("2025-06-13T16:40-05:00", "2025-06-13T23:00:00Z", "5 days"),
        # 9 June from 00:00 to 23:59: 440 to 1 879 minutes
        ("2025-06-09", "2025-06-10T12:00:00Z", "7–32 hours"),
    ],
)
def test_the_time_to_the_cover_is_said_in_the_unit_of_a_person(when, logged, statement):
    page = summary(before(), incident(), after(), cover(when, logged))
    assert page.figures[COVER].statement == statement


# Who vouches for it


def test_nobody_vouches_without_an_outsider():
    page = summary(before(), incident(), after())
    assert page.figures[OUTSIDER].statement == "nobody"
    assert page.figures[OUTSIDER].text == (
        "Nobody but the owner vouches for any date before the stated time."
    )
    assert "Nobody but the owner vouches for any date here." in page.trust


def test_an_outsider_after_the_incident_vouches_for_nothing_before_it():
    page = summary(before(), incident(), after(witness=True))
    assert page.figures[OUTSIDER].value == "nobody"
    assert page.trust[1] == (
        "One outside answer stands in the chain; what was written before it existed by then. "
        "It is of 8 June 2025."
    )


def test_an_answer_that_does_not_hold_the_look_says_so():
    page = summary(look("2025-03-05", FIELD, witness=True), before(), incident(), after())
    assert page.figures[OUTSIDER].statement == "5 March 2025, outsider"
    assert page.figures[OUTSIDER].text == (
        "Last outside answer before the stated time: the first 7 entries existed then, "
        "the last look before not among them. By Sample."
    )


def test_an_answer_where_there_is_no_look_speaks_of_none():
    page = summary(look("2025-03-05", {"vent": 0}, witness=True), incident(), after())
    assert page.figures[OUTSIDER].text == (
        "Last outside answer before the stated time: the first 7 entries existed then. By Sample."
    )


def test_several_answers_are_counted_and_the_sample_says_that_it_is_one():
    page = summary(
        look("2025-03-05", FIELD, witness=True), before(witness=True), incident(), after()
    )
    assert page.trust[1].startswith("2 outside answers stand in the chain;")
    assert page.trust[1].endswith("The first is of 5 March 2025.")
    assert "The sample's outsider was made on the spot and vouches for nothing." in page.trust

"""The first page of a claim as text: every variant that a record can lead to."""

import pytest

from evidence.dossier.summary import claim_summary, look_rule, open_before
from evidence.trade import load_catalogue
from tests.dossier.claims import (
    FIELD,
    RULE,
    after,
    before,
    claim,
    cover,
    incident,
    notice,
    summary,
)
from tests.scenarios.build import LOOK_90, finding, look, tell

MINUS = "\N{MINUS SIGN}"
LOOK, GAP, COVER, OUTSIDER = range(4)
SKY_AND_FIELD = {"field-mr": 0, "skylight": 0}


# The whole page


def test_a_clean_strike_is_told_in_four_answers():
    """TRADE § 10, case 1: 22 + 8 = 30 May to 8 June is 9 days; 17:30 is 50 minutes after 16:40.

    Looks on 5 March and 30 May; from 5 January (the rule) 59 and 86 days, then 9, then 148 open.
    """
    page = summary(
        look("2025-03-05", SKY_AND_FIELD),
        before(grades=SKY_AND_FIELD, witness=True),
        incident(),
        cover(),
        after(),
        notice(),
        on="2025-06-30",
    )
    assert page.title == "Branch strike on 8 June 2025"
    assert page.subtitle == (
        f"Wren, 6.4 × 2.3 m, TPO roof. The owner states that a branch struck the roof at 16:40 "
        f"(UTC{MINUS}5)."
    )
    assert [figure.statement for figure in page.figures] == [
        "9 days before",
        "86 of 90 days",
        "50 minutes",
        "30 May 2025, outsider",
    ]
    assert [figure.text for figure in page.figures] == [
        (
            "field, middle right was looked at on 30 May 2025 and graded 0, sound; nothing of "
            "grade 2 or more stood open there."
        ),
        (
            "Longest time between looks since 5 January 2025. Rule: maker's booklet, 2023 "
            "edition, p. 14. On time, to the stated time: kept. As stated, to this day: kept."
        ),
        "from the stated time to a cover over the place; notice sent 1 day later.",
        "Last outside answer before the stated time: entry 8 existed then. By Sample.",
    ]
    assert [figure.cites for figure in page.figures] == [(7,), (5, 7), (10, 12), (8,)]
    assert page.pair_zone.zone == "field-mr"


def test_what_check_looks_for_is_all_that_the_page_states():
    page = summary(before(witness=True), incident(), cover(), after(), notice())
    said = list(page.sentences())
    assert said[:2] == [page.title, page.subtitle]
    assert {figure.statement for figure in page.figures} <= set(said)
    assert {figure.text for figure in page.figures} <= set(said)
    assert {row.text for row in page.open_rows} <= set(said)
    assert {page.open_heading, page.open_note, *page.trust} <= set(said)


@pytest.mark.parametrize(
    ("cause", "title", "stated"),
    [
        ("hail", "Hail on", "states that hail fell on the roof at"),
        ("collision", "Collision on", "states that the roof struck something at"),
        ("unknown", "Damage found on", "states that this happened at 16:40"),
    ],
)
def test_the_title_and_the_sentence_name_the_stated_cause_as_stated(cause, title, stated):
    page = summary(before(), incident(stated_cause=cause), after())
    assert page.title.startswith(title)
    assert f"The owner {stated}" in page.subtitle


def test_the_one_who_states_it_is_named_by_his_part():
    page = summary(before(), incident(by="dealer"), after())
    assert "The dealer states" in page.subtitle


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
        f"field, middle right was looked at on 30 May 2025 and graded 3, open. "
        f"Stood open there: {crack} (open)."
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
        "field, middle right was looked at on 30 May 2025 and graded 2, maintain."
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


# The window


def test_a_window_of_days_counts_to_both_its_ends():
    """From 30 May to 5-8 June: 6 to 9 days."""
    page = summary(before(), incident("2025-06-05/2025-06-08"), after("2025-06-08T18:00-05:00"))
    assert page.title == "Branch strike between 5 June 2025 and 8 June 2025"
    assert page.figures[LOOK].statement == "6–9 days before"
    assert page.open_heading == "What stood open before 5 June 2025"


def test_hours_of_a_window_stand_in_the_sentence():
    page = summary(before(), incident("2025-06-08T15:00-05:00/2025-06-08T16:40-05:00"), after())
    assert page.subtitle.endswith(f"struck the roof between 15:00 and 16:40 (UTC{MINUS}5).")


def test_before_a_window_without_a_beginning_nothing_can_be_shown_to_lie():
    page = summary(before(witness=True), incident("../2025-06-08"), after())
    assert page.title == "Branch strike not after 8 June 2025"
    assert page.figures[LOOK].value == "no look"
    assert page.figures[LOOK].text == (
        "The stated time has no beginning: no look at field, middle right can be shown to lie "
        "before it."
    )
    assert page.figures[OUTSIDER].value == "nobody"
    assert "no outside answer can be shown to lie before it" in page.figures[OUTSIDER].text


def test_what_was_found_later_is_cut_by_the_looks_around_it():
    page = summary(
        before(),
        look(
            "2025-06-08",
            {"field-mr": 4},
            body={"incidents": [], "findings": [finding("f3", "field-mr", 4, attribution=[])]},
        ),
        incident("2025-05/2025-07-01", "2025-07-02T12:00:00Z", known="found-later"),
        look(
            "2025-07-02",
            {"field-mr": 4},
            body={
                "incidents": ["i1"],
                "findings": [finding("f4", "field-mr", 4, attribution=["i1"])],
            },
        ),
    )
    assert page.title == "Branch strike between 8 June 2025 and 1 July 2025"


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
    """The field: 54 + 91 days; the skylight: 145 days until 30 May (entry 8)."""
    page = summary(
        look("2025-02-28", FIELD),
        look("2025-05-30", SKY_AND_FIELD, logged="2025-05-30T23:59:00Z"),
        incident(),
        after(),
        on="2025-06-30",
    )
    assert page.figures[GAP].value == "145"
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


# What stood open


def test_nothing_open_is_said_as_what_the_record_knows():
    page = summary(before(), incident(), after())
    assert page.open_heading == "What stood open before 8 June 2025, 16:40"
    assert page.open_rows == ()
    assert page.open_note == "Nothing that the record knows of."


def test_what_stood_open_elsewhere_is_listed_the_gravest_first():
    page = summary(
        before(
            grades={"field-mr": 0, "vent": 3, "skylight": 1},
            body={
                "findings": [
                    finding("f1", "skylight", 1, type="D01"),
                    finding("f2", "vent", 3, type="D02"),
                ]
            },
        ),
        incident(),
        after(),
    )
    crack = load_catalogue().findings["D02"].words
    assert [row.grade for row in page.open_rows] == [3, 1]
    assert page.open_rows[0].text == f"{crack}, ceiling vent, since 30 May 2025"
    assert page.open_rows[0].cites == (6,)
    assert page.open_note == "Nothing in field, middle right."


def test_what_was_found_on_the_day_itself_before_the_hour_stood_open():
    page = summary(
        before(
            "2025-06-08T09:00-05:00",
            {"field-mr": 2},
            logged="2025-06-08T14:30:00Z",
            files=[],
            body={"findings": [finding("f1", "field-mr", 2)]},
        ),
        incident(),
        after(),
    )
    assert [row.grade for row in page.open_rows] == [2]
    assert page.open_heading == "What stood open before 8 June 2025, 16:40"


def test_what_was_settled_before_or_found_by_the_look_after_did_not_stand_open():
    page = summary(
        before(
            "2025-04-30",
            {"field-mr": 3},
            files=[],
            body={"findings": [finding("f1", "field-mr", 3)]},
        ),
        tell(
            "repair",
            {"when": "2025-05-02", "zones": ["field-mr"], "what": "patch", "settles": ["f1"]},
            "2025-05-02T20:00:00Z",
        ),
        incident(),
        after(),
    )
    assert page.open_rows == ()


def test_many_open_findings_are_counted_beyond_those_that_have_room():
    many = [finding(f"f{n}", "vent", 1 + n % 3, type="D02") for n in range(10, 17)]
    page = summary(
        before(grades={"field-mr": 0, "vent": 3}, body={"findings": many}), incident(), after()
    )
    assert [row.grade for row in page.open_rows] == [3, 3, 2, 2]
    assert page.open_note == (
        "And 3 more, listed with the findings. Nothing in field, middle right."
    )


def test_open_before_has_every_finding_that_the_page_counts():
    many = [finding(f"f{n}", "vent", 1 + n % 3, type="D02") for n in range(10, 17)]
    standing, facts = claim(
        before(grades={"field-mr": 0, "vent": 3}, body={"findings": many}), incident(), after()
    )
    assert len(open_before(standing, facts)) == 7
    assert {facts.id for facts in open_before(standing, facts)} == {f["id"] for f in many}


# Long texts


def test_texts_of_any_length_are_cut_to_what_a_page_holds():
    long = "authority " * 390
    standing, facts = claim(
        before(witness=True), incident(), after(), rules=[RULE | {"authority": long.strip()}]
    )
    page = claim_summary(standing, facts, load_catalogue())
    assert max(len(said) for said in page.sentences()) < 600
    assert "\N{HORIZONTAL ELLIPSIS}" in page.figures[GAP].text

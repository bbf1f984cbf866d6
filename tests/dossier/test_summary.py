"""The first page of a claim as text: its title, its window, what stood open, what to trust."""

import pytest

from evidence.dossier.summary import claim_summary, open_before
from evidence.trade import load_catalogue
from tests.dossier.claims import RULE, after, before, claim, cover, incident, notice, summary
from tests.scenarios.build import finding, look, tell

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
            "Field, middle right was looked at on 30 May 2025 and graded 0, sound; nothing of "
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

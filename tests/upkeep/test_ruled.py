"""Rules stated again: what each asked for in its days, and since when the record knew."""

from datetime import date

from evidence.times import utc_text
from evidence.upkeep.ruled import RuleInTime, rules_in_time
from tests.scenarios.build import LOOK_90, Told, history, look, measured, starter, tell


def stated(logged: str, **changes: object) -> Told:
    return tell("rule", {**LOOK_90, **changes}, logged)


def ruled(*told: Told, on: str = "2025-12-31") -> list[RuleInTime]:
    return rules_in_time(history([*starter(), *told], on))


def test_a_rule_stated_once_is_in_force_from_its_day():
    (only,) = ruled()
    assert (only.first_day, only.last_day, only.superseded) == (date(2025, 1, 5), None, False)
    assert only.in_force_on(date(2030, 1, 1))
    assert only.in_force_on(date(2025, 1, 5))
    assert not only.in_force_on(date(2025, 1, 4))


def test_a_rule_stated_again_from_a_later_day_leaves_the_old_one_in_force_until_then():
    old, new = ruled(stated("2025-05-20T12:00:00Z", days=180, applies_from="2025-06-01"))
    assert (old.rule.days, old.last_day, old.superseded) == (90, date(2025, 5, 31), True)
    assert (new.rule.days, new.first_day, new.superseded) == (180, date(2025, 6, 1), False)


def test_a_rule_that_had_ended_before_it_was_stated_again_ended_then():
    ended = tell("correction", ENDED, "2025-01-06T12:00:00Z")
    old, new = ruled(ended, stated("2025-06-01T12:00:00Z", days=180, applies_from="2025-06-01"))
    assert (old.last_day, new.first_day, new.counted_from) == (
        date(2025, 3, 31),
        date(2025, 6, 1),
        date(2025, 6, 1),
    )


ENDED: Told = {"of": 5, "set": {"applies_to": "2025-03-31"}, "why": "the booklet ends there"}


def test_a_rule_stated_again_for_the_same_days_takes_the_whole_place():
    (only,) = ruled(stated("2025-05-20T12:00:00Z", days=180))
    assert (only.rule.days, only.superseded) == (180, False)
    assert utc_text(only.known_from) == "2025-05-20T12:00:00Z"


def test_a_rule_that_a_later_one_speaks_of_wholly_takes_nothing_of_those_ahead_of_it():
    """From 1 June, it was said in April; then in May: from 1 May."""
    old, new = ruled(
        stated("2025-04-20T12:00:00Z", days=60, applies_from="2025-06-01"),
        stated("2025-05-20T12:00:00Z", days=180, applies_from="2025-05-01"),
    )
    assert [(one.rule.days, one.last_day) for one in (old, new)] == [
        (90, date(2025, 4, 30)),
        (180, None),
    ]


def test_the_same_rule_with_its_paper_on_file_was_known_all_along():
    (only,) = ruled(
        stated("2025-05-20T12:00:00Z", authority="booklet, p. 14", basis="paper-on-file")
    )
    assert only.rule.basis == "paper-on-file"
    assert utc_text(only.known_from) == "2025-01-05T18:00:00Z"


def test_a_rule_corrected_in_what_it_asks_for_is_known_from_then():
    fix = {"of": 5, "why": "mistyped"}
    days = tell("correction", {**fix, "set": {"days": 120}}, "2025-05-20T12:00:00Z")
    words = tell("correction", {**fix, "set": {"wording": "Look."}}, "2025-05-20T12:00:00Z")
    assert utc_text(ruled(days)[0].known_from) == "2025-05-20T12:00:00Z"
    assert utc_text(ruled(words)[0].known_from) == "2025-01-05T18:00:00Z"


def test_three_statements_each_have_their_days():
    spans = [
        (row.first_day, row.last_day)
        for row in ruled(
            stated("2025-03-01T12:00:00Z", days=60, applies_from="2025-03-01"),
            stated("2025-06-01T12:00:00Z", days=30, applies_from="2025-06-01"),
        )
    ]
    assert spans == [
        (date(2025, 1, 5), date(2025, 2, 28)),
        (date(2025, 3, 1), date(2025, 5, 31)),
        (date(2025, 6, 1), None),
    ]


def test_writing_a_rule_down_again_does_not_begin_its_gaps_anew():
    """Never looked at from 5 January to 1 August: 208 days, whenever the rule was stated again.

    5 Jan → 1 Aug: 26 + 28 + 31 + 30 + 31 + 30 + 31 + 1 = 208.
    """
    again = [
        stated(f"2025-0{month}-01T12:00:00Z", days=91, applies_from=f"2025-0{month}-01")
        for month in (3, 5, 7)
    ]
    standing = measured([*starter(), *again], "2025-08-01")
    (row,) = standing.rules
    assert row.zones[0].gaps[0].from_ == date(2025, 1, 5)
    assert (row.longest, row.met_as_stated) == ((208, 208), "no")
    assert [old.met_as_stated for old in standing.superseded_rules] == ["yes", "no", "no"]


def test_a_later_statement_does_not_take_the_old_rules_gap_out_of_the_record():
    """Not looked at from 5 January to 1 June (147 days) under 90; then 365 from 2 June."""
    told = [
        look("2025-06-01"),
        stated("2025-06-02T12:00:00Z", days=365, applies_from="2025-06-02"),
    ]
    standing = measured([*starter(), *told], "2025-07-01")
    (old,) = standing.superseded_rules
    assert (old.longest, old.met_as_stated) == ((147, 147), "no")
    assert standing.rules[0].met_as_stated == "yes"

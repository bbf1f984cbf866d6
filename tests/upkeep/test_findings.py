"""Findings over their life (OUTPUTS § 2: onset, days open, act by; RECORD § 4: what settles)."""

from datetime import date

import pytest

from evidence.times import parse_utc, utc_text
from evidence.upkeep.findings import FindingFacts, zone_grade
from tests.scenarios.build import Told, finding, look, measured, tell
from tests.upkeep.telling import found, handed_over, recheck, reseal

CRACK = finding("f1")


def fact(entries: list[Told], on: str = "2025-12-31", name: str = "f1") -> FindingFacts:
    facts = measured(entries, on).finding(name)
    assert facts is not None
    return facts


# Onset


def test_the_onset_runs_from_the_latest_look_without_it_to_the_earliest_with_it():
    facts = fact([look("2025-05-01"), look("2025-05-20"), found(), recheck("2025-06-20", "same")])
    assert facts.last_without is not None
    assert (facts.last_without.seq, facts.first_seen.seq) == (7, 8)
    earliest, latest = facts.onset
    assert earliest is not None
    assert utc_text(earliest) == "2025-05-20T05:00:00Z"
    assert utc_text(latest) == "2025-06-10T23:59:00Z"


def test_without_a_look_before_the_onset_has_no_earliest():
    facts = fact([look("2025-05-01", {"vent": 0}), found()])
    assert (facts.last_without, facts.onset[0]) == (None, None)


def test_a_look_from_below_is_no_look_without_it():
    facts = fact([look("2025-05-01", body={"means": "ground"}), found()])
    assert facts.last_without is None


def test_a_look_that_may_have_been_later_is_no_look_without_it():
    facts = fact([look("2025-06", logged="2025-06-10T12:00:00Z"), found("2025-06-10")])
    assert facts.last_without is None


def test_a_look_written_down_after_the_finding_was_known_is_a_claim():
    """Dated 8 June, logged 20 June; the finding was logged on 10 June."""
    told = [look("2025-05-01"), found(), look("2025-06-08", logged="2025-06-20T12:00:00Z")]
    facts = fact(told)
    assert facts.last_without is not None
    assert facts.last_without.seq == 6


def test_a_look_corrected_after_the_finding_was_known_is_a_claim_but_not_for_its_mean_details():
    zones = {"set": {"zones": [{"zone": "skylight", "grade": 0}]}, "of": 6, "why": "x"}
    kind = {"set": {"occasion": "follow-up"}, "of": 6, "why": "x"}
    told = [look("2025-05-01", {"skylight": 3}), found()]
    graded = fact([*told, tell("correction", zones, "2025-06-20T12:00:00Z")])
    named = fact([*told, tell("correction", kind, "2025-06-20T12:00:00Z")])
    assert graded.last_without is None
    assert named.last_without is not None


def test_a_recheck_of_an_earlier_day_moves_the_first_sight():
    told = [found("2025-06-10"), recheck("2025-06-05", "same", logged="2025-06-11T12:00:00Z")]
    facts = fact(told)
    assert (facts.opened, facts.first_seen.seq) == (6, 7)
    assert facts.act_by == date(2025, 6, 12)


def test_a_finding_opened_by_what_was_done_is_one_as_well():
    """While resealing, a second crack was seen."""
    told = [look("2025-05-20"), reseal("2025-06-10", settles=[], findings=[CRACK])]
    facts = fact(told)
    assert (facts.opened, facts.state, facts.zone) == (7, "open", "skylight")
    assert facts.last_without is not None
    assert facts.last_without.seq == 6


# Settled, gone, seen again


def test_it_stays_open_until_something_ends_it():
    facts = fact([found(), look("2025-07-01", {"skylight": 0})], "2025-07-10")
    assert (facts.state, facts.settled, facts.days_open) == ("open", None, (30, 30))


def test_it_is_settled_by_the_entry_that_says_so():
    facts = fact([found(), reseal("2025-06-24")])
    assert (facts.state, facts.settled, facts.days_open) == ("settled", 7, (14, 14))


def test_it_is_gone_by_a_recheck():
    facts = fact([found(), recheck("2025-06-24", "gone", 0)])
    assert (facts.state, facts.settled) == ("gone", 7)


def test_from_the_ground_nothing_on_the_roof_is_gone_but_it_may_be_worse():
    away = recheck("2025-06-24", "gone", 0, body={"means": "ground"})
    worse = recheck("2025-06-25", "worse", 4, body={"means": "ground"})
    facts = fact([found(), away, worse])
    assert (facts.state, facts.grade) == ("open", 4)


def test_a_silicone_reseal_of_a_membrane_settles_nothing():
    facts = fact([found(), reseal("2025-06-24", family="silicone")])
    assert facts.state == "open"


def test_a_reseal_settles_where_its_sealant_suits_though_it_does_not_elsewhere():
    """Self-levelling on the flat skylight (Y) and the vertical rail (N)."""
    on_rail = finding("f2", "rail-left")
    told = [
        look("2025-06-10", {"skylight": 3, "rail-left": 3}, body={"findings": [CRACK, on_rail]}),
        reseal("2025-06-24", zones=["skylight", "rail-left"], settles=["f1", "f2"]),
    ]
    assert fact(told).state == "settled"
    assert fact(told, name="f2").state == "open"


@pytest.mark.parametrize(("family", "state"), [("self-levelling", "settled"), ("silicone", "open")])
def test_a_leak_seen_inside_is_settled_by_the_reseal_above_it(family: str, state: str):
    """The finding is in the ceiling, the reseal at the skylight: its own fit decides."""
    wet = finding("f1", "ceiling", 4, type="D28")
    told = [look("2025-06-10", {"ceiling": 4}, body={"means": "inside", "findings": [wet]})]
    assert fact([*told, reseal("2025-06-24", family=family)]).state == state


def test_seen_again_it_is_open_again_and_counts_from_its_first_day():
    told = [found(), reseal("2025-06-24"), recheck("2025-07-10", "worse", 4)]
    facts = fact(told, "2025-07-20")
    assert (facts.state, facts.settled, facts.grade) == ("open", None, 4)
    assert facts.days_open == (40, 40)
    assert facts.act_by == date(2025, 7, 17)  # 10 July + 7


def test_opened_again_and_again_the_last_word_counts():
    """Settled on 24 June, seen 10 July, settled 20 July, seen 1 August, settled 10 August."""
    told = [
        found(),
        reseal("2025-06-24"),
        recheck("2025-07-10", "same"),
        reseal("2025-07-20"),
        recheck("2025-08-01", "same"),
    ]
    facts = fact(told, "2025-08-05")
    assert (facts.state, facts.act_by) == ("open", date(2025, 8, 8))
    assert [closure.item.seq for closure in facts.closures] == [7, 9]
    opened = [
        facts.open_at(parse_utc(f"2025-{day}T00:00:00Z"))
        for day in ("06-20", "07-01", "07-15", "07-25", "08-03")
    ]
    assert opened == [True, False, True, False, True]
    closed = fact([*told, reseal("2025-08-10")])
    assert (closed.state, closed.settled, closed.days_open) == ("settled", 11, (61, 61))


def test_a_recheck_of_a_day_before_it_was_settled_does_not_open_it_again():
    told = [
        found(),
        reseal("2025-06-24"),
        recheck("2025-06-20", "same", logged="2025-07-01T12:00:00Z"),
    ]
    assert fact(told).state == "settled"


def test_what_is_said_to_have_settled_it_before_it_was_still_seen_did_not():
    told = [
        found(),
        recheck("2025-07-10", "same"),
        reseal("2025-06-24", logged="2025-07-20T12:00:00Z"),
    ]
    assert fact(told).state == "open"


def test_a_withdrawn_settlement_settles_nothing():
    gone = tell("correction", {"of": 7, "withdraw": True, "why": "x"}, "2025-06-25T12:00:00Z")
    assert fact([found(), reseal("2025-06-24"), gone]).state == "open"


def test_what_was_opened_in_a_withdrawn_entry_is_no_finding():
    gone = tell("correction", {"of": 6, "withdraw": True, "why": "x"}, "2025-06-25T12:00:00Z")
    told = [found(), recheck("2025-06-20", "same"), gone]
    assert measured(told, "2025-12-31").findings == ()


def test_days_open_of_intervals_are_an_interval():
    """Found some day of June (1st … 10th), settled some day of July (1st … 20th).

    10 June → 1 July = 21 at least, 1 June → 20 July = 49 at most.
    """
    told = [
        found("2025-06", logged="2025-06-10T23:00:00Z"),
        reseal("2025-07", logged="2025-07-20T23:00:00Z"),
    ]
    assert fact(told).days_open == (21, 49)


# At a moment


def test_it_stood_open_between_first_sight_and_settlement():
    facts = fact([found(), reseal("2025-06-24"), recheck("2025-07-10", "same")])
    moments = ["2025-06-10T05:00:00Z", "2025-06-12T00:00:00Z", "2025-06-25T00:00:00Z"]
    later = ["2025-07-10T12:00:00Z", "2025-07-12T00:00:00Z"]
    opened = [facts.open_at(parse_utc(moment)) for moment in (*moments, *later)]
    assert opened == [False, True, False, False, True]


def test_what_was_only_said_later_to_have_settled_it_left_it_open_then():
    facts = fact([found(), reseal("2025-06-24", logged="2025-08-01T12:00:00Z")])
    assert facts.state == "settled"
    assert facts.open_at(parse_utc("2025-07-01T00:00:00Z"))
    assert not facts.open_at(parse_utc("2025-08-01T12:00:00Z"))


def test_its_grade_at_a_moment_is_that_of_the_sight_before_or_a_graver_one_told_later():
    told = [
        found(grade=2),
        recheck("2025-07-01", "worse", 3),
        recheck("2025-07-10", "better", 1),
        recheck("2025-06-20", "worse", 4, logged="2025-07-20T12:00:00Z"),
    ]
    facts = fact(told)
    at = {
        "2025-06-12T00:00:00Z": 2,
        "2025-07-05T00:00:00Z": 4,  # told on 20 July of 20 June
        "2025-07-15T00:00:00Z": 4,
        "2025-07-21T00:00:00Z": 1,
    }
    assert {moment: facts.grade_at(parse_utc(moment)) for moment in at} == at
    assert facts.grade == 1


# Act by


def test_act_by_is_the_first_sight_and_the_catalogues_days():
    assert fact([found()]).act_by == date(2025, 6, 17)  # D02: 7 days


def test_of_an_interval_act_by_counts_from_its_earliest_day():
    assert fact([found("2025-06", logged="2025-06-20T12:00:00Z")]).act_by == date(2025, 6, 8)


def test_a_graver_grade_seen_later_has_its_own_days():
    """D14: 90 days at grade 1, 7 at grade 3. 1 March + 90 = 30 May; 1 April + 7 = 8 April."""
    bubble = finding("f1", grade=1, type="D14")
    told = [
        look("2025-03-01", {"skylight": 1}, body={"findings": [bubble]}),
        recheck("2025-04-01", "worse", 3),
    ]
    assert fact(told[:1]).act_by == date(2025, 5, 30)
    assert fact(told).act_by == date(2025, 4, 8)


def test_a_better_grade_seen_later_gives_no_more_time():
    bubble = finding("f1", grade=3, type="D14")
    told = [
        look("2025-03-01", {"skylight": 3}, body={"findings": [bubble]}),
        recheck("2025-03-05", "better", 1),
    ]
    assert fact(told).act_by == date(2025, 3, 8)


# At a hand-over


def test_a_signed_promise_takes_the_place_of_the_catalogues_days():
    facts = fact([found(), handed_over("dealer", "owner")])
    assert (facts.at_delivery, facts.responsible) == (True, "dealer")
    assert facts.promised == facts.act_by == date(2025, 8, 1)


@pytest.mark.parametrize("signing", [(), ("owner",)])
def test_nobody_answers_for_what_they_did_not_sign(signing: tuple[str, ...]):
    facts = fact([found(), handed_over(*signing)])
    assert (facts.at_delivery, facts.responsible, facts.promised) == (True, None, None)
    assert facts.act_by == date(2025, 6, 17)


# The zone


def test_a_zones_grade_is_never_below_that_of_its_gravest_open_finding():
    told = [found(), look("2025-07-01", {"skylight": 0})]
    standing = measured(told, "2025-07-10")
    assert zone_grade(standing.history, standing.findings, "skylight") == 3
    settled = measured([*told, reseal("2025-07-05")], "2025-07-10")
    assert zone_grade(settled.history, settled.findings, "skylight") == 0
    assert zone_grade(standing.history, standing.findings, "vent") is None

"""A new outsider's answer is proposed before a certificate in the record ends."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from evidence.trade import load_catalogue
from evidence.upkeep import History, read_history, what_is_due
from evidence.upkeep.renewal import what_to_renew
from evidence.upkeep.standing import measure
from evidence.witness import Trust
from tests.scenarios.build import RIG, ROOT, build, look, starter

FIRST, SECOND = "2025-03-01", "2025-06-01"


def ended(day: str) -> datetime:
    return datetime.fromisoformat(day).replace(hour=12, tzinfo=UTC)


def history(*ends: str | None, on: str = "2025-09-01", trust: Trust = Trust.TRUSTED) -> History:
    """One answer after each of two looks; `ends` says when the certificate of each ends."""
    told = [look(FIRST, witness=True), look(SECOND, witness=True)][: len(ends)]
    entries = build([*starter(), *told])
    seqs = [entry.seq for entry in entries if entry.kind == "witness"]
    return read_history(
        entries,
        on=date.fromisoformat(on),
        trust=dict.fromkeys(seqs, trust),
        ends={seq: ended(day) for seq, day in zip(seqs, ends, strict=True) if day is not None},
    )


def test_it_is_proposed_half_a_year_before_the_certificate_ends():
    """1 December 2030 less 180 days is 4 June 2030, counted by hand: 30 + 31 + … + 1."""
    renewal = what_to_renew(history("2030-12-01"))
    assert renewal is not None
    assert (renewal.by, renewal.ends) == (date(2030, 6, 4), date(2030, 12, 1))


def test_a_certificate_that_ends_soon_after_its_answer_is_renewed_at_half_that_time():
    """Answered on 1 March, ends on 30 April 60 days later: 30 days before it, on 31 March."""
    renewal = what_to_renew(history("2025-04-30", on="2025-03-15"))
    assert renewal is not None
    assert renewal.by == date(2025, 3, 31)


def test_the_day_is_that_of_the_home_zone():
    """1 December 2030, 12:00 UTC is the 2nd on Kiritimati (UTC+14)."""
    rig = RIG | {"home_zone": "Pacific/Kiritimati"}
    entries = build([*starter(rig=rig), look(FIRST, witness=True)])
    seq = entries[-1].seq
    cut = read_history(
        entries,
        on=date(2025, 9, 1),
        trust={seq: Trust.TRUSTED},
        ends={seq: ended("2030-12-01")},
    )
    renewal = what_to_renew(cut)
    assert renewal is not None
    assert renewal.ends == date(2030, 12, 2)


@pytest.mark.parametrize(
    ("ends", "which"),
    [
        (("2026-01-01", "2030-01-01"), "2030-01-01"),  # the later answer took the first along
        (("2030-01-01", "2026-01-01"), "2026-01-01"),  # the later one's own end comes first
        (("2026-01-01", "2026-01-01"), "2026-01-01"),
        (("2026-01-01", None), "2026-01-01"),  # what never ends has no certificate to lean on
    ],
)
def test_only_an_answer_that_no_later_one_takes_further_wants_a_new_one(
    ends: tuple[str | None, ...], which: str
):
    renewal = what_to_renew(history(*ends))
    assert renewal is not None
    assert renewal.answer.certificate_ends == ended(which)


def test_of_answers_that_end_together_the_newest_is_named():
    renewal = what_to_renew(history("2026-01-01", "2026-01-01"))
    assert renewal is not None
    assert renewal.answer.seq == max(answer.seq for answer in history(None, None).vouched)


def test_an_answer_over_an_earlier_head_takes_nothing_along():
    entries = build([*starter(), look(FIRST, witness=True), look(SECOND, witness=True)])
    first, second = (entry.seq for entry in entries if entry.kind == "witness")
    cut = read_history(
        entries,
        on=date(2025, 9, 1),
        trust={first: Trust.TRUSTED, second: Trust.TRUSTED},
        ends={first: ended("2026-01-01"), second: ended("2030-01-01")},
    )
    early = tuple(
        answer if answer.seq == first else replace(answer, size=first) for answer in cut.vouched
    )
    renewal = what_to_renew(replace(cut, vouched=early))
    assert renewal is not None
    assert renewal.answer.seq == first


def test_an_answer_that_nobody_trusts_is_not_renewed():
    assert what_to_renew(history("2026-01-01", trust=Trust.UNTRUSTED)) is None
    assert what_to_renew(history()) is None


def test_it_stands_among_what_is_due_with_its_reason_and_is_not_counted():
    standing = measure(history("2026-01-01", on="2025-12-31"), load_catalogue(), ROOT)
    row = next(row for row in what_is_due(standing, load_catalogue()) if row.task == "witness")
    # answered 1 March, ends 1 January 306 days later: half of it, 153 days before the end
    assert (row.by, row.overdue, row.required) == (date(2025, 8, 1), (152, 152), False)
    assert "ends on 2026-01-01" in row.why
    assert (row.zones, row.ways, row.cautions) == ((), (), ())
    after = measure(history("2026-01-01", on="2026-01-02"), load_catalogue(), ROOT)
    row = next(row for row in what_is_due(after, load_catalogue()) if row.task == "witness")
    assert "ended on 2026-01-01" in row.why

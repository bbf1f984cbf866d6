"""Gaps and custody against a second, slow count over days, and what no change may do to them.

`--histories N` counts N random histories.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from evidence.trade import load_catalogue
from evidence.upkeep import History
from evidence.upkeep.custody import measure_custody
from evidence.upkeep.gaps import Gap, RuleGaps, ZoneGaps, coverings, measure_rules
from tests.scenarios.build import Told, history, tell
from tests.upkeep.histories import DAY_0, Done, Fix, Place, Roof, days, roofs, text, told
from tests.upkeep.oracle import Hand, Kept, Row, Zone, hands, rules_kept

Compare = Callable[[st.SearchStrategy[Roof], Callable[[Roof, st.DataObject], None]], None]
BETTER = {"no": 0, "unclear": 1, "yes": 2}
UNRELATED = [
    ("paper", {"type": "manual", "title": "booklet"}),
    ("photos", {"note": "the driveway"}),
    ("party", {"id": "neighbour", "name": "P. Sallow", "role": "witness"}),
    ("rule", {"id": "moist", "task": "moisture", "days": 9, "authority": "ours",
              "basis": "owners-own", "applies_from": "2025-03-03", "required": False}),
]  # fmt: skip


@pytest.fixture
def compare(request: pytest.FixtureRequest) -> Compare:
    """Calls a check with as many random histories as were asked for."""

    def run(drawn: st.SearchStrategy[Roof], check: Callable[[Roof, st.DataObject], None]) -> None:
        @settings(
            max_examples=request.config.getoption("--histories"),
            deadline=None,
            database=None,
            suppress_health_check=list(HealthCheck),
        )
        @given(drawn, st.data())
        def one(roof: Roof, data: st.DataObject) -> None:
            check(roof, data)

        one()

    return run


# What the program counts, in the words of the oracle


def day(moment: date | None) -> int | None:
    return None if moment is None else (moment - DAY_0).days


def whole(moment: date) -> int:
    return (moment - DAY_0).days


def read(roof: Roof, *more: tuple[int, Told]) -> tuple[History, dict[int, str]]:
    story, names = told(roof, *more)
    return history(story, text(roof.on)), names


def measured(roof: Roof, *more: tuple[int, Told]) -> dict[str, Kept]:
    held, names = read(roof, *more)
    rows = measure_rules(coverings(held, load_catalogue()))
    return {names[row.item.seq]: _kept(row, names) for row in rows if row.rule.task != "moisture"}


def _kept(row: RuleGaps, names: dict[int, str]) -> Kept:
    zones = {zone.zone: _zone(zone, names) for zone in row.zones}
    return Kept(zones, row.met_as_stated.value, row.met_on_time.value)


def _zone(zone: ZoneGaps, names: dict[int, str]) -> Zone:
    rows = tuple(_row(gap, names) for gap in zone.gaps)
    return Zone(rows, day(zone.last), day(zone.due), zone.longest)


def _row(gap: Gap, names: dict[int, str]) -> Row:
    return Row(
        whole(gap.from_),
        whole(gap.to),
        gap.days,
        gap.over,
        None if gap.closed_by is None else names[gap.closed_by],
        frozenset(names[seq] for seq in gap.deferrals),
    )


def custody(roof: Roof, *more: tuple[int, Told]) -> list[Hand]:
    bands = measure_custody(read(roof, *more)[0])
    return [Hand(band.party, whole(band.from_), day(band.to), band.days) for band in bands]


def by_day(rows: list[Hand]) -> list[Hand]:
    return sorted(rows, key=lambda row: (row.first, row.party or "", row.last or 0, row.days))


# The oracle


def test_gaps_are_those_of_a_count_over_days(compare):
    def check(roof: Roof, _: st.DataObject) -> None:
        assert measured(roof) == rules_kept(roof)

    compare(roofs(), check)


def test_custody_is_that_of_a_count_over_days(compare):
    def check(roof: Roof, _: st.DataObject) -> None:
        found = custody(roof)
        assert by_day(found) == by_day(hands(roof))
        assert [row.first for row in found] == sorted(row.first for row in found)

    compare(roofs(exact=True), check)


# What no change may do


def test_an_unrelated_entry_changes_nothing(compare):
    def check(roof: Roof, data: st.DataObject) -> None:
        kind, body = data.draw(st.sampled_from(UNRELATED))
        entry = (data.draw(days()), tell(kind, body, ""))
        assert measured(roof, entry) == measured(roof)
        assert custody(roof, entry) == custody(roof)

    compare(roofs(), check)


def test_all_dates_moved_move_all_dates_and_no_count(compare):
    def check(roof: Roof, data: st.DataObject) -> None:
        by = data.draw(st.integers(1, 400))
        later = moved(roof, by)
        assert measured(later) == {name: _moved(kept, by) for name, kept in measured(roof).items()}
        assert custody(later) == [
            replace(row, first=row.first + by, last=_plus(row.last, by)) for row in custody(roof)
        ]

    compare(roofs(home="UTC"), check)


def test_a_later_look_never_lengthens_an_earlier_gap(compare):
    def check(roof: Roof, data: st.DataObject) -> None:
        on = roof.on
        look = Done("later", "inspection", on, on, "on-roof", ("ceiling", "skylight", "vent"), on)
        before, after = measured(roof), measured(replace(roof, done=(*roof.done, look)))
        assert before.keys() == after.keys()
        for name, kept in before.items():
            for zone, row in kept.zones.items():
                now = after[name].zones[zone]
                closed = [gap for gap in row.rows if gap.closed_by is not None]
                assert list(now.rows[: len(closed)]) == closed
                assert now.longest[0] <= row.longest[0]
                assert now.longest[1] <= row.longest[1]

    compare(roofs(), check)


def test_a_look_between_never_lengthens_the_longest_gap(compare):
    def check(roof: Roof, data: st.DataObject) -> None:
        at = data.draw(days(0, roof.on))
        look = Done("more", "inspection", at, at, "on-roof", ("ceiling", "skylight", "vent"), at)
        before, after = measured(roof), measured(replace(roof, done=(*roof.done, look)))
        for name, kept in before.items():
            assert BETTER[after[name].as_stated] >= BETTER[kept.as_stated]
            assert BETTER[after[name].on_time] >= BETTER[kept.on_time]
            for zone, row in kept.zones.items():
                now = after[name].zones[zone]
                assert now.longest[0] <= row.longest[0]
                assert now.longest[1] <= row.longest[1]

    compare(roofs(), check)


def test_withdrawn_and_entered_again_it_is_as_stated_but_never_better_on_time(compare):
    def check(roof: Roof, data: st.DataObject) -> None:
        fixed = {fix.of for fix in roof.fixes}
        looks = [one for one in roof.done if one.name not in fixed and one.logged <= roof.on]
        assume(looks)
        look = data.draw(st.sampled_from(looks))
        again = replace(look, name="again", logged=roof.on)
        gone = Fix("gone", look.name, "withdraw", 0, (), roof.on)
        retold = replace(roof, done=(*roof.done, again), fixes=(*roof.fixes, gone))
        before, after = measured(roof), measured(retold)
        for name, kept in before.items():
            assert after[name].as_stated == kept.as_stated
            assert BETTER[after[name].on_time] <= BETTER[kept.on_time]

    compare(roofs(exact=True), check)


def moved(roof: Roof, by: int) -> Roof:
    """The same history, all of it `by` days later, the rig's own zones and rules too."""
    return replace(
        roof,
        places={
            name: Place(_plus(place.since, by), _plus(place.until, by))
            for name, place in roof.places.items()
        },
        asked=tuple(
            replace(r, first=r.first + by, last=_plus(r.last, by), logged=r.logged + by)
            for r in roof.asked
        ),
        done=tuple(
            replace(d, first=_plus(d.first, by), last=d.last + by, logged=d.logged + by)
            for d in roof.done
        ),
        put_off=tuple(
            replace(p, first=p.first + by, last=p.last + by, logged=p.logged + by)
            for p in roof.put_off
        ),
        fixes=tuple(replace(f, day=f.day + by, logged=f.logged + by) for f in roof.fixes),
        held=tuple(
            replace(
                h,
                first=h.first + by,
                to=_plus(h.to, by),
                ended=_plus(h.ended, by),
                logged=h.logged + by,
            )
            for h in roof.held
        ),
        on=roof.on + by,
    )


def _moved(kept: Kept, by: int) -> Kept:
    zones = {
        name: replace(
            zone,
            rows=tuple(replace(r, from_=r.from_ + by, to=r.to + by) for r in zone.rows),
            last=_plus(zone.last, by),
            due=_plus(zone.due, by),
        )
        for name, zone in kept.zones.items()
    }
    return replace(kept, zones=zones)


def _plus(at: int | None, by: int) -> int | None:
    return None if at is None else at + by

"""Everything that can be held against a record, put in order; each kind has its own tests."""

from itertools import pairwise

from evidence.upkeep.challenge import Grave, Kind
from tests.dossier.claims import after, before, incident
from tests.upkeep.contest.arguing import SPOTLESS, against, wash


def test_against_a_record_without_weak_points_nothing_is_said():
    assert against(*SPOTLESS, on="2025-06-30") == ()


def test_the_gravest_stands_first_and_those_of_a_kind_by_their_entries():
    late = [wash(f"2025-04-{day}", "2025-05-20T20:00:00Z") for day in (12, 10)]
    found = against(
        *late, before(files=[]), incident(zones=["field-mr", "vent"]), after(), rules=[]
    )
    assert found[0].kind is Kind.NO_LOOK_BEFORE
    assert {one.grave for one in found} == set(Grave)
    places = list(Kind)
    order = [(one.grave, places.index(one.kind), one.entries) for one in found]
    assert all(one <= following for one, following in pairwise(order))
    assert [one.entries for one in found if one.kind is Kind.LATE_ENTRY] == [(5,), (6,)]

"""What a return, the start and the end of storage will bring."""

from evidence.upkeep.ahead import Once, what_follows
from tests.scenarios.build import LOOK_90, Told, history, starter, tell
from tests.upkeep.telling import trip

AFTER_TRIP = LOOK_90 | {"id": "after-trip", "task": "after-trip", "days": 7}
BEFORE = LOOK_90 | {"id": "before", "task": "before-storage", "days": 14}
OUT = LOOK_90 | {"id": "out", "task": "out-of-storage", "days": 14}


def follows(*told: Told, rules: tuple[Told, ...], on: str = "2025-06-20"):
    return what_follows(history([*starter(rules=rules), *told], on))


def stored(start: str = "2025-06-10") -> Told:
    return tell("storage", {"id": "s", "from": start}, "2025-06-10T22:00:00Z")


def ended(of: str) -> Told:
    return tell("end", {"of": of, "when": "2025-06-15"}, "2025-06-15T22:00:00Z")


def test_a_trip_under_way_brings_a_look_once_it_is_over():
    (ahead,) = follows(trip("t", "2025-06-18"), rules=(AFTER_TRIP,))
    assert (ahead.once, ahead.zones, ahead.of) == (Once.BACK, ("skylight",), 6)
    assert ahead.why == (
        "on a trip since 2025-06-18 (entry 7); then before the next trip, at most 7 days later"
    )


def test_a_trip_that_is_over_and_one_that_was_never_made_bring_nothing_ahead():
    assert follows(rules=(AFTER_TRIP,)) == ()
    assert follows(trip("t", "2025-06-10", "2025-06-12"), rules=(AFTER_TRIP,)) == ()
    assert follows(trip("t", "2025-06-10"), ended("t"), rules=(AFTER_TRIP,)) == ()


def test_before_storage_is_named_until_it_begins_and_again_when_it_is_over():
    (ahead,) = follows(rules=(BEFORE,))
    assert (ahead.once, ahead.of) == (Once.STORED, None)
    assert ahead.why == "not more than 14 days before storage begins"
    assert follows(stored(), rules=(BEFORE,)) == ()
    assert len(follows(stored(), ended("s"), rules=(BEFORE,))) == 1
    (ahead,) = follows(rules=(BEFORE | {"from_days": 1},))
    assert ahead.why.endswith("before storage begins, at the latest 1 day before")


def test_out_of_storage_is_named_while_it_lasts():
    assert follows(rules=(OUT,)) == ()
    (ahead,) = follows(stored(), rules=(OUT,))
    assert (ahead.once, ahead.of) == (Once.OUT_OF_STORAGE, 6)
    assert follows(stored(), ended("s"), rules=(OUT,)) == ()


def test_a_rule_that_is_over_brings_nothing():
    over = AFTER_TRIP | {"applies_to": "2025-06-19"}
    assert follows(trip("t", "2025-06-18"), rules=(over,)) == ()
    assert len(follows(trip("t", "2025-06-18"), rules=(over,), on="2025-06-19")) == 1

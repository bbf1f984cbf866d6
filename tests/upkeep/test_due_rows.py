"""Each thing that is due, whole: by whose word, why, how, and what to mind."""

from datetime import date

from evidence.trade import load_catalogue
from evidence.upkeep import Due, what_is_due
from evidence.upkeep.due import WAYS_OF_LOOKING
from evidence.words import Task
from tests.scenarios.build import LOOK_90, RIG, ZONES, Told, measured, starter, tell
from tests.upkeep.telling import found, rule, trip

AUTHORITY = "maker's booklet, 2023 edition, p. 14"


def due(told: list[Told], on: str, *rules: Told) -> tuple[Due, ...]:
    standing = measured([*starter(rules=rules), *told], on)
    return what_is_due(standing, load_catalogue())


def cautions(task: Task) -> tuple[str, ...]:
    return tuple(row.text for row in load_catalogue().cautions_for(task))


def test_only_a_reseal_warns_of_vapour():
    """On which the rows below rely: TRADE § 8."""
    assert any("vapour" in text for text in cautions(Task.RESEAL))
    assert not any("vapour" in text for text in cautions(Task.INSPECTION))


def test_a_rule_is_due_by_its_own_words():
    assert due([], "2025-04-15", LOOK_90 | {"required": False}) == (
        Due(
            task="inspection",
            zones=("skylight",),
            by=date(2025, 4, 5),
            rule="look-90",
            basis="owners-own",
            authority=AUTHORITY,
            required=False,
            why="every 90 days",
            overdue=(10, 10),
            ways=WAYS_OF_LOOKING,
            cautions=cautions(Task.INSPECTION),
        ),
    )
    (reseal,) = due([], "2025-04-15", rule("reseal", 365))
    assert (reseal.ways, reseal.cautions) == ((), cautions(Task.RESEAL))


def test_a_duty_is_due_with_the_entry_that_set_it_going():
    """Back on some day from 1 to 3 June: within 7 days, on 20 June 10 to 12 days ago."""
    back = tell("trip", {"id": "t1", "out": "2025-05-25", "back": "2025-06-01/2025-06-03"},
                "2025-06-04T12:00:00Z")  # fmt: skip
    assert due([back], "2025-06-20", rule("after-trip", 7)) == (
        Due(
            task="after-trip",
            zones=("skylight",),
            by=date(2025, 6, 8),
            rule="after-trip",
            basis="owners-own",
            authority=AUTHORITY,
            required=True,
            why="entry 7, from 2025-06-01",
            overdue=(10, 12),
            ways=WAYS_OF_LOOKING,
            cautions=cautions(Task.AFTER_TRIP),
        ),
    )
    (bead,) = due([laid_bead()], "2025-06-20", rule("after-reseal", 3))
    assert bead.cautions == cautions(Task.AFTER_RESEAL)


def laid_bead() -> Told:
    body = {"when": "2025-06-01", "zones": ["skylight"], "extent": "strip",
            "family": "self-levelling"}  # fmt: skip
    return tell("reseal", body, "2025-06-01T20:00:00Z")


def test_a_finding_is_due_by_the_catalogue_with_its_usual_remedy():
    """D02: crack through, pinhole or bubble; open, clean, dry, reseal; 7 days (TRADE § 4)."""
    assert due([found(), trip("t1", "2025-06-10")], "2025-06-20") == (
        Due(
            task="finding",
            zones=("skylight",),
            by=date(2025, 6, 17),
            rule=None,
            basis=None,
            authority=None,
            required=True,
            why="crack through, pinhole or bubble, grade 3, seen in entry 6; "
            "usual remedy: open, clean, dry, reseal",
            overdue=(3, 3),
            ways=(),
            cautions=cautions(Task.RESEAL),
        ),
    )


def test_a_zone_that_was_dropped_takes_no_other_zone_out_of_what_is_due():
    both = LOOK_90 | {"zones": ["skylight", "vent"]}
    kept = [zone for zone in ZONES if zone["id"] != "skylight"]
    dropped = tell("rig", RIG | {"zones": kept}, "2025-02-01T12:00:00Z")
    assert [row.zones for row in due([dropped], "2025-06-01", both)] == [("vent",)]


def test_what_falls_due_on_the_last_day_of_its_rule_is_due():
    """5 January and 90 days: 5 April."""
    assert due([], "2025-02-01", LOOK_90 | {"applies_to": "2025-04-05"})
    assert not due([], "2025-02-01", LOOK_90 | {"applies_to": "2025-04-04"})

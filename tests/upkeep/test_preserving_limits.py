"""What a deed would take away, at the limits: seconds, evenings, open ends, changed records."""

import pytest

from evidence.envelope import read_body
from evidence.trade import load_catalogue
from evidence.upkeep.preserving import AtRisk, Lost, what_is_at_risk
from evidence.words import FileRole
from tests.scenarios.build import LOOK_90, Told, finding, history, look, photo, starter, tell
from tests.upkeep.telling import correct, incident, reseal

ON = "2025-07-01"
STRUCK, DONE = "2025-06-08T16:40:00-05:00", "2025-06-20T12:00:00-05:00"
ROLES = ("wide", "middle", "close", "close-scale")
HAIL = incident(stated_cause="hail")
PART_ROLES = (FileRole.CLOSE, FileRole.CLOSE_SCALE)


def at_risk(told: list[Told], kind: str, body: Told) -> tuple[AtRisk, ...]:
    return what_is_at_risk(history(told, ON), load_catalogue(), read_body(kind, body))


def washing(*told: Told, when: str = DONE) -> tuple[AtRisk, ...]:
    return at_risk(list(told), "wash", {"when": when, "zones": "all"})


def shot(taken: str | None, role: str = "close", **more: object) -> Told:
    name = f"{taken}-{role}.jpg".replace(" ", "_")
    return photo(taken, offset="-05:00", role=role, zone="skylight", name=name, **more)


def photo_set(taken: str | None, **more: object) -> Told:
    """The pictures of a zone, the spatter among them, sealed at once."""
    files = [shot(taken, role, spot="spatter", **more) for role in ROLES]
    return tell("photos", {}, "2025-06-30T12:00:00Z", files=files)


# The deed


def test_what_was_done_in_the_second_in_which_it_began_was_not_done_before():
    (risk,) = washing(HAIL, when=STRUCK)
    assert (risk.incident, risk.lost, risk.spatter) == ("i1", Lost.SPATTER, True)
    assert washing(HAIL, when="2025-06-08T16:39:59-05:00") == ()


def test_a_repair_is_told_which_incident_it_touches():
    patch = {"when": "2025-06-20", "zones": ["skylight"], "what": "patch"}
    (risk,) = at_risk([incident()], "repair", patch)
    assert (risk.incident, risk.lost, risk.adjuster) == ("i1", Lost.EDGE, True)


def test_a_record_that_was_changed_or_asks_for_reseals_is_weighed_as_any():
    """The finding of 1 May was corrected after the hail; a rule counts reseals."""
    rows = [{"zone": "skylight", "grade": 1}]
    told = [
        *starter(rules=[LOOK_90, LOOK_90 | {"id": "r", "task": "reseal", "days": 365}]),
        look("2025-05-01", {"skylight": 3}, body={"findings": [finding("f1")]}),
        reseal("2025-05-10", settles=[]),
        HAIL,
        correct(7, "2025-06-15T12:00:00Z", set={"zones": rows}),
    ]
    (risk,) = washing(*told)
    assert risk.incident == "i1"


# Pictures of a zone


@pytest.mark.parametrize(
    ("taken", "when", "held_up"),
    [
        ("2025:06:08 16:39:59", DONE, True),
        ("2025:06:08 16:40:00", DONE, False),
        ("2025:06:20 12:00:00", DONE, False),
        ("2025:06:20 12:00:01", DONE, True),
        ("2025:06:20 20:00:00", "2025-06-20", False),
        ("2025:06:21 00:00:01", "2025-06-20", True),
        (None, DONE, True),
    ],
)
def test_pictures_count_from_the_second_of_the_incident_to_that_of_the_deed(taken, when, held_up):
    """20:00 on 20 June in Chicago is 21 June in UTC: a day is one of the rig's home."""
    assert bool(washing(HAIL, photo_set(taken), when=when)) is held_up


@pytest.mark.parametrize(("more", "held_up"), [({}, True), ({"incidents": ["i1"]}, False)])
def test_where_nothing_is_known_to_lie_before_only_pictures_that_name_it_are_of_it(more, held_up):
    struck = incident("../2025-06-08T16:40-05:00", stated_cause="hail")
    assert bool(washing(struck, photo_set("2025:06:09 09:00:00", **more))) is held_up


def test_pictures_of_a_look_that_may_have_been_before_are_not_of_it():
    """They have no clock of their own, and their look is only known not to be after 9 June."""
    files = [shot(None, role, spot="spatter") for role in ROLES]
    seen = look("../2025-06-09", logged="2025-06-09T23:59:00Z", files=files)
    assert washing(HAIL, seen) != ()


def test_a_picture_that_names_another_finding_than_the_hails_shows_no_spatter():
    found = [finding("f1", type="D24", grade=2), finding("f2", type="D02")]
    seen = look("2025-06-09", {"skylight": 3}, body={"findings": found, "incidents": ["i1"]},
                files=[shot("2025:06:09 09:00:00", role, finding="f2")
                       for role in ROLES])  # fmt: skip
    (risk,) = washing(HAIL, seen)
    assert (risk.zones, risk.spatter) == ((), True)


# Pictures of a part

LID = {"when": DONE, "item": "vent lid", "action": "discarded"}


@pytest.mark.parametrize(
    ("taken", "missing"),
    [
        ("2025:06:08 16:39:59", PART_ROLES),
        ("2025:06:08 16:40:00", ()),
        ("2025:06:20 12:00:00", ()),
        ("2025:06:20 12:00:01", PART_ROLES),
        (None, ()),
    ],
)
def test_a_picture_of_a_part_counts_unless_its_clock_puts_it_before_or_behind(taken, missing):
    kept = {"when": "2025-06-20", "item": "Vent lid", "action": "kept", "incidents": ["i1"]}
    files = [shot(taken, role) for role in ("close", "close-scale")]
    told = [incident(), tell("custody", kept, "2025-06-30T12:00:00Z", files=files)]
    (risk,) = at_risk(told, "custody", LID)
    assert (risk.incident, risk.lost, risk.part) == ("i1", Lost.PART, missing)

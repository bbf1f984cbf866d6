"""What can be held against a record, kind by kind, with what answers it."""

import pytest

from evidence.trade import load_catalogue
from evidence.upkeep.challenge import Answer, Challenge, Grave, How, Kind, Step, challenge
from tests.dossier.claims import FIELD, RULE, after, before, claim, cover, incident, notice
from tests.scenarios.build import LOOK_90, Told, finding, look, photo, tell

BOTH = FIELD | {"skylight": 0}
SHOWN = photo("2025:06:08 17:40:10", offset="-05:00", zone="field-mr", role="close", name="a.jpg")
HELD = tell("ownership", {"id": "o1", "party": "owner", "from": "2023-03-01",
                          "known_by": "own-record"}, "2025-01-05T18:10:00Z")  # fmt: skip
SPOTLESS = (
    HELD,
    look("2025-03-05", BOTH, witness=True),
    before(grades=BOTH, witness=True),
    incident(),
    after(files=[SHOWN]),
    cover(logged="2025-06-08T22:56:00Z"),
    notice(),
)


def against(*told: Told, **more: object) -> tuple[Challenge, ...]:
    standing, facts = claim(*told, **more)
    return challenge(standing, facts, load_catalogue())


def the(kind: Kind, *told: Told, **more: object) -> Challenge:
    (found,) = (one for one in against(*told, **more) if one.kind is kind)
    return found


def kinds(*told: Told, **more: object) -> set[Kind]:
    return {one.kind for one in against(*told, **more)}


def custody(action: str, **more: object) -> Told:
    body = {"when": "2025-06-08", "item": "vent lid", "action": action, "incidents": ["i1"]}
    return tell("custody", body | more, "2025-06-08T23:30:00Z")


def wash(when: str, logged: str) -> Told:
    return tell("wash", {"when": when, "zones": "all"}, logged)


def test_against_a_record_without_weak_points_nothing_is_said():
    assert against(*SPOTLESS, on="2025-06-30") == ()


def test_the_gravest_stands_first():
    found = against(before(files=[]), incident(zones=["field-mr", "vent"]), after(), rules=[])
    graves = [one.grave for one in found]
    assert graves == sorted(graves)
    assert found[0].kind is Kind.NO_LOOK_BEFORE
    assert set(graves) == set(Grave)


# What was there before


def test_without_an_outsider_nobody_vouches_and_none_is_missed_look_by_look():
    found = against(before(), incident(), after())
    assert Kind.NO_WITNESS_BEFORE in {one.kind for one in found}
    assert Kind.OWN_CLOCK not in {one.kind for one in found}


def test_a_look_that_no_outsider_held_before_is_answered_by_a_later_one_and_its_camera():
    told = (look("2025-03-05", BOTH, witness=True), before(), incident(), after(witness=True))
    assert the(Kind.OWN_CLOCK, *told) == Challenge(
        Kind.OWN_CLOCK,
        Grave.BEFORE,
        (8,),
        (Answer(How.WITNESSED_LATER, (11,)), Answer(How.CAMERA, (8,))),
        (),
        {"zone": "field-mr"},
    )


def test_a_zone_without_a_look_before_is_answered_by_a_picture_sealed_before():
    sealed = tell("photos", {}, "2025-05-30T20:00:00Z",
                  files=[photo("2025:05:30 12:10:31", zone="vent", name="v.jpg")])  # fmt: skip
    found = the(Kind.NO_LOOK_BEFORE, sealed, incident(zones=["vent"]))
    assert found.answers == (Answer(How.SEALED_BEFORE, (6,)),)
    assert found.today == (Step.ASK_OTHERS,)


def test_a_picture_sealed_afterwards_answers_nothing_about_the_time_before():
    sealed = tell("photos", {}, "2025-06-20T20:00:00Z",
                  files=[photo("2025:05:30 12:10:31", zone="vent", name="v.jpg")])  # fmt: skip
    assert the(Kind.NO_LOOK_BEFORE, incident(zones=["vent"]), sealed).answers == ()


def test_a_look_logged_afterwards_is_cited_where_none_counts():
    late = before(logged="2025-06-20T12:00:00Z")
    found = against(incident(), after(), late)
    assert [one.entries for one in found if one.kind is Kind.NO_LOOK_BEFORE] == [(8,)]
    (written,) = (one for one in found if one.kind is Kind.WRITTEN_AFTER)
    assert (written.entries, written.about["days"]) == ((8,), (21, 21))
    assert Kind.LATE_ENTRY not in {one.kind for one in found}


def test_a_look_before_that_was_corrected_after_the_incident_weighs_most():
    change = {"of": 6, "set": {"zones": [{"zone": "field-mr", "grade": 1}]}, "why": "misread"}
    told = (before(), incident(), after(), tell("correction", change, "2025-06-20T12:00:00Z"))
    found = the(Kind.CHANGED_SINCE, *told)
    assert (found.grave, found.entries) == (Grave.BEFORE, (6, 9))
    corrected = the(Kind.CORRECTED, *told)
    assert (corrected.grave, corrected.answers) == (Grave.WEIGHT, (Answer(How.REASON, (9,)),))


def test_a_correction_made_before_the_incident_is_answered_by_that():
    change = {"of": 6, "set": {"when": "2025-05-29"}, "why": "mistyped"}
    away = {"of": 7, "withdraw": True, "why": "another rig"}
    told = (
        before(files=[]),
        wash("2025-06-01", "2025-06-01T20:00:00Z"),
        tell("correction", change, "2025-06-02T12:00:00Z"),
        tell("correction", away, "2025-06-02T12:00:00Z"),
        incident(),
        after(),
    )
    found = the(Kind.CORRECTED, *told)
    assert (found.grave, found.entries) == (Grave.QUESTION, (6, 8))
    assert Answer(How.MADE_BEFORE, (8,)) in found.answers
    assert the(Kind.WITHDRAWN, *told).entries == (7, 9)


def test_a_look_that_overlaps_the_stated_time_is_not_used():
    found = the(
        Kind.STRADDLING,
        look("2025-06-07/2025-06-08", FIELD, logged="2025-06-08T23:59:00Z"),
        incident("2025-06-08", "2025-06-09T12:00:00Z"),
    )
    assert (found.grave, found.entries, found.answers) == (Grave.WEIGHT, (6,), ())


def test_what_stood_open_in_the_zone_is_graver_than_what_stood_open_elsewhere():
    """D02 of grade 3 wants action within 7 days: seen on 1 May, by 8 May; struck on 8 June."""
    here, there = finding("f1", "field-mr", 3), finding("f2", "vent", 3)
    seen = look("2025-05-01", {"field-mr": 3, "vent": 3}, body={"findings": [here, there]})
    told = (seen, before(grades={"field-mr": 3}), incident(), after())
    found = the(Kind.OPEN_IN_ZONE, *told)
    assert (found.grave, found.entries, found.about["days"]) == (Grave.BEFORE, (6,), (38, 38))
    assert found.answers == (Answer(How.OWN_FINDING, (9,)),)
    assert the(Kind.OPEN_ELSEWHERE, *told).about["zone"] == "vent"


def test_hands_from_which_nothing_has_come_down_are_told_with_the_first_look():
    held = {"id": "o1", "party": "dealer", "from": "2023-07-01", "to": "2024-12-31",
            "known_by": "nothing"}  # fmt: skip
    ours = {"id": "o2", "party": "owner", "from": "2025-01-01", "known_by": "own-record"}
    owned = [tell("ownership", body, "2025-01-05T18:10:00Z") for body in (held, ours)]
    told = (*owned, before(), incident(), after())
    found = the(Kind.UNKNOWN_HANDS, *told)
    assert (found.entries, found.answers) == ((6,), (Answer(How.BASELINE, (8,)),))
    assert f"{the(Kind.BEFORE_ANY_HAND, *told).about['end']}" == "2023-06-30"


# Pictures


def test_looks_without_a_picture_of_the_place_are_named():
    found = against(before(files=[]), incident(zones=["field-mr", "vent"]), after(files=[]))
    by_kind = {one.kind: one for one in found}
    assert by_kind[Kind.NO_PICTURE_BEFORE].entries == (6,)
    assert by_kind[Kind.NO_PICTURE_AFTER].entries == (8,)
    assert by_kind[Kind.NOT_LOOKED_AFTER].about == {"zone": "vent"}


def test_a_copy_from_a_messenger_is_held_against_it_until_the_original_is_linked():
    copy = photo(None, via="messenger", zone="field-mr", name="message_1.jpg")
    original = photo("2025:06:08 17:45:00", offset="-05:00", name="LF_0535.jpg")
    told = (before(), incident(), after(files=[copy]))
    found = the(Kind.COPY_ONLY, *told)
    assert (found.about["names"], found.today) == (("message_1.jpg",), (Step.ASK_ORIGINAL,))
    sealed = tell("photos", {}, "2025-06-10T12:00:00Z", files=[original])
    label = {"of": [original["sha256"]], "original_of": copy["sha256"]}
    linked = tell("label", label, "2025-06-10T12:00:00Z")
    assert Kind.COPY_ONLY not in kinds(*told, sealed, linked)


def test_numbers_missing_in_a_cameras_roll_are_a_question():
    taken = [photo(f"2025:06:08 17:4{n}:00", offset="-05:00", name=f"LF_053{n}.jpg")
             for n in (1, 3, 4, 8)]  # fmt: skip
    told = (before(), incident(), after(files=taken))
    found = the(Kind.MISSING_FRAMES, *told)
    assert found.grave is Grave.QUESTION
    assert found.about["frames"] == ("LF_0532", "LF_0535 to LF_0537")
    assert found.entries == (8,)


@pytest.mark.parametrize("name", ["IMG_20250608_17450{}.jpg", "LF_053{}.jpg"])
def test_names_that_are_times_and_numbers_sealed_elsewhere_raise_no_question(name):
    taken = [photo(f"2025:06:08 17:4{n}:00", offset="-05:00", name=name.format(n)) for n in (1, 3)]
    other = tell("photos", {}, "2025-06-10T12:00:00Z",
                 files=[photo("2025:06:08 17:42:00", name="LF_0532.jpg")])  # fmt: skip
    assert Kind.MISSING_FRAMES not in kinds(before(), incident(), after(files=taken), other)


def test_clocks_that_are_not_relied_on_or_disagree_are_named():
    reset = photo("2016:01:01 00:00:00", name="one.jpg")
    found = the(Kind.CLOCK_NOT_RELIED_ON, before(files=[reset]), incident(), after())
    assert (found.entries, found.about) == ((6,), {"names": ("one.jpg",)})
    odd = photo("2025:04:01 12:00:00", offset="-05:00", zone="field-mr", role="close")
    assert the(Kind.CLOCK_DISAGREES, before(files=[odd]), incident(), after()).entries == (6,)


def test_a_writers_clock_that_an_outsider_contradicts_is_named():
    back = {"was": "2025-05-30T18:24:00Z", "is": "2025-05-29T12:00:00Z", "why": "set by hand"}
    found = the(
        Kind.WRITERS_CLOCK,
        before(logged="2025-05-30T18:22:07Z", witness=True),
        tell("clock", back, "2025-05-29T12:00:00Z"),
        incident(),
        after(),
    )
    assert found.entries == (8,)


# Afterwards


def hail(*told: Told) -> set[Kind]:
    return kinds(before(), incident(stated_cause="hail"), *told)


def test_a_wash_between_hail_and_the_first_picture_is_named_and_one_behind_it_is_not():
    washed = wash("2025-06-09", "2025-06-09T23:00:00Z")
    assert Kind.WASHED_FIRST in hail(after(), washed)
    assert Kind.WASHED_FIRST not in hail(after(files=[SHOWN]), washed)
    assert Kind.WASHED_FIRST not in kinds(before(), incident(), after(), washed)


def test_a_part_thrown_away_or_out_of_sight_is_named_and_one_kept_is_not():
    told = (before(), incident(), after())
    assert the(Kind.PART_DISCARDED, *told, custody("discarded")).entries == (9,)
    assert Kind.PART_UNACCOUNTED in kinds(*told, custody("removed"))
    parts = {Kind.PART_DISCARDED, Kind.PART_UNACCOUNTED}
    assert not parts & kinds(*told, custody("removed"), custody("kept"))
    assert not parts & kinds(*told, custody("removed", where="on the shelf"))


def test_a_part_replaced_and_written_down_nowhere_is_named():
    new = {"when": "2025-06-20", "zones": ["field-mr"], "what": "replace-part"}
    told = (before(), incident(), after(), tell("repair", new, "2025-06-20T20:00:00Z"))
    assert the(Kind.PARTS_UNWRITTEN, *told).entries == (9,)
    kept = tell("custody", {"when": "2025-06-20", "item": "lid", "action": "kept",
                            "incidents": ["i1"]}, "2025-06-20T21:00:00Z")  # fmt: skip
    assert Kind.PARTS_UNWRITTEN not in kinds(*told, kept)


def test_cover_and_notice_that_are_late_or_missing_are_named():
    """D12, grade 4: within a day. Covered on 10 June 17:30, 2 days 50 minutes after 16:40."""
    told = (before(), incident(), after())
    assert {Kind.NO_COVER, Kind.NO_NOTICE} <= kinds(*told)
    late = (cover("2025-06-10T17:30-05:00", "2025-06-10T23:00:00Z"),
            notice("2025-06-20", "2025-06-20T23:00:00Z"))  # fmt: skip
    assert the(Kind.LATE_COVER, *told, *late).about == {"minutes": (2930, 2930)}
    assert the(Kind.LATE_NOTICE, *told, *late).about == {"days": (12, 12)}


# Rules


def test_a_gap_beyond_the_rule_is_told_once_for_its_zones_with_what_answers_it():
    rule = RULE | {"zones": ["field-mr"]}
    put_off = {"when": "2025-04-10", "task": "inspection", "why": "ill"}
    below = look("2025-04-20", FIELD, body={"means": "ground"})
    told = (tell("deferral", put_off, "2025-04-10T20:00:00Z"), below, before(), incident(), after())
    found = the(Kind.GAP, *told, rules=[rule])
    assert (found.about["days"], found.about["over"]) == ((145, 145), (55, 55))
    assert found.answers == (Answer(How.DEFERRAL, (6,)), Answer(How.FROM_BELOW, (7,)))
    assert (found.grave, found.entries) == (Grave.WEIGHT, (5, 8))
    still = the(Kind.OPEN_GAP, *told, rules=[rule])
    assert (still.grave, still.about["over"]) == (Grave.QUESTION, (58, 58))


def test_other_zones_beyond_the_rule_are_counted():
    rule = RULE | {"zones": ["field-mr", "skylight", "vent"]}
    found = the(Kind.GAPS_ELSEWHERE, before(), incident(), after(), rules=[rule], on="2025-06-30")
    assert found.about["zones_more"] == (1, 1)


def test_a_rule_that_is_not_required_is_no_weak_point():
    found = kinds(before(), incident(), after(), rules=[RULE | {"required": False}])
    assert not {Kind.GAP, Kind.OPEN_GAP, Kind.OWN_RULE} & found


def test_a_rule_that_only_late_entries_keep_is_named_with_them():
    rule = LOOK_90 | {"id": "wash-365", "task": "wash", "days": 365, "zones": ["vent"]}
    late = wash("2025-04-12", "2025-05-20T20:00:00Z")
    told = (late, before(), incident(), after())
    found = the(Kind.KEPT_BY_LATE, *told, rules=[rule], on="2026-02-01")
    assert found.entries == (5, 6)
    assert the(Kind.LATE_ENTRY, *told, rules=[rule]).about["days"] == (38, 38)


def test_a_receipt_answers_for_a_late_entry():
    late = wash("2025-04-12", "2025-05-20T20:00:00Z")
    paper = tell("paper", {"type": "receipt", "title": "soap", "about": [6]},
                 "2025-05-20T20:05:00Z")  # fmt: skip
    found = the(Kind.LATE_ENTRY, late, paper, before(), incident(), after())
    assert found.answers == (Answer(How.PAPER, (7,)),)


@pytest.mark.parametrize(
    ("logged", "kind"), [("2025-05-06", Kind.DUTY_UNDONE), ("2025-05-20", Kind.DUTY_LATE)]
)
def test_a_duty_undone_or_logged_late_is_named(logged, kind):
    rule = RULE | {"id": "after-trip", "task": "after-trip", "days": 7, "zones": ["vent"]}
    trip = {"id": "t1", "out": "2025-05-01", "back": "2025-05-04"}
    zone = "vent" if kind is Kind.DUTY_LATE else "skylight"
    looked = look("2025-05-06", {zone: 0}, logged=f"{logged}T23:00:00Z")
    told = (tell("trip", trip, "2025-05-04T23:00:00Z"), looked, before(), incident(), after())
    assert the(kind, *told, rules=[rule]).entries[0] == 6


def test_whose_rules_they_are_is_told_once_for_each_sort():
    own = RULE | {"basis": "owners-own"}
    default = LOOK_90 | {"id": "wash-365", "task": "wash", "days": 365, "basis": "tool-default"}
    found = against(before(), incident(), after(), rules=[own, own | {"id": "b"}, default])
    rules = {one.kind: one.about["rules"] for one in found if "rules" in one.about}
    assert rules == {Kind.OWN_RULE: ("look-90", "b"), Kind.DEFAULT_RULE: ("wash-365",)}


def test_a_rule_written_down_later_than_it_applies_or_than_a_gap_is_named():
    later = RULE | {"applies_from": "2024-11-01"}
    told = (before(), incident(), after())
    assert f"{the(Kind.RULE_LATER, *told, rules=[later]).about['first']}" == "2024-11-01"
    stated = tell("rule", RULE | {"id": "b"}, "2025-06-05T12:00:00Z")
    found = the(Kind.RULE_AFTER_GAP, before(), stated, incident(), after(), rules=[])
    assert (found.about["rule"], found.about["days"]) == ("b", (145, 145))


def test_a_sealant_that_does_not_suit_is_answered_by_a_later_one_that_does():
    """TRADE § 2: silicone on TPO, N; § 10, case 6: a later strip and reseal closes it."""
    wrong = {"when": "2025-05-02", "zones": ["skylight"], "extent": "overlay",
             "family": "silicone"}  # fmt: skip
    right = wrong | {"when": "2025-05-20", "extent": "strip", "family": "self-levelling"}
    told = (tell("reseal", wrong, "2025-05-02T20:00:00Z"), before(), incident(), after())
    assert the(Kind.UNFIT_SEALANT, *told).today == (Step.RESEAL,)
    told = (told[0], tell("reseal", right, "2025-05-20T20:00:00Z"), *told[1:])
    assert the(Kind.UNFIT_SEALANT, *told).answers == (Answer(How.RESEALED, (7,)),)

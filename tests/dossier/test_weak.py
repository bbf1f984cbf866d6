"""The weak points of a record, as an opposing reader finds them."""

from evidence.dossier.weak import Weakness, weak_points
from evidence.trade import load_catalogue
from tests.dossier.claims import FIELD, RULE, after, before, claim, cover, incident, notice
from tests.scenarios.build import LOOK_90, Told, finding, look, photo, tell


def points(*told: Told, **more: object) -> list[Weakness]:
    standing, facts = claim(*told, **more)
    return weak_points(standing, facts, load_catalogue())


def texts(*told: Told, **more: object) -> list[str]:
    return [point.text for point in points(*told, **more)]


SPOTLESS = (
    look("2025-03-05", FIELD | {"skylight": 0}, witness=True),
    before(grades=FIELD | {"skylight": 0}, witness=True),
    incident(),
    cover(),
    after(),
    notice(),
)


def test_a_record_without_any_says_so_and_cites_nothing():
    assert points(*SPOTLESS, on="2025-06-30") == [
        Weakness("None of the kinds that are looked for was found.", ())
    ]


def test_without_an_outsider_nobody_vouches():
    said = texts(before(), incident(), after(), on="2025-06-30")
    assert "No outsider vouches for anything before the incident." in said
    assert not any("rests on the owner's own clock" in text for text in said)


def test_a_look_that_no_outsider_holds_rests_on_the_owners_clock():
    (point,) = points(
        look("2025-03-05", FIELD | {"skylight": 0}, witness=True),
        before(grades=FIELD | {"skylight": 0}),
        incident(),
        after(),
        on="2025-06-30",
    )
    assert point == Weakness(
        "The last look before at field, middle right rests on the owner's own clock.", (8,)
    )


def test_a_zone_without_a_look_before_and_a_look_without_a_picture_are_named():
    found = points(
        before(grades=FIELD | {"skylight": 0}, witness=True, files=[]),
        incident(zones=["field-mr", "vent"]),
        after(),
        on="2025-06-30",
    )
    assert Weakness("No look before at ceiling vent counts.", ()) in found
    assert Weakness("No picture belongs to the last look before at field, middle right.", (6,)) in (
        found
    )


def test_a_look_logged_afterwards_is_cited_where_none_counts():
    found = points(incident(), after(), before(logged="2025-06-20T12:00:00Z"), on="2025-06-30")
    assert Weakness("No look before at field, middle right counts.", (8,)) in found
    assert Weakness("Logged late: inspection, 21 days after what it describes.", (8,)) in found
    assert (
        Weakness("Written after the incident about the time before it: inspection.", (8,)) in found
    )


def test_a_look_that_overlaps_the_stated_time_is_not_used():
    found = points(
        look("2025-06-07/2025-06-08", FIELD, logged="2025-06-08T23:59:00Z"),
        incident("2025-06-08", "2025-06-09T12:00:00Z"),
        on="2025-06-30",
    )
    text = "A look at field, middle right overlaps the stated time and is not used."
    assert Weakness(text, (6,)) in found


def test_what_stood_open_past_its_day_is_named():
    """D02 of grade 3 wants action within 7 days: seen on 1 May, by 8 May; struck on 8 June."""
    cracked = finding("f1", "vent", 3)
    found = points(
        look("2025-05-01", FIELD | {"vent": 3}, body={"findings": [cracked]}),
        before(),
        incident(),
        after(),
        on="2025-06-30",
    )
    assert load_catalogue().act_within("D02", 3) == 7
    text = (
        "Stood open before the incident, although to be acted on by 8 May 2025: "
        "crack through, pinhole or bubble, ceiling vent."
    )
    assert Weakness(text, (6,)) in found


def test_what_was_settled_in_time_or_found_too_late_to_act_is_not():
    cracked = finding("f1", "vent", 3)
    said = texts(
        look("2025-06-01", FIELD | {"vent": 3}, body={"findings": [cracked]}), incident(), after()
    )
    assert not any(text.startswith("Stood open") for text in said)


def test_every_gap_over_the_rule_is_told_with_its_deed_and_its_deferral():
    rule = RULE | {"zones": ["field-mr"]}
    put_off = {"when": "2025-04-10", "task": "inspection", "why": "ill"}
    found = points(
        tell("deferral", put_off, "2025-04-10T20:00:00Z"),
        before(),
        incident(),
        after(),
        rules=[rule],
        on="2025-11-03",
    )
    assert (
        Weakness(
            "145 days without a look at field, middle right, from 5 January 2025 to 30 May 2025: "
            "55 days over the rule of 90 days. A deferral stands in it; it does not close the gap.",
            (6,),
        )
        in found
    )
    assert (
        Weakness(
            "148 days without a look at field, middle right, from 8 June 2025 up to the day of "
            "issue: 58 days over the rule of 90 days.",
            (),
        )
        in found
    )


def test_a_gap_between_washes_is_not_called_one_between_looks():
    rule = LOOK_90 | {"id": "wash-90", "task": "wash", "zones": ["vent"]}
    said = texts(before(), incident(), after(), rules=[rule], on="2025-06-30")
    assert (
        "176 days without a wash at ceiling vent, from 5 January 2025 up to the day of issue: "
        "86 days over the rule of 90 days."
    ) in said


def test_a_rule_that_only_late_entries_keep_is_named():
    rule = LOOK_90 | {"id": "wash-365", "task": "wash", "days": 365, "zones": ["vent"]}
    late = {"when": "2025-04-12", "zones": "all"}
    found = points(
        tell("wash", late, "2025-05-20T20:00:00Z"),
        before(),
        incident(),
        after(),
        rules=[rule],
        on="2026-02-01",
    )
    assert (
        Weakness("The rule wash-365 was kept as stated, not by what was logged on time.", (5,))
        in found
    )


def test_other_zones_beyond_the_rule_are_counted():
    rule = RULE | {"zones": ["field-mr", "skylight", "vent"]}
    said = texts(before(), incident(), after(), rules=[rule], on="2025-06-30")
    assert "Beyond the rule look-90 as well: 2 zones more." in said


def test_a_rule_that_is_not_required_is_no_weak_point():
    said = texts(before(), incident(), after(), rules=[RULE | {"required": False}])
    assert not any("over the rule" in text for text in said)


def test_a_duty_that_was_not_done_in_time_is_named():
    rule = RULE | {"id": "after-trip", "task": "after-trip", "days": 7, "zones": ["vent"]}
    trip = {"id": "t1", "out": "2025-05-01", "back": "2025-05-04"}
    found = points(
        tell("trip", trip, "2025-05-04T23:00:00Z"), before(), incident(), after(), rules=[rule]
    )
    assert (
        Weakness("Not done in full by 11 May 2025: look at the roof after a trip.", (6,)) in found
    )


def test_a_duty_done_but_logged_late_is_named_for_that():
    rule = RULE | {"id": "after-trip", "task": "after-trip", "days": 7, "zones": ["vent"]}
    trip = {"id": "t1", "out": "2025-05-01", "back": "2025-05-04"}
    found = points(
        tell("trip", trip, "2025-05-04T23:00:00Z"),
        look("2025-05-06", {"vent": 0}, logged="2025-05-20T12:00:00Z"),
        before(),
        incident(),
        after(),
        rules=[rule],
    )
    assert (
        Weakness("Not logged on time: look at the roof after a trip, by 11 May 2025.", (6, 7))
        in found
    )


def test_a_correction_and_a_withdrawal_are_named_with_both_entries():
    change = {"of": 6, "set": {"when": "2025-05-29"}, "why": "mistyped"}
    away = {"of": 7, "withdraw": True, "why": "another rig"}
    found = points(
        before(),
        tell("wash", {"when": "2025-06-01", "zones": "all"}, "2025-06-01T20:00:00Z"),
        tell("correction", change, "2025-06-02T12:00:00Z"),
        tell("correction", away, "2025-06-02T12:00:00Z"),
        incident(),
        after(),
    )
    assert Weakness("Corrected later: inspection.", (6, 8)) in found
    assert Weakness("Withdrawn later: wash.", (7, 9)) in found


def test_a_photo_whose_clock_disagrees_with_the_statement_is_named():
    odd = photo("2025:04:01 12:00:00", offset="-05:00", zone="field-mr", role="close")
    found = points(before(files=[odd]), incident(), after())
    assert Weakness("The picture's clock and the statement disagree: inspection.", (6,)) in found


def test_clocks_that_are_not_relied_on_are_counted_and_a_few_named():
    one = photo("2016:01:01 00:00:00", name="one.jpg")
    found = points(before(files=[one]), incident(), after())
    assert Weakness("The clock of 1 picture is not relied on: one.jpg.", (6,)) in found

    many = [photo(f"2016:01:0{n} 00:00:00", name=f"{n}.jpg") for n in range(1, 7)]
    found = points(before(files=many), incident(), after())
    assert (
        Weakness(
            "The clock of 6 pictures is not relied on, among them 1.jpg, 2.jpg, 3.jpg, 4.jpg.", (6,)
        )
        in found
    )


def test_a_sealant_that_does_not_suit_the_place_is_named():
    """TRADE § 2: silicone on TPO, N; TRADE § 10, case 6."""
    sealed = {
        "when": "2025-05-02",
        "zones": ["skylight"],
        "extent": "overlay",
        "family": "silicone",
    }
    found = points(tell("reseal", sealed, "2025-05-02T20:00:00Z"), before(), incident(), after())
    text = "By the catalogue silicone does not suit skylight; that reseal settles nothing."
    assert Weakness(text, (6,)) in found


def test_a_rule_of_ones_own_and_a_rule_written_down_later_than_it_applies_are_named():
    own = RULE | {"basis": "owners-own", "applies_from": "2024-11-01"}
    found = points(before(), incident(), after(), rules=[own])
    assert (
        Weakness(
            "The rule look-90 is the owner's own or this program's default, not a maker's.", (5,)
        )
        in found
    )
    assert (
        Weakness(
            "The rule look-90 was written down on 5 January 2025, later than 1 November 2024, "
            "the day from which it applies.",
            (5,),
        )
        in found
    )


def test_a_writers_clock_that_an_outsider_contradicts_is_named():
    """The outsider answered on 30 May; the entry behind its answer is dated the 29th."""
    back = {"was": "2025-05-30T18:24:00Z", "is": "2025-05-29T12:00:00Z", "why": "set by hand"}
    found = points(
        before(logged="2025-05-30T18:22:07Z", witness=True),
        tell("clock", back, "2025-05-29T12:00:00Z"),
        incident(),
        after(),
    )
    assert Weakness("The writer's clock lies outside what the outsiders say: clock.", (8,)) in found

"""What the next look takes along."""

from evidence.trade import load_catalogue
from evidence.upkeep.rounds import Part, Round, plan_round
from evidence.upkeep.walking import Walk
from tests.scenarios.build import RIG, ZONES, Told, finding, look, measured, photo, starter, tell
from tests.upkeep.telling import found, recheck, reseal

WALK = Walk(edge=("rail-left",), middle=("skylight", "vent"))
ON = "2025-07-01"


def planned(*told: Told, on: str = ON, walk: Walk = WALK, **rig: object) -> Round:
    standing = measured([*starter(rules=(), rig=RIG | rig), *told], on)
    return plan_round(standing, load_catalogue(), walk)


def test_zones_are_numbered_along_the_walk_then_those_without_a_place_then_those_below():
    stops = planned().stops
    assert [(stop.number, stop.part, stop.place.id) for stop in stops] == [
        (1, Part.EDGE, "rail-left"),
        (2, Part.MIDDLE, "skylight"),
        (3, Part.MIDDLE, "vent"),
        (4, Part.NO_PLACE, "field-mr"),
        (5, Part.BELOW, "ceiling"),
    ]


def test_a_zone_that_the_rig_no_longer_has_is_not_proposed():
    kept = [zone for zone in ZONES if zone["id"] != "ceiling"]
    stops = planned(tell("rig", RIG | {"zones": kept}, "2025-02-01T12:00:00Z")).stops
    assert "ceiling" not in {stop.place.id for stop in stops}


def test_each_zone_has_its_last_look_and_grade_and_none_is_taken_as_looked_at():
    stops = {stop.place.id: stop for stop in planned(look("2025-06-10", {"skylight": 1})).stops}
    seen = stops["skylight"]
    assert seen.look is not None
    assert (seen.grade, seen.days) == (1, (21, 21))
    assert (stops["vent"].look, stops["vent"].grade, stops["vent"].days) == (None, None, None)


def test_what_stands_open_is_looked_at_again_the_gravest_first():
    two = [finding("f1", grade=2), finding("f2", grade=4)]
    told = look("2025-06-10", {"skylight": 4}, body={"findings": two})
    (stop,) = (stop for stop in planned(told).stops if stop.recheck)
    assert [facts.id for facts in stop.recheck] == ["f2", "f1"]
    assert stop.grade == 4


def test_what_was_settled_or_is_gone_is_not():
    for ended in (reseal("2025-06-11"), recheck("2025-06-11", "gone", 0)):
        assert not any(stop.recheck for stop in planned(found(), ended).stops)


def test_the_newest_picture_of_a_zone_is_the_one_to_stand_by():
    """A scan of a paper is no picture of the roof, even where it names the zone."""

    def shot(day: str, **more: object) -> Told:
        return look(day, files=[photo(f"{day.replace('-', ':')} 12:00:00", zone="skylight",
                                      offset="-05:00", **more)])  # fmt: skip

    stops = planned(shot("2025-05-10"), shot("2025-06-10"), shot("2025-06-12", role="scan")).stops
    pictured = {stop.place.id: stop.pictured for stop in stops}
    assert pictured["skylight"] is not None
    assert pictured["skylight"].dates[0].isoformat() == "2025-06-10"
    assert pictured["vent"] is None


def test_the_cautions_before_a_look_go_with_it_and_what_speaks_against_a_climb():
    catalogue = load_catalogue()
    fit, unfit = planned(), planned(walkable="unknown")
    assert fit.unsafe is None
    assert "on-roof" in fit.ways
    assert unfit.unsafe == "the roof is not on record as walkable"
    assert unfit.ways[-1] == "deferral"
    for row in ("ladder", "wet-roof", "not-comfortable"):
        assert catalogue.cautions[row].text in fit.cautions


def test_the_newest_outsiders_answer_is_what_a_card_can_carry():
    assert planned().answer is None
    told = planned(look("2025-06-01", witness=True), look("2025-06-10", witness=True))
    assert told.answer is not None
    assert told.answer.time.isoformat().startswith("2025-06-11T00:00")


def test_a_stop_with_an_open_soft_spot_is_kept_off_and_asks_for_no_climb():
    soft = {"id": "s1", "zone": "vent", "type": "D17", "grade": 4}
    told = planned(look("2025-06-10", {"vent": 4}, body={"findings": [soft]}))
    stops = {stop.place.id: stop for stop in told.stops}
    assert stops["vent"].keep_off is not None
    assert told.cautions[0] == stops["vent"].keep_off
    assert stops["vent"].ways == ("pole-camera", "drone", "platform", "deferral")
    assert stops["skylight"].keep_off is None
    assert "on-roof" in stops["skylight"].ways
    assert stops["ceiling"].ways == ()

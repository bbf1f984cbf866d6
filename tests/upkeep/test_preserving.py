"""What an entry would take away of an incident, and what is missing first (TRADE §§ 3, 6, 7)."""

import pytest

from evidence.entries import BODIES
from evidence.envelope import read_body
from evidence.trade import load_catalogue
from evidence.upkeep.preserving import PHOTO_SET, Lost, what_is_at_risk
from tests.scenarios.build import finding, history, look, photo, tell
from tests.scenarios.strike import branch_strike

ON = "2025-07-01"
ALL_FOUR = ["wide", "middle", "close", "close-scale"]
WASH = {"when": "2025-06-20", "zones": "all"}
RESEAL = {
    "when": "2025-06-20",
    "zones": ["field-mr"],
    "extent": "strip",
    "family": "self-levelling",
}
PATCH = {"when": "2025-06-20", "zones": ["field-mr"], "what": "patch"}
LID = {"when": "2025-06-20", "item": "vent lid", "action": "discarded"}
REPLY = tell(
    "notice",
    {
        "when": "2025-06-12",
        "direction": "received",
        "party": "insurer",
        "type": "reply",
        "incidents": ["i1"],
    },
    "2025-06-12T23:00:00Z",
)


def hail(cause="hail", zones=("skylight", "vent")):
    """An incident at two zones that nobody has looked at since."""
    body = {
        "id": "i1",
        "stated_cause": cause,
        "when": "2025-06-08T16:40-05:00",
        "known": "seen",
        "zones": list(zones),
    }
    return tell("incident", body, "2025-06-08T22:00:00Z")


def pictured(*zones, day="2025-06-09", roles=ALL_FOUR, logged=None, **more):
    """Pictures sealed at once, with their zone and role; their clock alone says when."""
    files = [
        photo(
            f"{day.replace('-', ':')} 09:00:00",
            offset="-05:00",
            name=f"{zone}-{role}-{day}.jpg",
            zone=zone,
            role=role,
            **more,
        )
        for zone in zones
        for role in roles
    ]
    return tell("photos", {}, logged or f"{day}T23:00:00Z", files=files)


def at_risk(told, kind, body, on=ON):
    return what_is_at_risk(history(told, on), load_catalogue(), read_body(kind, body))


def missing(risk):
    return {row.zone: [str(role) for role in row.roles] for row in risk.zones}


# A wash after hail


def test_a_wash_takes_the_spatter_of_hail_away_and_asks_for_the_photo_set_of_each_zone():
    (risk,) = at_risk([hail()], "wash", WASH)
    assert (risk.incident, risk.lost, risk.spatter) == ("i1", Lost.SPATTER, True)
    assert missing(risk) == {"skylight": ALL_FOUR, "vent": ALL_FOUR}


def test_a_wash_elsewhere_or_after_another_cause_takes_nothing_away():
    assert at_risk([hail()], "wash", WASH | {"zones": ["rail-left"]}) == ()
    assert at_risk([hail("wind")], "wash", WASH) == ()


@pytest.mark.parametrize("cause", ["branch", "debris", "impact", "ice"])
def test_a_wash_takes_bark_and_sap_out_of_a_scrape_until_its_zones_are_pictured(cause):
    (risk,) = at_risk([hail(cause)], "wash", WASH)
    assert (risk.lost, risk.spatter, risk.adjuster) == (Lost.GROOVE, False, False)
    assert missing(risk) == {"skylight": ALL_FOUR, "vent": ALL_FOUR}
    assert at_risk([hail(cause), pictured("skylight", "vent")], "wash", WASH) == ()


# What is gone already


def test_what_an_earlier_wash_took_is_not_warned_of_again():
    washed = tell("wash", WASH | {"zones": ["skylight"]}, "2025-06-20T23:00:00Z")
    again = WASH | {"when": "2025-06-25"}
    assert missing(at_risk([hail(), washed], "wash", again)[0]) == {"vent": ALL_FOUR}
    assert missing(at_risk([hail("ice"), washed], "wash", again)[0]) == {"vent": ALL_FOUR}
    early = tell("wash", WASH | {"when": "2025-06-01"}, "2025-06-10T23:00:00Z")
    assert len(missing(at_risk([hail(), early], "wash", again)[0])) == 2


def test_a_torn_edge_that_an_earlier_repair_took_is_not_warned_of_again():
    """The tear still stands open on record, for the patch did not settle it."""
    patched = tell("repair", PATCH, "2025-06-20T23:00:00Z")
    again = PATCH | {"when": "2026-04-01"}
    assert at_risk(branch_strike(), "repair", again, "2026-04-02") != ()
    assert at_risk([*branch_strike(), patched], "repair", again, "2026-04-02") == ()
    dried = tell("repair", PATCH | {"what": "dry-out"}, "2025-06-20T23:00:00Z")
    assert at_risk([*branch_strike(), dried], "repair", again, "2026-04-02") != ()


def test_what_was_found_of_it_after_that_repair_has_an_edge_of_its_own():
    patched = tell("repair", PATCH, "2025-06-20T23:00:00Z")
    torn = finding("f9", "field-mr", 4, type="D12", attribution=["i1"])
    seen = look("2025-06-25", {"field-mr": 4}, body={"findings": [torn]})
    told = [*branch_strike(), patched, seen]
    assert at_risk(told, "repair", PATCH | {"when": "2025-06-28"}) != ()


def test_only_the_zones_that_are_washed_need_their_pictures():
    (risk,) = at_risk([hail()], "wash", WASH | {"zones": ["vent", "rail-left"]})
    assert missing(risk) == {"vent": ALL_FOUR}


def test_with_the_photo_set_and_a_close_picture_of_the_spatter_a_wash_may_go_on():
    told = [hail(), pictured("skylight", spot="spatter on the flange"), pictured("vent")]
    assert at_risk(told, "wash", WASH) == ()


def test_the_photo_set_without_the_spatter_is_not_enough():
    (risk,) = at_risk([hail(), pictured("skylight", "vent")], "wash", WASH)
    assert (risk.spatter, risk.zones) == (True, ())


@pytest.mark.parametrize("more", [{"type": "D24"}, {"seen": ["hail-spatter"]}])
def test_a_close_picture_of_a_hail_finding_shows_the_spatter(more):
    seen = look(
        "2025-06-09",
        {"skylight": 2, "vent": 2},
        body={"findings": [finding("f1", grade=2, **more)]},
    )
    told = [hail(), seen, pictured("skylight", finding="f1"), pictured("vent")]
    assert at_risk(told, "wash", WASH) == ()


def test_a_wide_picture_of_the_spatter_is_none():
    told = [hail(), pictured("skylight", roles=["wide"], spot="spatter")]
    (risk,) = at_risk(told, "wash", WASH)
    assert risk.spatter
    assert missing(risk)["skylight"] == ["middle", "close", "close-scale"]


# Which pictures count


def test_a_picture_from_before_the_incident_or_from_after_the_deed_shows_nothing_of_it():
    told = [hail(zones=["vent"]), pictured("vent", day="2025-06-01", logged="2025-06-09T23:00:00Z")]
    assert missing(at_risk(told, "wash", WASH)[0]) == {"vent": ALL_FOUR}
    told = [hail(zones=["vent"]), pictured("vent", day="2025-06-25")]
    assert missing(at_risk(told, "wash", WASH)[0]) == {"vent": ALL_FOUR}
    assert missing(at_risk(told, "wash", WASH | {"when": "2025-06-26"})[0]) == {}


def test_a_picture_without_a_clock_counts_if_it_names_the_incident():
    def sealed(**more):
        files = [photo(None, name=f"{r}.jpg", zone="vent", role=r, **more) for r in ALL_FOUR]
        return tell("photos", {}, "2025-06-09T23:00:00Z", files=files)

    incident = hail(zones=["vent"])
    assert missing(at_risk([incident, sealed()], "wash", WASH)[0]) == {"vent": ALL_FOUR}
    assert missing(at_risk([incident, sealed(incidents=["i1"])], "wash", WASH)[0]) == {}


# A lasting repair or a reseal


@pytest.mark.parametrize(("kind", "body"), [("repair", PATCH), ("reseal", RESEAL)])
def test_a_repair_or_reseal_asks_for_pictures_and_the_adjuster(kind, body):
    (risk,) = at_risk(branch_strike(), kind, body)
    assert (risk.lost, risk.adjuster, missing(risk)) == (Lost.EDGE, True, {"field-mr": ALL_FOUR})
    assert at_risk([*branch_strike(), pictured("field-mr"), REPLY], kind, body) == ()


def test_a_notice_sent_a_question_or_an_answer_after_the_deed_is_no_answer():
    query = REPLY | {"body": REPLY["body"] | {"type": "query"}}
    late = REPLY | {
        "body": REPLY["body"] | {"when": "2025-06-25"},
        "logged": "2025-06-25T23:00:00Z",
    }
    for answer in (query, late):
        (risk,) = at_risk([*branch_strike(), pictured("field-mr"), answer], "repair", PATCH)
        assert (risk.adjuster, risk.zones) == (True, ())


def test_a_look_by_the_insurer_is_as_good_as_an_answer():
    seen = look("2025-06-12", {"field-mr": 4}) | {"by": "insurer"}
    assert at_risk([*branch_strike(), pictured("field-mr"), seen], "repair", PATCH) == ()


def test_a_repair_elsewhere_and_drying_out_are_not_held_up():
    assert at_risk(branch_strike(), "repair", PATCH | {"zones": ["vent"]}) == ()
    assert at_risk(branch_strike(), "repair", PATCH | {"what": "dry-out"}) == ()


def test_a_zone_of_a_finding_that_names_the_incident_is_one_of_its_zones():
    stain = finding("f9", "ceiling", 4, attribution=["i1"])
    seen = look("2025-06-10", {"ceiling": 4}, body={"means": "inside", "findings": [stain]})
    (risk,) = at_risk([*branch_strike(), seen], "repair", PATCH | {"zones": ["ceiling"]})
    assert missing(risk) == {"ceiling": ALL_FOUR}


# When an incident stands open, and when it lies behind the deed


def test_once_what_it_left_is_settled_nothing_is_held_up():
    mended = tell("repair", PATCH | {"settles": ["f3"]}, "2025-06-20T23:00:00Z")
    again = PATCH | {"when": "2025-06-28"}
    assert at_risk([*branch_strike(), mended], "repair", again) == ()


def test_a_look_that_finds_nothing_closes_an_incident():
    told = [hail(), look("2025-06-09", {"skylight": 0, "vent": 0})]
    assert at_risk(told, "wash", WASH) == ()
    half = [hail(), look("2025-06-09", {"skylight": 0})]
    assert len(at_risk(half, "wash", WASH)) == 1


@pytest.mark.parametrize("when", ["2025-06-07", "2025-06-08T16:39-05:00"])
def test_a_late_entry_about_a_time_before_the_incident_is_not_held_up(when):
    for kind, body in (("wash", WASH), ("repair", PATCH | {"zones": ["vent"]}), ("custody", LID)):
        assert at_risk([hail()], kind, body | {"when": when}) == ()


def test_what_may_have_been_done_after_it_is_held_up():
    assert at_risk([hail()], "wash", WASH | {"when": "2025-06-08"})
    assert at_risk([hail()], "wash", WASH | {"when": "2025-06"})


def test_a_withdrawn_incident_holds_nothing_up():
    gone = tell("correction", {"of": 6, "withdraw": True, "why": "x"}, "2025-06-09T12:00:00Z")
    assert at_risk([hail(), gone], "wash", WASH) == ()


# A part


def kept(item="vent lid", **more):
    body = {"when": "2025-06-09", "item": item, "action": "kept", **more.pop("body", {})}
    return tell("custody", body, "2025-06-09T23:00:00Z", **more)


def test_a_part_is_not_thrown_away_unpictured_and_unanswered():
    (risk,) = at_risk([hail()], "custody", LID)
    assert (risk.lost, risk.part, risk.adjuster) == (Lost.PART, PHOTO_SET[2:], True)


def test_keeping_or_sending_a_part_takes_nothing_away():
    assert at_risk([hail()], "custody", LID | {"action": "kept"}) == ()
    assert at_risk([hail()], "custody", LID | {"action": "sent"}) == ()


def test_a_part_that_is_pictured_and_answered_for_may_go():
    files = [photo(None, name=f"{role}.jpg", role=role) for role in ("close", "close-scale")]
    told = [hail(), kept("Vent lid", files=files, body={"incidents": ["i1"]}), REPLY]
    assert at_risk(told, "custody", LID) == ()


def test_a_part_of_the_incident_is_kept_beyond_its_repair():
    mended = tell("repair", PATCH | {"settles": ["f3"]}, "2025-06-20T23:00:00Z")
    told = [*branch_strike(), kept(body={"incidents": ["i1"]}), mended]
    (risk,) = at_risk(told, "custody", LID | {"when": "2025-06-28"})
    assert risk.lost is Lost.PART
    assert at_risk(told, "custody", LID | {"when": "2025-06-28", "item": "old hose"}) == ()


def test_a_part_of_another_incident_is_not_one_of_this():
    other = hail("wind", ["vent"])
    other["body"] |= {"id": "i2"}
    told = [hail(), other, kept(body={"incidents": ["i2"]})]
    assert [risk.incident for risk in at_risk(told, "custody", LID)] == ["i2"]


# What is never held up


@pytest.mark.parametrize("kind", ["cover", "inspection", "treatment"])
def test_covering_looking_and_treating_take_nothing_away(kind):
    bodies = {
        "cover": {"when": "2025-06-20", "zones": ["vent"], "what": "tarp"},
        "inspection": look("2025-06-20", {"vent": 0})["body"],
        "treatment": WASH | {"product": "uv", "treats": "uv"},
    }
    assert kind in BODIES
    assert at_risk([hail()], kind, bodies[kind]) == ()


def test_without_an_incident_nothing_is_held_up():
    for kind, body in (("wash", WASH), ("repair", PATCH), ("reseal", RESEAL), ("custody", LID)):
        assert at_risk([look("2025-05-30")], kind, body) == ()

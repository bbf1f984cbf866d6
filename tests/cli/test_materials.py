"""`materials`: what fits a place, and how many tubes."""

import pytest

from tests.making import ZONES


def test_a_place_without_a_case_takes_what_is_typed(run):
    ran = run(
        "materials", "--surface", "tpo", "--slope", "flat", "--size", "14x22in", "--spots", "8"
    )
    assert ran.code == 0, ran.err
    assert "Y self-levelling lap sealant; reckoned with below" in ran.said
    assert "N silicone:" in ran.said
    assert "flat cap 1 in × 1/4 in around it, 72 in (1829 mm), 295 ml (10 fl oz)" in ran.said
    assert "8 dots of 3/4 in × 1/4 in" in ran.said
    assert "with 15 % for waste" in ran.said
    assert "Not on this surface: Solvents, abrasives and a stiff brush." in ran.said
    assert "give off vapour" in ran.said


def test_a_case_says_surface_slope_size_and_old_bead(own, run):
    """The skylight of 560 × 560 mm: once round 2240 mm, 1 × ¼ in: 361.3 ml, 415.5 with waste."""
    reseal = ("when=2025-03-01", "zones=skylight-1", "extent=strip", "family=self-levelling")
    lot = ("product=lap", "lot=A1", "expires=2025-04-30")
    assert run("enter", own, "reseal", *reseal, *lot).code == 0
    ran = run("materials", own, "--zone", "skylight-1")
    assert ran.code == 0, ran.err
    assert "EPDM rubber, flat; old bead: self-levelling lap sealant." in ran.said
    assert "Lay over the old bead" in ran.said
    assert "361 ml" in ran.said
    assert "Past its day: lap, lot A1, 30 April 2025 (entry 7)" in ran.said
    document = run("materials", own, "--zone", "skylight-1", "--json").json
    (quantity,) = document["quantities"]
    assert (quantity["net_ml"], quantity["gross_ml"]) == ("361.3", "415.5")
    assert {row["label"]: row["count"] for row in quantity["tubes"]} == {
        "tube of 10.1 fl oz": 2, "tube of 10.3 fl oz": 2, "tube of 300 ml": 2, "tube of 310 ml": 2,
        "sausage of 20 fl oz": 1, "sausage of 600 ml": 1,
    }  # fmt: skip


def test_what_does_not_suit_is_answered_with_what_does(own, run):
    ran = run("materials", own, "--zone", "skylight-1", "--family", "silicone")
    assert ran.code == 0, ran.err
    assert "Asked for:" in ran.out
    assert "Suits it, too:" in ran.out
    assert "no sealant to reckon with" in ran.said
    assert "Any one of these" not in ran.said


def test_places_of_one_kind_are_told_once(own, run):
    ran = run("materials", own, "--zone", "rail-left", "--zone", "rail-right")
    assert "Left rail (rail-left) and Right rail (rail-right)" in ran.lines
    assert ran.out.count("Suits it:") == 1
    assert ran.said.count("the length of its bead is not on record; measure it") == 2


def test_all_takes_every_place_that_has_a_bead(own, run):
    names = [row["name"] for row in run("materials", own, "--zone", "all", "--json").json["places"]]
    assert "Skylight (skylight-1)" in names
    assert not any("field" in name for name in names)


def test_a_tube_past_its_day_is_named(run):
    typed = ("--surface", "tpo", "--slope", "flat", "--length", "8ft", "--on", "2025-06-01")
    assert "the tube in your hand" in run("materials", *typed, "--expires", "2025-05-31").said
    assert "the tube in your hand" not in run("materials", *typed, "--expires", "2025-06-01").said


def test_millimetres_and_an_own_tube_do_as_well(run):
    typed = ("--surface", "epdm", "--slope", "vertical", "--length", "2.4m", "--profile", "fillet")
    document = run(
        "materials", *typed, "--bead", "10mm", "--tube", "300ml", "--waste", "0", "--json"
    ).json
    (quantity,) = document["quantities"]
    assert (quantity["family"], quantity["net_ml"]) == ("non-sag", "120")
    assert quantity["tubes"] == [
        {"label": "tube of 300 ml", "ml": "300", "count": 1, "used": "0.4"}
    ]


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (("--surface", "tpoo"), "Did you mean 'tpo'?"),
        (("--family", "unknown"), "--family 'unknown'"),
        (("--slope", "steep"), "--slope 'steep'"),
        (("--bead", "3/8"), "--bead '3/8': has no unit"),
        (("--slope", "flat", "--surface", "tpo", "--bead", "3/8in"), "needs two sides"),
        (("--size", "14x22"), "has no unit"),
        (("--length", "0mm"), "--length '0mm': is nothing"),
        (("--tube", "0ml"), "--tube '0ml': is nothing"),
        (("--tube", "10in"), "--tube '10in': is no volume"),
        (("--waste", "101"), "--waste '101'"),
        (("--spots", "-1"), "--spots"),
        (("--expires", "31.5.2025"), "is not a date"),
        (("--type", "Z99"), "--type 'Z99'"),
        (("--zone", "skylight-1"), "needs the CASE"),
        (("--diameter", "4in", "--size", "1x2in"), "--diameter: does not go with --size"),
        (("--length", "8ft", "--size", "1x2in"), "--length: does not go with --size"),
        (("--tube", "300ml", "--tube", "10oz"), "--tube is given 2 times"),
        (("--dot", "1x1/4in"), "--dot: needs --spots"),
        (("--extent", "spot", "--length", "8ft"), "--length: does not go with --extent spot"),
        (("--type", "Z25"), "no bead belongs there"),
    ],
)
def test_what_cannot_be_taken_is_refused_by_name(run, arguments, named):
    ran = run("materials", *arguments)
    assert ran.code == 2
    assert named in ran.err


def test_a_case_needs_a_zone_that_it_has(own, run):
    none = run("materials", own)
    assert none.code == 2
    assert "Known: all, front-strip" in none.err
    assert run("materials", own, "--zone", "nowhere").code == 2


def test_a_size_is_of_one_zone_and_the_kind_of_place_is_the_cases(own, run):
    two = run("materials", own, "--zone", "rail-left", "--zone", "rail-right", "--size", "1x2in")
    assert (two.code, "--size: is of one place" in two.err) == (2, True)
    assert run("materials", own, "--zone", "all", "--length", "8ft").code == 2
    kind = run("materials", own, "--zone", "rail-left", "--type", "Z11")
    assert (kind.code, "--type: does not go with a CASE" in kind.err) == (2, True)


def test_all_names_every_zone_that_it_leaves_out_and_why(own, run):
    ran = run("materials", own, "--zone", "all")
    assert "Field, middle left (field-ml): the length of a bead does not follow" in ran.said
    assert "Left rail (rail-left): the length of its bead is not on record" in ran.said
    assert "The count above is without them." in ran.said
    document = run("materials", own, "--zone", "all", "--json").json
    left = {row["name"] for row in document["left_out"]}
    reckoned = {row["name"] for row in document["places"] if row["runs"]}
    assert left.isdisjoint(reckoned)
    assert len(left) + len(reckoned) == len(ZONES)


def test_an_overlay_over_another_family_is_answered_first_of_all_with_to_strip(run):
    typed = ("--surface", "epdm", "--slope", "flat", "--length", "8ft", "--extent", "overlay",
             "--old-family", "silicone", "--family", "self-levelling")  # fmt: skip
    ran = run("materials", *typed)
    first = next(line for line in ran.lines if line.startswith("  "))
    assert first.startswith("  Strip the old bead; do not lay over it")
    assert "reckoned with" not in ran.said.partition("How much")[0]
    assert run("materials", *typed, "--json").json["places"][0]["asked"]["fit"] == "N"


@pytest.mark.parametrize(
    ("typed", "shown"),
    [("30m", "30 m (98.4 ft)"), ("8ft", "8 ft (2438 mm)"), ("3/8in", "3/8 in (10 mm)"),
     ("300mm", "300 mm (11.8 in)"), ("50cm", "50 cm (19.7 in)")],
)  # fmt: skip
def test_a_length_comes_back_in_the_unit_in_which_it_was_typed(run, typed, shown):
    ran = run("materials", "--surface", "tpo", "--slope", "flat", "--length", typed)
    assert f"as given, {shown}," in ran.said

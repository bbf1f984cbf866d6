"""`moisture`: one reading, or every spot of a case."""

import pytest

READING = ("--value", "18.5", "--air", "68F", "--humidity", "65", "--reference", "11")


def enter_reading(run, case, when, value, *more):
    ran = run(
        "enter", case, "reading", f"when={when}", "zone=field-ml", "spot=left",
        f"value_pct10={value}", "scale=wood-mc", "meter=pin", "temp_dC=200", "humidity_pct=65",
        *more,
    )  # fmt: skip
    assert ran.code == 0, ran.err


def test_one_reading_beside_the_dry_place_and_the_air(run):
    ran = run("moisture", *READING)
    assert ran.code == 0, ran.err
    assert ran.lines[0] == "18.5 %, test again [caravan magazine]"
    assert "Evidence: 7.5 points above a dry place on the same day (11.0)." in ran.said
    assert "wood comes to in air of 68 °F, 65 % (12.0 %)" in ran.said
    assert "The species of the wood" in ran.said
    assert "As if at room temperature" not in ran.said


def test_corrections_stand_beside_the_reading_only_where_asked_for(run):
    said = run("moisture", *READING, "--correct").said
    assert said.count("As if at room temperature, by the rule ") == 3
    assert all(
        f"by the rule {n}:" in said for n in ("kiln manual", "meter manual", "Pfaff and Garrahan")
    )
    assert "the reading as taken stands" in said
    assert "No published rule" in run("moisture", *READING, "--meter", "pinless", "--correct").said


def test_a_relative_scale_has_no_per_cent(run):
    said = run("moisture", "--value", "60", "--scale", "relative").said
    assert said.startswith("60.0 on the meter's own scale")
    assert "no band" in said


def test_a_program_is_given_figures_as_decimal_text(run):
    document = run("moisture", *READING, "--json").json
    assert (document["value"], document["emc"], document["over_reference"]) == (
        "18.5",
        "12.0",
        "7.5",
    )
    assert document["band"] == "re-test"
    assert document["corrected"]["meter"] == "18.5"
    assert {"text", "source"} == set(document["cannot_tell"][0])


def test_a_case_shows_every_spot_with_its_trend(own, run):
    enter_reading(run, own, "2025-03-01", 110, "reference_pct10=105")
    enter_reading(run, own, "2025-05-01", 160, "reference_pct10=107")
    ran = run("moisture", own)
    assert ran.code == 0, ran.err
    assert "Field, middle left (field-ml): left" in ran.lines
    assert "Trend: rising; the reading went by +5.0 points over 61 days (entries " in ran.said
    assert "Above the dry place it went by +4.8 points." in ran.said
    assert "air of 68 °F" in ran.said
    assert "air of 20 °C" in run("moisture", own, "--celsius").said
    (spot,) = run("moisture", own, "--json").json["spots"]
    assert spot["trend"] == {
        "from": spot["readings"][0]["seq"], "to": spot["readings"][1]["seq"], "days": [61, 61],
        "change": "5.0", "over_reference": "4.8", "way": "rising",
    }  # fmt: skip


def test_a_spot_that_nobody_read_is_refused_with_those_that_were(own, run):
    assert "spot 'right': is no spot that was read" in run("moisture", own, "--spot", "right").err
    enter_reading(run, own, "2025-03-01", 110)
    ran = run("moisture", own, "--spot", "right")
    assert (ran.code, ran.err.splitlines()[-1]) == (2, "Known: left.")
    elsewhere = run("moisture", own, "--zone", "skylight-1", "--spot", "left")
    assert "is no spot that was read in skylight-1" in elsewhere.err
    assert "No such reading is on record." in run("moisture", own, "--zone", "skylight-1").out


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        ((), "has nothing to read"),
        (("--air", "68F"), "has nothing to read"),
        (("--value", "wet"), "--value 'wet'"),
        (("--value", "18.55"), "--value '18.55'"),
        (("--value", "18,5"), "--value '18,5'"),
        (("--value", "18", "--air", "68"), "--air '68': has no unit"),
        (("--value", "18", "--meter", "pim"), "Did you mean 'pin'?"),
        (("--value", "18", "--humidity", "101"), "--humidity '101'"),
        (("--value", "18", "--air", "-300C"), "is below absolute zero"),
        (("--value", "18", "--air", "-61C"), "lies outside"),
        (("--value", "18", "--zone", "x"), "--zone: needs the CASE"),
        (("--value", "18", "--spot", "x"), "--spot: needs the CASE"),
        (("--value", "18", "--on", "2025-01-01"), "--on: needs the CASE"),
        (("--value", "18", "--value", "19"), "--value is given 2 times"),
    ],
)
def test_what_cannot_be_taken_is_refused_by_name(run, arguments, named):
    ran = run("moisture", *arguments)
    assert ran.code == 2
    assert named in ran.err


def test_a_case_has_its_own_readings(own, run):
    ran = run("moisture", own, "--value", "18")
    assert ran.code == 2
    assert "--value: does not go with a CASE" in ran.err
    assert run("moisture", own, "--zone", "nowhere").code == 2
    assert "--meter: does not go with a CASE" in run("moisture", own, "--meter", "pin").err

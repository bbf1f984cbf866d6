"""`dryness`: go, wait or no, and its figures taken into a reseal."""

import json

import pytest

from tests.cli.conftest import last

FINE = ("--air", "68F", "--surface", "75F", "--humidity", "60")
AT = ("--at", "2025-06-01T10:00")


def test_go_with_every_figure_in_the_unit_that_was_typed(run):
    ran = run("dryness", *FINE, "--last-wet", "36h", "--next-rain", "48h")
    assert ran.code == 0, ran.err
    assert ran.lines[0] == "Go: every rule below is met."
    assert "Air 68 °F at 60 %" in ran.said
    assert "the rule is at least 5 °F" in ran.said
    assert "36 h ago" in ran.said
    assert "°C" not in ran.said.partition("What this does not tell")[0]


def test_wait_and_no_say_why(run):
    wait = run("dryness", *FINE, "--last-wet", "6h", "--next-rain", "none")
    assert wait.lines[0].startswith("Wait: ")
    assert "wait another 18 h" in wait.said
    no = run("dryness", "--air", "20C", "--surface", "14C", "--humidity", "70")
    assert no.lines[0].startswith("No: ")
    assert "too near the temperature at which dew forms" in no.said
    assert "nobody said; find out" in no.said


def test_it_says_what_it_cannot_tell_and_the_cautions(run):
    said = run("dryness", *FINE).said
    assert "condensation only" in said
    assert "The sealant's label comes before every figure here." in said
    assert "give off vapour" in said
    assert "Set the ladder's foot out by a quarter" in said
    assert said.endswith("Not legal or insurance advice.")


def test_it_never_says_that_a_place_is_dry(run):
    for surface in ("50F", "75F"):
        ran = run("dryness", "--air", "68F", "--surface", surface, "--humidity", "60")
        assert not {"is dry", "dry."} & set(ran.said.partition("What this")[0].split())
        assert "dry" not in ran.said.partition("What this does not tell")[0].lower()


def test_a_program_is_given_the_fields_of_a_reseal(run):
    document = run("dryness", *FINE, "--last-wet", "36h", "--next-rain", "none", "--json").json
    assert document["answer"] == "go"
    fields = document["fields"]
    assert (fields["air_dC"], fields["surface_dC"], fields["humidity_pct"]) == (200, 239, 60)
    assert "next_rain" not in fields
    assert {"name", "figure", "rule", "held", "reason", "source"} == set(document["checks"][0])


def test_the_answer_goes_into_the_reseal_entry(own, run, tmp_path):
    into = tmp_path / "air.json"
    wet = ("--last-wet", "2025-05-30T08:00", "--next-rain", "2025-06-03")
    checked = ("--checked", "paper towel stayed clean")
    ran = run("dryness", own, *FINE, *AT, *wet, *checked, "--into", into)
    assert ran.code == 0, ran.err
    assert f"--from {into}" in ran.out
    fields = ("when=2025-06-01T11:00", "zones=skylight-1", "extent=strip", "family=self-levelling")
    written = run("enter", own, "reseal", *fields, "--from", into)
    assert written.code == 0, written.err
    body = last(own)["body"]
    assert (body["air_dC"], body["surface_dC"], body["humidity_pct"]) == (200, 239, 60)
    assert body["last_wet"] == "2025-05-30T08:00-05:00"
    assert body["next_rain"] == "2025-06-03"
    assert body["dry_check"] == "paper towel stayed clean; go: every rule met"


def test_hours_are_counted_from_the_reading_in_the_rigs_own_time(own, run):
    """A day is as wide as it is: 14:00 less a whole day before lies 14 to 38 hours back."""
    document = run(
        "dryness", own, *FINE, "--at", "2025-06-02T14:00", "--last-wet", "2025-06-01", "--json"
    ).json
    check = document["checks"][3]
    assert (check["figure"], check["held"]) == ("14 to 38 h ago", "undecided")


def test_a_file_of_another_kind_is_not_replaced(run, tmp_path):
    into = tmp_path / "air.json"
    assert run("dryness", *FINE, "--into", into).code == 0
    assert run("dryness", *FINE, "--into", into).code == 0
    into.write_text(json.dumps({"body": {}}), encoding="utf-8")
    ran = run("dryness", *FINE, "--into", into)
    assert (ran.code, into.read_text(encoding="utf-8")) == (2, '{"body": {}}')
    assert run("dryness", *FINE, "--into", tmp_path / "no" / "air.json").code == 2


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (("--air", "68", "--surface", "75F", "--humidity", "60"), "--air '68': has no unit"),
        (("--air", "20,5C", "--surface", "75F", "--humidity", "60"), "write a point"),
        (("--air", "68F", "--surface", "3in", "--humidity", "60"), "--surface '3in'"),
        (("--air", "68F", "--surface", "75F", "--humidity", "0"), "--humidity '0'"),
        (("--air", "68F", "--surface", "75F", "--humidity", "60.5"), "--humidity '60.5'"),
        (("--air", "68F"), "--surface"),
        ((*FINE, "--last-wet", "2025-06-01"), "is a day without a place"),
        ((*FINE, "--last-wet", "soon"), "--last-wet 'soon'"),
        ((*FINE, "--at", "36h"), "--at '36h'"),
        ((*FINE, "--last-wet", "2999-01-01T10:00Z"), "--last-wet"),
        ((*FINE, "--next-rain", "2001-01-01T10:00Z"), "lies before the reading"),
        ((*FINE, "--last-wet", "none"), "--last-wet 'none'"),
        ((*FINE, "--last-wet", "36"), "--last-wet '36': has no unit"),
        ((*FINE, "--last-wet", "-3h"), "hours are counted before the reading as it is"),
        ((*FINE, "--next-rain", "1.5h"), "is no whole number of hours"),
        ((*FINE, "--air", "70F"), "--air is given 2 times"),
        ((*FINE[2:], "--air", "-243.04C"), "lies outside -60 °C to 60 °C"),
        ((*FINE[2:], "--air", "-300C"), "is below absolute zero"),
        ((*FINE[2:], "--air", "50000F"), "lies outside -76 °F to 140 °F"),
        ((*FINE[:2], *FINE[4:], "--surface", "-500C"), "is below absolute zero"),
        ((*FINE[:2], *FINE[4:], "--surface", "101C"), "lies outside -60 °C to 100 °C"),
        ((*FINE, "--label", "40F..300F"), "lies outside"),
        ((*FINE, "--label", "100F..40F"), "ends below its start"),
        ((*FINE, "--label", "40F"), "is no window"),
        ((*FINE, "--catalogue", "nowhere.toml"), "nowhere.toml: cannot be read"),
    ],
)
def test_what_cannot_be_taken_is_refused_by_name(run, arguments, named):
    ran = run("dryness", *arguments)
    assert ran.code == 2
    assert named in ran.err
    assert len(ran.err.splitlines()) <= 3


def test_a_case_that_is_not_there_is_refused(run, tmp_path):
    assert run("dryness", tmp_path / "none", *FINE).code in (2, 3)


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ((), "joint not checked; wait: last wet not said, rule at least 24 h ago: undecided"),
        (
            ("--last-wet", "3h", "--next-rain", "none", "--checked", "looked with a lamp"),
            "looked with a lamp; wait: last wet 3 h ago, rule at least 24 h ago: not met",
        ),
        (
            ("--last-wet", "3h", "--next-rain", "2h"),
            "joint not checked; no: next rain 2 h ahead, rule at least 24 h ahead: not met",
        ),
    ],
)
def test_the_record_is_told_what_a_person_checked_and_the_rule_that_decided(run, more, said):
    assert run("dryness", *FINE, *more, "--json").json["fields"]["dry_check"] == said


def test_the_fields_never_go_among_the_files_of_a_case(own, run):
    before = (own / "ledger.sqlite").read_bytes()
    assert run("dryness", own, *FINE, "--into", own / "ledger.sqlite").code == 2
    assert run("dryness", own, *FINE, "--into", own / "air.json").code == 2
    assert (own / "ledger.sqlite").read_bytes() == before

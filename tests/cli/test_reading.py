"""`due`, `schema` and `export`: what can be read out of the record."""

import csv
import json
import re

import pytest

from evidence.case import Draft, Record
from evidence.entries import BODIES
from evidence.trade import load_catalogue
from evidence.upkeep import what_is_due
from tests.cli.conftest import ON, OWNER, last, measured
from tests.making import RIG, ZONES, picture

# What is due


def test_what_is_due_stands_in_order_of_date_with_its_zones_rule_and_ways(built, run):
    ran = run("due", built, "--on", ON)
    assert ran.code == 0
    heads = [line for line in ran.lines if re.match(r"\d+ \w+ 2025", line)]
    assert heads == [
        "5 June 2025, 151 days over: act on what was found at Skylight",
        "9 June 2025, 147 days over: act on what was found at Field, middle right",
        "18 November 2025: look at every bead",
    ]
    assert "Hole or tear, grade 4, seen in entry 14; usual remedy: cover the same day" in ran.said
    assert "Every 90 days, by Care booklet, 2023 edition, p. 14." in ran.said
    assert "All zones." in ran.said
    assert "By any of these: on roof, ladder, platform, pole camera or drone." in ran.said


def test_nothing_more_is_said_of_a_thing_than_what_is_measured(built, run):
    document = run("due", built, "--on", ON, "--json").json
    rows = what_is_due(measured(built), load_catalogue())
    assert [(row["task"], row["by"], row["overdue"]) for row in document] == [
        (row.task, row.by.isoformat(), list(row.overdue)) for row in rows
    ]


def test_due_answers_a_program_with_the_keys_of_the_contract(built, run):
    document = run("due", built, "--on", ON, "--json").json
    keys = {
        "task",
        "zones",
        "by",
        "rule",
        "basis",
        "authority",
        "why",
        "overdue",
        "ways",
        "cautions",
    }
    assert all(keys <= row.keys() for row in document)
    assert [row["by"] for row in document] == sorted(row["by"] for row in document)
    (look,) = (row for row in document if row["task"] == "inspection")
    assert (look["rule"], look["basis"], look["by"]) == ("look-90", "paper-on-file", "2025-11-18")
    assert look["overdue"] == [0, 0]
    assert look["zones"] == [zone["id"] for zone in ZONES]


def test_the_day_after_it_is_due_it_is_one_day_over(built, run):
    assert "18 November 2025: look at every bead" in run("due", built, "--on", "2025-11-18").out
    assert "18 November 2025, 1 day over: look at every bead" in (
        run("due", built, "--on", "2025-11-19").out
    )


def test_the_cautions_that_go_with_it_are_told_once_and_the_footer_last(built, run):
    ran = run("due", built, "--on", ON)
    catalogue = load_catalogue()
    told = [row.text for row in catalogue.cautions.values() if row.text in ran.said]
    assert len(told) >= 6
    assert all(ran.said.count(text) == 1 for text in told)
    assert ran.said.endswith(catalogue.footer)
    assert ran.said.index("Before anybody climbs") > ran.said.index("18 November 2025")


def test_nearly_all_zones_are_told_by_those_that_are_left_out(own, run):
    grades = ",".join(f"{zone['id']}:0" for zone in ZONES if zone["id"] != "vent-1")
    run("enter", own, "inspection", "when=2026-01-10", "means=on-roof", "occasion=routine",
        f"zones={grades}")  # fmt: skip
    assert "All zones but Ceiling vent." in run("due", own).said


def test_a_rule_that_is_not_required_is_shown_and_not_counted(own, run):
    run("enter", own, "rule", "id=wash-365", "task=wash", "days=365", "authority=my own",
        "basis=owners-own", "applies_from=2025-01-01", "required=no")  # fmt: skip
    assert "wash the roof (not counted)" in run("due", own).out


def test_a_sample_says_that_it_is_one_and_a_case_of_ones_own_does_not(built, own, run):
    for command in (("due",), ("standing",), ("zone", "vent-1")):
        name, *more = command
        assert "This is a sample: an invented case." in run(name, built, *more).out
        assert "sample" not in run(name, own, *more).out


def test_without_rules_and_findings_nothing_is_due(tmp_path, run):
    from evidence.starting import start

    first = [Draft("party", OWNER, "owner"), Draft("rig", RIG, "owner")]
    start(tmp_path / "bare", title="Bare", first=first, store=None, passphrase=None, sample=True)
    ran = run("due", tmp_path / "bare")
    assert "Nothing is due" in ran.said
    assert "Before anybody climbs" not in ran.out


@pytest.mark.parametrize("command", ["due", "standing"])
def test_a_day_that_is_none_or_before_the_record_is_refused(command, built, run):
    ran = run(command, built, "--on", "3.11.2025")
    assert (ran.code, "is not a date" in ran.err) == (2, True)
    ran = run(command, built, "--on", "2024-01-01")
    assert (ran.code, len(ran.err.splitlines()) <= 3) == (2, True)


# The schema of an entry


def resolved(schema: dict, ref: str) -> object:
    place: object = schema
    for step in ref.removeprefix("#/").split("/"):
        assert isinstance(place, dict)
        place = place[step]
    return place


def refs(node: object) -> list[str]:
    if isinstance(node, dict):
        own_refs = [node["$ref"]] if "$ref" in node else []
        return own_refs + [ref for inner in node.values() for ref in refs(inner)]
    return [ref for inner in node for ref in refs(inner)] if isinstance(node, list) else []


def types(node: object) -> set[str]:
    if isinstance(node, dict):
        given = node.get("type")
        own_type = {given} if isinstance(given, str) else set()
        return own_type.union(*(types(inner) for inner in node.values()))
    return set().union(*(types(inner) for inner in node)) if isinstance(node, list) else set()


@pytest.mark.parametrize("kind", BODIES)
def test_the_schema_of_a_kind_names_its_fields_and_those_it_needs(kind, run):
    schema = run("schema", kind).json
    fields = BODIES[kind].model_fields
    assert schema["type"] == "object"
    assert schema["additionalProperties"] is False
    assert schema.get("properties", {}).keys() == {f.alias or n for n, f in fields.items()}
    assert set(schema.get("required", [])) == {
        f.alias or n for n, f in fields.items() if f.is_required()
    }
    for ref in refs(schema):
        assert isinstance(resolved(schema, ref), dict)
    assert types(schema.get("properties", {})) <= {
        "array", "boolean", "integer", "null", "number", "object", "string",
    }  # fmt: skip


def test_without_a_kind_the_schema_of_every_kind_is_told(run):
    document = run("schema").json
    assert document.keys() == BODIES.keys()
    assert document["wash"] == run("schema", "wash").json


def test_an_unknown_kind_is_refused_with_the_nearest(run):
    ran = run("schema", "inspektion")
    assert (ran.code, ran.err.splitlines()[-1]) == (2, "Did you mean 'inspection'?")


# Tables


def rows(path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_record_leaves_as_lines_and_tables_that_read_back(built, run, tmp_path):
    ran = run("export", built, "--to", tmp_path / "tables", "--json")
    record = Record.open(built)
    names = ["record.jsonl", "heads.txt", "entries.csv", "files.csv", "looks.csv"]
    assert ran.json == {"files": [str(tmp_path / "tables" / name) for name in names]}
    folder = tmp_path / "tables"
    assert (folder / "record.jsonl").read_bytes().splitlines() == list(record.lines)
    entries = rows(folder / "entries.csv")
    assert [row["sha256"] for row in entries] == [entry.sha256 for entry in record.entries]
    assert [json.loads(row["body"]) for row in entries] == [dict(e.raw) for e in record.entries]
    assert [row["name"] for row in rows(folder / "files.csv") if row["type"] == "image/jpeg"] == [
        "march.jpg", "before.jpg", "after.jpg",
    ]  # fmt: skip
    looks = rows(folder / "looks.csv")
    assert len(looks) == 5 * len(ZONES)
    assert {row["grade"] for row in looks if row["zone"] == "field-mr"} == {"0", "4"}


def test_a_person_is_told_where_the_tables_are(built, run, tmp_path):
    ran = run("export", built, "--to", tmp_path / "t")
    assert ran.code == 0
    assert "entries.csv" in ran.out


@pytest.mark.parametrize("name", ["=1+1.jpg", "+cmd.jpg", "-x.jpg", "@sum.jpg"])
def test_no_cell_is_run_as_a_formula(name, own, run, tmp_path):
    path = picture(tmp_path / "photos" / name, None, None, 90)
    run("intake", own, path)
    assert last(own)["files"][0]["name"] == name
    run("export", own, "--to", tmp_path / "t")
    text = (tmp_path / "t" / "files.csv").read_text(encoding="utf-8")
    assert rows(tmp_path / "t" / "files.csv")[-1]["name"] == f"'{name}"
    assert not re.search(r"(^|,)\"?[=+@-]", text.partition("\n")[2], re.MULTILINE)


def test_a_folder_that_is_a_file_is_refused(built, run, tmp_path):
    (tmp_path / "t").write_text("mine")
    ran = run("export", built, "--to", tmp_path / "t")
    assert ran.code == 2
    assert (tmp_path / "t").read_text() == "mine"

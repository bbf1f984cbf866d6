"""`standing`, `schema` and `export`: what can be read out of the record."""

import csv
import json
import re

import pytest

from evidence.case import Record
from evidence.entries import BODIES
from tests.cli.conftest import last
from tests.making import ZONES, picture


def test_a_sample_says_that_it_is_one_and_a_case_of_ones_own_does_not(built, own, run):
    for command in (("due",), ("standing",), ("zone", "vent-1")):
        name, *more = command
        assert "This is a sample: an invented case." in run(name, built, *more).out
        assert "an invented case" not in run(name, own, *more).said


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

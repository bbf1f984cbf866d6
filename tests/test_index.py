"""`index.sqlite`: tables made from the record, made anew when it has grown or they are damaged."""

import json
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from evidence.case import Draft, Record
from evidence.errors import RefusedError
from evidence.index import TABLES, refresh_index
from evidence.times import parse_day
from evidence.trade import load_catalogue
from evidence.upkeep import as_json, measure
from tests.making import ZONES, story
from tests.tampering import owner_of

AUTUMN = datetime(2025, 9, 1, 12, tzinfo=UTC)


@pytest.fixture
def record(case: Path) -> Record:
    return Record.open(case)


@pytest.fixture
def index(record: Record) -> Path:
    assert refresh_index(record)
    return record.folder / "index.sqlite"


def ask(path: Path, query: str, *values: object) -> list[dict[str, Any]]:
    with closing(sqlite3.connect(path)) as connection:
        connection.row_factory = sqlite3.Row
        return [dict(row) for row in connection.execute(query, values)]


def change(path: Path, statement: str) -> None:
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute(statement)


def write(record: Record, kind: str, **body: Any) -> None:
    record.write([Draft(kind, body, "owner")], owner_of(record.folder), clock=lambda: AUTUMN)


def test_it_holds_the_tables_and_columns_that_it_names(index):
    for name, columns in TABLES.items():
        found = [row["name"] for row in ask(index, "SELECT name FROM pragma_table_info(?)", name)]
        assert found == list(columns)


def test_every_entry_has_its_row(record, index):
    rows = ask(index, "SELECT * FROM entries ORDER BY seq")
    assert [(row["seq"], row["sha256"]) for row in rows] == [
        (entry.seq, entry.sha256) for entry in record.entries
    ]
    look = next(row for row in rows if row["logged"] == "2025-05-30T18:22:07Z")
    assert (look["kind"], look["basis"], look["within_24h"]) == ("inspection", "camera", 1)
    assert json.loads(look["body"])["means"] == "on-roof"
    party = next(row for row in rows if row["kind"] == "party")
    assert (party["earliest"], party["latest"], party["within_24h"]) == (None, None, None)


def test_every_zone_of_every_look_has_its_row(index):
    looks = [told for told in story()["entries"] if told["kind"] == "inspection"]
    rows = ask(index, "SELECT zone, grade FROM looks ORDER BY seq")
    assert len(rows) == len(looks) * len(ZONES)
    assert [row["grade"] for row in rows if row["zone"] == "field-mr"] == [0, 0, 0, 4, 4]


def test_a_look_from_the_ground_is_listed_as_one_that_covers_no_roof(record, index):
    row = {"zone": "field-mr", "grade": 0}
    write(record, "inspection", when="2025-08-31", means="ground", occasion="routine", zones=[row])
    refresh_index(record)
    counted = ask(index, "SELECT means, covers, count(*) AS n FROM looks GROUP BY 1, 2 ORDER BY 1")
    assert [(row["means"], row["covers"]) for row in counted] == [("ground", 0), ("on-roof", 1)]


def test_a_picture_has_its_row_with_what_its_clock_supports(index):
    (row,) = ask(index, "SELECT * FROM photos WHERE name = 'march.jpg'")
    assert (row["capture_rule"], row["zone"]) == ("offset", "field-mr")
    assert row["capture_earliest"] == row["capture_latest"] == "2025-03-07T16:00:00Z"


def test_what_is_no_picture_stands_in_no_row_of_photos(index):
    kinds = ask(index, "SELECT DISTINCT type FROM photos")
    assert all(row["type"].startswith(("image/", "video/")) for row in kinds)


def test_gaps_and_findings_are_those_of_the_standing_on_its_day(record, index):
    (state,) = ask(index, "SELECT * FROM index_state")
    on = parse_day(state["on"])
    document: Any = as_json(measure(record.history(on), load_catalogue(), state["root"]))
    assert (state["size"], state["root"]) == (len(record.lines), record.root_on(on))
    for rule in document["rules"]:
        shown = [
            (gap["zone"], gap["from"], gap["to"], *gap["days"], *gap["over"], int(gap["open"]))
            for gap in rule["gaps"]
        ]
        rows = ask(
            index,
            "SELECT zone, from_day, to_day, days_min, days_max, over_min, over_max, open FROM gaps"
            " WHERE rule = ? AND zone = ? ORDER BY from_day",
            rule["id"],
            rule["gaps"][0]["zone"],
        )
        assert [tuple(row.values()) for row in rows] == shown
    findings = ask(index, "SELECT id, state, act_by, onset_latest FROM findings ORDER BY opened")
    assert [tuple(row.values()) for row in findings] == [
        (row["id"], row["state"], row["act_by"], row["onset"]["latest"])
        for row in document["findings"]
    ]
    assert findings


def test_it_is_left_alone_while_the_record_stands(record, index):
    before = index.stat().st_ino
    assert not refresh_index(record)
    assert index.stat().st_ino == before


def test_it_is_made_anew_when_the_record_has_grown(record, index):
    write(record, "photos", note="nothing else")
    assert refresh_index(record)
    assert ask(index, "SELECT max(seq) AS seq FROM entries") == [{"seq": len(record.lines) - 1}]


def test_a_withdrawn_look_leaves_the_looks_and_stays_among_the_entries(record, index):
    seq = next(entry.seq for entry in record.entries if entry.kind == "inspection")
    write(record, "correction", of=seq, withdraw=True, why="another roof")
    refresh_index(record)
    assert ask(index, "SELECT * FROM looks WHERE seq = ?", seq) == []
    (row,) = ask(index, "SELECT withdrawn_by FROM entries WHERE seq = ?", seq)
    assert row["withdrawn_by"] == len(record.lines) - 1


@pytest.mark.parametrize(
    "statement",
    [
        f"UPDATE index_state SET root = '{'0' * 64}'",
        "UPDATE index_state SET size = size - 1",
        "UPDATE index_state SET layout = layout - 1",
        "UPDATE index_state SET catalogue = 'another'",
        "ALTER TABLE index_state DROP COLUMN root",
        "DELETE FROM index_state",
        "DROP TABLE gaps",
    ],
)
def test_one_of_another_record_layout_or_catalogue_is_made_anew(record, index, statement):
    change(index, statement)
    assert refresh_index(record)
    assert not refresh_index(record)


@pytest.mark.parametrize("at", [0, 0.5])
def test_a_damaged_one_is_made_anew(record, index, at):
    data = bytearray(index.read_bytes())
    start = int(len(data) * at)
    data[start : start + 4096] = b"\xff" * 4096
    index.write_bytes(data)
    assert refresh_index(record)
    assert len(ask(index, "SELECT seq FROM entries")) == len(record.lines)


def test_what_a_crash_left_beside_the_old_one_does_not_reach_the_new_one(record, index):
    index.write_bytes(b"")
    for left in ("-wal", "-shm", "-journal"):
        index.with_name(index.name + left).write_bytes(b"left behind")
    assert refresh_index(record)
    assert sorted(path.name for path in record.folder.glob("*index*")) == ["index.sqlite"]


def test_it_may_be_deleted(record, index):
    data = ask(index, "SELECT * FROM gaps")
    index.unlink()
    assert refresh_index(record)
    assert ask(index, "SELECT * FROM gaps") == data


def test_one_that_cannot_be_written_is_refused_and_leaves_nothing_behind(record):
    (record.folder / "index.sqlite").mkdir()
    with pytest.raises(RefusedError, match="cannot be written"):
        refresh_index(record)
    assert list(record.folder.glob(".index-*")) == []

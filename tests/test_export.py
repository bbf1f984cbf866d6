import csv
import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.errors import RefusedError
from evidence.export import export_record
from evidence.keeping import FileDraft
from evidence.ledger import verify_chain
from tests.making import ZONES, picture, story
from tests.tampering import owner_of

AUTUMN = datetime(2025, 9, 1, 12, tzinfo=UTC)


@pytest.fixture
def record(case: Path) -> Record:
    return Record.open(case)


@pytest.fixture
def out(tmp_path: Path) -> Path:
    return tmp_path / "out"


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_the_record_comes_out_byte_for_byte(record, out):
    paths = export_record(record, out)

    assert [path.name for path in paths] == [
        "record.jsonl",
        "heads.txt",
        "entries.csv",
        "files.csv",
        "looks.csv",
    ]
    assert all(path.is_file() for path in paths)
    lines = (out / "record.jsonl").read_bytes().split(b"\n")
    assert tuple(lines[:-1]) == record.lines
    assert verify_chain(lines[:-1]) == []
    assert (out / "heads.txt").read_text() == "".join(f"{note}\n" for note in record.heads)


def test_every_entry_has_its_row(record, out):
    export_record(record, out)
    rows = table(out / "entries.csv")

    assert [int(row["seq"]) for row in rows] == list(range(len(record.lines)))
    assert [row["sha256"] for row in rows] == [entry.sha256 for entry in record.entries]
    look = next(row for row in rows if row["logged"] == "2025-05-30T18:22:07Z")
    assert (look["kind"], look["by"], look["basis"]) == ("inspection", "owner", "camera")
    assert (look["earliest"], look["latest"]) == ("2025-05-30T17:10:05Z", "2025-05-30T17:10:05Z")
    assert json.loads(look["body"])["means"] == "on-roof"
    party = next(row for row in rows if row["kind"] == "party")
    assert (party["earliest"], party["latest"], party["basis"]) == ("", "", "")


def test_every_file_has_its_row_with_what_its_clock_supports(record, out):
    export_record(record, out)
    rows = {row["name"]: row for row in table(out / "files.csv")}

    assert rows["march.jpg"]["capture_rule"] == "offset"
    assert rows["march.jpg"]["capture_earliest"] == "2025-03-07T16:00:00Z"
    assert rows["march.jpg"]["zone"] == "field-mr"
    assert len(rows) >= 4


def test_every_zone_of_every_look_has_its_row(record, out):
    export_record(record, out)
    looks = [told for told in story()["entries"] if told["kind"] == "inspection"]
    rows = table(out / "looks.csv")

    assert len(rows) == len(looks) * len(ZONES)
    assert [row["grade"] for row in rows if row["zone"] == "field-mr"] == list("00044")


def test_a_look_that_was_withdrawn_is_no_look(record, out):
    seq = next(entry.seq for entry in record.entries if entry.kind == "inspection")
    body = {"of": seq, "withdraw": True, "why": "another roof"}
    record.write(
        [Draft("correction", body, "owner")], owner_of(record.folder), clock=lambda: AUTUMN
    )
    export_record(record, out)

    assert str(seq) not in {row["seq"] for row in table(out / "looks.csv")}
    (row,) = [row for row in table(out / "entries.csv") if row["seq"] == str(seq)]
    assert row["withdrawn_by"] == str(len(record.lines) - 1)


@pytest.mark.parametrize("start", ["=", "+", "-", "@"])
def test_no_cell_is_run_as_a_formula(record, out, tmp_path, start):
    trap = picture(tmp_path / f"{start}cmd.jpg", None, None, 9)
    draft = Draft("photos", {}, "owner", (FileDraft(trap),))
    record.write([draft], owner_of(record.folder), clock=lambda: AUTUMN)
    export_record(record, out)

    assert table(out / "files.csv")[-1]["name"] == f"'{start}cmd.jpg"


def test_a_text_over_several_lines_stays_one_cell(record, out):
    body = {"note": 'one\n"two", three'}
    record.write([Draft("photos", body, "owner")], owner_of(record.folder), clock=lambda: AUTUMN)
    export_record(record, out)

    assert json.loads(table(out / "entries.csv")[-1]["body"]) == body


def test_exporting_twice_gives_the_same_files(record, out, tmp_path):
    first, second = export_record(record, out), export_record(record, tmp_path / "more")

    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]


def test_a_folder_that_cannot_be_written_is_refused(record, tmp_path):
    (tmp_path / "file").write_text("")

    with pytest.raises(RefusedError, match="cannot be written"):
        export_record(record, tmp_path / "file")

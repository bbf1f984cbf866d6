"""What a dossier carries inside: the record, its proof, the cited originals while there is room."""

import json
from hashlib import sha256

import pytest

from evidence.case import Record
from evidence.dossier.contents import contents
from evidence.trade import load_catalogue

ALL = 10**9


def refs(record):
    return [ref for entry in record.entries for ref in entry.files if ref.type == "image/jpeg"]


def carried(case, cited=(), most_bytes=ALL):
    record = Record.open(case)
    return contents(record, standing={"on": "2025-11-03"}, about={"form": "claim"},
                    catalogue=load_catalogue(), cited=cited, most_bytes=most_bytes)  # fmt: skip


def by_name(made):
    return {part.name: part.data for part in made.attachments}


def test_the_record_and_its_proof_are_always_there(built):
    record = Record.open(built)
    parts = by_name(carried(built))
    assert parts["record.jsonl"] == b"".join(line + b"\n" for line in record.lines)
    assert parts["heads.txt"].decode() == "".join(f"{note}\n" for note in record.heads)
    assert json.loads(parts["standing.json"]) == {"on": "2025-11-03"}
    assert b"sha256sum" in parts["HOW-TO-CHECK.txt"]
    assert [name for name in parts if name.startswith("witness-")] == [
        "witness-10.tsr", "witness-12.tsr", "witness-16.tsr",
    ]  # fmt: skip


def test_the_manifest_has_the_sum_of_every_file_and_what_the_pages_are_about(built):
    parts = by_name(carried(built, refs(Record.open(built))))
    manifest = json.loads(parts.pop("manifest.json"))
    assert manifest["catalogue"] == load_catalogue().sha256
    assert manifest["dossier"] == {"form": "claim"}
    assert manifest["files"] == {
        name: {"sha256": sha256(data).hexdigest(), "bytes": len(data)}
        for name, data in parts.items()
    }


def test_cited_originals_go_whole_under_their_sum_and_each_once(built):
    cited = refs(Record.open(built))
    parts = by_name(carried(built, [*cited, *cited]))
    assert {name for name in parts if name.startswith("original-")} == {
        f"original-{ref.sha256}.jpg" for ref in cited
    }
    assert all(sha256(parts[f"original-{r.sha256}.jpg"]).hexdigest() == r.sha256 for r in cited)


@pytest.mark.parametrize("cited", [True, False])
def test_what_does_not_go_is_listed_and_said_to_be_cited_or_not(cited, built):
    pictures = refs(Record.open(built))
    made = carried(built, pictures if cited else (), most_bytes=0)
    rows = json.loads(by_name(made)["manifest.json"])["left_out"]
    told = {row["sha256"]: row["cited"] for row in rows}
    assert [told[ref.sha256] for ref in pictures] == [cited] * 3
    assert made.left_out == (3 if cited else 0)


def test_originals_go_in_the_order_in_which_they_are_cited_while_there_is_room(built):
    first, second, third = refs(Record.open(built))
    made = carried(built, [third, first, second], most_bytes=third.bytes + first.bytes)
    names = [name for name in by_name(made) if name.startswith("original-")]
    assert names == [f"original-{third.sha256}.jpg", f"original-{first.sha256}.jpg"]
    assert made.left_out == 1


def test_an_original_that_the_case_has_lost_is_listed_as_left_out(case):
    cited = refs(Record.open(case))
    (case / "originals" / f"{cited[0].sha256}.jpg").unlink()
    made = carried(case, cited)
    assert made.left_out == 1
    assert f"original-{cited[0].sha256}.jpg" not in by_name(made)

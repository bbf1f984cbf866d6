"""The one door: a dossier leaves whole, with its entry, or not at all."""

import json
from datetime import date
from hashlib import sha256
from io import BytesIO

import pytest
from pypdf import PdfReader

from evidence.case import Draft, Record
from evidence.check import check_path
from evidence.check.report import Result
from evidence.dossier import issue as door
from evidence.dossier.attachments import extract
from evidence.errors import RefusedError
from evidence.trade import load_catalogue
from evidence.words import Form
from tests.dossier.printing import squeezed, texts
from tests.forging import ON, issued


def attached(path):
    return extract(path.read_bytes())


def pages(path) -> list[str]:
    return texts(PdfReader(BytesIO(path.read_bytes())))


def originals(path) -> set[str]:
    return {name for name in attached(path) if name.startswith("original-")}


def state(case) -> tuple[int, int, list[str]]:
    """Entries, heads, and everything that lies in the case's folders."""
    record = Record.open(case)
    held = sorted(str(p.relative_to(case)) for p in case.rglob("*") if p.is_file())
    return len(record.lines), len(record.heads), [name for name in held if "previews" not in name]


def test_a_dossier_of_the_small_case_is_whole_and_checks_as_unchanged(dossier):
    report = check_path(dossier)
    assert report.result is Result.UNCHANGED
    assert report.figures_match == "yes"
    assert len(pages(dossier)) > 3


def test_every_page_of_a_sample_says_that_it_is_one(dossier):
    assert all("Sample case: invented" in page for page in pages(dossier))


def test_it_carries_the_record_its_proof_and_the_cited_originals(dossier, built):
    record = Record.open(built)
    parts = attached(dossier)
    assert parts["record.jsonl"].splitlines() == list(record.lines)
    assert json.loads(parts["standing.json"])["on"] == ON.isoformat()
    listed = json.loads(parts["manifest.json"])["files"]
    assert listed.keys() == parts.keys() - {"manifest.json"}
    named = {f"original-{path.name}" for path in record.originals.glob("*.jpg")}
    assert originals(dossier) == named
    assert len(named) == 3


@pytest.mark.parametrize(("paper", "width"), [("letter", 612.0), ("a4", 595.28)])
def test_it_is_printed_on_the_paper_that_was_asked_for(paper, width, case, tmp_path):
    out = issued(case, tmp_path / "claim.pdf", paper=paper)
    reader = PdfReader(out)
    assert {round(float(page.mediabox.width), 2) for page in reader.pages} == {width}
    assert check_path(out).result is Result.UNCHANGED


def test_without_originals_the_record_goes_alone_and_the_rest_is_listed(case, tmp_path):
    out = issued(case, tmp_path / "claim.pdf", attach_cited=False)
    assert originals(out) == set()
    left_out = {row["sha256"] for row in json.loads(attached(out)["manifest.json"])["left_out"]}
    assert {path.stem for path in (case / "originals").glob("*.jpg")} <= left_out
    assert check_path(out).result is Result.UNCHANGED


def test_originals_that_are_too_large_are_listed_and_said_to_be_left_out(case, tmp_path):
    out = issued(case, tmp_path / "claim.pdf", most_bytes=0)
    assert originals(out) == set()
    rows = json.loads(attached(out)["manifest.json"])["left_out"]
    assert sum(row["cited"] for row in rows) == 3
    said = "Left out, listed with their sums in manifest.json: 3 files"
    assert squeezed(said) in squeezed("".join(pages(out)))
    assert check_path(out).result is Result.UNCHANGED


def test_what_has_room_is_attached_the_pictures_of_the_first_page_before_all_others(case, tmp_path):
    record = Record.open(case)
    sizes = {ref.name: ref.bytes for entry in record.entries for ref in entry.files}
    room = sizes["before.jpg"] + sizes["after.jpg"]
    out = issued(case, tmp_path / "claim.pdf", most_bytes=room)
    sums = {ref.sha256: ref.name for entry in record.entries for ref in entry.files}
    names = {sums[name.removeprefix("original-")[:64]] for name in originals(out)}
    assert names == {"before.jpg", "after.jpg"}


def test_the_entry_names_the_file_that_left_and_what_was_in_it(case, tmp_path):
    held = len(Record.open(case).lines)
    out = issued(case, tmp_path / "claim.pdf", meant_for="the adjuster")
    record = Record.open(case)
    entry = record.entries[-1]
    digest = sha256(out.read_bytes()).hexdigest()

    assert len(record.lines) == held + 1
    assert dict(entry.raw) == {
        "form": "claim",
        "file": digest,
        "size": held,
        "tallies": {"case": 1, "key": 2, "party": 2, "rig": 1, "rule": 1, "inspection": 5,
                    "witness": 3, "incident": 1, "cover": 1, "notice": 1},
        "catalogue": load_catalogue().sha256,
        "incident": "i1",
        "for": "the adjuster",
    }  # fmt: skip
    assert entry.by == "owner"
    assert (record.issued / f"claim-{digest[:16]}.pdf").read_bytes() == out.read_bytes()
    assert check_path(case).result is Result.UNCHANGED


def test_the_only_incident_need_not_be_named(case, tmp_path):
    record = Record.open(case)
    keys = record.key_store.load(record.case.case_id, None)
    order = door.Order(Form.CLAIM, None, ON)
    made = door.issue(record, order, load_catalogue(), keys, tmp_path / "claim.pdf")
    assert record.entries[-1].seq == made.seq
    assert dict(record.entries[-1].raw)["incident"] == "i1"


def refused(case, out, match, **more) -> None:
    """Refused with these words; nothing was written, nothing lies about."""
    held = state(case)
    before = sorted(path.name for path in out.parent.iterdir()) if out.parent.is_dir() else None
    record = Record.open(case)
    keys = record.key_store.load(record.case.case_id, None)
    order = door.Order(**({"form": Form.CLAIM, "incident": "i1", "on": ON} | more))
    with pytest.raises(RefusedError, match=match):
        door.issue(record, order, load_catalogue(), keys, out)
    assert state(case) == held
    after = sorted(path.name for path in out.parent.iterdir()) if out.parent.is_dir() else None
    assert after == before


def test_an_unknown_incident_is_refused_with_those_on_record(case, tmp_path):
    refused(case, tmp_path / "claim.pdf", "On record: i1", incident="i2")


def test_a_form_that_is_not_made_is_refused(case, tmp_path):
    refused(case, tmp_path / "letter.pdf", "Forms made: claim, warranty and year", form=Form.LETTER)


def test_a_form_about_the_whole_record_takes_no_incident(case, tmp_path):
    refused(case, tmp_path / "year.pdf", "Leave it out, or ask for a claim", form=Form.YEAR)


def test_a_day_before_the_record_is_refused(case, tmp_path):
    refused(case, tmp_path / "claim.pdf", "On record: none", on=date(2025, 2, 1))


def test_a_case_without_incident_is_refused(case, tmp_path):
    record = Record.open(case)
    keys = record.key_store.load(record.case.case_id, None)
    (incident,) = (entry.seq for entry in record.entries if entry.kind == "incident")
    body = {"of": incident, "withdraw": True, "why": "told to the wrong rig"}
    record.write([Draft("correction", body, "owner")], keys.signer)
    refused(case, tmp_path / "claim.pdf", "none; enter it first", incident=None, on=record.today())


def test_a_folder_that_is_not_there_is_refused(case, tmp_path):
    refused(case, tmp_path / "nowhere" / "claim.pdf", "cannot be written")


@pytest.mark.parametrize("step", ["_sync", "sign", "finish"])
def test_a_failure_on_the_way_leaves_nothing_behind_and_the_old_file_alone(
    step, case, tmp_path, monkeypatch
):
    out = tmp_path / "claim.pdf"
    out.write_bytes(b"an older dossier")
    held = state(case)

    def fails(*_given, **_named):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(door, step, fails)
    with pytest.raises((RefusedError, OSError)):
        issued(case, out)
    assert state(case) == held
    assert out.read_bytes() == b"an older dossier"
    assert list(tmp_path.glob(".making-*")) == []


def test_a_full_disk_is_told_as_one(case, tmp_path, monkeypatch):
    def full(*_given):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(door, "_sync", full)
    with pytest.raises(RefusedError, match=r"claim\.pdf: cannot be written: No space left"):
        issued(case, tmp_path / "claim.pdf")


def test_a_second_dossier_holds_the_entry_of_the_first(case, tmp_path):
    issued(case, tmp_path / "first.pdf")
    day = Record.open(case).today()
    second = issued(case, tmp_path / "second.pdf", on=day)
    kinds = [json.loads(line)["kind"] for line in attached(second)["record.jsonl"].splitlines()]
    assert kinds[-1] == "issued"
    assert check_path(second).result is Result.UNCHANGED


def test_what_is_under_way_is_told(case, tmp_path):
    record = Record.open(case)
    keys = record.key_store.load(record.case.case_id, None)
    told: list[str] = []
    order = door.Order(Form.CLAIM, "i1", ON)
    door.issue(record, order, load_catalogue(), keys, tmp_path / "a.pdf", progress=told.append)
    assert told == [
        "measuring the record",
        "preparing pictures and pages",
        "signing and writing",
    ]

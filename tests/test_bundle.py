import hashlib
import json
import shutil
import zipfile
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from evidence.bundle import PackOrder, pack
from evidence.case import Draft, FileDraft, Record
from evidence.errors import ChangedError, MissingError, RefusedError
from evidence.sealed_values import conceal, keep_all
from evidence.stored import StoredZip
from evidence.trade import load_catalogue
from evidence.upkeep import as_json, measure
from tests.making import picture
from tests.packing import members, packed
from tests.tampering import owner_of

AUTUMN = datetime(2025, 10, 1, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def issued(dossier: Path) -> Path:
    """The case of which a dossier was issued."""
    return dossier.parent / "case"


def manifest(path: Path) -> dict[str, object]:
    return json.loads(members(path)["manifest.json"])


def test_a_pack_holds_the_record_its_answers_its_files_and_its_dossiers(issued, tmp_path):
    made = packed(issued, tmp_path / "a.zip")

    record, files = Record.open(issued), members(made.path)
    assert files["record.jsonl"] == b"".join(line + b"\n" for line in record.lines)
    assert files["heads.txt"].decode() == "".join(f"{note}\n" for note in record.heads)
    answered = {f"witness-{e.number}.tsr" for e in record.entries if e.kind == "witness"}
    assert {name for name in files if name.startswith("witness-")} == answered
    sums = {name.split("-")[1].split(".")[0] for name in files if name.startswith("original-")}
    assert len(sums) == made.originals == 4
    assert all(
        hashlib.sha256(files[name]).hexdigest() in name
        for name in files
        if name.startswith("original-")
    )
    (name,) = [name for name in files if name.startswith("dossier-")]
    assert f"dossier-{next(record.issued.iterdir()).name}" == name
    assert made.entries == made.size == len(record.lines)
    assert (made.files, made.bytes) == (len(files), made.path.stat().st_size)


def test_the_manifest_sums_every_other_file_and_says_how_the_figures_were_made(issued, tmp_path):
    path = packed(issued, tmp_path / "a.zip").path

    told, files = manifest(path), members(path)

    assert list(files)[-1] == "manifest.json"
    assert told["files"] == {
        name: {"sha256": hashlib.sha256(data).hexdigest(), "bytes": len(data)}
        for name, data in files.items()
        if name != "manifest.json"
    }
    assert told["catalogue"] == load_catalogue().sha256
    assert told["left_out"] == []
    assert set(told["pack"]) == {"excerpt", "on", "program", "tzdata"}


def test_the_figures_are_those_of_the_newest_entry_s_day_unless_another_is_named(built, tmp_path):
    record = Record.open(built)

    def figures(on: date) -> object:
        return as_json(measure(record.history(on), load_catalogue(), record.root_on(on)))

    for order, on in (({}, date(2025, 8, 20)), ({"on": date(2025, 11, 3)}, date(2025, 11, 3))):
        path = packed(built, tmp_path / f"{on}.zip", **order).path
        assert json.loads(members(path)["standing.json"]) == figures(on)
        assert manifest(path)["pack"]["on"] == on.isoformat()


def test_the_same_case_makes_the_same_bytes_wherever_it_lies(built, tmp_path, monkeypatch):
    first = packed(built, tmp_path / "a.zip").path.read_bytes()
    copy = shutil.copytree(built, tmp_path / "elsewhere")
    for path in copy.rglob("*"):
        path.touch()
    monkeypatch.setattr("evidence.case.now", lambda: datetime(2031, 1, 1, tzinfo=UTC))

    assert packed(copy, tmp_path / "b.zip").path.read_bytes() == first


def test_other_programs_open_it(issued, tmp_path):
    with zipfile.ZipFile(packed(issued, tmp_path / "a.zip").path) as other:
        assert other.testzip() is None
        assert {info.compress_type for info in other.infolist()} == {zipfile.ZIP_STORED}


def test_nothing_is_written_down_of_a_pack_and_nothing_is_touched(case, tmp_path):
    before = {path: path.read_bytes() for path in case.rglob("*") if path.is_file()}

    packed(case, tmp_path / "a.zip")

    assert {path: path.read_bytes() for path in case.rglob("*") if path.is_file()} == before


def test_it_may_lie_among_what_was_issued_and_is_not_packed_itself(case, tmp_path):
    out = packed(case, case / "issued" / "a.zip").path

    assert members(packed(case, tmp_path / "b.zip").path) == members(out)


def test_it_takes_the_place_of_nothing(case, tmp_path):
    (tmp_path / "a.zip").write_bytes(b"given to somebody")

    for out in (tmp_path / "a.zip", case / "a.zip", tmp_path, tmp_path / "none" / "a.zip"):
        with pytest.raises(RefusedError):
            packed(case, out)
    assert (tmp_path / "a.zip").read_bytes() == b"given to somebody"


def test_without_originals_files_and_dossiers_stay_behind_and_are_listed(issued, tmp_path):
    made = packed(issued, tmp_path / "a.zip", with_originals=False)

    assert not [n for n in members(made.path) if n.startswith(("original-", "dossier-"))]
    assert [n for n in members(made.path) if n.startswith("witness-")]
    rows = manifest(made.path)["left_out"]
    record = Record.open(issued)
    answered = {ref.sha256 for e in record.entries if e.kind == "witness" for ref in e.files}
    named = {ref.sha256: ref.bytes for e in record.entries for ref in e.files}
    assert {row["sha256"]: row["bytes"] for row in rows} == {
        sha256: size for sha256, size in named.items() if sha256 not in answered
    }
    assert (made.originals, made.left_out) == (0, len(rows))


def test_an_original_that_is_gone_is_missing_and_not_said_to_be_left_out(case, tmp_path):
    record = Record.open(case)
    gone = next(ref for e in record.entries for ref in e.files if ref.camera)
    record.original(gone.sha256).unlink()

    made = packed(case, tmp_path / "a.zip")

    assert made.missing == (gone.sha256,)
    assert manifest(made.path)["left_out"] == []


def test_an_answer_that_is_gone_stops_it(case, tmp_path):
    record = Record.open(case)
    answer = next(ref for e in record.entries if e.kind == "witness" for ref in e.files)
    record.original(answer.sha256).unlink()

    with pytest.raises(MissingError):
        packed(case, tmp_path / "a.zip")
    assert not list(tmp_path.glob("*.zip"))


def test_a_file_that_was_changed_never_leaves_under_its_old_name(case, tmp_path):
    record = Record.open(case)
    ref = next(ref for e in record.entries for ref in e.files if ref.camera)
    with record.original(ref.sha256).open("ab") as file:
        file.write(b"x")

    with pytest.raises(ChangedError, match="is not what was sealed"):
        packed(case, tmp_path / "a.zip")
    assert not list(tmp_path.glob("*.zip"))
    assert not list(tmp_path.glob(".making-*"))


def test_pictures_that_bear_a_position_are_counted(case, tmp_path):
    from PIL import Image

    path = picture(tmp_path / "there.jpg", "2025:08:30 09:00:00", "-05:00", 90)
    with Image.open(path) as image:
        exif = image.getexif()
        exif.get_ifd(0x8825).update({1: "N", 2: (44.0, 30.0, 0.0), 3: "W", 4: (93.0, 6.0, 0.0)})
        image.save(path, exif=exif)
    draft = Draft("photos", {}, "owner", (FileDraft(path),))
    Record.open(case).write([draft], owner_of(case), clock=lambda: AUTUMN)

    whole = packed(case, tmp_path / "a.zip")
    bare = packed(case, tmp_path / "b.zip", with_originals=False)

    assert (whole.positions, whole.positions_told) == (1, 1)
    assert (bare.positions, bare.positions_told) == (0, 1)


@pytest.fixture
def sealing(case: Path) -> Path:
    """A case with a policy whose number is sealed."""
    record = Record.open(case)
    body = {"type": "policy", "title": "Policy", "number": "K-20/311"}
    draft, secrets = conceal(Draft("paper", body, "owner"), ["number"])
    keep_all(secrets, record.private)
    record.write([draft], owner_of(case), clock=lambda: AUTUMN)
    return case


def test_a_sealed_value_leaves_only_where_it_is_named(sealing, tmp_path):
    shut = packed(sealing, tmp_path / "a.zip")
    told = packed(sealing, tmp_path / "b.zip", reveal=("number",))

    assert b"K-20/311" not in shut.path.read_bytes()
    assert told.revealed == ("19.number",)
    (row,) = json.loads(members(told.path)["revealed.json"])
    assert (row["seq"], row["field"], row["value"]) == (18, "number", "K-20/311")
    with pytest.raises(RefusedError, match="names no sealed value"):
        packed(sealing, tmp_path / "c.zip", reveal=("serial",))


def test_the_issuer_s_own_rows_of_the_catalogue_go_with_it(built, tmp_path):
    rows = b'[limits.warm-from]\nfigure = "40"\nbasis = "label of the sealant"\n'
    catalogue = load_catalogue(override=rows)

    made = pack(Record.open(built), PackOrder(), catalogue, tmp_path / "a.zip")

    assert members(made.path)["catalogue-own.toml"] == rows
    assert manifest(made.path)["catalogue"] == catalogue.sha256


def test_progress_counts_the_bytes_of_the_sealed_files(built, tmp_path):
    told: list[tuple[int, int]] = []

    pack(
        Record.open(built), PackOrder(), load_catalogue(), tmp_path / "a.zip",
        lambda done, whole: told.append((done, whole)),
    )  # fmt: skip

    record = Record.open(built)
    whole = sum({ref.sha256: ref.bytes for e in record.entries for ref in e.files}.values())
    assert told[-1] == (whole, whole)
    assert told == sorted(told)


def test_an_excerpt_says_how_much_was_withheld_and_states_no_figures(case, tmp_path):
    record, at = Record.open(case), AUTUMN
    body = {"when": "2025-09-01", "amount": "31.50", "currency": "USD", "what": "campground"}
    record.write([Draft("cost", body, "owner")], owner_of(case), clock=lambda: at)

    made = packed(case, tmp_path / "e.zip", incident="i1")

    files = members(made.path)
    assert made.size - made.entries == 1
    assert b"campground" not in files["record.jsonl"]
    assert not {"standing.json"} & set(files)
    assert not [name for name in files if name.startswith("dossier-")]
    assert manifest(made.path)["pack"]["excerpt"] == {
        "incident": "i1", "size": 19, "entries": 18, "withheld": 1,
    }  # fmt: skip
    proofs = json.loads(files["proofs.json"])
    assert proofs["size"] == 19
    assert len(proofs["inclusion"]) == 18
    assert StoredZip.open(made.path).members[2].name == "proofs.json"


def test_an_incident_that_is_not_on_record_is_refused(built, tmp_path):
    with pytest.raises(RefusedError, match="is not on record"):
        packed(built, tmp_path / "e.zip", incident="i9")

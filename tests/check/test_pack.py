"""A pack checked: what holds, and what somebody with the very program may exchange in it."""

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.check import check_path
from evidence.check.report import Found, Report, as_json
from evidence.errors import RefusedError
from evidence.sealed_values import conceal, keep_all
from tests.check.making import found, told
from tests.packing import exchanged, members, packed, put_together, with_json
from tests.tampering import flipped, owner_of, reworded

AUTUMN = datetime(2025, 10, 1, 12, tzinfo=UTC)


@pytest.fixture(scope="module")
def pack(dossier: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A pack of the small case and its dossier."""
    return packed(dossier.parent / "case", tmp_path_factory.mktemp("pack") / "a.zip").path


@pytest.fixture
def entry_with_photo(pack: Path) -> str:
    """The member that holds a picture."""
    return next(name for name in members(pack) if name.endswith(".jpg"))


def after(pack: Path, out: Path, name: str, data: bytes | None, *, fitted: bool = True) -> Report:
    """What is found once a member has other bytes, or is gone."""

    def change(files: dict[str, bytes]) -> None:
        if data is None:
            del files[name]
        else:
            files[name] = data

    return check_path(exchanged(pack, out, change, fitted=fitted))


def test_a_pack_holds_in_all_ten_steps(pack):
    report = check_path(pack)

    assert [step.n for step in report.steps] == list(range(1, 11))
    assert found(report) == {}
    assert (report.target, report.result, report.exit_code) == ("pack", "unchanged", 0)
    assert told(report, 9).startswith("1 dossier is signed, unchanged since, and named by an entry")
    assert told(report, 10) == "computed again; standing.json states the same"
    document = as_json(report)
    assert document["pack"] == {"excerpt": None, "figures_match": "yes"}
    assert document["originals"]["present"] == document["originals"]["listed"] == 7


def test_the_case_that_it_was_made_of_is_found_alike(pack, dossier):
    case, copy = check_path(dossier.parent / "case"), check_path(pack)

    assert copy.steps[:8] == case.steps
    assert copy.record == case.record


def test_without_originals_they_are_left_out_and_nothing_is_missing(dossier, tmp_path):
    path = packed(dossier.parent / "case", tmp_path / "a.zip", with_originals=False).path

    report = check_path(path)

    assert found(report) == {}
    assert report.record.originals.left_out == 4
    assert told(report, 9) == "no dossier came with it"


def test_an_original_that_the_sender_lost_is_missing(case, tmp_path):
    record = Record.open(case)
    record.original(next(r for e in record.entries for r in e.files if r.camera).sha256).unlink()

    report = check_path(packed(case, tmp_path / "a.zip").path)

    assert found(report) == {7: Found.MISSING}
    assert report.exit_code == 3


# What somebody exchanges


def test_a_picture_that_was_changed_is_found_however_well_the_rest_fits(
    pack, tmp_path, entry_with_photo
):
    data = members(pack)[entry_with_photo]

    report = after(pack, tmp_path / "b.zip", entry_with_photo, flipped(data, 1000))

    assert found(report) == {7: Found.CHANGED}
    assert report.record.originals.changed == (entry_with_photo[9:73],)


def test_a_picture_that_was_taken_out_is_missing(pack, tmp_path, entry_with_photo):
    report = after(pack, tmp_path / "b.zip", entry_with_photo, None)

    assert found(report) == {7: Found.MISSING}


def test_a_picture_that_was_taken_out_and_is_still_listed_is_a_change(
    pack, tmp_path, entry_with_photo
):
    report = after(pack, tmp_path / "b.zip", entry_with_photo, None, fitted=False)

    assert found(report) == {7: Found.CHANGED}


def test_an_entry_reworded_is_found_in_the_chain(pack, tmp_path):
    lines = members(pack)["record.jsonl"].split(b"\n")
    lines[12] = reworded(lines[12], stated_cause="debris")

    report = after(pack, tmp_path / "b.zip", "record.jsonl", b"\n".join(lines))

    assert {2, 3} <= found(report).keys()
    assert report.exit_code == 4


@pytest.mark.parametrize(
    ("name", "step"), [("witness-10.tsr", 5), ("heads.txt", 3), ("standing.json", 10)]
)
def test_a_changed_member_is_found_by_its_step(pack, tmp_path, name, step):
    data = members(pack)[name]
    at = data.index(b"4") * 8 + 1  # a figure, or a byte of the answer

    report = after(pack, tmp_path / "b.zip", name, flipped(data, at))

    assert step in found(report)
    assert report.exit_code in (3, 4)


def test_figures_that_are_said_to_rest_on_another_catalogue_are_not_said_to_hold(pack, tmp_path):
    def change(files: dict[str, bytes]) -> None:
        with_json(files, "manifest.json", lambda told: told.update({"catalogue": "0" * 64}))

    report = check_path(exchanged(pack, tmp_path / "b.zip", change))

    assert found(report) == {10: Found.NOT_CHECKED}


@pytest.mark.parametrize("name", ["HOW-TO-CHECK.txt", "standing.json", "witness-10.tsr"])
def test_a_member_that_the_manifest_lists_otherwise_is_found(pack, tmp_path, name):
    data = members(pack)[name] + b" "

    report = after(pack, tmp_path / "b.zip", name, data, fitted=False)

    assert told(report, 7) == f"not as manifest.json lists it: {name}"


@pytest.mark.parametrize("name", ["record.jsonl", "heads.txt"])
def test_a_zip_without_a_record_is_refused(pack, tmp_path, name):
    files = {each: data for each, data in members(pack).items() if each != name}

    with pytest.raises(RefusedError, match=f"is no pack: it holds no {name}"):
        check_path(put_together(files, tmp_path / "b.zip"))


def test_without_a_manifest_nothing_says_what_was_packed(pack, tmp_path):
    files = {name: data for name, data in members(pack).items() if name != "manifest.json"}

    report = check_path(put_together(files, tmp_path / "b.zip"))

    assert told(report, 7) == "not as manifest.json lists it: manifest.json"
    assert told(report, 10) == "manifest.json does not say what the pack is about"


@pytest.mark.parametrize(
    ("name", "data", "why"),
    [
        ("record.jsonl", b"{}", "does not end with a newline"),
        ("record.jsonl", b"", "there are no entries"),
        ("heads.txt", b"\xff", "is not UTF-8"),
        ("proofs.json", b"{}", "holds no proofs that can be read"),
    ],
)
def test_a_member_that_cannot_be_read_ends_the_reading_in_step_1(pack, tmp_path, name, data, why):
    report = after(pack, tmp_path / "b.zip", name, data)

    assert why in told(report, 1)
    assert report.exit_code == 4
    assert told(report, 10).startswith("not reached") or "excerpt" in told(report, 10)


def test_a_stranger_s_dossier_is_no_dossier_of_this_record(pack, tmp_path):
    name = next(name for name in members(pack) if name.startswith("dossier-"))
    data = members(pack)[name]

    report = after(pack, tmp_path / "b.zip", name, data + b"\n% added")

    assert told(report, 9) == f"{name}: no entry names this file as one that was issued"


def test_a_dossier_under_another_name_is_known_by_its_sum(pack, tmp_path):
    def change(files: dict[str, bytes]) -> None:
        name = next(name for name in files if name.startswith("dossier-"))
        files["dossier-other.pdf"] = files.pop(name)

    assert found(check_path(exchanged(pack, tmp_path / "b.zip", change))) == {}


def test_an_original_that_no_entry_names_is_named(pack, tmp_path):
    report = after(pack, tmp_path / "b.zip", f"original-{'0' * 64}.jpg", b"another roof")

    assert found(report) == {7: Found.NAMED}
    assert report.record.originals.unnamed == (f"original-{'0' * 64}.jpg",)


def test_a_damaged_member_is_a_change_even_where_its_own_sum_cannot_be_read(
    pack, tmp_path, entry_with_photo
):
    from evidence.stored import StoredZip

    path = Path(shutil.copy(pack, tmp_path / "b.zip"))
    data = bytearray(path.read_bytes())
    for name in (entry_with_photo, "witness-10.tsr"):
        data[StoredZip.open(path).by_name[name].begins + 20] ^= 1
    path.write_bytes(data)

    report = check_path(path)

    assert report.record.originals.changed == (entry_with_photo[9:73],)
    assert found(report)[5] is Found.MISSING
    assert report.exit_code == 4


@pytest.mark.parametrize("name", ["record.jsonl", "heads.txt", "manifest.json", "standing.json"])
def test_a_damaged_text_is_a_change(pack, tmp_path, name):
    from evidence.stored import StoredZip

    path = Path(shutil.copy(pack, tmp_path / "b.zip"))
    data = bytearray(path.read_bytes())
    data[StoredZip.open(path).by_name[name].begins + 20] ^= 1
    path.write_bytes(data)

    assert check_path(path).exit_code == 4


def test_figures_of_another_day_than_the_manifest_says_are_found(pack, tmp_path):
    def change(files: dict[str, bytes]) -> None:
        with_json(files, "manifest.json", lambda m: m["pack"].update({"on": "2025-07-01"}))

    assert found(check_path(exchanged(pack, tmp_path / "b.zip", change))) == {10: Found.CHANGED}


def test_figures_that_were_taken_out_state_nothing(pack, tmp_path):
    report = after(pack, tmp_path / "b.zip", "standing.json", None)

    assert told(report, 10) == "it states no figures"
    assert as_json(report)["pack"]["figures_match"] == "not-checkable"


def test_a_document_too_large_to_be_read_at_once_is_a_change(pack, monkeypatch):
    monkeypatch.setattr("evidence.check.pack.MOST_DOCUMENT", 1000)

    report = check_path(pack)

    assert report.exit_code == 4
    assert told(report, 10) == "manifest.json does not say what the pack is about"


# Revealed


def test_a_revealed_value_is_verified_and_a_forged_one_found(case, tmp_path):
    record = Record.open(case)
    body = {"type": "policy", "title": "Policy", "number": "K-20/311"}
    draft, secrets = conceal(Draft("paper", body, "owner"), ["number"])
    keep_all(secrets, record.private)
    record.write([draft], owner_of(case), clock=lambda: AUTUMN)
    path = packed(case, tmp_path / "a.zip", reveal=("number",)).path

    def change(files: dict[str, bytes]) -> None:
        with_json(files, "revealed.json", lambda rows: rows[0].update({"value": "K-20/312"}))

    assert told(check_path(path), 8).endswith("the very value that was sealed: entry 19, number")
    forged = check_path(exchanged(path, tmp_path / "b.zip", change))
    assert found(forged) == {8: Found.CHANGED}


# Excerpts


@pytest.fixture
def costly(case: Path) -> Path:
    """A case with an entry that no excerpt about the branch holds."""
    body = {"when": "2025-09-01", "amount": "31.50", "currency": "USD", "what": "campground"}
    Record.open(case).write([Draft("cost", body, "owner")], owner_of(case), clock=lambda: AUTUMN)
    return case


def test_an_excerpt_is_incomplete_and_says_how_much_was_withheld(costly, tmp_path):
    report = check_path(packed(costly, tmp_path / "e.zip", incident="i1").path)

    assert found(report) == {1: Found.MISSING, 10: Found.NOT_CHECKED}
    assert told(report, 1) == "1 of 19 entries withheld by the sender"
    assert (report.result, report.exit_code) == ("incomplete", 3)
    assert as_json(report)["pack"] == {
        "excerpt": {"size": 19, "entries": 18, "withheld": 1, "gaps": {}},
        "figures_match": "not-checkable",
    }


def test_an_excerpt_without_its_proofs_is_no_record(costly, tmp_path):
    path = packed(costly, tmp_path / "e.zip", incident="i1").path

    report = after(path, tmp_path / "b.zip", "proofs.json", None)

    assert report.exit_code == 4
    assert found(report)[3] is Found.CHANGED


def test_an_entry_that_was_taken_out_of_an_excerpt_is_found(costly, tmp_path):
    path = packed(costly, tmp_path / "e.zip", incident="i1").path
    lines = members(path)["record.jsonl"].split(b"\n")

    report = after(path, tmp_path / "b.zip", "record.jsonl", b"\n".join(lines[:5] + lines[6:]))

    assert told(report, 3) == "there is not one proof for each entry"


# Earlier states


def test_a_pack_is_an_earlier_state_and_is_compared_with_one(costly, pack, dossier, tmp_path):
    before = packed(costly, tmp_path / "before.zip").path
    Record.open(costly).write(
        [Draft("photos", {}, "owner")], owner_of(costly), clock=lambda: AUTUMN
    )
    now = packed(costly, tmp_path / "now.zip").path

    report = check_path(now, earlier=before)

    assert report.earlier is not None
    assert report.earlier.as_json()["result"] == "extends"
    assert [row.seq for row in report.earlier.added] == [19]
    back = check_path(before, earlier=now)
    assert back.earlier is not None
    assert (back.earlier.as_json()["result"], back.exit_code) == ("shortened", 4)
    assert check_path(pack, earlier=dossier).exit_code == 0


def test_an_excerpt_is_an_earlier_state_by_its_heads_and_is_not_compared_itself(costly, tmp_path):
    cut = packed(costly, tmp_path / "e.zip", incident="i1").path

    report = check_path(costly, earlier=cut)

    assert report.earlier is not None
    assert (report.earlier.target, report.earlier.size) == ("head", 19)
    with pytest.raises(RefusedError, match="what was withheld may differ"):
        check_path(cut, earlier=costly)


def test_a_hostile_zip_is_refused_and_nothing_of_it_looked_at(pack, tmp_path):
    path = tmp_path / "b.zip"
    path.write_bytes(pack.read_bytes() + b"x")

    with pytest.raises(RefusedError, match="is not put together as a pack is") as caught:
        check_path(path)
    assert caught.value.exit_code == 2

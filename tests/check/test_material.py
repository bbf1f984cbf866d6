import json
import os
import shutil
from pathlib import Path

import pytest

from evidence.case import Record
from evidence.check.material import CaseMaterial, DossierMaterial, FileState
from evidence.errors import ChangedError, RefusedError
from evidence.shapes import FileRef
from tests.examples import file_ref

SUM = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"
"""SHA-256 of the four bytes `test`: printf test | sha256sum."""


def reference(**more: object) -> FileRef:
    return file_ref({"sha256": SUM, "bytes": 4, "type": "image/jpeg", "name": "a.jpg"} | more)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "originals").mkdir()
    return tmp_path


@pytest.fixture
def material(folder: Path) -> CaseMaterial:
    return CaseMaterial(Record(folder))


def keep(folder: Path, data: bytes) -> Path:
    path = folder / "originals" / f"{SUM}.jpg"
    path.write_bytes(data)
    return path


# A case folder


def test_a_case_hands_over_what_its_ledger_holds(built):
    record = Record.open(built)
    material = CaseMaterial(Record.open(built))

    assert material.lines == record.lines
    assert material.heads == record.heads


def test_a_sealed_file_is_present_while_its_bytes_are_the_same(folder, material):
    keep(folder, b"test")

    assert material.state(reference()) is FileState.PRESENT
    assert material.read(reference()) == b"test"


def test_a_sealed_file_with_other_bytes_is_changed(folder, material):
    keep(folder, b"tesT")

    assert material.state(reference()) is FileState.CHANGED


def test_a_file_of_another_size_than_its_entry_names_is_changed(folder, material):
    keep(folder, b"test")

    assert material.state(reference(bytes=5)) is FileState.CHANGED


def test_a_file_that_is_not_there_is_missing(material):
    assert material.state(reference()) is FileState.MISSING
    assert material.read(reference()) is None


@pytest.mark.parametrize("what", ["folder", "dead link"])
def test_what_is_no_file_is_missing(folder, material, what):
    path = folder / "originals" / f"{SUM}.jpg"
    path.mkdir() if what == "folder" else path.symlink_to(folder / "nowhere")

    assert material.state(reference()) is FileState.MISSING
    assert material.read(reference()) is None


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may read all")
def test_a_file_that_may_not_be_read_is_an_error_not_a_finding(folder, material):
    keep(folder, b"test").chmod(0)

    with pytest.raises(RefusedError, match="cannot be read"):
        material.state(reference())


def test_a_case_without_its_folder_of_originals_misses_every_file(case):
    shutil.rmtree(case / "originals")
    material = CaseMaterial(Record.open(case))
    files = [ref for entry in Record.open(case).entries for ref in entry.files]

    assert files
    assert {material.state(ref) for ref in files} == {FileState.MISSING}


# A dossier's attachments


def attached(**parts: bytes) -> DossierMaterial:
    return DossierMaterial({name.replace("_", "."): data for name, data in parts.items()})


def test_the_lines_are_what_stands_between_newlines():
    assert attached(record_jsonl=b"{}\n[]\n").lines == (b"{}", b"[]")


def test_an_empty_record_has_no_lines():
    assert attached(record_jsonl=b"").lines == ()


def test_a_record_without_its_last_newline_is_refused():
    with pytest.raises(ChangedError, match=r"record\.jsonl: does not end with a newline"):
        attached(record_jsonl=b"{}\n[]").lines  # noqa: B018 - read for its refusal


def test_the_heads_are_cut_where_an_empty_line_follows_the_signatures(built):
    notes = Record.open(built).heads
    text = "".join(f"{note}\n" for note in notes).encode()

    assert attached(heads_txt=text).heads == notes


def test_a_head_with_two_signatures_stays_one_note():
    note = "a\n1\nb\n\n— a x\n— a y\n"

    assert attached(heads_txt=f"{note}\n{note}\n".encode()).heads == (note, note)


@pytest.mark.parametrize("text", ["a\n", "a\n\n", "a\n1\nb\n\n— a x\n", "a\n1\nb\n\n— a x\n\nmore"])
def test_heads_that_end_in_the_middle_are_refused(text):
    with pytest.raises(ChangedError, match=r"heads\.txt: does not end with an empty line"):
        attached(heads_txt=text.encode()).heads  # noqa: B018 - read for its refusal


@pytest.mark.parametrize("name", ["lines", "heads"])
def test_a_part_that_is_not_attached_is_named(name):
    with pytest.raises(ChangedError, match="is not attached"):
        getattr(attached(), name)


@pytest.mark.parametrize(
    "data", [b"", b"[]", b"7", b"{", b'{"a":1,"a":2}', b'{"a":1.5}', b"\xff", b"[" * 10_000]
)
def test_a_document_of_another_form_is_refused(data):
    with pytest.raises(ChangedError, match=r"standing\.json: "):
        attached(standing_json=data).document("standing.json")


def test_an_attached_file_is_present_under_any_name():
    material = attached(witness_tsr=b"test")

    assert material.state(reference()) is FileState.PRESENT
    assert material.read(reference()) == b"test"
    assert material.state(reference(bytes=5)) is FileState.CHANGED


def test_an_original_under_its_own_name_with_other_bytes_is_changed():
    assert DossierMaterial({f"original-{SUM}.jpg": b"tesT"}).state(reference()) is FileState.CHANGED


def test_what_the_manifest_lists_as_left_out_is_no_loss():
    manifest = json.dumps({"files": {}, "left_out": [{"sha256": SUM}, {}, 3]}).encode()

    assert attached(manifest_json=manifest).state(reference()) is FileState.LEFT_OUT


@pytest.mark.parametrize("manifest", [b"{}", b"nothing", b'{"left_out":7}'])
def test_what_no_manifest_lists_is_missing(manifest):
    assert attached(manifest_json=manifest).state(reference()) is FileState.MISSING


def test_every_attachment_must_be_as_the_manifest_lists_it():
    files = {
        "a.txt": {"sha256": SUM, "bytes": 4},
        "b.txt": {"sha256": SUM, "bytes": 5},
        "c.txt": {"sha256": "0" * 64, "bytes": 4},
        "d.txt": {"sha256": SUM, "bytes": 4},
        "e.txt": 7,
    }
    held = dict.fromkeys(("a.txt", "b.txt", "c.txt", "e.txt", "f.txt"), b"test")
    manifest = {"manifest.json": json.dumps({"files": files}).encode()}

    assert sorted(DossierMaterial(held | manifest).misfiled()) == [
        "b.txt",
        "c.txt",
        "d.txt",
        "e.txt",
        "f.txt",
    ]


@pytest.mark.parametrize("manifest", [b"{}", b"no JSON", b'{"files":[]}'])
def test_a_manifest_that_lists_nothing_is_itself_misfiled(manifest):
    assert attached(manifest_json=manifest).misfiled() == ["manifest.json"]

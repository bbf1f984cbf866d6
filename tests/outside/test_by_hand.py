"""HOW-TO-CHECK.txt taken at its word: its commands, as written, in a shell, on what was attached.

By hands not ours: GNU coreutils' sha256sum, jq, OpenSSL and Poppler's pdfdetach.
"""

import re
import shutil
import subprocess
from base64 import b64encode
from pathlib import Path

import pytest
from asn1crypto import tsp

from evidence.case import Record
from evidence.dossier.attachments import extract
from evidence.export import export_record
from tests.conftest import needed
from tests.tampering import flipped, reworded

TOOLS = ("sh", "sha256sum", "jq", "awk")


@pytest.fixture(autouse=True)
def tools() -> None:
    for tool in TOOLS:
        needed(shutil.which(tool) is not None, tool)


@pytest.fixture
def saved(dossier: Path, tmp_path: Path) -> Path:
    """The attached files in one empty folder."""
    folder = tmp_path / "saved"
    folder.mkdir()
    if shutil.which("pdfdetach"):
        subprocess.run(["pdfdetach", "-saveall", "-o", folder, dossier], check=True)
    else:
        for name, data in extract(dossier.read_bytes()).items():
            (folder / name).write_bytes(data)
    return folder


def commands(folder: Path, step: int) -> list[str]:
    """The blocks of commands of one numbered step: indented, and not a sentence."""
    text = (folder / "HOW-TO-CHECK.txt").read_text(encoding="utf-8")
    part = re.split(r"^\d\. ", text, flags=re.MULTILINE)[step]
    blocks = [block for block in part.split("\n\n") if re.match(r" {3}[^A-Z ]", block)]
    return ["\n".join(line[3:] for line in block.splitlines()) for block in blocks]


def said(folder: Path, command: str) -> str:
    """Everything that a shell prints for it, and nothing may crash on the way."""
    done = subprocess.run(
        ["sh", "-c", command], cwd=folder, capture_output=True, text=True, check=False
    )
    assert "not found" not in done.stderr, done.stderr
    assert "syntax" not in done.stderr.lower(), done.stderr
    return done.stdout + done.stderr


def change_line(folder: Path, seq: int) -> None:
    """One entry says something else."""
    path = folder / "record.jsonl"
    lines = path.read_bytes().split(b"\n")
    lines[seq] = reworded(lines[seq], means="drone")
    path.write_bytes(b"\n".join(lines))


def change_bit(path: Path) -> None:
    path.write_bytes(flipped(path.read_bytes(), 8 * (path.stat().st_size // 2)))


def a_look(case: Path) -> int:
    return next(entry.seq for entry in Record.open(case).entries if entry.kind == "inspection")


def test_every_step_that_has_commands_is_tried_below(saved):
    assert [len(commands(saved, step)) for step in range(1, 8)] == [0, 1, 1, 1, 2, 0, 0]


def test_step_2_says_nothing_of_good_files_and_names_a_changed_one(saved):
    (command,) = commands(saved, 2)
    assert said(saved, command) == ""

    change_bit(saved / "heads.txt")
    assert "heads.txt: FAILED" in said(saved, command)


def test_step_2_names_a_file_that_is_gone(saved):
    (command,) = commands(saved, 2)
    (saved / "standing.json").unlink()

    assert "standing.json: FAILED open or read" in said(saved, command)


def test_step_3_counts_the_entries_and_gives_the_last_ones_sum(saved, built):
    entries = Record.open(built).entries
    (command,) = commands(saved, 3)

    assert said(saved, command) == f"{len(entries)} entries, the last is {entries[-1].sha256}\n"


def test_step_3_names_the_entry_behind_the_changed_one(saved, built):
    seq = a_look(built)
    change_line(saved, seq)
    (command,) = commands(saved, 3)

    assert said(saved, command).startswith(f"entry {seq + 2}: broken\n")


def test_step_3_shows_an_entry_that_was_taken_out(saved):
    path = saved / "record.jsonl"
    lines = path.read_bytes().split(b"\n")
    path.write_bytes(b"\n".join((*lines[:9], *lines[10:])))
    (command,) = commands(saved, 3)

    assert "entry 10: broken\n" in said(saved, command)


def test_step_4_says_nothing_of_good_pictures_and_names_a_changed_one(saved):
    (command,) = commands(saved, 4)
    assert said(saved, command) == ""

    picture = next(saved.glob("original-*.jpg"))
    change_bit(picture)
    assert said(saved, command) == f"{picture.name}: changed\n"


def test_step_4_names_a_picture_that_no_entry_names(saved):
    (command,) = commands(saved, 4)
    digest = "9f86d081884c7d659a2feaa0c55ad015a3bf4f1b2b0b822cd15d6c15b0f00a08"  # printf test
    (saved / f"original-{digest}.jpg").write_bytes(b"test")

    assert said(saved, command) == f"original-{digest}.jpg: no entry names it\n"


@pytest.fixture
def openssl() -> None:
    needed(shutil.which("openssl") is not None, "openssl")


def imprint(printed: str) -> str:
    """The message data of `openssl ts -reply -text`, from its dump in hexadecimal."""
    dump = re.findall(r"^ {4}00[01]0 - ((?:[0-9a-f]{2}[ -]){16})", printed, flags=re.MULTILINE)
    return "".join(dump).replace(" ", "").replace("-", "")


@pytest.mark.usefixtures("openssl")
def test_step_5_shows_the_answer_and_the_note_that_it_is_over(saved, built):
    look_at, _ = commands(saved, 5)
    answer = Record.open(built).entries[11]
    assert answer.kind == "witness", "the example in the text is entry 12"
    printed = said(saved, look_at)

    assert f"{answer.raw['size']} entries, {answer.raw['time']}, {answer.raw['name']}" in printed
    assert "Status: Granted." in printed
    (digest,) = re.findall(r"SHA2-256\(note\.txt\)= ([0-9a-f]{64})", printed)
    assert imprint(printed) == digest
    size = answer.raw["size"]
    assert (saved / "note.txt").read_text() == Record.open(built).notes[int(str(size))]


@pytest.mark.usefixtures("openssl")
def test_step_5_verifies_the_answer_with_the_authoritys_certificate(saved):
    look_at, verify = commands(saved, 5)
    answer = tsp.TimeStampResp.load((saved / "witness-12.tsr").read_bytes())
    held = [choice.chosen for choice in answer["time_stamp_token"]["content"]["certificates"]]
    root = next(certificate for certificate in held if certificate.self_issued)
    text = b64encode(root.dump()).decode()
    pem = f"-----BEGIN CERTIFICATE-----\n{text}\n-----END CERTIFICATE-----\n"
    (saved / "authority.pem").write_text(pem)
    said(saved, look_at)

    assert "Verification: OK" in said(saved, verify)

    change_bit(saved / "note.txt")
    assert "Verification: FAILED" in said(saved, verify)


def test_the_chain_of_a_case_comes_out_the_same_by_sha256sum_and_jq_alone(built, tmp_path, saved):
    record = Record.open(built)
    export_record(record, tmp_path / "out")
    (command,) = commands(saved, 3)

    printed = said(tmp_path / "out", command)
    assert printed == f"{len(record.lines)} entries, the last is {record.entries[-1].sha256}\n"


def test_every_original_of_a_case_is_named_by_its_own_sum(built):
    folder = built / "originals"
    done = subprocess.run(
        "sha256sum -- * | awk '{ split($2, part, \".\"); if ($1 != part[1]) print }'",
        shell=True,
        cwd=folder,
        capture_output=True,
        text=True,
        check=True,
    )

    assert done.stdout == ""
    assert any(folder.iterdir())

"""Two at once: writers, and a copy that is made while somebody writes."""

import json
import shutil
import sqlite3
import threading
import time
from contextlib import closing

import pytest

from evidence.case import Record
from tests.faults.checking import checked
from tests.faults.running import Actions, assert_holds, unnamed


@pytest.mark.parametrize("pair", [("enter", "enter"), ("enter", "intake"), ("intake", "witness")])
def test_two_writers_at_once_are_both_acknowledged(pair, case, warm, tmp_path):
    before = len(Record.open(case).lines)
    runs = []
    for number, writer in enumerate(pair):
        files = tmp_path / f"files-{number}"
        files.mkdir()
        actions = Actions(writer, case, files)
        runs.append([actions.next() for _ in range(4 if writer != "witness" else 1)])
    answers = warm.together(runs)

    said = [row for rows, _ in answers for row in rows]
    assert [row.err for row in said if row.code] == []
    assert len(Record.open(case).lines) == before + len(said)
    assert_holds(case, warm, said)
    assert unnamed(case) == set()


def test_a_writer_who_finds_another_at_work_waits_and_then_writes(case, warm, tmp_path):
    with closing(sqlite3.connect(case / "ledger.sqlite", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        began, ended = time.monotonic(), []

        def write() -> None:
            said, _ = warm.run(*Actions("enter", case, tmp_path).next())
            ended.append((said, time.monotonic() - began))

        writer = threading.Thread(target=write)
        writer.start()
        time.sleep(1.2)
        assert not ended
        other.execute("ROLLBACK")
        writer.join()
    ((said, seconds),) = ended
    assert (said.code, said.err) == (0, "")
    assert seconds >= 1.2
    assert_holds(case, warm, [said])


def test_a_case_that_was_copied_while_it_was_written_checks_or_says_what_is_missing(
    case, warm, tmp_path
):
    """Never a good answer about something that was not written."""
    actions = Actions("enter", case, tmp_path)
    commands = [actions.next() for _ in range(12)]
    answers, copies = [], []
    writer = threading.Thread(target=lambda: answers.extend(warm.together([commands])))
    writer.start()
    while writer.is_alive():
        copy = tmp_path / f"copy-{len(copies)}"
        try:
            shutil.copytree(case, copy)
        except shutil.Error:
            shutil.rmtree(copy)  # a passing file went while it was copied: the copier was told
            continue
        copies.append(copy)
        time.sleep(0.05)
    writer.join()
    ((said, _),) = answers
    assert [row.code for row in said] == [0] * len(commands)
    lines = Record.open(case).lines

    whole = 0
    for copy in copies:
        answer = checked(copy)
        if answer.code == 0:
            whole += 1
            assert Record.open(copy).lines == lines[: len(Record.open(copy).lines)]
            continue
        told = answer.errors or json.dumps(answer.document["steps"])
        assert answer.code in (2, 3, 4)
        assert "cut off" in told or "files: " in told or "pages were altered" in told, told
    assert whole

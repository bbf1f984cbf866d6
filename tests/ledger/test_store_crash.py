"""Several processes, and processes that die: what was said to be written is there, in one chain.

SIGKILL shows what a dying process leaves behind; it does not show a power cut.
"""

import os
import random
import subprocess
import sys
import time
from pathlib import Path

import pytest

from evidence.ledger.heads import Head
from evidence.ledger.log import verify_chain
from evidence.ledger.notes import SignedNote
from evidence.ledger.store import Store
from evidence.ledger.tree import leaf_hash, tree_roots

WRITER = Path(__file__).with_name("writer.py")


def writer(ledger: Path, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, str(WRITER), str(ledger), str(count)],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )


def size_of_a_whole_record(ledger: Path) -> int:
    """Its number of entries, once chain, heads and pages all hold."""
    Store.open(ledger, writable=True).close()  # takes back what a dead writer left half written
    with Store.open(ledger, writable=False) as store:
        found = store.contents()
    assert verify_chain(found.entries) == []
    roots = list(tree_roots(map(leaf_hash, found.entries)))
    heads = [Head.parse(SignedNote.parse(note).text) for note in found.heads]
    assert all(head.root == roots[head.size] for head in heads)
    assert heads[-1].size == len(found.entries)
    return len(found.entries)


def test_two_processes_write_one_chain(ledger):
    both = [writer(ledger, 150), writer(ledger, 150)]
    said = [int(line) for process in both for line in process.communicate(timeout=60)[0].split()]
    assert [process.returncode for process in both] == [0, 0]
    assert sorted(said) == list(range(5, 305))
    assert size_of_a_whole_record(ledger) == 305


@pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")
def test_what_a_killed_process_said_it_wrote_is_there(ledger):
    chance = random.Random(9162)
    for _ in range(8):
        with writer(ledger, 100_000) as process:
            first = process.stdout.readline()
            time.sleep(chance.uniform(0.0, 0.15))
            process.kill()
            said = [int(seq) for seq in (first + process.stdout.read()).split("\n")[:-1]]
        size = size_of_a_whole_record(ledger)
        assert said == list(range(said[0], said[-1] + 1))
        assert said[-1] < size <= said[-1] + 2  # the last commit may have died before its word

"""The second reader of FORMAT.md: what he is made of, and that he reads as the program does.

That he finds the same as `check` in cases, packs and dossiers is held by `tests/corpus/`.
"""

import ast
import copy
import json
import subprocess
import sys
from base64 import b64decode
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from evidence.entries import BODIES
from evidence.envelope import read_entry
from evidence.errors import EvidenceError
from evidence.ledger import dumps, loads, tree_root
from evidence.ledger.tree import Tree, leaf_hash
from tests import examples
from tests.outside import second_reader

SOURCE = Path(second_reader.__file__)
KINDS = sorted(BODIES)


def test_he_can_be_read_at_one_sitting():
    assert len(SOURCE.read_text(encoding="utf-8").splitlines()) <= 300


def test_he_knows_nothing_but_the_page_the_standard_library_and_cryptography():
    tree = ast.parse(SOURCE.read_text(encoding="utf-8"))
    names = {a.name for node in ast.walk(tree) if isinstance(node, ast.Import) for a in node.names}
    names |= {str(n.module) for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)}
    tops = {name.partition(".")[0] for name in names}

    assert tops - {"cryptography"} <= sys.stdlib_module_names
    assert "evidence/check/FORMAT.md" in SOURCE.read_text(encoding="utf-8")


@pytest.mark.parametrize(("of", "code"), [("case", 0), ("nothing", 2)])
def test_he_prints_each_step_and_the_result_and_leaves_with_its_code(built, tmp_path, of, code):
    path = built if of == "case" else tmp_path
    done = subprocess.run(
        [sys.executable, SOURCE, path], capture_output=True, text=True, check=False
    )

    said = done.stdout.splitlines()
    assert (done.returncode, done.stderr) == (code, "")
    assert said[-1] == ("unchanged" if of == "case" else "refused")
    assert said[-3:-1] == ["9 not-checked", "10 not-checked"]


# Entries: the program's own examples, and each with something in it exchanged


def lines_of(kind: str, body: Any, **fields: Any) -> bytes:
    entry = {
        "v": 1, "seq": 7, "nth": 1, "prev": "0" * 64, "kind": kind, "body": body, "by": "owner",
        "logged": "2025-06-08T22:30:00Z", "files": [examples.FILE],
    }  # fmt: skip
    return dumps({**entry, **fields})


STRANGE = [
    None, True, 0, -1, 10**9, "", "a", "A b", "x" * 4001, "2025-02-30", "2025-05-30", "all",
    "2025-05-30T12:10Z", "0" * 64, "\u202e", [], ["a"], ["a", "a"], {}, {"sealed": "0" * 64},
    {"hex": "00"}, [1, 2],
]  # fmt: skip


def exchanged(value: Any) -> Iterator[Any]:
    """The value with each thing in it, at any depth, exchanged for each strange one, or gone."""
    places = value.items() if isinstance(value, dict) else enumerate(value)
    for name, inner in list(places):
        for other in STRANGE:
            yield _with(value, name, other)
        gone = copy.copy(value)
        del gone[name]
        yield gone
        if isinstance(inner, dict | list):
            for other in exchanged(inner):
                yield _with(value, name, other)
    if isinstance(value, dict):
        yield {**value, "more": 1}
    else:
        yield value + value


def _with(value: Any, name: Any, other: Any) -> Any:
    changed = copy.copy(value)
    changed[name] = other
    return changed


def agrees(line: bytes) -> bool:
    try:
        loads(line)
        read_entry(line)
        theirs = True
    except EvidenceError:
        theirs = False
    return (second_reader.word(second_reader.entry_of, line) != "changed") is theirs


@pytest.mark.parametrize("kind", KINDS)
def test_he_takes_an_entry_of_each_kind_where_the_program_takes_it(kind):
    body = examples.BODIES[kind]
    assert agrees(lines_of(kind, body))
    wrong = [other for other in exchanged(body) if not agrees(lines_of(kind, other))]
    assert not wrong, wrong[:3]


def test_he_takes_a_file_and_an_envelope_where_the_program_takes_them():
    entry = json.loads(lines_of("photos", {}))
    wrong = [other for other in exchanged(entry) if not agrees(dumps(other))]
    assert not wrong, wrong[:3]


@pytest.mark.parametrize(
    "text",
    [
        '{"a":1.0}', '{"a":1e3}', '{"a":NaN}', '{"a":1,"a":2}', '{"a":"\\ud800"}', '{"b":1,"a":2}',
        '{"a":9007199254740992}', '{"a":-9007199254740991}', '{"a": 1}', '{"a":"\\u0041"}',
        '{"\U0001f600":1,"\ufb33":2}', '{"\ufb33":1,"\U0001f600":2}', '{"a":"\\/"}', '{"a":-0}',
        "\ufeff{}", "[" * 70 + "]" * 70,
        "[" * 64 + "]" * 64, "[" * 65 + "]" * 65, '{"a":"\\u001f\\b\u007f\u2028"}', "", "nul",
    ],
)  # fmt: skip
def test_he_takes_json_for_canonical_where_the_program_takes_it(text):
    data = text.encode()

    def canonical() -> None:
        second_reader.need(second_reader.canonical(second_reader.plain(data)).encode() == data)

    try:
        loads(data)
        theirs = True
    except EvidenceError:
        theirs = False
    assert (second_reader.word(canonical) == "ok") is theirs


# The tree


@pytest.mark.parametrize("size", range(1, 18))
def test_his_trees_and_proofs_are_the_program_s(size):
    lines = [bytes([n]) for n in range(size)]
    tree, root = Tree([leaf_hash(line) for line in lines]), tree_root(map(leaf_hash, lines))
    assert second_reader.root_of(lines) == root
    for at, line in enumerate(lines):
        assert second_reader.included(at, size, leaf_hash(line), tree.inclusion(at)) == root
    for first in range(1, size):
        old = tree_root(map(leaf_hash, lines[:first]))
        assert second_reader.continued(first, size, old, tree.consistency(first)) == (old, root)


def of_probe(probe: dict[str, Any], *names: str) -> list[bytes]:
    return [b64decode(probe[name]) for name in names]


def test_he_takes_the_proofs_that_others_take_and_no_others(shared_vectors):
    """98 and 98 probes, their source in the folder's SOURCES.tsv.

    Left out are those about an empty tree, and those whose sums are no sums: the page has neither.
    """
    looked_at = 0
    for line in (shared_vectors / "merkle_inclusion_probes.jsonl").read_text().splitlines():
        probe = json.loads(line)
        leaf, root = of_probe(probe, "leafHash", "root")
        proof = [b64decode(node) for node in probe["proof"] or []]
        if {len(one) for one in (leaf, root, *proof)} == {32} and probe["leafIdx"] < probe[
            "treeSize"
        ]:
            made = second_reader.word(
                second_reader.included, probe["leafIdx"], probe["treeSize"], leaf, proof
            )
            assert (made == root) is not probe["wantErr"], probe["file"]
            looked_at += 1
    for line in (shared_vectors / "merkle_consistency_probes.jsonl").read_text().splitlines():
        probe = json.loads(line)
        old, new = of_probe(probe, "root1", "root2")
        proof = [b64decode(node) for node in probe["proof"] or []]
        if {len(one) for one in (old, new, *proof)} == {32} and 0 < probe["size1"] <= probe[
            "size2"
        ]:
            made = second_reader.word(
                second_reader.continued, probe["size1"], probe["size2"], old, proof
            )
            assert (made == (old, new)) is not probe["wantErr"], probe["file"]
            looked_at += 1
    assert looked_at > 100

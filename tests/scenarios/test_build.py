"""The story builder itself: what the scenario tests stand on."""

import pytest

from evidence.errors import RefusedError
from tests.scenarios.build import build, look, starter, tell


def test_the_case_entry_stands_first_and_is_a_sample():
    entries = build(starter())
    assert (entries[0].kind, entries[0].raw["sample"]) == ("case", True)
    assert [entry.seq for entry in entries] == list(range(len(entries)))


def test_each_entry_holds_the_sum_of_the_one_before():
    import json

    import rfc8785

    entries = build([*starter(), look("2025-03-01")])
    whole = {
        "v": 1,
        "seq": entries[0].seq,
        "nth": 1,
        "prev": "0" * 64,
        "kind": "case",
        "body": dict(entries[0].raw),
        "logged": "2025-01-05T18:00:00Z",
        "by": "owner",
        "files": [],
    }
    from hashlib import sha256

    assert sha256(rfc8785.dumps(json.loads(json.dumps(whole)))).hexdigest() == entries[0].sha256


def test_nth_counts_within_the_kind():
    entries = build([*starter(), look("2025-03-01"), look("2025-03-02")])
    assert [entry.nth for entry in entries if entry.kind == "inspection"] == [1, 2]


def test_a_reference_becomes_the_seq_of_the_entry_that_bears_the_id():
    wash = tell("wash", {"when": "2025-04-12", "zones": "all"}, "2025-04-12T20:00:00Z", id="w")
    receipt = {"type": "receipt", "title": "soap", "about": [{"entry": "w"}]}
    entries = build([*starter(), wash, tell("paper", receipt, "2025-04-13T20:00:00Z")])
    assert entries[-1].raw["about"] == [entries[-2].seq]


def test_a_witness_stands_behind_its_entry_sixty_seconds_later():
    entries = build([*starter(), look("2025-03-01", witness=True)])
    assert entries[-1].kind == "witness"
    assert entries[-1].raw["size"] == len(entries) - 1
    assert (entries[-1].logged - entries[-2].logged).seconds == 60


def test_what_admission_refuses_no_story_holds():
    with pytest.raises(RefusedError, match="'nowhere' is not known"):
        build([*starter(), look("2025-03-01", {"nowhere": 0})])

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256

import pytest

from evidence.check.record import check_record
from evidence.check.report import Found
from evidence.ledger import Head, SignedNote, Signer
from evidence.witness import SampleAuthority
from tests.check.making import found, told
from tests.tampering import LATER, OPENING, Handed, head_over


def witnessed(handed: Handed, owner: Signer, at: datetime, **said: object) -> Handed:
    """One more outsider's answer, over the newest head."""
    note = handed.heads[-1]
    head = Head.parse(SignedNote.parse(note).text)
    answer = SampleAuthority.create(at).answer(note.encode(), at)
    name = "Sample time-stamping authority (made on the spot, vouches for nothing)"
    body = {
        "type": "rfc3161",
        "size": head.size,
        "root": head.root.hex(),
        "time": f"{at:%Y-%m-%dT%H:%M:%SZ}",
        "name": name,
        **said,
    }
    digest = sha256(answer).hexdigest()
    ref = {"sha256": digest, "bytes": len(answer), "type": "application/x", "name": "a.tsr"}
    longer = replace(handed, files={**handed.files, digest: answer})
    logged = max(LATER, f"{at:%Y-%m-%dT%H:%M:%SZ}")
    return longer.then("witness", body, owner, [ref], logged)


NOON = datetime(2025, 9, 1, 12, tzinfo=UTC)
RESET = {"was": "2025-09-02T12:00:00Z", "is": LATER, "why": "it ran ahead"}


def test_an_outsiders_answer_is_verified_and_told(handed, owner):
    report = check_record(witnessed(handed, owner, NOON))

    last = report.witnesses[-1]
    assert found(report) == {}
    assert (last.size, last.time, last.result) == (len(handed.lines), NOON, Found.OK)
    assert last.trust == "sample"


@pytest.mark.parametrize(
    "said",
    [
        {"time": "2025-08-31T12:00:00Z"},
        {"name": "A well-known authority"},
        {"root": "0" * 64},
        {"size": 3},
    ],
    ids=lambda said: next(iter(said)),
)
def test_what_the_record_says_of_an_answer_must_be_what_the_answer_says(handed, owner, said):
    report = check_record(witnessed(handed, owner, NOON, **said))

    assert found(report) == {5: Found.CHANGED}
    assert told(report, 5) == f"entry {len(handed.lines) + 1}: does not verify"
    assert report.witnesses[-1].trust is None


def test_an_answer_that_is_gone_is_missing(handed):
    seq = handed.of_kind("witness")[0]
    digest = json.loads(handed.lines[seq])["files"][0]["sha256"]
    files = {name: data for name, data in handed.files.items() if name != digest}
    report = check_record(replace(handed, files=files))

    assert found(report) == {5: Found.MISSING, 7: Found.MISSING}
    assert told(report, 5) == f"entry {seq + 1}: its answer is not here"
    assert digest[:16] in told(report, 7)


def test_an_answer_exchanged_for_another_is_found(handed):
    first, second, *_ = handed.of_kind("witness")
    digests = [json.loads(handed.lines[seq])["files"][0]["sha256"] for seq in (first, second)]
    files = {**handed.files, digests[0]: handed.files[digests[1]]}
    report = check_record(replace(handed, files=files))

    assert found(report) == {5: Found.CHANGED, 7: Found.CHANGED}


@pytest.mark.parametrize("kind", ["letter", "cosign"])
def test_an_answer_of_one_kind_does_not_pass_for_another(handed, owner, kind):
    report = check_record(witnessed(handed, owner, NOON, type=kind))

    assert 5 in found(report)
    assert report.witnesses[-1].trust is None


def test_without_outsiders_nobody_but_the_owner_vouches(handed, owner):
    lines = handed.lines[:OPENING]
    report = check_record(Handed(lines, (head_over(lines, owner),), handed.files))

    assert found(report) == {6: Found.NAMED}
    assert told(report, 6) == "nobody but the owner vouches for any date here"


def test_a_clock_outside_its_bracket_is_named_and_changes_nothing(handed, owner):
    """Entry logged at noon; the outsider saw it an hour before, by his own clock."""
    report = check_record(witnessed(handed, owner, NOON - timedelta(days=12)))

    assert found(report) == {6: Found.NAMED}
    assert f"entry {len(handed.lines)} was logged" in told(report, 6)
    assert "after the answer over it (2025-08-20T12:00:00Z)" in told(report, 6)


def test_an_entry_logged_before_the_answer_ahead_of_it_is_named(handed, owner):
    late = witnessed(handed, owner, NOON + timedelta(days=1))
    report = check_record(late.then("clock", RESET, owner, logged=LATER))

    assert found(report) == {6: Found.NAMED}
    assert f"entry {len(late.lines) + 1} was logged {LATER}" in told(report, 6)
    assert "before the answer ahead of it (2025-09-02T12:00:00Z)" in told(report, 6)


def test_an_entry_between_two_answers_may_be_outside_both_ends(handed, owner):
    """Whoever sets his clock back after an answer and forward before the next is named twice."""
    first = witnessed(handed, owner, NOON + timedelta(days=1))
    between = first.then("clock", RESET, owner, logged=LATER)
    report = check_record(witnessed(between, owner, NOON - timedelta(hours=1)))

    number = len(between.lines)
    assert found(report) == {6: Found.NAMED}
    assert f"entry {number} was logged {LATER}, before the answer ahead of it" in told(report, 6)
    assert f"entry {number} was logged {LATER}, after the answer over it" in told(report, 6)


def test_each_step_back_of_the_writers_clock_is_named_and_is_no_change(handed, owner):
    """He says in a `clock` entry that his clock ran two years ahead, and writes on in 2023."""
    early = "2023-06-01T12:00:00Z"
    now = json.loads(handed.lines[-1])["logged"]
    body = {"was": now, "is": early, "why": "the clock ran ahead"}
    report = check_record(handed.then("clock", body, owner, logged=early))

    assert found(report)[6] is Found.NAMED
    count = len(handed.lines)
    assert (
        f"the writer's clock was set back: entry {count + 1} was logged {early}, "
        f"behind entry {count} of {now}"
    ) in told(report, 6)

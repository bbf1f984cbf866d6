"""What an owner who holds the machine, the clock and the keys can try, and what an outsider's
answer does about it. Each test is one story."""

import json
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.cosigning import CosignerStore
from evidence.errors import ChangedError, RefusedError
from evidence.ledger import SignedNote
from evidence.witness import CosigningKey, SampleAuthority
from evidence.witnessing import keep, newest, request_of, take_cosigned, take_reply, to_cosign
from tests.faults.checking import assert_changed, checked
from tests.tampering import (
    LATER,
    Handed,
    altered,
    head_over,
    keep_first,
    opened_by_force,
    owner_of,
    put_entries,
    put_heads,
    rechained,
    reworded,
)

AT = datetime(2025, 9, 1, 12, tzinfo=UTC)
NO_OUTSIDER = "nobody but the owner vouches for any date here"


@pytest.fixture
def outsider() -> SampleAuthority:
    return SampleAuthority.create(AT)


def put_record(case: Path, lines: tuple[bytes, ...]) -> None:
    """The owner writes his ledger anew, and signs every head of it with his own key."""
    owner = owner_of(case)
    with opened_by_force(case) as ledger:
        ledger.execute("DELETE FROM entries")
        ledger.execute("DELETE FROM heads")
        for seq, line in enumerate(lines):
            ledger.execute("INSERT INTO entries VALUES (?, ?, ?)", (seq, f"label {seq}", line))
            if seq >= 5:
                note = head_over(lines[: seq + 1], owner)
                ledger.execute("INSERT INTO heads VALUES (?, ?)", (seq + 1, note))


def milder(lines: tuple[bytes, ...]) -> list[bytes]:
    """A look of March, with a finding that is no longer there."""
    at = next(n for n, line in enumerate(lines) if b'"id":"f1"' in line)
    return [*lines[:at], reworded(lines[at], findings=[]), *lines[at + 1 :]]


def test_a_chain_made_anew_around_the_answers_it_held(case):
    """After the loss the owner takes a finding out of an old look, chains all entries behind it
    again, signs every head again, and leaves the outsider's answers where they stood. Chain,
    heads and keys fit. The answers do not: they are over the sums of the old heads."""
    lines = rechained(milder(Record.open(case).lines))
    owner = owner_of(case)
    with opened_by_force(case) as ledger:
        sizes = [size for (size,) in ledger.execute("SELECT size FROM heads")]
    put_entries(case, dict(enumerate(lines)))
    put_heads(case, {size: head_over(lines[:size], owner).encode() for size in sizes})
    answer = checked(case)

    assert_changed(answer)
    assert set(answer.changed) == {5}


def test_a_chain_made_anew_with_the_answers_left_out(case, outsider):
    """This time he leaves the answers out as well. The record checks: but nobody vouches for it,
    and the answer that the insurer kept is about no head that it holds."""
    shown = outsider.reply(request_of(Record.open(case)), AT)
    lines = [
        line for line in milder(Record.open(case).lines) if json.loads(line)["kind"] != "witness"
    ]
    put_record(case, rechained(lines))
    answer = checked(case)

    assert answer.document["result"] == "unchanged"
    assert answer.document["anchored_to"] is None
    assert answer.document["steps"][5]["detail"] == NO_OUTSIDER
    with pytest.raises(RefusedError, match="no head that this record holds"):
        take_reply(Record.open(case), shown)


def test_an_older_copy_put_back(case, outsider):
    """He wrote a look that he regrets, and puts yesterday's copy of the folder back. The copy
    checks, for nothing in it was changed. The answer given since then is about a later state."""
    size = len(Record.open(case).lines)
    shown = outsider.reply(request_of(Record.open(case)), AT)
    keep_first(case, size - 2)

    assert checked(case).document["result"] == "unchanged"
    with pytest.raises(RefusedError, match="an older copy") as refused:
        take_reply(Record.open(case), shown)
    assert "no head that this record holds" in str(refused.value)


def test_an_older_copy_that_keeps_the_later_answer(case):
    """He cuts entries off and writes the answer over the longer record behind what is left, to
    seem witnessed. The answer's size lies beyond the entries ahead of it."""
    handed = Handed.of(case)
    last = handed.of_kind("witness")[-1]
    kept_answer, cut = json.loads(handed.lines[last]), last - 3
    shorter = Handed(handed.lines[:cut], (), handed.files)
    forged = shorter.then(
        "witness", kept_answer["body"], None, kept_answer["files"], kept_answer["logged"]
    )
    put_record(case, forged.lines)
    answer = checked(case)

    assert_changed(answer)
    assert answer.changed == {5: f"entry {cut + 1}: does not verify"}


def test_a_cosigner_does_not_sign_the_older_copy_or_the_other_history(case, tmp_path):
    """A neighbour cosigned the record once. Whatever the owner brings her later must continue it:
    not the older copy, and not the chain made anew, though both bear his signature."""
    store = CosignerStore(tmp_path / "neighbour")
    key, vkey = store.create(None), owner_of(case).verifier.vkey
    record = Record.open(case)
    size = len(record.lines)
    store.cosign(store.look(newest(record).encode(), vkey), key, AT)
    older = Path(shutil.copytree(case, tmp_path / "older"))
    keep_first(older, size - 2)
    put_record(case, rechained(milder(record.lines)))

    with pytest.raises(ChangedError, match="an older copy"):
        store.cosign(store.look(newest(Record.open(older)).encode(), vkey), key, AT)
    with pytest.raises(ChangedError, match="another one of the same size"):
        store.cosign(store.look(newest(Record.open(case)).encode(), vkey), key, AT)
    made_anew = Record.open(case)
    made_anew.write([Draft("photos", {}, "owner")], owner_of(case), clock=lambda: AT)
    with pytest.raises(ChangedError, match="does not continue"):
        store.cosign(store.look(to_cosign(made_anew, size).encode(), vkey), key, AT)


def test_an_entry_dated_back_behind_an_answer(case, outsider):
    """He sets the computer's clock back to spring, says so in a `clock` entry as he must, and
    writes a look "of that day". An outsider's answer of September stands ahead of it in the chain:
    it cannot have been written before, and is named with both times."""
    record, owner = Record.open(case), owner_of(case)
    answer = take_reply(record, outsider.reply(request_of(record), AT))
    keep(record, [answer], "owner", owner, clock=lambda: AT)
    spring = datetime(2025, 4, 2, 9, tzinfo=UTC)
    reset = {"was": LATER, "is": "2025-04-02T09:00:00Z", "why": "the clock ran ahead"}
    drafts = [Draft("clock", reset, "owner"), Draft("photos", {"note": "April"}, "owner")]
    written = record.write(drafts, owner, clock=lambda: spring)
    step = checked(case).document["steps"][5]

    assert step["result"] == "named"
    for entry in written.entries:
        said = f"entry {entry.number} was logged 2025-04-02T09:00:00Z, before the answer ahead"
        assert f"{said} of it (2025-09-01T12:00:00Z)" in step["detail"]


def test_an_entry_dated_ahead_of_the_answer_over_it(case, outsider):
    """He logs a look with the clock set forward to October, and has the head witnessed in
    September: it existed before it says it was written."""
    record, owner = Record.open(case), owner_of(case)
    october = AT + timedelta(days=30)
    written = record.write([Draft("photos", {}, "owner")], owner, clock=lambda: october)
    answer = take_reply(record, outsider.reply(request_of(record), AT))
    keep(record, [answer], "owner", owner, clock=lambda: october)
    step = checked(case).document["steps"][5]

    assert step["result"] == "named"
    number = written.entries[0].number
    assert (
        f"entry {number} was logged 2025-10-01T12:00:00Z, after the answer over" in step["detail"]
    )


def test_two_records_kept_side_by_side(case, tmp_path, outsider, capsys):
    """From the start he keeps a second copy of the case, in which every look is sound, has both
    witnessed, and shows the one that suits. Each checks, and nothing in either can tell. So the
    report says in one sentence that it cannot; and whoever sees both has two heads of one size."""
    from evidence.cli import _run

    other = Path(shutil.copytree(case, tmp_path / "other"))
    heads = []
    for folder, note in ((case, "a crack"), (other, "nothing")):
        record, owner = Record.open(folder), owner_of(folder)
        record.write([Draft("photos", {"note": note}, "owner")], owner, clock=lambda: AT)
        answer = take_reply(record, outsider.reply(request_of(record), AT))
        keep(record, [answer], "owner", owner, clock=lambda: AT)
        heads.append(answer.head)
        assert checked(folder).document["result"] == "unchanged"
        _run(["check", str(folder)])
        assert "No check can exclude that another record was kept" in capsys.readouterr().out

    assert heads[0].size == heads[1].size
    assert heads[0].origin == heads[1].origin
    assert heads[0].root != heads[1].root


def test_two_answers_that_changed_places(case):
    """He exchanges the files of two answers, so that an early one seems to hold more."""
    record = Record.open(case)
    answers = [entry.files[0].sha256 for entry in record.entries if entry.kind == "witness"]
    first, last = record.original(answers[0]), record.original(answers[-1])
    early, late = first.read_bytes(), last.read_bytes()
    first.write_bytes(late)
    last.write_bytes(early)
    answer = checked(case)

    assert_changed(answer)
    assert set(answer.changed) == {5, 7}


def test_an_answer_borrowed_for_another_head(case):
    """He rewrites a witness entry so that it names the answer to an earlier head, with its time
    and its name, for the head of today; he chains and signs the end anew."""
    lines = Record.open(case).lines
    first, last = Handed.of(case).of_kind("witness")[0], Handed.of(case).of_kind("witness")[-1]
    borrowed, about = json.loads(lines[first]), json.loads(lines[last])["body"]
    body = {**borrowed["body"], "size": about["size"], "root": about["root"]}
    forged = altered(lines[last], body=body, files=borrowed["files"])
    put_record(case, rechained([*lines[:last], forged, *lines[last + 1 :]]))
    answer = checked(case)

    assert_changed(answer)
    assert answer.changed == {5: f"entry {last + 1}: does not verify"}


def cosign_body(key: CosigningKey) -> dict[str, str]:
    return {"party": "insurer", "event": "added", "key": key.cosigner.vkey, "use": "cosign"}


def test_a_cosignature_by_a_key_that_is_added_only_later(case):
    """He makes up a cosigner: writes the cosignature first and names its key afterwards, when
    nobody can object any more. A key counts from its entry on, and not before."""
    record, owner = Record.open(case), owner_of(case)
    key = CosigningKey.generate()
    cosigned = key.cosign(SignedNote.parse(newest(record)), AT).format().encode()
    record.write([Draft("key", cosign_body(key), "owner")], owner, clock=lambda: AT)
    keep(record, take_cosigned(record, cosigned), "owner", owner, clock=lambda: AT)
    assert checked(case).document["result"] == "unchanged"

    *before, added, witness = Record.open(case).lines
    put_record(case, rechained([*before, witness, added]))
    answer = checked(case)

    assert_changed(answer)
    assert answer.changed == {5: f"entry {len(before) + 1}: does not verify"}


def test_a_cosigner_whom_he_made_up_himself(case):
    """He makes the key of a "neighbour" on his own machine, and backdates her signature. It stands
    in the record as what it is: by a key that the record alone names. It vouches for nothing until
    a reader has that key from her."""
    record, owner = Record.open(case), owner_of(case)
    key = CosigningKey.generate()
    record.write([Draft("key", cosign_body(key), "owner")], owner, clock=lambda: AT)
    long_ago = datetime(2025, 1, 6, tzinfo=UTC)
    cosigned = key.cosign(SignedNote.parse(newest(record)), long_ago).format().encode()
    keep(record, take_cosigned(record, cosigned), "owner", owner, clock=lambda: AT)
    answer = checked(case).document

    assert answer["witnesses"][-1]["trust"] == "untrusted"
    assert "named by the record alone" in answer["steps"][4]["detail"]
    assert answer["steps"][5]["result"] == "named"  # and her clock contradicts his own
    history = Record.open(case).history(AT.date())
    assert not history.vouched[-1].counts

"""Asking outsiders, and taking what they hand back into the record."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256

import pytest

from evidence.case import Draft, Record
from evidence.check import check_path
from evidence.check.record import check_record
from evidence.check.report import Found
from evidence.dossier.attachments import extract
from evidence.envelope import read_entry
from evidence.errors import RefusedError
from evidence.keeping import FileDraft
from evidence.ledger import Head, SignedNote, Signer
from evidence.ledger.vkeys import write_vkey
from evidence.times import GRACE, utc_text
from evidence.trade import load_catalogue
from evidence.upkeep import as_json, measure
from evidence.vouching import answers_in
from evidence.witness import Anchors, CosigningKey, SampleAuthority, Trust
from evidence.witness.cosign import COSIGNATURE
from evidence.witnessing import (
    ask_authority,
    keep,
    newest,
    request_of,
    take_cosigned,
    take_letter,
    take_reply,
)
from tests.check.making import found, told
from tests.forging import issued
from tests.mailing import DOMAIN, KEY_NAME, der_of, domain_key, key_record
from tests.mailing import Draft as Letter
from tests.serving import replying, served
from tests.tampering import Handed, key_body, owner_of

AT = datetime(2025, 9, 1, 12, tzinfo=UTC)
SAMPLE_NAME = "Sample time-stamping authority (made on the spot, vouches for nothing)"
NEIGHBOUR = {"id": "neighbour", "name": "N. Neighbour", "role": "witness"}


@pytest.fixture(autouse=True)
def _no_proxy(monkeypatch):
    monkeypatch.setenv("no_proxy", "*")


@pytest.fixture
def record(case):
    return Record.open(case)


@pytest.fixture
def owner(case):
    return owner_of(case)


@pytest.fixture(scope="module")
def authority():
    return SampleAuthority.create(AT)


@pytest.fixture
def friend():
    return CosigningKey.generate()


def with_key(record: Record, vkey: str, **more) -> None:
    """The neighbour and her key are entered."""
    body = {"party": "neighbour", "event": "added", "key": vkey, "use": "cosign", **more}
    drafts = [Draft("party", NEIGHBOUR, "owner"), Draft("key", body, "owner")]
    record.write(drafts, owner_of(record.folder), clock=lambda: AT)


def cosigned(record: Record, key: CosigningKey, at: datetime = AT) -> bytes:
    return key.cosign(SignedNote.parse(newest(record)), at).format().encode()


def letter_of(record: Record, **more) -> Letter:
    return Letter(f"The state of my record:\n\n{newest(record)}\n", **more)


# Time stamps


def test_a_time_stamp_asked_for_online_stands_in_the_record_and_checks(record, owner, authority):
    size = len(record.lines)
    with served(replying(lambda query: authority.reply(query, AT))) as url:
        answer = ask_authority(record, url)
    written = keep(record, [answer], "owner", owner, clock=lambda: AT)

    assert written.entries[0].body.size == size
    assert written.head.size == size + 1
    report = check_path(record.folder)
    assert found(report) == {}
    last = report.record.witnesses[-1]
    assert (last.time, last.trust, last.result) == (AT, "sample", Found.OK)


def test_an_answer_with_another_imprint_is_not_taken(record, authority):
    lying = served(replying(lambda _: authority.answer(b"other bytes", AT)))
    with lying as url, pytest.raises(RefusedError, match="other bytes"):
        ask_authority(record, url)


def test_an_answer_to_an_earlier_request_is_not_taken(record, authority):
    earlier = authority.reply(request_of(record), AT)
    with (
        served(replying(lambda _: earlier)) as url,
        pytest.raises(RefusedError, match="another request"),
    ):
        ask_authority(record, url)


def test_a_request_carried_by_hand_comes_back_later(record, owner, authority):
    size = len(record.lines)
    request = request_of(record)
    record.write([Draft("photos", {}, "owner")], owner, clock=lambda: AT)
    answer = take_reply(record, authority.reply(request, AT))
    written = keep(record, [answer], "owner", owner, clock=lambda: AT)

    assert written.entries[0].body.size == size
    assert found(check_path(record.folder)) == {}


def test_an_answer_about_no_head_of_the_record_is_refused(record, authority):
    with pytest.raises(RefusedError, match="no head that this record holds"):
        take_reply(record, authority.answer(b"another head", AT))


def test_what_is_no_answer_is_told(record):
    with pytest.raises(RefusedError, match="cannot be read"):
        take_reply(record, b"<html>")


def test_the_same_answer_is_taken_once(record, owner, authority):
    reply = authority.reply(request_of(record), AT)
    keep(record, [take_reply(record, reply)], "owner", owner, clock=lambda: AT)

    with pytest.raises(RefusedError, match="stands in the record already"):
        keep(record, [take_reply(record, reply)], "owner", owner, clock=lambda: AT)


# Letters


def test_a_letter_stands_in_the_record_with_its_key_and_checks(record, owner):
    answer = take_letter(record, letter_of(record).message(), key_record(), clock=lambda: AT)
    written = keep(record, [answer], "owner", owner, clock=lambda: AT)

    entry = written.entries[0]
    assert (entry.body.type, entry.body.name) == ("letter", DOMAIN)
    assert entry.body.time == "2025-08-31T12:00:00Z"
    assert [ref.name for ref in entry.files] == ["letter.eml", "key-record.txt"]
    report = check_path(record.folder)
    assert found(report) == {}
    assert "the key record of a letter was given by the keeper" in told(report, 5)
    assert report.record.witnesses[-1].trust == "untrusted"


def test_a_reader_who_looked_the_key_up_trusts_a_letter(record, owner):
    answer = take_letter(record, letter_of(record).message(), key_record(), clock=lambda: AT)
    keep(record, [answer], "owner", owner, clock=lambda: AT)
    looked_up = Anchors(mail_keys=((KEY_NAME, der_of(domain_key())),))
    report = check_path(record.folder, looked_up)

    assert report.record.witnesses[-1].trust == "trusted"
    assert "given by the keeper" not in told(report, 5)
    assert list(record.answers(looked_up).values())[-1].trust is Trust.TRUSTED


def test_of_several_heads_in_a_letter_the_largest_counts(record):
    heads = "\n".join(record.heads[-3:])
    answer = take_letter(record, Letter(heads).message(), key_record(), clock=lambda: AT)

    assert answer.head.size == len(record.lines)


def test_a_letter_without_a_head_of_the_record_is_refused(record):
    with pytest.raises(RefusedError, match="holds no head of this record"):
        take_letter(record, Letter("Hello\n").message(), key_record(), clock=lambda: AT)


def test_a_letter_about_a_state_that_the_record_lacks_is_refused(record):
    head = newest(record).split("\n")
    later = "\n".join([head[0], "99", head[2], ""])
    with pytest.raises(RefusedError, match="a head of 99 entries that this record does not hold"):
        take_letter(record, Letter(later).message(), key_record(), clock=lambda: AT)


def test_a_letter_that_had_expired_is_refused_and_one_that_expires_later_lasts(record, owner):
    tags = (("t", str(int(AT.timestamp()))), ("x", str(int(AT.timestamp()) + 60)))
    expiring = letter_of(record, tags=tags).message()
    with pytest.raises(RefusedError, match="expired"):
        take_letter(record, expiring, key_record(), clock=lambda: AT + timedelta(hours=1))

    answer = take_letter(record, expiring, key_record(), clock=lambda: AT)
    keep(record, [answer], "owner", owner, clock=lambda: AT)
    assert found(check_path(record.folder)) == {}  # today lies far behind its end


def test_without_its_key_record_a_letter_is_missing(record, owner):
    answer = take_letter(record, letter_of(record).message(), key_record(), clock=lambda: AT)
    entry = keep(record, [answer], "owner", owner, clock=lambda: AT).entries[0]
    record.original(entry.files[1].sha256).unlink()

    assert found(check_path(record.folder)) == {5: Found.MISSING, 7: Found.MISSING}
    assert entry.seq not in record.answers()


# Cosignatures


def test_a_cosigned_head_stands_in_the_record_and_checks(record, owner, friend):
    with_key(record, friend.cosigner.vkey)
    answers = take_cosigned(record, cosigned(record, friend))
    entry = keep(record, answers, "owner", owner, clock=lambda: AT).entries[0]

    assert entry.body.type == "cosign"
    assert entry.body.name == f"N. Neighbour ({friend.cosigner.name})"
    report = check_path(record.folder)
    assert found(report) == {}
    assert report.record.witnesses[-1].trust == "untrusted"
    assert "the key of a cosigner is named by the record alone" in told(report, 5)


def test_a_reader_who_has_the_key_from_the_cosigner_trusts_it(record, owner, friend):
    with_key(record, friend.cosigner.vkey)
    answers = take_cosigned(record, cosigned(record, friend))
    keep(record, answers, "owner", owner, clock=lambda: AT)
    own = Anchors(cosigners=(friend.cosigner.vkey,))

    assert check_path(record.folder, own).record.witnesses[-1].trust == "trusted"
    standing = measure(record.history(AT.date(), own), load_catalogue(), "0" * 64)
    rows = {row["seq"]: row["support"] for row in shown(standing)}
    assert "cosigned" in rows[len(record.lines) - 2]


def shown(standing):
    return as_json(standing)["entries"]


def test_two_cosigners_of_one_note_are_two_entries_under_one_head(record, owner, friend):
    other = CosigningKey.generate()
    with_key(record, friend.cosigner.vkey)
    body = {"party": "insurer", "event": "added", "key": other.cosigner.vkey, "use": "cosign"}
    record.write([Draft("key", body, "owner")], owner, clock=lambda: AT)
    both = other.cosign(SignedNote.parse(cosigned(record, friend)), AT).format().encode()
    written = keep(record, take_cosigned(record, both), "owner", owner, clock=lambda: AT)

    assert [entry.body.name.partition(" (")[0] for entry in written.entries] == [
        "N. Neighbour",
        "Invented Mutual",
    ]
    assert found(check_path(record.folder)) == {}


def test_a_cosigned_note_is_refused_while_no_cosigners_key_stands(record, friend):
    with pytest.raises(RefusedError, match=r"use=cosign"):
        take_cosigned(record, cosigned(record, friend))


def test_a_cosigned_note_by_another_key_than_the_ones_that_stand_is_refused(record, friend):
    with_key(record, CosigningKey.generate().cosigner.vkey)
    with pytest.raises(RefusedError, match="none of the known keys"):
        take_cosigned(record, cosigned(record, friend))


def test_a_key_that_was_retired_cosigns_no_more(record, owner, friend):
    with_key(record, friend.cosigner.vkey)
    body = {"party": "neighbour", "event": "lost", "key": friend.cosigner.vkey, "use": "cosign"}
    record.write([Draft("key", body, "owner")], owner, clock=lambda: AT)

    with pytest.raises(RefusedError, match="nobody whose key"):
        take_cosigned(record, cosigned(record, friend))


def test_a_head_of_another_record_or_a_later_state_is_refused(record, friend):
    with_key(record, friend.cosigner.vkey)
    text = SignedNote.parse(newest(record)).text.replace(f"\n{len(record.lines)}\n", "\n99\n")
    stranger = Signer.generate(text.split("\n")[0])
    other = friend.cosign(SignedNote(text, (stranger.sign(text),)), AT)
    with pytest.raises(RefusedError, match="99 entries that this record does not hold"):
        take_cosigned(record, other.format().encode())


@pytest.fixture
def lenient(monkeypatch):
    """Another program's record: what ours refuses to write may stand in it."""
    monkeypatch.setattr("evidence.case.admit", lambda *_, **__: None)


@pytest.mark.usefixtures("lenient")
def test_a_cosigners_key_that_signs_the_records_heads_is_nobodys(record, owner):
    """The owner cannot be his own outsider, not even under another name."""
    own = CosigningKey(owner.private_key)
    with_key(record, own.cosigner.vkey)

    with pytest.raises(RefusedError, match="none of the known keys"):
        take_cosigned(record, cosigned(record, own))


@pytest.mark.usefixtures("lenient")
def test_a_cosigners_key_of_low_order_is_nobodys(record, friend):
    with_key(record, write_vkey("anybody", COSIGNATURE, bytes(32)))
    with pytest.raises(RefusedError, match="none of the known keys"):
        take_cosigned(record, cosigned(record, friend))


def test_a_key_that_signs_heads_is_not_taken_for_a_cosigners(record, owner, friend):
    body = key_body(Signer.generate(owner.name))
    record.write([Draft("key", body, "owner")], owner, clock=lambda: AT)

    with pytest.raises(RefusedError, match="nobody whose key"):
        take_cosigned(record, cosigned(record, friend))


# What a stranger gets


def test_a_dossier_carries_a_letter_with_its_key_record_and_a_cosignature(
    record, owner, friend, tmp_path
):
    answer = take_letter(record, letter_of(record).message(), key_record(), clock=lambda: AT)
    letter = keep(record, [answer], "owner", owner, clock=lambda: AT).entries[0]
    with_key(record, friend.cosigner.vkey)
    answers = take_cosigned(record, cosigned(record, friend))
    note = keep(record, answers, "owner", owner, clock=lambda: AT).entries[0]
    claim = issued(record.folder, tmp_path / "claim.pdf")

    carried = extract(claim.read_bytes())
    assert {name: data for name, data in carried.items() if name.startswith("witness-")}.keys() >= {
        f"witness-{letter.number}.eml",
        f"witness-{letter.number}-2.txt",
        f"witness-{note.number}.txt",
    }
    report = check_path(claim)
    assert found(report) == {}
    assert [row.trust for row in report.record.witnesses[-2:]] == ["untrusted", "untrusted"]
    mail_keys = ((KEY_NAME, der_of(domain_key())),)
    own = Anchors(cosigners=(friend.cosigner.vkey,), mail_keys=mail_keys)
    trusted = check_path(claim, own).record.witnesses[-2:]
    assert [row.trust for row in trusted] == ["trusted", "trusted"]


# By hand


def by_hand(record: Record, answer, folder, **said) -> Draft:
    """The entry that `keep` would write, made up by the owner."""
    (folder / "answer.tsr").write_bytes(answer)
    head = Head.parse(SignedNote.parse(newest(record)).text)
    body = {
        "type": "rfc3161", "size": head.size, "root": head.root.hex(),
        "time": "2025-09-01T12:00:00Z", "name": SAMPLE_NAME, **said,
    }  # fmt: skip
    return Draft("witness", body, "owner", (FileDraft(folder / "answer.tsr"),))


@pytest.mark.parametrize(
    "said",
    [
        {"root": "0" * 64},
        {"time": "2024-09-01T12:00:00Z"},
        {"name": "X"},
        {"size": 3},
        {"size": 99},
    ],
    ids=lambda said: "-".join(map(str, said.items())),
)
def test_a_witness_entry_made_up_around_a_true_answer_is_refused(
    record, owner, authority, tmp_path, said
):
    """The owner has a true answer, and writes the entry himself, for another head or an earlier
    day. It would stand there for ever as changed, and no correction touches a witness."""
    answer = authority.reply(request_of(record), AT)
    lines, sealed = record.lines, sorted(record.originals.iterdir())
    with pytest.raises(RefusedError, match="no outsider's answer that verifies"):
        record.write([by_hand(record, answer, tmp_path, **said)], owner, clock=lambda: AT)

    assert Record.open(record.folder).lines == lines
    assert sorted(record.originals.iterdir()) == sealed


def test_a_witness_entry_without_an_answer_is_refused(record, owner, authority, tmp_path):
    draft = by_hand(record, authority.reply(request_of(record), AT), tmp_path)
    for files in ((), draft.files):
        (tmp_path / "answer.tsr").write_bytes(b"he surely said so")
        with pytest.raises(RefusedError, match="roof-evidence witness"):
            record.write([replace(draft, files=files)], owner, clock=lambda: AT)


@pytest.mark.parametrize("way", ["time stamp", "letter", "cosignature"])
def test_an_answer_from_the_future_is_not_taken(record, owner, friend, way):
    """An outsider of the owner's choosing says next year. Taken, every later entry would be "not
    before" next year."""
    later, within = AT + timedelta(days=365), AT + GRACE
    with_key(record, friend.cosigner.vkey)

    def answers(at):
        seconds = str(int(at.timestamp()))
        if way == "time stamp":
            return [take_reply(record, SampleAuthority.create(at).reply(request_of(record), at))]
        if way == "letter":
            letter = letter_of(record, tags=(("t", seconds),)).message()
            return [take_letter(record, letter, key_record(), clock=lambda: AT)]
        return take_cosigned(record, cosigned(record, friend, at))

    with pytest.raises(RefusedError, match="later than this machine's clock"):
        keep(record, answers(later), "owner", owner, clock=lambda: AT)
    assert keep(record, answers(within), "owner", owner, clock=lambda: AT).entries


def test_an_answer_later_than_its_own_entry_is_named_and_bounds_nothing(record, owner):
    """A record from elsewhere holds one all the same: written by another program, or with the
    clock set back."""
    later = AT + timedelta(days=365)
    note = newest(record)
    answer = SampleAuthority.create(later).answer(note.encode(), later)
    digest = sha256(answer).hexdigest()
    head = Head.parse(SignedNote.parse(note).text)
    body = {
        "type": "rfc3161", "size": head.size, "root": head.root.hex(),
        "time": utc_text(later), "name": SAMPLE_NAME,
    }  # fmt: skip
    ref = {"sha256": digest, "bytes": len(answer), "type": "application/x", "name": "a.tsr"}
    forged = Handed.of(record.folder)
    forged = replace(forged, files={**forged.files, digest: answer})
    forged = forged.then("witness", body, owner, [ref])
    report = check_record(forged)

    assert found(report) == {5: Found.NAMED}
    assert f"entry {head.size + 1}: its answer is later than the entry" in told(report, 5)
    assert report.witnesses[-1].trust is None
    entries = [read_entry(line) for line in forged.lines]
    notes = {head.size: note}
    assert head.size not in answers_in(entries, notes, forged.read)

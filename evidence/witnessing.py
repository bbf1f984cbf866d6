"""Letting an outsider vouch for a case: what is asked, and how an answer comes into the record.

Whatever an outsider hands back is verified against a head that the record holds before it is taken,
by the same reading that everybody else gives it later (`vouching`).
"""

import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from pydantic import JsonValue

from evidence.case import Clock, Draft, Record, Written, now
from evidence.entries import Witness
from evidence.errors import ChangedError, RefusedError
from evidence.keeping import FileDraft
from evidence.keyring import cosign_keys, ever_signing
from evidence.ledger import (
    Head,
    SignedNote,
    Signer,
    b64encode,
    consistency_proof,
    leaf_hash,
    open_note,
    origin_of,
)
from evidence.times import utc_text
from evidence.upkeep import Known
from evidence.upkeep.known import unknown
from evidence.vouching import of_cosigned, of_letter, of_timestamp
from evidence.witness import NOBODY, Statement, find_stamped, read_letter
from evidence.witness.request import TIMEOUT, ask, make_query

_OTHER_STATE = "If it is about a later state of this case, this is an older copy of it."


@contextmanager
def _at_the_door() -> Iterator[None]:
    """What is handed in and does not verify is refused: the record itself was not changed."""
    try:
        yield
    except ChangedError as error:
        raise RefusedError(error.what, error.why, error.what_to_do) from error


@dataclass(frozen=True, slots=True)
class Answer:
    """A verified answer that the record does not hold yet.

    Attributes:
        type: `rfc3161`, `letter` or `cosign`.
        head: the head that it is about.
        said: the outsider's time and name.
        files: what is kept, by name: the answer first, then what it is verified with.
    """

    type: str
    head: Head
    said: Statement
    files: tuple[tuple[str, bytes], ...]


def newest(record: Record) -> str:
    """The signed note of the present head, exactly as `heads.txt` holds it."""
    return record.notes[max(record.notes)]


def signed_by(record: Record) -> str:
    """The key that signed the present head, in text form: a cosigner is told it.

    Raises:
        ChangedError: no key that the record names signed it.
    """
    return open_note(SignedNote.parse(newest(record)), ever_signing(record.entries))[0].vkey


def to_cosign(record: Record, seen: int = 0) -> str:
    """The present head for a cosigner, in the form of c2sp.org/tlog-witness § add-checkpoint.

    Args:
        record: the case.
        seen: the size that he cosigned last; the proof that nothing of it was changed goes along.

    Raises:
        RefusedError: the record never had that size.
    """
    note = newest(record)
    size = _head(note).size
    if not 0 <= seen <= size:
        raise RefusedError(f"size {seen}", f"is not among the states of this record, 0 to {size}")
    leaves = [leaf_hash(line) for line in record.lines[:size]]
    proof = consistency_proof(seen, leaves) if seen else []
    return "".join((f"old {seen}\n", *(f"{b64encode(node)}\n" for node in proof), "\n", note))


def refuse_unknown_party(record: Record, by: str) -> None:
    """Before an outsider is asked: whoever hands his answer in is a party.

    Raises:
        RefusedError: he is none, and an answer could not be written down.
    """
    parties = Known.of(record.entries).ids["parties"]
    if by not in parties:
        raise unknown("field 'by'", by, parties)


def request_of(record: Record) -> bytes:
    """A time-stamp request over the present head, to be carried by hand.

    It holds no nonce: nobody remembers one until the answer comes back.
    """
    return make_query(newest(record).encode(), nonce=False).der


@_at_the_door()
def ask_authority(record: Record, url: str, *, timeout: float = TIMEOUT) -> Answer:
    """Ask a time-stamping authority for the present head, and verify what it says.

    Raises:
        RefusedError: it cannot be reached, or does not answer, or its answer does not verify.
    """
    note = newest(record)
    query = make_query(note.encode(), nonce=True)
    reply = ask(url, query, timeout=timeout)
    said = of_timestamp(reply, note, NOBODY, sample=record.case.sample, nonce=query.nonce)
    return Answer("rfc3161", _head(note), said, (("answer.tsr", reply),))


@_at_the_door()
def take_reply(record: Record, reply: bytes) -> Answer:
    """Verify a time-stamping authority's answer that was carried back by hand.

    Raises:
        RefusedError: it is about no head of this record, or does not verify.
    """
    notes = {note.encode(): note for note in reversed(record.heads)}
    stamped = find_stamped(reply, notes)
    if stamped is None:
        raise RefusedError("time stamp", "is about no head that this record holds", _OTHER_STATE)
    note = notes[stamped]
    said = of_timestamp(reply, note, NOBODY, sample=record.case.sample)
    return Answer("rfc3161", _head(note), said, (("answer.tsr", reply),))


@_at_the_door()
def take_letter(record: Record, message: bytes, key_record: bytes, clock: Clock = now) -> Answer:
    """Verify a letter that came back; of several heads in it, the largest counts.

    Raises:
        RefusedError: it holds no head of this record, its key record cannot be used, or its
            signature does not hold.
    """
    at = clock()
    letter = read_letter(message, key_record, at=at)
    origin = origin_of(record.case.case_id)
    head = _largest(record, letter.heads(origin), "letter")
    said = of_letter(message, key_record, record.notes[head.size], at, NOBODY)
    return Answer("letter", head, said, (("letter.eml", message), ("key-record.txt", key_record)))


@_at_the_door()
def take_cosigned(record: Record, data: bytes) -> tuple[Answer, ...]:
    """Verify a note that came back cosigned: an answer for each cosigner whose key stands.

    Raises:
        RefusedError: it is about no head of this record, no cosigner's key stands in it, none
            whose key stands signed it, or a line of one does not hold.
    """
    head = _largest(record, [_head(data)], "cosigned note")
    if not cosign_keys(record.entries):
        raise RefusedError(
            "cosigned note",
            "is signed by nobody whose key the record names",
            "Enter the cosigner's party, then the key that he gave you: kind key, use=cosign.",
        )
    said = of_cosigned(data, record.notes[head.size], record.entries, NOBODY)
    return tuple(Answer("cosign", head, one, (("cosigned.txt", data),)) for one in said)


def keep(
    record: Record, answers: Sequence[Answer], by: str, signer: Signer, clock: Clock = now
) -> Written:
    """Write verified answers down, each as an entry of its own under one new head.

    Args:
        record: the case.
        answers: what was verified; at least one.
        by: the party who hands them in.
        signer: a log key of the case.
        clock: the writer's clock.

    Raises:
        RefusedError: the record holds them all already, or cannot take one; nothing was written.
    """
    fresh = [answer for answer in answers if not _held(record, answer)]
    if not fresh:
        raise RefusedError("answer", "stands in the record already", "Nothing was written.")
    with tempfile.TemporaryDirectory() as place:
        drafts = [_draft(answer, by, Path(place)) for answer in fresh]
        return record.write(drafts, signer, clock=clock)


def _draft(answer: Answer, by: str, place: Path) -> Draft:
    head, said = answer.head, answer.said
    body: dict[str, JsonValue] = {
        "type": answer.type,
        "size": head.size,
        "root": head.root.hex(),
        "time": utc_text(said.time),
        "name": said.name,
    }
    for name, data in answer.files:
        (place / name).write_bytes(data)
    return Draft("witness", body, by, tuple(FileDraft(place / name) for name, _ in answer.files))


def _held(record: Record, answer: Answer) -> bool:
    """Whether an entry says the same by the same answer."""
    digest, said = sha256(answer.files[0][1]).hexdigest(), answer.said
    return any(
        isinstance(entry.body, Witness)
        and (entry.body.time, entry.body.name) == (utc_text(said.time), said.name)
        and digest in [ref.sha256 for ref in entry.files[:1]]
        for entry in record.entries
    )


def _largest(record: Record, heads: Sequence[Head], what: str) -> Head:
    """The largest of `heads` that the record holds.

    Raises:
        RefusedError: it holds none of them.
    """
    kept = {_head(note) for note in record.heads}
    held = [head for head in heads if head in kept]
    if held:
        return max(held, key=lambda head: head.size)
    if not heads:
        raise RefusedError(what, "holds no head of this record", "Send the head as it is printed.")
    size = max(head.size for head in heads)
    why = f"is about a head of {size} entries that this record does not hold"
    raise RefusedError(what, why, _OTHER_STATE)


def _head(note: str | bytes) -> Head:
    return Head.parse(SignedNote.parse(note).text)

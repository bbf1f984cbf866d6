"""What an outsider's answer in the record is worth: whoever holds the record verifies it again.

A witness entry states what its answer says. Here the answer itself is read, against the head that
it is about, and both must say the same.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import datetime

from evidence.entries import Case, Party, Witness
from evidence.envelope import Entry
from evidence.errors import ChangedError, EvidenceError, MissingError, RefusedError
from evidence.keyring import cosign_keys, ever_signing
from evidence.ledger import Head, SignedNote
from evidence.shapes import FileRef
from evidence.times import GRACE, utc_text
from evidence.witness import (
    NOBODY,
    Anchors,
    Cosigner,
    Statement,
    Trust,
    read_cosignatures,
    read_letter,
    read_timestamp,
    refuse_signing_key,
)

Read = Callable[[FileRef], bytes | None]
"""The bytes of a file that an entry names; None where it is not at hand."""


def vouched(
    entries: Sequence[Entry], place: int, note: str, read: Read, anchors: Anchors = NOBODY
) -> Statement:
    """Verify the answer of a witness entry.

    Args:
        entries: the record, or an excerpt of it, at least up to that entry.
        place: where among them the entry stands.
        note: the signed head that the entry names, as it is kept.
        read: how its files are read.
        anchors: whom the reader trusts.

    Raises:
        MissingError: the answer is not at hand.
        ChangedError: it does not verify, says something else than its entry, or the entry is about
            another head than this one, or about one that does not stand ahead of it.
        RefusedError: the same of a key record; or an anchor cannot be used.
    """
    entry, case = entries[place], entries[0].body
    body = entry.body
    if not isinstance(body, Witness) or not isinstance(case, Case):
        raise ChangedError(f"entry {entry.number}", "holds no outsider's answer")
    head = Head.parse(SignedNote.parse(note).text)
    if (body.size, body.root) != (head.size, head.root.hex()) or body.size > entry.seq:
        raise ChangedError(f"entry {entry.number}", "is about another head than the record's own")
    wanted = 2 if body.type == "letter" else 1
    files = [data for ref in entry.files[:wanted] if (data := read(ref)) is not None]
    if len(files) < wanted:
        raise MissingError(f"entry {entry.number}", "its answer is not here")
    if body.type == "rfc3161":
        found = [of_timestamp(files[0], note, anchors, sample=case.sample)]
    elif body.type == "letter":
        found = [of_letter(files[0], files[1], note, entry.logged, anchors)]
    else:
        found = of_cosigned(files[0], note, entries[:place], anchors)
    for statement in found:
        if (utc_text(statement.time), statement.name) == (body.time, body.name):
            return statement
    raise ChangedError(f"entry {entry.number}", "says something else than its answer")


def answers_in(
    entries: Sequence[Entry], notes: Mapping[int, str], read: Read, anchors: Anchors = NOBODY
) -> dict[int, Statement]:
    """What each outsider's answer in a record says, by seq of the entry that holds it.

    An answer that is missing, does not verify or lies ahead of its entry is left out: it bounds
    nothing.

    Args:
        entries: the record.
        notes: its signed heads by their size.
        read: how its files are read.
        anchors: whom the reader trusts.
    """
    found = {}
    for entry in entries:
        note = notes.get(entry.body.size) if isinstance(entry.body, Witness) else None
        if note is None:
            continue
        with suppress(EvidenceError):
            said = vouched(entries, entry.seq, note, read, anchors)
            if not ahead(entry, said):
                found[entry.seq] = said
    return found


def ahead(entry: Entry, said: Statement) -> bool:
    """Whether an answer is later than the very entry that holds it: one of the clocks is wrong."""
    return said.time > entry.logged + GRACE


def refuse_unanswered(entries: Sequence[Entry], notes: Mapping[int, str], read: Read) -> None:
    """Refuse a last entry of kind `witness` whose answer does not verify: it could not be mended.

    Raises:
        RefusedError: it does not, or is later than the writer's clock.
    """
    entry = entries[-1]
    if not isinstance(entry.body, Witness):
        return
    try:
        note = notes.get(entry.body.size)
        if note is None:
            raise ChangedError(f"entry {entry.number}", "is about a head that is not kept")
        said = vouched(entries, entry.seq, note, read)
    except EvidenceError as error:
        raise RefusedError(
            "witness entry",
            f"holds no outsider's answer that verifies ({error.why})",
            "Hand the answer in with `roof-evidence witness`.",
        ) from error
    if ahead(entry, said):
        theirs, ours = utc_text(said.time), utc_text(entry.logged)
        raise RefusedError(
            f"answer of {said.name}",
            f"says {theirs}, later than this machine's clock ({ours})",
            "One of the two clocks is wrong: set this one right, or ask again.",
        )


def of_timestamp(
    answer: bytes, note: str, anchors: Anchors, *, sample: bool, nonce: int | None = None
) -> Statement:
    """What a time-stamping authority says of a signed head; errors as `read_timestamp`."""
    stamp = read_timestamp(
        answer, note.encode(), anchors=anchors.certificates, sample=sample, nonce=nonce
    )
    return Statement(stamp.time, stamp.name, stamp.trust, stamp.certificate_ends)


def of_letter(
    message: bytes, key_record: bytes, note: str, at: datetime, anchors: Anchors
) -> Statement:
    """What a mail domain says of a head; errors as `read_letter`.

    Raises:
        ChangedError: the letter does not hold the head.
    """
    letter = read_letter(message, key_record, at=at, mail_keys=anchors.mail_keys)
    head = Head.parse(SignedNote.parse(note).text)
    if head not in letter.heads(head.origin):
        raise ChangedError("letter", f"does not hold the head of {head.size} entries")
    return Statement(letter.time, letter.domain, letter.trust)


def of_cosigned(
    data: bytes, note: str, entries: Sequence[Entry], anchors: Anchors
) -> list[Statement]:
    """What each cosigner says of a head; errors as `read_cosignatures`.

    Args:
        data: the cosigned note.
        note: the signed head.
        entries: the record so far, which names the cosigners' keys.
        anchors: whom the reader trusts.
    """
    names = dict(_cosigners(entries))
    signed = read_cosignatures(SignedNote.parse(data), SignedNote.parse(note).text, names)
    return [
        Statement(
            time, names[one], Trust.TRUSTED if one.vkey in anchors.cosigners else Trust.UNTRUSTED
        )
        for one, time in signed
    ]


def _cosigners(entries: Sequence[Entry]) -> Iterator[tuple[Cosigner, str]]:
    """The cosigners whose keys stand, named by their party and their key.

    A key that cannot be read, has low order or signs the record's own heads is nobody's.
    """
    parties = {e.body.id: e.body.name for e in entries if isinstance(e.body, Party)}
    signing = [verifier.public_key for verifier in ever_signing(entries)]
    for vkey, key in cosign_keys(entries).items():
        with suppress(EvidenceError):
            cosigner = Cosigner.parse(vkey)
            refuse_signing_key(cosigner, signing)
            yield cosigner, f"{parties.get(key.party, key.party)} ({cosigner.name})"

"""Records with outsiders' answers, of which most are not what their entries say."""

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any

from evidence.ledger import Head, SignedNote, Signer
from evidence.ledger.vkeys import write_vkey
from evidence.witness import CosigningKey, SampleAuthority
from evidence.witness.cosign import COSIGNATURE
from tests.corpus.bases import Bases
from tests.corpus.records import record, ref
from tests.mailing import DOMAIN, Draft, key_record
from tests.tampering import Handed, flipped

NOON = datetime(2025, 9, 1, 12, tzinfo=UTC)
AUTHORITY = "Sample time-stamping authority (made on the spot, vouches for nothing)"


def newest(handed: Handed) -> Head:
    return Head.parse(SignedNote.parse(handed.heads[-1]).text)


def witnessed(
    handed: Handed, signer: Signer, kind: str, by: str, *files: bytes, **said: Any
) -> Handed:
    """One more entry with an outsider's answer over the newest head."""
    head = newest(handed)
    body = {"type": kind, "size": head.size, "root": head.root.hex()}
    body |= {"time": f"{NOON:%Y-%m-%dT%H:%M:%SZ}", "name": by, **said}
    more = {sha256(data).hexdigest(): data for data in files}
    logged = "2025-09-01T12:00:00Z"
    longer = replace(handed, files={**handed.files, **more})
    return longer.then("witness", body, signer, [ref(data) for data in files], logged)


def stamped(bases: Bases, over: str | None = None, at: datetime = NOON, **said: Any) -> Handed:
    """A time stamp over the newest head, or over other text."""
    note = bases.handed.heads[-1] if over is None else over
    answer = SampleAuthority.create(at).answer(note.encode(), at)
    said = {"time": f"{at:%Y-%m-%dT%H:%M:%SZ}", **said}
    return witnessed(bases.handed, bases.owner, "rfc3161", AUTHORITY, answer, **said)


# Good


@record
def another_stamp(bases):
    return stamped(bases)


@record
def cosigner(bases):
    return cosigned(bases, CosigningKey.generate())


@record
def letter(bases):
    return written(bases, lambda message: message)


# Bad


def an_answer(handed: Handed, which: int = 0) -> tuple[int, dict[str, Any]]:
    """An entry with an outsider's answer: its seq, and itself."""
    seq = handed.of_kind("witness")[which]
    return seq, json.loads(handed.lines[seq])


@record
def answer_over_other_bytes(bases):
    return stamped(bases, over=bases.handed.heads[-2])


@record
def answer_of_another_time(bases):
    return stamped(bases, time="2025-08-31T12:00:00Z")


@record
def answer_of_another_name(bases):
    return stamped(bases, name="A well-known authority")


@record
def answer_of_another_root(bases):
    return stamped(bases, root="0" * 64)


@record
def answer_of_another_size(bases):
    return stamped(bases, size=9)


@record
def answer_of_no_head(bases):
    return stamped(bases, size=3)


@record
def answer_swapped(bases):
    """The new entry holds the answer of an older one."""
    _, entry = an_answer(bases.handed)
    old = bases.handed.files[entry["files"][0]["sha256"]]
    return witnessed(bases.handed, bases.owner, "rfc3161", AUTHORITY, old)


@record
def answer_ahead_of_its_entry(bases):
    return stamped(bases, at=datetime(2025, 9, 1, 13, tzinfo=UTC))


@record
def answer_missing(bases):
    _, entry = an_answer(bases.handed)
    files = dict(bases.handed.files)
    del files[entry["files"][0]["sha256"]]
    return replace(bases.handed, files=files)


@record
def answer_of_garbage(bases):
    return witnessed(bases.handed, bases.owner, "rfc3161", AUTHORITY, b"a time stamp")


@record
def answer_with_a_byte_more(bases):
    answer = SampleAuthority.create(NOON).answer(bases.handed.heads[-1].encode(), NOON)
    return witnessed(bases.handed, bases.owner, "rfc3161", AUTHORITY, answer + b"\0")


@record
def answer_with_another_signature(bases):
    answer = SampleAuthority.create(NOON).answer(bases.handed.heads[-1].encode(), NOON)
    forged = flipped(answer, 8 * (len(answer) - 4))
    return witnessed(bases.handed, bases.owner, "rfc3161", AUTHORITY, forged)


@record
def outside_its_bracket(bases):
    """An entry stands behind an answer, and its clock says that it was written before it."""
    body = {"was": "2025-09-01T12:00:00Z", "is": "2025-08-25T00:00:00Z", "why": "?"}
    return stamped(bases).then("clock", body, bases.owner, logged="2025-08-25T00:00:00Z")


def cosigned(
    bases: Bases, friend: CosigningKey, change: Callable[[str], str] = str, key: str | None = None
) -> Handed:
    """The neighbour's key is entered, and her line under the newest head taken."""
    party = {"id": "neighbour", "name": "N. Neighbour", "role": "witness"}
    vkey = friend.cosigner.vkey if key is None else key
    body = {"party": "neighbour", "event": "added", "key": vkey, "use": "cosign"}
    handed = bases.handed.then("party", party, bases.owner).then("key", body, bases.owner)
    note = friend.cosign(SignedNote.parse(handed.heads[-1]), NOON).format()
    name = f"N. Neighbour ({friend.cosigner.name})"
    return witnessed(handed, bases.owner, "cosign", name, change(note).encode())


@record
def cosigner_unknown(bases):
    other = CosigningKey.generate()
    return cosigned(bases, CosigningKey.generate(), key=other.cosigner.vkey)


@record
def cosigner_is_the_owner(bases):
    """His own key under another type: no outsider."""
    own = CosigningKey(bases.owner.private_key)
    return cosigned(
        bases, own, key=write_vkey(own.cosigner.name, COSIGNATURE, own.cosigner.public_key)
    )


@record
def cosigner_of_another_time(bases):
    """The seconds ahead of the signature say something else."""
    friend = CosigningKey.generate()

    def later(note: str) -> str:
        parsed = SignedNote.parse(note)
        line = parsed.signatures[-1]
        moved = replace(line, signature=flipped(line.signature, 8 * 7))
        return replace(parsed, signatures=(*parsed.signatures[:-1], moved)).format()

    return cosigned(bases, friend, later)


def written(bases: Bases, change: Callable[[bytes], bytes]) -> Handed:
    """A letter over the newest head, and its key record."""
    text = f"The state of my record:\n\n{bases.handed.heads[-1]}\n"
    message = Draft(text).message()
    said = {"time": "2025-08-31T12:00:00Z"}
    return witnessed(
        bases.handed, bases.owner, "letter", DOMAIN, change(message), key_record(), **said
    )


@record
def letter_reworded(bases):
    return written(bases, lambda message: message.replace(b"my record", b"the record"))

"""Records that somebody wrote, or forged: lines, heads and files, by the name of their row."""

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from hashlib import sha256
from typing import Any

from evidence.ledger import Head, NoteSignature, SignedNote, Signer, key_id, sign_head
from evidence.ledger.vkeys import write_vkey
from evidence.sealed_values import Secret
from evidence.witness import CosigningKey, SampleAuthority
from evidence.witness.cosign import COSIGNATURE
from tests.corpus.bases import Bases
from tests.mailing import DOMAIN, Draft, key_record
from tests.tampering import Handed, altered, flipped, head_over, key_body, rechained, reworded

Forge = Callable[[Bases], Handed]

RECORDS: dict[str, Forge] = {}

NOON = datetime(2025, 9, 1, 12, tzinfo=UTC)
AUTHORITY = "Sample time-stamping authority (made on the spot, vouches for nothing)"
SECRET = Secret(bytes(range(32)), "K-20/311")
INCIDENT = 12
"""The entry (seq) in the middle that is altered: whatever follows it names its sum."""


def record(forge: Forge) -> Forge:
    """A forged record by its name: `dropped_line` is the row `dropped-line`."""
    RECORDS[forge.__name__.replace("_", "-")] = forge
    return forge


def of_fields(**values: Any) -> None:
    """One record for every field of an entry: the field says something else, nothing else does."""
    for name, value in values.items():
        RECORDS[f"field-{name}"] = lambda bases, name=name, value=value: bases.handed.with_line(
            INCIDENT, altered(bases.handed.lines[INCIDENT], **{name: value})
        )


def of_bodies(**told: tuple[str, Mapping[str, Any]]) -> None:
    """One record for each body that is not as its kind asks, though the right key signs it."""
    for name, (kind, body) in told.items():
        RECORDS[f"body-{name.replace('_', '-')}"] = lambda bases, kind=kind, body=body: (
            bases.handed.then(kind, body, bases.owner)
        )


def with_lines(bases: Bases, lines: Iterable[bytes]) -> Handed:
    """Other lines under the same heads."""
    return replace(bases.handed, lines=tuple(lines))


def anew(lines: Iterable[bytes], bases: Bases, signer: Signer) -> Handed:
    """Lines made to fit together again, under one head over all of them."""
    fitted = rechained(lines)
    return Handed(fitted, (head_over(fitted, signer),), bases.handed.files)


def newest(handed: Handed) -> Head:
    return Head.parse(SignedNote.parse(handed.heads[-1]).text)


def ref(data: bytes) -> dict[str, Any]:
    """How an entry names a file."""
    digest = sha256(data).hexdigest()
    return {"sha256": digest, "bytes": len(data), "type": "application/x", "name": "a.bin"}


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
def plain(bases):
    return bases.handed


@record
def without_outsiders(bases):
    return replace(bases.handed, lines=bases.handed.lines[:6], heads=bases.handed.heads[:1])


@record
def one_head_for_all(bases):
    """The heads between are gone: so is what the outsiders answered."""
    kept = {9, 11, 15, 18}
    notes = [n for n in bases.handed.heads if Head.parse(SignedNote.parse(n).text).size in kept]
    first = bases.handed.heads[0]
    return replace(bases.handed, heads=(first, *notes))


@record
def cut_short_with_its_head(bases):
    """No check can tell: it is the record as it was before its last entry was written."""
    return replace(bases.handed, lines=bases.handed.lines[:-1], heads=bases.handed.heads[:-1])


@record
def another_key(bases):
    second = bases.stranger
    added = bases.handed.then("key", key_body(second), bases.owner)
    gone = added.then("key", key_body(bases.owner, "replaced", why="a new machine"), second)
    return gone.then("photos", {}, second)


@record
def another_stamp(bases):
    return stamped(bases)


@record
def cosigner(bases):
    return cosigned(bases, CosigningKey.generate())


@record
def letter(bases):
    return written(bases, lambda message: message)


@record
def clock_set_back(bases):
    ahead = bases.handed.then("photos", {}, bases.owner, logged="2026-01-01T00:00:00Z")
    body = {"was": "2026-01-01T00:00:00Z", "is": "2025-09-02T00:00:00Z", "why": "it ran ahead"}
    return ahead.then("clock", body, bases.owner, logged="2025-09-02T00:00:00Z")


@record
def sealed(bases):
    body = {"type": "policy", "title": "Policy", "number": {"sealed": SECRET.sealed}}
    return bases.handed.then("paper", body, bases.owner)


@record
def card_of_a_person(bases):
    """Somebody read a card in a picture; it shows an answer that the record does not hold."""
    file = {**json.loads(bases.handed.lines[8])["files"][0], "card": {"answer": "ab" * 32, "read_by": "person"}}
    return bases.handed.then("photos", {}, bases.owner, [file])


# Entries


of_fields(
    v=2, seq=13, nth=2, prev="0" * 64, kind="photos", by="insurer", files=[ref(b"")],
    logged="2025-06-08T22:30:01Z", body={"id": "i1", "stated_cause": "hail", "known": "seen",
    "when": "2025-06-08T16:40-05:00", "zones": ["field-mr"]}, more="",
)  # fmt: skip

of_bodies(
    unknown_kind=("verdict", {"fine": True}),
    reserved_kind=("rehash", {}),
    unknown_field=("photos", {"note": "a roof", "verdict": "fine"}),
    grade=("inspection", {"when": "2025-09-01", "means": "on-roof", "occasion": "routine",
                          "zones": [{"zone": "vent-1", "grade": 9}]}),
    twice=("inspection", {"when": "2025-09-01", "means": "on-roof", "occasion": "routine",
                          "zones": [{"zone": "vent-1", "grade": 0}, {"zone": "vent-1", "grade": 1}]}),
    no_such_day=("wash", {"when": "2025-02-29", "zones": "all"}),
    interval=("wash", {"when": "2025-06-02/2025-05-30", "zones": "all"}),
    second_case=("case", {"case_id": "0" * 32, "title": "Another", "sample": True}),
    correction=("correction", {"of": 7, "set": {"when": "2025-06-01"}, "withdraw": True, "why": "?"}),
)  # fmt: skip


@record
def not_canonical(bases):
    return bases.handed.with_line(INCIDENT, bases.handed.lines[INCIDENT].replace(b":", b": ", 1))


@record
def a_fraction(bases):
    line = bases.handed.lines[INCIDENT].replace(b'"nth":1', b'"nth":1.0')
    return bases.handed.with_line(INCIDENT, line)


@record
def a_field_twice(bases):
    line = bases.handed.lines[INCIDENT].replace(b'"v":1}', b'"v":1,"v":1}')
    return bases.handed.with_line(INCIDENT, line)


@record
def dropped_line(bases):
    return with_lines(bases, bases.handed.lines[:7] + bases.handed.lines[8:])


@record
def dropped_end(bases):
    return with_lines(bases, bases.handed.lines[:-1])


@record
def dropped_beginning(bases):
    return with_lines(bases, bases.handed.lines[1:])


@record
def doubled_line(bases):
    return with_lines(bases, (*bases.handed.lines[:8], *bases.handed.lines[7:]))


@record
def swapped_lines(bases):
    lines = bases.handed.lines
    return with_lines(bases, (*lines[:12], lines[13], lines[12], *lines[14:]))


@record
def no_lines(bases):
    return with_lines(bases, ())


# Chained again


@record
def chained_again(bases):
    """A careful forger without any key."""
    lines = list(bases.handed.lines)
    lines[INCIDENT] = reworded(lines[INCIDENT], stated_cause="hail")
    return with_lines(bases, rechained(lines))


@record
def chained_again_by_a_stranger(bases):
    lines = list(bases.handed.lines)
    lines[INCIDENT] = reworded(lines[INCIDENT], stated_cause="hail")
    return anew(lines, bases, bases.stranger)


@record
def chained_again_by_the_owner(bases):
    """Whoever holds the key may write anew; the outsiders saw another head."""
    lines = list(bases.handed.lines)
    lines[8] = reworded(lines[8], note="it was sound")
    del lines[8]
    return anew(lines, bases, bases.owner)


@record
def wrong_sum_signed(bases):
    line = altered(bases.handed.lines[-1], prev="ab" * 32)
    return signed_again(bases, line)


@record
def wrong_number_signed(bases):
    line = altered(bases.handed.lines[-1], nth=9)
    return signed_again(bases, line)


@record
def early_clock_signed(bases):
    line = altered(bases.handed.lines[-1], logged="2025-06-01T00:00:00Z")
    return signed_again(bases, line)


def signed_again(bases: Bases, last: bytes) -> Handed:
    """The last entry exchanged, under a head of the right key."""
    lines = (*bases.handed.lines[:-1], last)
    heads = (*bases.handed.heads[:-1], head_over(lines, bases.owner))
    return replace(bases.handed, lines=lines, heads=heads)


# Heads and keys


@record
def head_of_the_end_removed(bases):
    return replace(bases.handed, heads=bases.handed.heads[:-1])


@record
def head_of_an_answer_removed(bases):
    size = "\n15\n"
    return replace(bases.handed, heads=tuple(n for n in bases.handed.heads if size not in n))


@record
def no_heads(bases):
    return replace(bases.handed, heads=())


@record
def heads_out_of_order(bases):
    *others, one, two = bases.handed.heads
    return replace(bases.handed, heads=(*others, two, one))


@record
def head_by_a_stranger(bases):
    return replace(bases.handed, heads=(*bases.handed.heads[:-1], head_over(bases.handed.lines, bases.stranger)))


@record
def head_over_more(bases):
    longer = bases.handed.then("photos", {}, bases.owner)
    return replace(longer, lines=bases.handed.lines)


@record
def head_of_another_root(bases):
    head = Head(bases.owner.name, len(bases.handed.lines), bytes(32))
    note = sign_head(head, bases.owner).format()
    return replace(bases.handed, heads=(*bases.handed.heads[:-1], note))


@record
def head_of_another_record(bases):
    other = Signer(f"roof-evidence/{'0' * 32}", bases.owner.private_key)
    return replace(bases.handed, heads=(*bases.handed.heads[:-1], head_over(bases.handed.lines, other)))


@record
def head_with_one_bit_turned(bases):
    note = bases.handed.heads[-1].encode()
    text, _, line = note.rpartition(b" ")
    at = 20
    other = b"A" if line[at : at + 1] != b"A" else b"B"
    forged = text + b" " + line[:at] + other + line[at + 1 :]
    return replace(bases.handed, heads=(*bases.handed.heads[:-1], forged.decode()))


@record
def head_with_a_line_more(bases):
    head = bases.handed.heads[-1].replace("\n\n", "\nand more\n\n", 1)
    return replace(bases.handed, heads=(*bases.handed.heads[:-1], head))


@record
def key_signs_before_it_is_added(bases):
    return bases.handed.then("key", key_body(bases.stranger), bases.stranger)


@record
def key_signs_after_it_is_gone(bases):
    second = bases.stranger
    added = bases.handed.then("key", key_body(second), bases.owner)
    gone = added.then("key", key_body(bases.owner, "lost"), second)
    return gone.then("photos", {}, bases.owner)


@record
def key_of_low_order(bases):
    """Under the neutral point a signature without any secret holds for every text."""
    name, point = bases.owner.name, b"\x01" + bytes(31)
    body = key_body(bases.owner) | {"key": write_vkey(name, b"\x01", point)}
    longer = bases.handed.then("key", body, bases.owner).then("photos", {}, None)
    head = Head.parse(SignedNote.parse(head_over(longer.lines, bases.owner)).text)
    line = NoteSignature(name, key_id(name, b"\x01", point), point + bytes(32))
    return replace(longer, heads=(*longer.heads, SignedNote(head.text(), (line,)).format()))


# Outsiders


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
    """An entry behind an answer whose clock lies before it: written, it says, before that answer."""
    late = stamped(bases)
    return late.then("clock", {"was": "2025-09-01T12:00:00Z", "is": "2025-08-25T00:00:00Z", "why": "?"},
                     bases.owner, logged="2025-08-25T00:00:00Z")  # fmt: skip


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
    return cosigned(bases, own, key=write_vkey(own.cosigner.name, COSIGNATURE, own.cosigner.public_key))


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
    return witnessed(bases.handed, bases.owner, "letter", DOMAIN, change(message), key_record(), **said)


@record
def letter_reworded(bases):
    return written(bases, lambda message: message.replace(b"my record", b"the record"))


# Files and sealed values


def a_picture(bases: Bases) -> str:
    """The sum of one that an entry names."""
    return str(json.loads(bases.handed.lines[8])["files"][0]["sha256"])


@record
def picture_changed(bases):
    digest = a_picture(bases)
    files = {**bases.handed.files, digest: flipped(bases.handed.files[digest], 4000)}
    return replace(bases.handed, files=files)


@record
def picture_cut_off(bases):
    digest = a_picture(bases)
    files = {**bases.handed.files, digest: bases.handed.files[digest][:-1]}
    return replace(bases.handed, files=files)


@record
def picture_missing(bases):
    files = {sha: data for sha, data in bases.handed.files.items() if sha != a_picture(bases)}
    return replace(bases.handed, files=files)


@record
def picture_more(bases):
    data = b"another roof"
    return replace(bases.handed, files={**bases.handed.files, sha256(data).hexdigest(): data})


@record
def picture_of_another_size(bases):
    """A second entry names the same file, and says that it has more bytes."""
    file = json.loads(bases.handed.lines[8])["files"][0]
    return bases.handed.then("photos", {}, bases.owner, [{**file, "bytes": file["bytes"] + 1}])

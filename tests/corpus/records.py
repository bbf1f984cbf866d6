"""Records that somebody wrote, or forged: lines, heads and files, by the name of their row."""

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from hashlib import sha256
from typing import Any

from evidence.ledger import Head, SignedNote, Signer
from evidence.sealed_values import Secret
from tests.corpus.bases import Bases
from tests.tampering import Handed, altered, flipped, head_over, rechained, reworded

Forge = Callable[[Bases], Handed]

RECORDS: dict[str, Forge] = {}

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


def ref(data: bytes) -> dict[str, Any]:
    """How an entry names a file."""
    digest = sha256(data).hexdigest()
    return {"sha256": digest, "bytes": len(data), "type": "application/x", "name": "a.bin"}


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
    file = {
        **json.loads(bases.handed.lines[8])["files"][0],
        "card": {"answer": "ab" * 32, "read_by": "person"},
    }
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
                          "zones": 2 * [{"zone": "vent-1", "grade": 0}]}),
    no_such_day=("wash", {"when": "2025-02-29", "zones": "all"}),
    interval=("wash", {"when": "2025-06-02/2025-05-30", "zones": "all"}),
    second_case=("case", {"case_id": "0" * 32, "title": "Another", "sample": True}),
    correction=("correction", {"of": 7, "set": {"when": "2025-06-01"}, "withdraw": True,
                               "why": "?"}),
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

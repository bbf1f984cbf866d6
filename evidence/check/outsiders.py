"""Steps 5 and 6: the outsiders' answers in a record, and what they say of its clocks."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from evidence.check.material import Material
from evidence.check.report import Found, StepReport, WitnessReport, listed
from evidence.entries import Case, Witness
from evidence.envelope import Entry
from evidence.errors import EvidenceError
from evidence.ledger import Head, SignedNote
from evidence.times import parse_utc, utc_text
from evidence.witness import read_timestamp


@dataclass(frozen=True, slots=True)
class SignedHead:
    """A head as handed over: its note text, and what it says where it can be read."""

    text: str
    note: SignedNote
    head: Head


def judge(
    material: Material,
    entry: Entry,
    body: Witness,
    heads: Sequence[SignedHead],
    case: Case,
    anchors: Sequence[bytes],
) -> WitnessReport:
    """What an outsider's answer is worth: `entry` holds it, `body` says what it is about."""
    said = WitnessReport(
        entry.seq, body.type, body.size, parse_utc(body.time), body.name, None, Found.CHANGED
    )
    signed = next((row for row in heads if row.head.size == body.size), None)
    if signed is None or signed.head.root.hex() != body.root or body.size > entry.seq:
        return said
    if body.type != "rfc3161":
        return replace(said, result=Found.NOT_CHECKED)
    answer = material.read(entry.files[0]) if entry.files else None
    if answer is None:
        return replace(said, result=Found.MISSING)
    try:
        stamp = read_timestamp(answer, signed.text.encode(), anchors=anchors, sample=case.sample)
    except EvidenceError:
        return said
    if (utc_text(stamp.time), stamp.name) != (body.time, body.name):
        return said
    return replace(said, trust=stamp.trust, result=Found.OK)


def witnesses_step(rows: Sequence[WitnessReport]) -> StepReport:
    """Step 5."""
    for found in (Found.CHANGED, Found.MISSING, Found.NOT_CHECKED):
        named = [f"entry {row.seq + 1}" for row in rows if row.result is found]
        if named:
            words = {
                Found.CHANGED: "does not verify",
                Found.MISSING: "its answer is not here",
                Found.NOT_CHECKED: "is of a kind that this step cannot verify",
            }[found]
            return StepReport(5, found, f"{listed(named)}: {words}")
    if not rows:
        return StepReport(5, Found.OK, "no outsider stands in the record")
    kinds = sorted({row.trust.value for row in rows if row.trust is not None})
    return StepReport(5, Found.OK, f"{len(rows)} outside answers verify ({', '.join(kinds)})")


def brackets_step(entries: Sequence[Entry], rows: Sequence[WitnessReport]) -> StepReport:
    """Step 6: an entry whose `logged` lies outside its bracket is named; that is no change."""
    verified = [row for row in rows if row.trust is not None]
    outside = []
    for entry in entries:
        before = [row.time for row in verified if row.seq < entry.seq]
        after = [row.time for row in verified if row.size > entry.seq]
        early = before and entry.logged < max(before)
        late = after and entry.logged > min(after)
        if early or late:
            outside.append(f"entry {entry.number} was logged {utc_text(entry.logged)}")
    if outside:
        return StepReport(6, Found.NAMED, f"outside what outsiders say: {listed(outside)}")
    if not verified:
        return StepReport(6, Found.NAMED, "nobody but the owner vouches for any date here")
    return StepReport(6, Found.OK, "no clock lies outside what the outsiders say")

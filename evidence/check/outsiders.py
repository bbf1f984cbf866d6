"""Steps 5 and 6: the outsiders' answers in a record, and what they say of its clocks."""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import accumulate

from evidence.check.material import Material
from evidence.check.report import Found, StepReport, WitnessReport, listed
from evidence.entries import Witness
from evidence.envelope import Entry
from evidence.errors import EvidenceError, MissingError
from evidence.ledger import Head, SignedNote
from evidence.times import parse_utc, utc_text
from evidence.upkeep.behind import set_back
from evidence.vouching import ahead, vouched
from evidence.witness import Anchors, Trust

_RESTS_ON = {
    "letter": "the key record of a letter was given by the keeper: nobody vouches that it was the "
    "mail domain's, unless you look it up and give it with --trust",
    "cosign": "the key of a cosigner is named by the record alone, unless you have it from him",
}
"""What an untrusted answer of a kind rests on."""


@dataclass(frozen=True, slots=True)
class SignedHead:
    """A head as handed over: its note text, and what it says where it can be read."""

    text: str
    note: SignedNote
    head: Head


def judge(
    material: Material,
    entries: Sequence[Entry],
    body: Witness,
    place: int,
    heads: Mapping[int, SignedHead],
    anchors: Anchors,
) -> WitnessReport:
    """What an outsider's answer is worth: `entries[place]` holds it, `body` says of what.

    `heads` are the signed heads by their size.
    """
    entry = entries[place]
    said = WitnessReport(
        entry.seq, body.type, body.size, parse_utc(body.time), body.name, None, Found.CHANGED
    )
    signed = heads.get(body.size)
    if signed is None:
        return said
    try:
        found = vouched(entries, place, signed.text, material.read, anchors)
    except MissingError:
        return replace(said, result=Found.MISSING)
    except EvidenceError:
        return said
    if ahead(entry, found):
        return replace(said, result=Found.NAMED)
    return replace(said, trust=found.trust, result=Found.OK)


def witnesses_step(rows: Sequence[WitnessReport]) -> StepReport:
    """Step 5."""
    for found, words in (
        (Found.CHANGED, "does not verify"),
        (Found.MISSING, "its answer is not here"),
    ):
        named = [f"entry {row.seq + 1}" for row in rows if row.result is found]
        if named:
            return StepReport(5, found, f"{listed(named)}: {words}")
    if not rows:
        return StepReport(5, Found.OK, "no outsider stands in the record")
    early = [f"entry {row.seq + 1}" for row in rows if row.result is Found.NAMED]
    if early:
        detail = f"{listed(early)}: its answer is later than the entry that holds it, by that"
        return StepReport(5, Found.NAMED, f"{detail} entry's own clock; it bounds nothing")
    kinds = sorted({row.trust.value for row in rows if row.trust is not None})
    what = "1 outside answer verifies" if len(rows) == 1 else f"{len(rows)} outside answers verify"
    untrusted = {row.type for row in rows if row.trust is Trust.UNTRUSTED}
    rests = [words for kind, words in _RESTS_ON.items() if kind in untrusted]
    return StepReport(5, Found.OK, "; ".join((f"{what} ({', '.join(kinds)})", *rests)))


def brackets_step(entries: Sequence[Entry], rows: Sequence[WitnessReport]) -> StepReport:
    """Step 6: an entry whose `logged` lies outside its bracket is named; that is no change.

    Each step back of the writer's clock is named too: what stands behind it was written later.
    """
    verified = [row for row in rows if row.trust is not None]
    outside = []
    brackets = _Brackets(verified)
    for entry in entries:
        not_before, not_after = brackets.of(entry.seq)
        if not_before is not None and entry.logged < not_before:
            outside.append(
                f"{_logged(entry)}, before the answer ahead of it ({utc_text(not_before)})"
            )
        if not_after is not None and entry.logged > not_after:
            outside.append(f"{_logged(entry)}, after the answer over it ({utc_text(not_after)})")
    said = [f"outside what outsiders say: {listed(outside)}"] if outside else []
    if not verified:
        said.append("nobody but the owner vouches for any date here")
    steps = [
        f"{_logged(entry)}, behind entry {ahead.number} of {utc_text(ahead.logged)}"
        for ahead, entry in set_back(entries)
    ]
    if steps:
        said.append(f"the writer's clock was set back: {listed(steps)}")
    if said:
        return StepReport(6, Found.NAMED, "; ".join(said))
    return StepReport(6, Found.OK, "no clock lies outside what the outsiders say")


def _logged(entry: Entry) -> str:
    return f"entry {entry.number} was logged {utc_text(entry.logged)}"


class _Brackets:
    """The latest answer ahead of an entry and the earliest one over it (RECORD § 3)."""

    def __init__(self, rows: Sequence[WitnessReport]) -> None:
        held = sorted(rows, key=lambda row: row.seq)
        over = sorted(rows, key=lambda row: row.size)
        self._seqs = [row.seq for row in held]
        self._latest = list(accumulate((row.time for row in held), max))
        self._sizes = [row.size for row in over]
        self._earliest = list(accumulate((row.time for row in reversed(over)), min))[::-1]

    def of(self, seq: int) -> tuple[datetime | None, datetime | None]:
        """Not before, and not after, as far as an answer bounds the entry."""
        ahead = bisect_left(self._seqs, seq)
        over = bisect_right(self._sizes, seq)
        return (
            self._latest[ahead - 1] if ahead else None,
            self._earliest[over] if over < len(self._earliest) else None,
        )

"""Steps 1 to 8 over an excerpt: some entries of a record, with proofs to its newest head.

What an excerpt cannot show stays open: its result is `incomplete` at best. A head shows that its
entries stand in the record at their places (RFC 9162 § 2.1.3); the numbers within each kind show
how many were left out ahead of the last one here, and nothing shows what came behind that.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Protocol

from evidence.check.material import Material
from evidence.check.outsiders import SignedHead
from evidence.check.record import not_reached, with_files
from evidence.check.report import ExcerptReport, Found, RecordReport, StepReport, listed
from evidence.check.signing import keys_step, signing
from evidence.check.working import Progress, silent
from evidence.entries import Case
from evidence.envelope import Entry, read_entry
from evidence.errors import EvidenceError
from evidence.ledger import (
    Head,
    Link,
    SignedNote,
    Verifier,
    check_consistency,
    check_inclusion,
    leaf_hash,
    loads,
    origin_of,
)
from evidence.ledger.log import CLOCK, GENESIS_PREV
from evidence.packed import PROOFS_NAME
from evidence.proving import Proofs
from evidence.witness import NOBODY, Anchors


class ExcerptMaterial(Material, Protocol):
    """An excerpt and the files that came with it."""

    def part(self, name: str) -> bytes:
        """A file that is read whole; ChangedError where it is not there."""


def check_excerpt(
    material: ExcerptMaterial,
    anchors: Anchors = NOBODY,
    named: Sequence[Verifier] = (),
    progress: Progress = silent,
) -> RecordReport:
    """Verify an excerpt; arguments as `check_record`.

    Raises:
        ChangedError: its entries, heads or proofs cannot be read at all.
    """
    proofs = Proofs.read(material.part(PROOFS_NAME))
    lines, notes = tuple(material.lines), tuple(material.heads)
    entries, wrong = _read(lines, proofs.size)
    cut = ExcerptReport(proofs.size, len(lines), _gaps(entries))
    report = RecordReport((), entries=len(lines), lines=lines, notes=notes, excerpt=cut)
    if wrong:
        first = StepReport(1, Found.CHANGED, wrong)
        steps = (first, *not_reached(range(2, 9)))
        return replace(report, steps=steps, first_bad_seq=_first_bad(entries))
    case = entries[0].body
    if not isinstance(case, Case):  # `_read` saw to it
        return report
    heads = _heads(notes, proofs, lines, entries, origin_of(case.case_id))
    signed = signing(heads.signed, entries, progress)
    keys = keys_step(signed, entries, named, anchors.cosigners)
    report = replace(
        report,
        steps=(
            _entries_step(cut),
            _chain_step(entries, lines, cut),
            heads.step(len(lines)),
            _keys_step(keys, cut),
        ),
        known=entries,
        case_id=case.case_id,
        sample=case.sample,
        root=heads.signed[-1].head.root.hex() if heads.signed else "",
        heads=len(notes),
        signed_by=tuple(signed.sizes),
        bad_heads=(*heads.faults, *signed.faults),
        not_signed_by=tuple(key.vkey for key in named if key.vkey not in signed.sizes),
    )
    return with_files(report, material, entries, heads.signed, anchors, progress)


def _first_bad(entries: Sequence[Entry]) -> int:
    return entries[-1].seq + 1 if entries else 0


# 1 entries


def _read(lines: Sequence[bytes], size: int) -> tuple[tuple[Entry, ...], str]:
    """The entries up to the first that cannot be read or stands wrong, and why; empty: all do."""
    entries: list[Entry] = []
    for line in lines:
        try:
            loads(line)
            entry = read_entry(line)
        except EvidenceError as error:
            return tuple(entries), f"behind {len(entries)} entries: {error.what}: {error.why}"
        last = entries[-1].seq if entries else -1
        if not last < entry.seq < size:
            return tuple(entries), f"entry {entry.number} stands behind entry {last + 1} of {size}"
        if isinstance(entry.body, Case) != (entry.seq == 0) or not (entries or entry.seq == 0):
            return tuple(entries), "a record begins with its case entry, and has one"
        entries.append(entry)
    return tuple(entries), "" if entries else "there are no entries"


def _entries_step(cut: ExcerptReport) -> StepReport:
    told = f"{cut.withheld} of {cut.size} entries withheld by the sender"
    return StepReport(1, Found.MISSING if cut.withheld else Found.OK, told)


# 2 chain


def _gaps(entries: Sequence[Entry]) -> Mapping[str, tuple[int, int]]:
    """The kinds of which numbers are missing: how many are here, and the highest that is."""
    numbers: dict[str, list[int]] = defaultdict(list)
    for entry in entries:
        numbers[entry.kind].append(entry.nth)
    return {
        kind: (len(found), max(found))
        for kind, found in numbers.items()
        if sorted(found) != list(range(1, len(found) + 1))
    }


def _chain_step(entries: Sequence[Entry], lines: Sequence[bytes], cut: ExcerptReport) -> StepReport:
    """Neighbours hold each other's sums; numbers within a kind leave room for what is withheld."""
    faults = list(_chain_faults(entries, lines))
    if faults:
        return StepReport(2, Found.CHANGED, listed(faults))
    pairs = sum(1 for before, entry in pairwise(entries) if entry.seq == before.seq + 1)
    said = [f"{pairs} pairs of neighbours are here, and each holds the sum of the one before it"]
    if cut.gaps:
        rows = (f"{kind} ({here} of at least {most})" for kind, (here, most) in cut.gaps.items())
        said.append(f"left out in part: {', '.join(rows)}")
    return StepReport(2, Found.OK, "; ".join(said))


def _chain_faults(entries: Sequence[Entry], lines: Sequence[bytes]) -> Iterator[str]:
    links = [Link.read(line) for line in lines]
    if links[0].prev != GENESIS_PREV:
        yield "entry 1: names an entry before it"
    for before, link in pairwise(links):
        if link.seq != before.seq + 1:
            continue
        if link.prev != before.sha256:
            yield f"entry {link.seq + 1}: does not hold the hash of the entry before"
        if link.kind != CLOCK and link.logged < before.logged:
            yield f"entry {link.seq + 1}: was logged before the entry ahead of it"
    last: dict[str, tuple[int, int]] = {}  # by kind: number, and how many were missing by then
    for place, entry in enumerate(entries):
        nth, missing = last.get(entry.kind, (0, 0))
        absent = entry.seq - place
        if not 1 <= entry.nth - nth <= 1 + absent - missing:
            yield f"entry {entry.number}: cannot be number {entry.nth} of kind '{entry.kind}' here"
        last[entry.kind] = (entry.nth, absent)


# 3 heads


@dataclass(frozen=True, slots=True)
class _Heads:
    """The heads that can be read, in order, and every proof or head that does not hold."""

    signed: tuple[SignedHead, ...]
    faults: tuple[str, ...]

    def step(self, entries: int) -> StepReport:
        """Step 3."""
        if self.faults:
            return StepReport(3, Found.CHANGED, listed(self.faults))
        detail = (
            f"each of {entries} entries is proven to stand in its place under the newest of "
            f"{len(self.signed)} heads, which continues the others"
        )
        return StepReport(3, Found.OK, detail)


def _heads(
    notes: Sequence[str],
    proofs: Proofs,
    lines: Sequence[bytes],
    entries: Sequence[Entry],
    origin: str,
) -> _Heads:
    signed, faults = _signed_heads(notes, origin)
    newest = signed[-1].head if signed else None
    if newest is None or newest.size != proofs.size:
        return _Heads(signed, (*faults, f"no head of {proofs.size} entries is here to prove by"))
    faults += _inclusion_faults(proofs, lines, entries, newest)
    faults += _consistency_faults(proofs, [row.head for row in signed[:-1]], newest)
    return _Heads(signed, tuple(faults))


def _signed_heads(notes: Sequence[str], origin: str) -> tuple[tuple[SignedHead, ...], list[str]]:
    signed: list[SignedHead] = []
    faults: list[str] = []
    for place, text in enumerate(notes, start=1):
        try:
            note = SignedNote.parse(text)
            head = Head.parse(note.text)
        except EvidenceError as error:
            faults.append(f"head {place}: {error.why}")
            continue
        if head.origin != origin:
            faults.append(f"head of {head.size}: is of another record")
        elif signed and head.size <= signed[-1].head.size:
            faults.append(f"head of {head.size}: is not in order of size")
        else:
            signed.append(SignedHead(text, note, head))
    return tuple(signed), faults


def _inclusion_faults(
    proofs: Proofs, lines: Sequence[bytes], entries: Sequence[Entry], newest: Head
) -> Iterator[str]:
    if [row.seq for row in proofs.inclusion] != [entry.seq for entry in entries]:
        yield "there is not one proof for each entry"
        return
    for row, line in zip(proofs.inclusion, lines, strict=True):
        if not check_inclusion(row.seq, newest.size, leaf_hash(line), row.nodes, newest.root):
            yield f"entry {row.seq + 1}: is not proven to be in the record"


def _consistency_faults(proofs: Proofs, earlier: Sequence[Head], newest: Head) -> Iterator[str]:
    if [row.size for row in proofs.consistency] != [head.size for head in earlier]:
        yield "there is not one proof for each earlier head"
        return
    for row, head in zip(proofs.consistency, earlier, strict=True):
        if not check_consistency(head.size, newest.size, head.root, newest.root, row.nodes):
            yield f"head of {head.size}: is not proven to be continued by the newest"


# 4 keys


def _keys_step(step: StepReport, cut: ExcerptReport) -> StepReport:
    """Step 4: where a key entry is withheld nobody can say which keys stood."""
    if "key" in cut.gaps and step.found in (Found.OK, Found.NAMED):
        return replace(step, found=Found.NOT_CHECKED, detail="entries on keys were withheld")
    return step

"""Steps 1 to 8: a record and its files, verified by whoever holds them (OUTPUTS § 3)."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from evidence.check.cards import with_cards
from evidence.check.material import FileState, Material
from evidence.check.outsiders import SignedHead, brackets_step, judge, witnesses_step
from evidence.check.report import Found, Originals, RecordReport, StepReport, listed
from evidence.check.sealed import sealed_step
from evidence.check.signing import keys_step, signing
from evidence.check.working import Progress, in_threads, silent, told
from evidence.entries import Case, Witness
from evidence.envelope import Entry, read_entry
from evidence.errors import EvidenceError
from evidence.ledger import (
    ChainFault,
    Head,
    SignedNote,
    Verifier,
    leaf_hash,
    loads,
    origin_of,
    tree_roots,
    verify_chain,
)
from evidence.witness import NOBODY, Anchors

NOT_REACHED = "not reached: the entries cannot be read"
"""What a step says that had nothing to look at."""


@dataclass(frozen=True, slots=True)
class _Read:
    """The entries up to the first that cannot be read (`bad`, its seq), and step 1."""

    entries: tuple[Entry, ...]
    bad: int | None
    step: StepReport

    @property
    def case(self) -> Case | None:
        """What the first entry says of the record, where it can be read."""
        body = self.entries[0].body if self.entries else None
        return body if isinstance(body, Case) else None


@dataclass(frozen=True, slots=True)
class _Heads:
    """The heads that can be read, what is wrong with any, and how many entries fit one of them."""

    signed: tuple[SignedHead, ...]
    faults: tuple[str, ...]
    fitting: int


def check_record(
    material: Material,
    anchors: Anchors = NOBODY,
    named: Sequence[Verifier] = (),
    progress: Progress = silent,
) -> RecordReport:
    """Verify a record.

    Args:
        material: the entries, heads and files.
        anchors: the outsiders whom the reader trusts.
        named: log keys that the reader was told by another way than the record.
        progress: told of entries, heads and files looked at.
    """
    size = len(material.lines)
    chain = verify_chain(told("chain", material.lines, progress))
    read = _read(material.lines, {fault.seq for fault in chain}, progress)
    report = RecordReport(
        (read.step, _chain_step(size, chain)),
        entries=size,
        lines=tuple(material.lines),
        notes=tuple(material.heads),
    )
    bad = [] if read.bad is None else [read.bad]
    bad += [fault.seq for fault in chain[:1]]
    case, entries = read.case, read.entries
    if case is not None:
        report = replace(report, case_id=case.case_id, sample=case.sample)
    if case is None or read.bad is not None:
        steps = (*report.steps, *not_reached(range(3, 9)))
        return replace(report, steps=steps, first_bad_seq=min(bad, default=0))
    roots = list(tree_roots(leaf_hash(line) for line in material.lines))  # by size, from 0
    notes = told("heads", material.heads, progress)
    heads = _heads(notes, origin_of(case.case_id), roots)
    if heads.fitting < size:
        bad.append(heads.fitting)
    signed = signing(heads.signed, entries, progress)
    report = replace(
        report,
        known=entries,
        steps=(
            *report.steps,
            _heads_step(heads, size),
            keys_step(signed, entries, named, anchors.cosigners),
        ),
        root=roots[-1].hex(),
        first_bad_seq=min(bad, default=None),
        heads=len(material.heads),
        signed_by=tuple(signed.sizes),
        bad_heads=(*heads.faults, *signed.faults),
        not_signed_by=tuple(key.vkey for key in named if key.vkey not in signed.sizes),
    )
    return with_files(report, material, entries, heads.signed, anchors, progress)


def with_files(
    report: RecordReport,
    material: Material,
    entries: Sequence[Entry],
    heads: Sequence[SignedHead],
    anchors: Anchors,
    progress: Progress,
) -> RecordReport:
    """The report on steps 1 to 4, followed by steps 5 to 8: what rests on files and their times.

    Args:
        report: of the steps before.
        material: the files.
        entries: the entries at hand, all of them or an excerpt's.
        heads: the signed heads at hand.
        anchors: the outsiders whom the reader trusts.
        progress: told of bytes of files that were looked at.
    """
    by_size = {signed.head.size: signed for signed in reversed(heads)}
    witnesses = [
        judge(material, entries, body, place, by_size, anchors)
        for place, entry in enumerate(entries)
        if isinstance(body := entry.body, Witness)
    ]
    originals = _originals(material, entries, progress)
    return replace(
        report,
        steps=(
            *report.steps,
            witnesses_step(witnesses),
            with_cards(brackets_step(entries, witnesses), material, entries, witnesses),
            _originals_step(originals),
            sealed_step(entries, material.revealed),
        ),
        witnesses=tuple(witnesses),
        originals=originals,
    )


def unreadable(error: EvidenceError) -> RecordReport:
    """Steps 1 to 8 where what holds the record cannot be read."""
    first = StepReport(1, Found.CHANGED, f"{error.what}: {error.why}")
    return RecordReport((first, *not_reached(range(2, 9))))


def not_reached(numbers: Iterable[int]) -> tuple[StepReport, ...]:
    """Steps that had nothing to look at."""
    return tuple(StepReport(n, Found.NOT_CHECKED, NOT_REACHED) for n in numbers)


def entries_read(record: RecordReport) -> tuple[Entry, ...]:
    """All entries, or none where step 1 tells of one that cannot be read."""
    try:
        return record.known or tuple(read_entry(line) for line in record.lines)
    except EvidenceError:
        return ()


def _read(lines: Sequence[bytes], faulty: Collection[int], progress: Progress) -> _Read:
    """Read every line, up to the first that is not the entry due in its place.

    Args:
        lines: the entries' bytes.
        faulty: where the chain found any fault; of all others it saw the canonical form.
        progress: told of entries read.
    """
    entries: list[Entry] = []
    for seq, line in enumerate(told("entries", lines, progress)):
        try:
            if seq in faulty:
                loads(line)
            entry = read_entry(line)
        except EvidenceError as error:
            why = f"{error.what}: {error.why}"
        else:
            why = _misplaced(entry, seq)
        if why:
            said = StepReport(1, Found.CHANGED, f"entry {seq + 1}: {why}")
            return _Read(tuple(entries), seq, said)
        entries.append(entry)
    if not entries:
        return _Read((), 0, StepReport(1, Found.CHANGED, "there are no entries"))
    said = StepReport(1, Found.OK, f"{len(entries)} entries, none missing between them")
    return _Read(tuple(entries), None, said)


def _misplaced(entry: Entry, seq: int) -> str:
    """Why an entry does not belong in its place; empty where it does."""
    if entry.seq != seq:
        return f"stands in the place of entry {entry.number}"
    if isinstance(entry.body, Case) != (seq == 0):
        return "a record begins with its case entry, and has one"
    return ""


def _chain_step(size: int, faults: Sequence[ChainFault]) -> StepReport:
    if faults:
        return StepReport(2, Found.CHANGED, listed([str(fault) for fault in faults]))
    return StepReport(2, Found.OK, f"each of {size} entries holds the sum of the one before it")


def _heads(notes: Iterable[str], origin: str, roots: Sequence[bytes]) -> _Heads:
    """Compare every head with the entries; `roots[n]` stands over n of them."""
    signed: list[SignedHead] = []
    faults: list[str] = []
    last = fitting = 0
    for place, text in enumerate(notes, start=1):
        try:
            note = SignedNote.parse(text)
            head = Head.parse(note.text)
        except EvidenceError as error:
            faults.append(f"head {place}: {error.why}")
            continue
        signed.append(SignedHead(text, note, head))
        why = _misfit(head, origin, last, roots)
        if why:
            faults.append(f"head of {head.size}: {why}")
        else:
            fitting = head.size
        last = max(last, head.size)
    if last < len(roots) - 1:
        faults.append(f"no signed head stands over entry {len(roots) - 1}")
    return _Heads(tuple(signed), tuple(faults), fitting)


def _misfit(head: Head, origin: str, last: int, roots: Sequence[bytes]) -> str:
    """Why a head behind one of `last` entries is not of this record; empty where it is."""
    if head.origin != origin:
        return "is of another record"
    if head.size <= last:
        return "is not in order of size"
    if head.size >= len(roots):
        return f"the entries from {len(roots)} on are not here"
    return "" if head.root == roots[head.size] else "its root is not that of the entries"


def _heads_step(heads: _Heads, size: int) -> StepReport:
    if not heads.faults:
        detail = f"{len(heads.signed)} heads, each the root of the entries under it"
        return StepReport(3, Found.OK, detail)
    where = "" if heads.fitting == size else f"no head fits from entry {heads.fitting + 1} on: "
    return StepReport(3, Found.CHANGED, where + listed(heads.faults))


def _originals(material: Material, entries: Sequence[Entry], progress: Progress) -> Originals:
    """What became of each file; two entries that name one file must both be right about it."""
    refs = {(ref.sha256, ref.bytes): ref for e in entries for ref in e.files}.values()
    states = {ref.sha256: FileState.PRESENT for ref in refs}  # in the order of the record
    whole, done = sum(ref.bytes for ref in refs), 0
    largest_first = sorted(refs, key=lambda ref: ref.bytes, reverse=True)
    for ref, state in zip(largest_first, in_threads(material.state, largest_first), strict=True):
        done += ref.bytes
        progress("originals", done, whole)
        if states[ref.sha256] is not FileState.CHANGED:
            states[ref.sha256] = state

    def of(state: FileState) -> tuple[str, ...]:
        return tuple(sha256 for sha256, found in states.items() if found is state)

    return Originals(
        listed=len(states),
        present=len(of(FileState.PRESENT)),
        left_out=len(of(FileState.LEFT_OUT)),
        missing=of(FileState.MISSING),
        changed=of(FileState.CHANGED),
        unnamed=material.unnamed(states),
    )


def _originals_step(originals: Originals) -> StepReport:
    for found, sums in ((Found.CHANGED, originals.changed), (Found.MISSING, originals.missing)):
        if sums:
            named = listed([f"{sha256[:16]}…" for sha256 in sums])
            return StepReport(7, found, f"{len(sums)} of {originals.listed} files: {named}")
    left = f", {originals.left_out} left out" if originals.left_out else ""
    detail = f"{originals.present} of {originals.listed} files are here and unchanged{left}"
    if originals.unnamed:
        beside = listed([name[:40] for name in originals.unnamed])
        return StepReport(7, Found.NAMED, f"{detail}; here, though no entry names it: {beside}")
    return StepReport(7, Found.OK, detail)

"""Steps 1 to 8: a record and its files, verified by whoever holds them (OUTPUTS § 3)."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from evidence.check.material import FileState, Material
from evidence.check.report import (
    Found,
    Originals,
    RecordReport,
    StepReport,
    WitnessReport,
    listed,
)
from evidence.entries import Case, Key, Witness
from evidence.envelope import Entry, read_entry
from evidence.errors import EvidenceError
from evidence.ledger import (
    Head,
    SignedNote,
    Verifier,
    leaf_hash,
    loads,
    open_note,
    origin_of,
    tree_roots,
    verify_chain,
)
from evidence.times import parse_utc, utc_text
from evidence.witness import read_timestamp
from evidence.words import KeyEvent, KeyUse


@dataclass(frozen=True, slots=True)
class _SignedHead:
    """A head as handed over: its note text, and what it says where it can be read."""

    text: str
    note: SignedNote
    head: Head


def check_record(material: Material, anchors: Sequence[bytes] = ()) -> RecordReport:
    """Verify a record.

    Args:
        material: the entries, heads and files.
        anchors: certificates (DER) of outsiders that the reader trusts.
    """
    entries, first = _entries(material.lines)
    faults = verify_chain(material.lines)
    chain = _chain_step(len(material.lines), [(fault.seq, str(fault)) for fault in faults])
    report = RecordReport((first.step, chain), entries=len(material.lines))
    bad = [seq for seq in (first.bad, faults[0].seq if faults else None) if seq is not None]
    if entries is None or not isinstance(entries[0].body, Case):
        rest = (_not_reached(n) for n in range(3, 9))
        return replace(report, steps=(*report.steps, *rest), first_bad_seq=min(bad, default=0))
    case = entries[0].body
    roots = list(tree_roots(leaf_hash(line) for line in material.lines))  # by size, from 0
    heads, head_faults = _heads(material.heads, origin_of(case.case_id), roots)
    signers, key_faults = _keys(heads, entries)
    witnesses = [_witness(material, entry, heads, case, anchors) for entry in _answers(entries)]
    originals = _originals(material, entries)
    return RecordReport(
        steps=(
            first.step,
            chain,
            _heads_step(len(heads), head_faults),
            _keys_step(signers, key_faults),
            _witnesses_step(witnesses),
            _brackets_step(entries, witnesses),
            _originals_step(originals),
            _sealed_step(entries),
        ),
        case_id=case.case_id,
        sample=case.sample,
        entries=len(entries),
        root=roots[-1].hex(),
        first_bad_seq=min(bad, default=None),
        heads=len(material.heads),
        signed_by=tuple(signers),
        bad_heads=(*head_faults, *key_faults),
        witnesses=tuple(witnesses),
        originals=originals,
    )


@dataclass(frozen=True, slots=True)
class _First:
    """Step 1 and the seq of the first entry that could not be read."""

    step: StepReport
    bad: int | None


def _entries(lines: Sequence[bytes]) -> tuple[list[Entry] | None, _First]:
    """Read every line; None where one cannot be read."""
    if not lines:
        return None, _First(StepReport(1, Found.CHANGED, "there are no entries"), 0)
    entries = []
    for seq, line in enumerate(lines):
        try:
            loads(line)
            entry = read_entry(line)
        except EvidenceError as error:
            detail = f"entry {seq + 1}: {error.what}: {error.why}"
            return None, _First(StepReport(1, Found.CHANGED, detail), seq)
        if entry.seq != seq:
            detail = f"entry {seq + 1}: stands in the place of entry {entry.number}"
            return None, _First(StepReport(1, Found.CHANGED, detail), seq)
        entries.append(entry)
    detail = f"{len(lines)} entries, none missing"
    return entries, _First(StepReport(1, Found.OK, detail), None)


def _chain_step(size: int, faults: Sequence[tuple[int, str]]) -> StepReport:
    if faults:
        return StepReport(2, Found.CHANGED, listed([said for _, said in faults]))
    return StepReport(2, Found.OK, f"each of {size} entries holds the sum of the one before it")


def _not_reached(n: int) -> StepReport:
    return StepReport(n, Found.NOT_CHECKED, "not reached: the entries cannot be read")


def _heads(
    notes: Sequence[str], origin: str, roots: Sequence[bytes]
) -> tuple[list[_SignedHead], list[str]]:
    """The heads that can be read, and what is wrong with any; `roots[n]` stands over n entries."""
    heads, faults, last = [], [], 0
    for place, text in enumerate(notes, start=1):
        try:
            note = SignedNote.parse(text)
            head = Head.parse(note.text)
        except EvidenceError as error:
            faults.append(f"head {place}: {error.why}")
            continue
        heads.append(_SignedHead(text, note, head))
        if head.origin != origin:
            faults.append(f"head of {head.size}: is of another record")
        elif head.size <= last:
            faults.append(f"head of {head.size}: is not in order of size")
        elif head.size >= len(roots):
            faults.append(f"head of {head.size}: entries {len(roots)} on are not here")
        elif head.root != roots[head.size]:
            faults.append(f"head of {head.size}: its root is not that of the entries")
        last = max(last, head.size)
    if last < len(roots) - 1:
        faults.append(f"no signed head stands over entry {len(roots) - 1}")
    return heads, faults


def _heads_step(count: int, faults: Sequence[str]) -> StepReport:
    if faults:
        return StepReport(3, Found.CHANGED, listed(faults))
    return StepReport(3, Found.OK, f"{count} heads, each the root of the entries under it")


def keys_at(entries: Iterable[Entry], size: int) -> dict[str, Key]:
    """The log keys that stand after the first `size` entries, by verifier key.

    An event is what happened to the key that it names: a replaced key is out, and the one that
    takes its place is added by an entry of its own.
    """
    ring: dict[str, Key] = {}
    for entry in entries:
        body = entry.body
        if entry.seq >= size or not isinstance(body, Key) or body.use is not KeyUse.LOG:
            continue
        if body.event is KeyEvent.ADDED:
            ring[body.key] = body
        else:
            ring.pop(body.key, None)
    return ring


def _keys(heads: Sequence[_SignedHead], entries: Sequence[Entry]) -> tuple[list[str], list[str]]:
    """Who signed, and which heads nobody entitled signed.

    A key may sign once a signed head holds its entry; only the first head binds its own keys.
    Otherwise anybody could append a key and sign for it.
    """
    signers: list[str] = []
    faults = []
    bound = 0
    for signed in heads:
        ring = keys_at(entries, bound or signed.head.size)
        try:
            verifiers = [Verifier.parse(vkey) for vkey in ring]
            for verifier in open_note(signed.note, verifiers):
                if verifier.vkey not in signers:
                    signers.append(verifier.vkey)
        except EvidenceError as error:
            faults.append(f"head of {signed.head.size}: {error.why}")
        bound = signed.head.size
    return signers, faults


def _keys_step(signers: Sequence[str], faults: Sequence[str]) -> StepReport:
    if faults:
        return StepReport(4, Found.CHANGED, listed(faults))
    keys = "one key" if len(signers) == 1 else f"{len(signers)} keys"
    return StepReport(4, Found.OK, f"signed by {keys} that the record names")


def _answers(entries: Iterable[Entry]) -> list[Entry]:
    return [entry for entry in entries if isinstance(entry.body, Witness)]


def _witness(
    material: Material,
    entry: Entry,
    heads: Sequence[_SignedHead],
    case: Case,
    anchors: Sequence[bytes],
) -> WitnessReport:
    body = entry.body
    if not isinstance(body, Witness):
        raise TypeError(entry.kind)
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
    if utc_text(stamp.time) != body.time:
        return said
    return replace(said, trust=stamp.trust, result=Found.OK)


def _witnesses_step(rows: Sequence[WitnessReport]) -> StepReport:
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


def _brackets_step(entries: Sequence[Entry], rows: Sequence[WitnessReport]) -> StepReport:
    """An entry whose `logged` lies outside its bracket is named; that is no change."""
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


def _originals(material: Material, entries: Sequence[Entry]) -> Originals:
    refs = {ref.sha256: ref for entry in entries for ref in entry.files}
    states = {sha256: material.state(ref) for sha256, ref in refs.items()}

    def of(state: FileState) -> tuple[str, ...]:
        return tuple(sha256 for sha256, found in states.items() if found is state)

    return Originals(
        listed=len(refs),
        present=len(of(FileState.PRESENT)),
        left_out=len(of(FileState.LEFT_OUT)),
        missing=of(FileState.MISSING),
        changed=of(FileState.CHANGED),
    )


def _originals_step(originals: Originals) -> StepReport:
    for found, sums in ((Found.CHANGED, originals.changed), (Found.MISSING, originals.missing)):
        if sums:
            named = listed([f"{sha256[:16]}…" for sha256 in sums])
            return StepReport(7, found, f"{len(sums)} of {originals.listed} files: {named}")
    left = f", {originals.left_out} left out" if originals.left_out else ""
    detail = f"{originals.present} of {originals.listed} files are here and unchanged{left}"
    return StepReport(7, Found.OK, detail)


def _sealed_step(entries: Sequence[Entry]) -> StepReport:
    sealed = sum(_seals(entry.raw) for entry in entries)
    if not sealed:
        return StepReport(8, Found.OK, "the record holds no sealed value")
    return StepReport(8, Found.NOT_CHECKED, f"{sealed} values stay sealed; none was revealed")


def _seals(value: object) -> int:
    if isinstance(value, dict):
        own = 1 if set(value) == {"sealed"} else 0
        return own + sum(_seals(inner) for inner in value.values())
    return sum(_seals(inner) for inner in value) if isinstance(value, list) else 0

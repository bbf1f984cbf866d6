"""Two states of one record: whether this one continues what was shown before (`check --earlier`).

The earlier state is a case folder, a pack, a dossier, or no more than a signed head or several (a
note, or a `heads.txt`). It is verified first: what does not hold by itself measures nothing.

Two records are compared entry by entry. With heads alone the roots decide: the one that an earlier
head states must be the one that the entries at hand have at its size (RFC 9162 § 2.1.4).
"""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from evidence.carried import heads_bytes, split_notes
from evidence.check.comparison import AddedEntry, Comparison, Relation
from evidence.check.report import Found, RecordReport, Report, Result
from evidence.check.signing import verifiers
from evidence.envelope import Entry, read_entry
from evidence.errors import EvidenceError, RefusedError
from evidence.keyring import Rings
from evidence.ledger import (
    Head,
    Link,
    SignedNote,
    Tree,
    Verifier,
    check_consistency,
    consistency_proof,
    leaf_hash,
    open_note,
    origin_of,
    tree_root,
)

MOST_BYTES = 50_000_000
"""Of a file with heads: a hundred thousand of them (judgement)."""


@dataclass(frozen=True, slots=True)
class SeenRecord:
    """A whole record as it was shown earlier; `target` says in which form."""

    target: str
    case_id: str
    lines: tuple[bytes, ...]


@dataclass(frozen=True, slots=True)
class SeenHeads:
    """Signed heads that were shown earlier, in order of size; whose they are is not known yet."""

    name: str
    notes: tuple[tuple[Head, SignedNote], ...]


Seen = SeenRecord | SeenHeads


def seen_record(path: Path, report: Report) -> Seen:
    """The earlier state that a case, a pack or a dossier holds, as it was checked.

    Of an excerpt it is its heads.

    Raises:
        RefusedError: it does not hold by itself.
    """
    if report.result is Result.CHANGED:
        step = next(step for step in report.steps if step.found is Found.CHANGED)
        raise RefusedError(
            str(path),
            f"was changed itself, so it measures nothing (step {step.n}: {step.detail[:160]})",
            "Compare with another earlier state.",
        )
    if report.record.excerpt is not None:
        return seen_heads(str(path), heads_bytes(report.record.notes))
    return SeenRecord(report.target, report.record.case_id, report.record.lines)


def seen_heads(name: str, data: bytes) -> SeenHeads:
    """The earlier state that signed heads state: one note, or a `heads.txt`.

    Raises:
        RefusedError: it is neither.
    """
    try:
        if len(data) > MOST_BYTES:
            raise RefusedError("heads", f"are more than {MOST_BYTES} bytes")
        text = data.decode()
        single = "" if text.endswith("\n\n") else "\n"
        notes = [SignedNote.parse(note) for note in split_notes(text + single)]
        heads = [(Head.parse(note.text), note) for note in notes]
        if not heads or min(head.size for head, _ in heads) < 1:
            raise RefusedError("heads", "stand over no entries")
    except (UnicodeDecodeError, EvidenceError) as error:
        why = error.why if isinstance(error, EvidenceError) else "it is not text"
        raise RefusedError(
            name,
            f"is neither a case, a pack, a dossier nor a signed head ({why})",
            "Name what was shown earlier: a case, a pack, a dossier, a head or heads.txt.",
        ) from error
    return SeenHeads(name, tuple(sorted(heads, key=lambda row: row[0].size)))


def compare(new: RecordReport, seen: Seen, named: Sequence[Verifier] = ()) -> Comparison | None:
    """The record at hand against an earlier state of it.

    Args:
        new: what was found in the record at hand.
        seen: the earlier state.
        named: keys that the reader was told by another way; they vouch for earlier heads, too.

    Returns:
        None where the record at hand cannot be read at all.

    Raises:
        RefusedError: an earlier head bears a known key's name and no signature of that key.
    """
    if not new.lines:
        return None
    if new.excerpt is not None:
        raise RefusedError(
            "an excerpt",
            "cannot be compared: what was withheld may differ",
            "Compare the whole record: a case, a dossier or a pack that is no excerpt.",
        )
    if isinstance(seen, SeenRecord):
        return _with_record(new, seen)
    return _with_heads(new, seen, named)


def _with_record(new: RecordReport, old: SeenRecord) -> Comparison:
    size, root = len(old.lines), tree_root([leaf_hash(line) for line in old.lines])
    if new.case_id and new.case_id != old.case_id:
        why = f"is another record than the earlier one, which is case {old.case_id}"
        return Comparison(old.target, Relation.UNRELATED, size, root, why)
    pairs = zip(new.lines, old.lines, strict=False)
    alike = next((at for at, (here, there) in enumerate(pairs) if here != there), None)
    if alike is not None:
        why = (
            f"forks at entry {alike + 1}: here {_shown(new.lines[alike])}, "
            f"in the earlier state {_shown(old.lines[alike])}"
        )
        fork = (alike, alike)
        return Comparison(old.target, Relation.FORKS, size, root, why, fork=fork)
    if size > len(new.lines):
        return Comparison(old.target, Relation.SHORTENED, size, root, _shortened(new, size))
    return _extended(new, old.target, size, root)


def _with_heads(new: RecordReport, old: SeenHeads, named: Sequence[Verifier]) -> Comparison:
    newest, _ = old.notes[-1]
    stranger = _stranger(new, old, named)
    if stranger:
        return Comparison("head", Relation.UNRELATED, newest.size, newest.root, stranger)
    leaves = [leaf_hash(line) for line in new.lines]
    root, alike, tree = tree_root(leaves), 0, Tree(leaves)
    for head, _ in old.notes:
        if head.size > len(leaves):
            break
        proof = tree.consistency(head.size)
        if not check_consistency(head.size, len(leaves), head.root, root, proof):
            fork = (alike, head.size - 1)
            where = f"at entry {head.size}" if alike == head.size - 1 else _within(alike, head.size)
            why = f"forks {where}: its entries do not have the root that the earlier head states"
            return Comparison("head", Relation.FORKS, newest.size, newest.root, why, fork=fork)
        alike = head.size
    if newest.size > len(leaves):
        unknown = f"; what it had from entry {alike + 1} on, its head cannot tell"
        why = _shortened(new, newest.size) + (unknown if alike < len(leaves) else "")
        return Comparison("head", Relation.SHORTENED, newest.size, newest.root, why)
    return _extended(new, "head", newest.size, newest.root)


def _within(alike: int, size: int) -> str:
    """A root says that something differs below it, and not where."""
    return f"before entry {size + 1}" + (f", behind entry {alike}" if alike else "")


def _stranger(new: RecordReport, old: SeenHeads, named: Sequence[Verifier]) -> str:
    """Why the earlier heads are none of this record; empty where they are.

    Raises:
        RefusedError: a signature by a known key does not hold.
    """
    origin, entries = origin_of(new.case_id), new.known or _readable(new.lines)
    sizes, rings = sorted(_sizes(new.notes)), Rings(entries)
    for head, note in old.notes:
        if head.origin != origin:
            return f"is another record than that of the earlier head, {head.origin}"
        ahead = bisect_left(sizes, head.size)
        held = sizes[ahead - 1] if ahead else 0
        known = {*verifiers(rings.behind(held)), *named}
        lines = {(line.name, line.key_id) for line in note.signatures}
        if not any((key.name, key.key_id) in lines for key in known):
            return (
                f"bears the name of the earlier record, but none of its keys signed the earlier "
                f"head of {head.size} entries: that head is not genuine, or this record is another"
            )
        try:
            open_note(note, known)
        except EvidenceError as error:
            raise RefusedError(old.name, f"{error.what} {error.why}") from error
    return ""


def _sizes(notes: Iterable[str]) -> Iterator[int]:
    """The sizes of the heads that can be read."""
    for note in notes:
        with suppress(EvidenceError):
            yield Head.parse(SignedNote.parse(note).text).size


def _readable(lines: Sequence[bytes]) -> tuple[Entry, ...]:
    """The entries up to the first that cannot be read."""
    entries: list[Entry] = []
    for line in lines:
        try:
            entries.append(read_entry(line))
        except EvidenceError:
            break
    return tuple(entries)


def _extended(new: RecordReport, target: str, size: int, root: bytes) -> Comparison:
    added = tuple(_added(at, line) for at, line in enumerate(new.lines[size:], start=size))
    noun = "1 entry" if len(added) == 1 else f"{len(added)} entries"
    why = f"extends the earlier state by {noun}" if added else "is the earlier state itself"
    proof = consistency_proof(size, [leaf_hash(line) for line in new.lines])
    return Comparison(target, Relation.EXTENDS, size, root, why, added=added, proof=tuple(proof))


def _shortened(new: RecordReport, size: int) -> str:
    return (
        f"holds {len(new.lines)} entries where the earlier state had {size}: "
        "an older copy, or its end was cut off"
    )


def _added(seq: int, line: bytes) -> AddedEntry:
    try:
        link = Link.read(line)
    except EvidenceError:
        return AddedEntry(seq, "", "")
    return AddedEntry(seq, link.kind, link.logged)


def _shown(line: bytes) -> str:
    try:
        link = Link.read(line)
    except EvidenceError:
        return "what cannot be read"
    return f"'{link.kind}' logged {link.logged}"

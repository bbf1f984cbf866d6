"""Step 4: who signed the heads, whether the record allowed it, and the keys that the reader named.

A record names its own keys, so a stranger who makes one anew names his own. Whoever was told a key
by another way than the record finds him out by it.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import groupby

from evidence.check.outsiders import SignedHead
from evidence.check.report import Found, StepReport, listed
from evidence.check.working import Progress, in_processes, silent
from evidence.entries import Key
from evidence.envelope import Entry
from evidence.errors import EvidenceError
from evidence.keyring import Rings
from evidence.ledger import SignedNote, Verifier, open_note
from evidence.words import KeyUse

FIRST_BY_NAMED = "the first head by the key that you named"


@dataclass(frozen=True, slots=True)
class Signing:
    """Who signed: the sizes of the heads by verifier key, and what is wrong with any head."""

    sizes: Mapping[str, Sequence[int]] = field(default_factory=dict)
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Batch:
    """Notes in a row that the same keys may have signed."""

    notes: tuple[str, ...]
    ring: tuple[str, ...]


_Opened = tuple[tuple[str, ...], str]
"""The verifier keys that signed a note, or why it cannot be told."""

_LARGEST_BATCH = 2_000
_WORTH_A_PROCESS = 20_000
"""Signatures: of fewer, the start of another process takes longer than it saves (measured)."""


def signing(
    heads: Sequence[SignedHead], entries: Sequence[Entry], progress: Progress = silent
) -> Signing:
    """Open every head with the keys that the entries before it allow.

    Args:
        heads: the heads in order.
        entries: the record, or an excerpt of it.
        progress: told of heads opened.
    """
    sizes: dict[str, list[int]] = {}
    faults = []
    done = 0
    batches = list(_batches(heads, Rings(entries)))
    spread = in_processes if len(heads) >= _WORTH_A_PROCESS else map
    for opened in spread(_opened, batches):
        for signers, why in opened:
            size = heads[done].head.size
            done += 1
            for vkey in signers:
                sizes.setdefault(vkey, []).append(size)
            if why:
                faults.append(f"head of {size}: {why}")
        progress("keys", done, len(heads))
    return Signing(sizes, tuple(faults))


def _batches(heads: Sequence[SignedHead], rings: Rings) -> Iterator[_Batch]:
    held = 0
    rows: list[tuple[tuple[str, ...], str]] = []
    for signed in heads:
        rows.append((tuple(rings.behind(held)), signed.text))
        held = max(held, signed.head.size)
    for ring, alike in groupby(rows, key=lambda row: row[0]):
        notes = [text for _, text in alike]
        for start in range(0, len(notes), _LARGEST_BATCH):
            yield _Batch(tuple(notes[start : start + _LARGEST_BATCH]), ring)


def _opened(batch: _Batch) -> list[_Opened]:
    """Open the notes of a batch, in this process or in another."""
    known = {verifier: verifier.vkey for verifier in verifiers(batch.ring)}
    found: list[_Opened] = []
    for text in batch.notes:
        try:
            signers = open_note(SignedNote.parse(text), known)
        except EvidenceError as error:
            found.append(((), error.why))
        else:
            found.append((tuple(known[signer] for signer in signers), ""))
    return found


def verifiers(ring: Iterable[str]) -> list[Verifier]:
    """The keys that can be read: one that cannot signs nothing."""
    found = []
    for vkey in ring:
        with suppress(EvidenceError):
            found.append(Verifier.parse(vkey))
    return found


def keys_step(
    signed: Signing,
    entries: Sequence[Entry],
    named: Sequence[Verifier],
    cosigners: Sequence[str],
) -> StepReport:
    """Step 4.

    Args:
        signed: who signed.
        entries: the record.
        named: log keys that the reader was told by another way.
        cosigners: likewise cosigners' keys, in text form.
    """
    if signed.faults:
        return StepReport(4, Found.CHANGED, listed(signed.faults))
    keys = "one key" if len(signed.sizes) == 1 else f"{len(signed.sizes)} keys"
    said = [_pinned(key, signed.sizes) for key in named]
    said += [_cosigner(vkey, entries) for vkey in cosigners]
    worst = next(
        (f for f in (Found.CHANGED, Found.NAMED) if any(f is found for found, _ in said)), Found.OK
    )
    if worst is Found.CHANGED:
        return StepReport(4, worst, listed([why for found, why in said if found is worst]))
    told = "; ".join((f"signed by {keys} that the record names", *(why for _, why in said)))
    return StepReport(4, worst, told)


def _pinned(key: Verifier, sizes: Mapping[str, Sequence[int]]) -> tuple[Found, str]:
    """What the key that a reader named says of the record.

    That an entry names it is worth nothing, for anybody can write down another's key. A head that
    it signed is worth all entries below, and so the keys that they name.
    """
    own = sizes.get(key.vkey)
    first = min(sizes, key=lambda vkey: min(sizes[vkey]), default="")
    if not own:
        by = f": its first head is signed by {first}" if first else ""
        return Found.CHANGED, f"no head is signed by the key that you named{by}"
    if min(own) == min(min(each) for each in sizes.values()):
        return Found.OK, FIRST_BY_NAMED
    over = f"{min(own)} entries" if len(own) == 1 else f"{min(own)} to {max(own)} entries"
    return Found.NAMED, (
        f"the key that you named signed heads of {over}, not the first, which is signed by {first}"
    )


def _cosigner(vkey: str, entries: Sequence[Entry]) -> tuple[Found, str]:
    for entry in entries:
        body = entry.body
        if isinstance(body, Key) and body.use is KeyUse.COSIGN and body.key == vkey:
            return Found.OK, f"entry {entry.number} names the cosigner's key that you gave"
    return Found.NAMED, "the record does not name the cosigner's key that you gave"

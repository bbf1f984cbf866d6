"""Step 4: who signed the heads, whether the record allowed it, and the keys that the reader named.

A record names its own keys, so a stranger who makes one anew names his own. Whoever was told a key
by another way than the record finds him out by it.
"""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field

from evidence.check.outsiders import SignedHead
from evidence.check.report import Found, StepReport, listed
from evidence.entries import Key
from evidence.envelope import Entry
from evidence.errors import EvidenceError
from evidence.keyring import may_sign
from evidence.ledger import Verifier, open_note
from evidence.words import KeyUse


@dataclass(frozen=True, slots=True)
class Signing:
    """Who signed: the sizes of the heads by verifier key, and what is wrong with any head."""

    sizes: Mapping[str, Sequence[int]] = field(default_factory=dict)
    faults: tuple[str, ...] = ()


def signing(heads: Sequence[SignedHead], entries: Sequence[Entry]) -> Signing:
    """Open every head with the keys that the entries before it allow."""
    sizes: dict[str, list[int]] = {}
    faults = []
    held = 0
    for signed in heads:
        size = signed.head.size
        try:
            for verifier in open_note(signed.note, verifiers(may_sign(entries, held))):
                sizes.setdefault(verifier.vkey, []).append(size)
        except EvidenceError as error:
            faults.append(f"head of {size}: {error.why}")
        held = max(held, size)
    return Signing(sizes, tuple(faults))


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
        return Found.OK, "the first head by the key that you named"
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

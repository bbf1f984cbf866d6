"""Which keys may sign: what the `key` entries of a record say (RECORD § 2)."""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress

from evidence.entries import Case, Key
from evidence.envelope import Entry
from evidence.errors import EvidenceError, RefusedError
from evidence.ledger import NoteSignature, Signer, Verifier, refuse_low_order
from evidence.ledger.notes import ED25519
from evidence.ledger.vkeys import key_id, read_vkey
from evidence.witness.cosign import COSIGNATURE
from evidence.words import KeyEvent, KeyUse

ON_PAPER = "kept on paper"
"""With these words ends the `why` of a recovery key: nothing else tells it from other keys."""

_TYPES = {
    KeyUse.LOG: (ED25519, "a key that signs heads"),
    KeyUse.COSIGN: (COSIGNATURE, "a cosigner's key"),
}
"""The signature type of each use, and how a person knows it."""


def shown_id(vkey: str) -> str:
    """A key's ID as pages print it: `1a2b-3c4d`; the text itself where it is no verifier key."""
    parts = vkey.split("+", 2)
    return f"{parts[1][:4]}-{parts[1][4:]}" if len(parts) == 3 else vkey[:20]


def public_key(body: Key) -> tuple[str, bytes]:
    """The name and the 32 bytes of the key that an entry names, read for its use.

    Raises:
        RefusedError: it is no verifier key, one of another use, or one of low order.
    """
    kind, what = _TYPES[body.use]
    name, found = read_vkey(body.key, kind, what)
    refuse_low_order(found)
    NoteSignature(name, key_id(name, kind, found), bytes(1))  # refuses a name that no line can bear
    return name, found


def log_keys(entries: Iterable[Entry]) -> dict[str, Key]:
    """The log keys that stand after `entries`, by verifier key."""
    return _standing(entries, KeyUse.LOG)


def ever_signing(entries: Iterable[Entry]) -> Iterator[Verifier]:
    """Every key that a record ever named for its heads, each once, as far as it can be read."""
    named = dict.fromkeys(
        e.body.key for e in entries if isinstance(e.body, Key) and e.body.use is KeyUse.LOG
    )
    for vkey in named:
        with suppress(EvidenceError):
            yield Verifier.parse(vkey)


def cosign_keys(entries: Iterable[Entry]) -> dict[str, Key]:
    """The cosigners' keys that stand after `entries`, by verifier key."""
    return _standing(entries, KeyUse.COSIGN)


def _standing(entries: Iterable[Entry], use: KeyUse) -> dict[str, Key]:
    """The keys for one use that stand after `entries`.

    An event is what happened to the key that it names: a replaced key is out, and the one that
    takes its place is added by an entry of its own.
    """
    ring: dict[str, Key] = {}
    for entry in entries:
        body = entry.body
        if not isinstance(body, Key) or body.use is not use:
            continue
        if body.event is KeyEvent.ADDED:
            ring[body.key] = body
        else:
            ring.pop(body.key, None)
    return ring


class Rings:
    """The log keys that may sign each head of a record, worked out once for all of its heads.

    A key signs once a signed head holds its entry. Only the keys that stand before anything else
    is said need none: otherwise anybody could append a key, and sign for it.

    Args:
        entries: the record, or an excerpt of it; behind a hole something else may have been said.
    """

    def __init__(self, entries: Sequence[Entry]) -> None:
        said = (
            e.seq
            for place, e in enumerate(entries)
            if e.seq != place or not isinstance(e.body, Case | Key)
        )
        self._founding = next(said, len(entries))
        self._events = [e for e in entries if isinstance(e.body, Key)]
        self._rings: dict[int, Mapping[str, Key]] = {}

    def behind(self, held: int) -> Mapping[str, Key]:
        """Those that may sign the next head, where a signed head holds the first `held` entries."""
        count = bisect_left(self._events, max(held, self._founding), key=lambda e: e.seq)
        if count not in self._rings:
            self._rings[count] = log_keys(self._events[:count])
        return self._rings[count]


def may_sign(entries: Sequence[Entry], held: int) -> Mapping[str, Key]:
    """The log keys of `Rings.behind`, for one head."""
    return Rings(entries).behind(held)


def refuse_stranger(signer: Signer, entries: Sequence[Entry]) -> None:
    """Whoever starts a record names the keys; from then on they alone sign.

    Raises:
        RefusedError: it is not this signer's to write on: a head of his would never check.
    """
    if entries and signer.verifier.vkey not in may_sign(entries, len(entries)):
        raise RefusedError(
            f"key of {signer.name}",
            "is none that the record allows to sign",
            "Sign with a key that its entries name and that was not retired; where none is left: "
            "roof-evidence key CASE recover.",
        )

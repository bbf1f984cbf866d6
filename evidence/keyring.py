"""Which keys may sign: what the `key` entries of a record say (RECORD § 2)."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress

from evidence.entries import Case, Key
from evidence.envelope import Entry
from evidence.errors import EvidenceError, RefusedError
from evidence.ledger import Signer, Verifier
from evidence.words import KeyEvent, KeyUse


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


def may_sign(entries: Sequence[Entry], held: int) -> dict[str, Key]:
    """The log keys that may sign the next head, where a signed head holds the first `held` entries.

    A key signs once a signed head holds its entry. Only the keys that stand before anything else
    is said need none: otherwise anybody could append a key, and sign for it.
    """
    founding = (e.seq for e in entries if not isinstance(e.body, Case | Key))
    return log_keys(entries[: max(held, next(founding, len(entries)))])


def refuse_stranger(signer: Signer, entries: Sequence[Entry]) -> None:
    """Whoever starts a record names the keys; from then on they alone sign.

    Raises:
        RefusedError: it is not this signer's to write on: a head of his would never check.
    """
    if entries and signer.verifier.vkey not in may_sign(entries, len(entries)):
        raise RefusedError(
            f"key of {signer.name}",
            "is none that the record allows to sign",
            "Sign with a key that its entries name and that was not retired.",
        )

"""What a `key` entry may say next: a record must never be left without a key that may sign."""

from collections.abc import Iterator, Sequence
from contextlib import suppress

from evidence.entries import Case, Key
from evidence.envelope import Entry
from evidence.errors import EvidenceError, RefusedError
from evidence.keyring import cosign_keys, log_keys, public_key, shown_id
from evidence.ledger import origin_of
from evidence.words import KeyEvent, KeyUse


def admit_key(before: Sequence[Entry], body: Key) -> None:
    """Refuse a key that proves nothing, and an end that the record could not live with.

    Args:
        before: every entry ahead of it.
        body: the entry's body.

    Raises:
        RefusedError: naming the key.
    """
    standing = log_keys(before) if body.use is KeyUse.LOG else cosign_keys(before)
    if body.event is KeyEvent.ADDED:
        _added(before, body, standing)
    else:
        _ended(before, body, standing)


def _added(before: Sequence[Entry], body: Key, standing: dict[str, Key]) -> None:
    name, found = public_key(body)
    what = f"key {shown_id(body.key)}"
    if body.use is KeyUse.LOG and name not in _origins(before):
        raise RefusedError(what, "was made for another case")
    if body.key in standing:
        raise RefusedError(what, "stands in the record already")
    if found in set(_named_for_another_use(before, body.use)):
        raise RefusedError(
            what,
            "both signs the record's own heads and cosigns them",
            "A cosigner is somebody else, with a key of his own.",
        )


def _ended(before: Sequence[Entry], body: Key, standing: dict[str, Key]) -> None:
    what = f"key {shown_id(body.key)}"
    if not any(key.key == body.key and key.event is KeyEvent.ADDED for key in _keys(before, body)):
        known = ", ".join(shown_id(vkey) for vkey in standing)
        raise RefusedError(
            what, f"was never added with use={body.use}", f"Standing: {known or 'none'}."
        )
    if body.use is KeyUse.LOG and standing.keys() == {body.key}:
        raise RefusedError(
            what,
            "is the last one that may sign: nobody could ever write on",
            "Add another one first: roof-evidence key CASE replace.",
        )


def _keys(before: Sequence[Entry], like: Key) -> Iterator[Key]:
    """What was said of keys of the same use."""
    return (e.body for e in before if isinstance(e.body, Key) and e.body.use is like.use)


def _named_for_another_use(before: Sequence[Entry], use: KeyUse) -> Iterator[bytes]:
    """Every public key that the record ever named for another use."""
    for entry in before:
        if isinstance(entry.body, Key) and entry.body.use is not use:
            with suppress(EvidenceError):
                yield public_key(entry.body)[1]


def _origins(before: Sequence[Entry]) -> set[str]:
    """The name that every key of this case bears."""
    return {origin_of(entry.body.case_id) for entry in before[:1] if isinstance(entry.body, Case)}

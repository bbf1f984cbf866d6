"""Cosigning somebody else's record: one's own key for it, and what one cosigned before.

A cosigner says "this is the largest head of that record that I have seen" (tlog-cosignature
of c2sp.org). So he remembers the last one, and signs the next only with the proof that it continues
it.

A head counts as the record's own by the key that signed it. A signed note names that key and does
not hold it, so it is handed over beside the first head and remembered with it; whose it is the
cosigner knows from the person who asks, not from here. Without it anybody could have a made-up head
of somebody's record cosigned, after which the true ones would be refused.
"""

import json
import os
import re
import tempfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from pydantic import JsonValue

from evidence.errors import ChangedError, MissingError, RefusedError
from evidence.ledger import (
    Head,
    SignedNote,
    Verifier,
    b64decode_strict,
    check_consistency,
    decimal_strict,
    open_note,
    parse,
)
from evidence.ledger.disk import PRIVATE_FOLDER, plain_words, sync_folder, write_private
from evidence.ledger.keys import lock, passphrase_bytes, unlock
from evidence.witness import CosigningKey

_KEY, _SEEN = "cosigner.pem", "cosigned.json"
_MOST_NODES = 63  # c2sp.org/tlog-witness § add-checkpoint
_RECORDS = re.compile(r"roof-evidence/[0-9a-f]{32}")
"""The origins of records (RECORD § 2); a log of another kind is not this program's to vouch for."""


@dataclass(frozen=True, slots=True)
class _Request:
    """A head to be cosigned, and the proof that it continues the one of size `old`."""

    note: SignedNote
    head: Head
    old: int
    proof: tuple[bytes, ...]

    @classmethod
    def read(cls, data: bytes) -> "_Request":
        """Read a request as `witnessing.to_cosign` writes it, or the signed note alone.

        Raises:
            RefusedError: another form.
        """
        try:
            text = data.decode()
        except UnicodeDecodeError as error:
            raise RefusedError("head to cosign", "is not UTF-8 text") from error
        old, proof = 0, []
        if text.startswith("old "):
            ahead, _, text = text.partition("\n\n")
            first, *nodes = ahead.split("\n")
            if len(nodes) > _MOST_NODES:
                raise RefusedError(
                    "head to cosign", f"has a proof of more than {_MOST_NODES} nodes"
                )
            old, proof = decimal_strict(first[len("old ") :]), [b64decode_strict(n) for n in nodes]
        note = SignedNote.parse(text)
        return cls(note, Head.parse(note.text), old, tuple(proof))


@dataclass(frozen=True, slots=True)
class Asked:
    """A head that may be cosigned.

    Attributes:
        request: what was handed over.
        log_key: the key by which it is the record's own.
        before: what was cosigned of that record last, and the key then; None at first sight.
    """

    request: _Request
    log_key: Verifier
    before: "_Seen | None"

    @property
    def head(self) -> Head:
        """What is to be signed: whose record, how many entries, their root."""
        return self.request.head


@dataclass(frozen=True, slots=True)
class _Seen:
    """The largest head of a record that was cosigned, and the key that had signed it."""

    head: Head
    log_key: Verifier

    @classmethod
    def read(cls, value: JsonValue) -> "_Seen":
        if not isinstance(value, dict) or value.keys() != {"head", "key"}:
            raise ChangedError(_SEEN, "is not the list of what you cosigned before")
        return cls(Head.parse(str(value["head"])), Verifier.parse(str(value["key"])))

    def as_json(self) -> JsonValue:
        return {"head": self.head.text(), "key": self.log_key.vkey}


class CosignerStore:
    """A person's own cosigning key and memory, in a folder of theirs."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    @property
    def has_key(self) -> bool:
        """Whether there is a key already."""
        return (self._folder / _KEY).is_file()

    def create(self, passphrase: str | None) -> CosigningKey:
        """Make and keep the key, locked by a passphrase where one is given.

        Raises:
            RefusedError: there is one already, or the disk refuses.
        """
        key = CosigningKey.generate()
        locked = lock(key.private_key, passphrase_bytes(passphrase))
        with plain_words(self._folder / _KEY):
            self._folder.mkdir(mode=PRIVATE_FOLDER, parents=True, exist_ok=True)
            write_private(self._folder / _KEY, locked)
            sync_folder(self._folder)
        return key

    def load(self, passphrase: str | None) -> CosigningKey:
        """Open the key.

        Raises:
            MissingError: there is none.
            RefusedError: the passphrase is wrong, or needed and not given.
            ChangedError: the file is not a cosigning key.
        """
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        with plain_words(self._folder / _KEY, MissingError):
            pem = (self._folder / _KEY).read_bytes()
        key = unlock(
            pem,
            "keys for cosigning",
            passphrase_bytes(passphrase),
            if_lost=f"put {_KEY} away: a new key is made, under another name",
        )
        if not isinstance(key, Ed25519PrivateKey):
            raise ChangedError("cosigning key", "is not an Ed25519 key")
        return CosigningKey(key)

    def look(self, data: bytes, log_key: str | None = None) -> Asked:
        """Read what the keeper of a record handed over, and refuse what is not to be cosigned.

        Args:
            data: the signed head, with the proof that it continues the last one.
            log_key: the key that signs the record's heads, in text form, as the keeper told it;
                needed at first sight, and where another has taken its place.

        Raises:
            RefusedError: it cannot be read, is of no record, or comes without the key or the proof
                that is needed.
            ChangedError: that key did not sign it, or it does not continue what was cosigned.
        """
        request = _Request.read(data)
        origin = request.head.origin
        if _RECORDS.fullmatch(origin) is None:
            raise RefusedError("head to cosign", "is not that of a roof's record")
        before = self._seen().get(origin)
        if log_key is not None:
            signing = Verifier.parse(log_key)
        elif before is not None:
            signing = before.log_key
        else:
            raise RefusedError(
                "head to cosign",
                "is the first of this record that you see: nothing says who signed it",
                "Give the key that its keeper told you: --key VKEY.",
            )
        _refuse_unsigned(request, signing)
        if before is not None:
            _refuse_fork(request, before.head)
        return Asked(request, signing, before)

    def cosign(self, asked: Asked, key: CosigningKey, at: datetime) -> SignedNote:
        """Cosign a head, once it is remembered.

        Args:
            asked: what `look` found fit.
            key: one's own key.
            at: one's own clock.

        Raises:
            RefusedError: the disk refuses.
            ChangedError: a later head was cosigned meanwhile.
        """
        seen = self._seen()
        if asked.head.origin in seen:
            _refuse_fork(asked.request, seen[asked.head.origin].head)
        self._remember({**seen, asked.head.origin: _Seen(asked.head, asked.log_key)})
        return key.cosign(asked.request.note, at)

    def forget(self, origin: str) -> Head:
        """Forget what was cosigned of a record: the next head of it is cosigned as the first.

        Returns:
            the head that was remembered.

        Raises:
            RefusedError: nothing of that record was cosigned, or the disk refuses.
        """
        seen = self._seen()
        if origin not in seen:
            known = ", ".join(seen) or "none"
            raise RefusedError(origin, "is no record that you cosigned", f"Known: {known}.")
        self._remember({name: one for name, one in seen.items() if name != origin})
        return seen[origin].head

    def _seen(self) -> dict[str, _Seen]:
        """The largest head cosigned of each record."""
        path = self._folder / _SEEN
        if not path.exists():
            return {}
        with plain_words(path):
            value = parse(path.read_bytes())
        if not isinstance(value, list):
            raise ChangedError(str(path), "is not the list of what you cosigned before")
        seen = [_Seen.read(one) for one in value]
        return {one.head.origin: one for one in seen}

    def _remember(self, seen: dict[str, _Seen]) -> None:
        """Written whole under a passing name first: a crash leaves the old or the new."""
        rows = [one.as_json() for one in seen.values()]
        with plain_words(self._folder / _SEEN):
            handle, passing = tempfile.mkstemp(prefix=".making-", dir=self._folder)
            try:
                with os.fdopen(handle, "w", encoding="utf-8") as file:
                    json.dump(rows, file, ensure_ascii=False, indent=1)
                    file.flush()
                    os.fsync(file.fileno())
                Path(passing).replace(self._folder / _SEEN)
            finally:
                Path(passing).unlink(missing_ok=True)
            sync_folder(self._folder)


def _refuse_unsigned(asked: _Request, signing: Verifier) -> None:
    what = f"head of {asked.head.size} entries"
    if signing.name != asked.head.origin:
        raise RefusedError(
            f"key {signing.name[:60]}",
            "is that of another record than this head",
            "Ask the keeper of the record for its key.",
        )
    try:
        open_note(asked.note, [signing])
    except ChangedError as error:
        raise ChangedError(
            what,
            "is not signed by the key of this record that you were told",
            "If another key took its place, give that one, once its keeper told you: --key VKEY.",
        ) from error


def _refuse_fork(asked: _Request, seen: Head) -> None:
    what, head = f"head of {asked.head.size} entries", asked.head
    if head.size < seen.size:
        raise ChangedError(
            what,
            f"you cosigned {seen.size} entries of this record before",
            "This is an older copy of it, or something was taken away.",
        )
    if head.size == seen.size:
        if head.root != seen.root:
            raise ChangedError(what, "you cosigned another one of the same size before")
        return
    if asked.old != seen.size:
        raise RefusedError(
            what,
            f"comes without the proof that it continues the {seen.size} entries you cosigned",
            f"Ask for it with --note FILE --seen {seen.size}.",
        )
    if not check_consistency(seen.size, head.size, seen.root, head.root, asked.proof):
        raise ChangedError(what, f"does not continue the {seen.size} entries that you cosigned")

"""Cosigning somebody else's record: one's own key for it, and what one cosigned before.

A cosigner says "this is the largest head of that record that I have seen" (tlog-cosignature
of c2sp.org). So he remembers the last one, and signs the next only with the proof that it continues
it. Whose record it is he knows from the person who asks, not from here: the record's own signature
is not looked at, for its key stands in the record alone.
"""

import json
import os
import tempfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from evidence.errors import ChangedError, MissingError, RefusedError
from evidence.ledger import (
    Head,
    SignedNote,
    b64decode_strict,
    check_consistency,
    decimal_strict,
    parse,
)
from evidence.ledger.disk import PRIVATE_FOLDER, plain_words, sync_folder, write_private
from evidence.ledger.keys import lock, passphrase_bytes, unlock
from evidence.witness import CosigningKey

_KEY, _SEEN = "cosigner.pem", "cosigned.json"
_MOST_NODES = 63  # c2sp.org/tlog-witness § add-checkpoint


@dataclass(frozen=True, slots=True)
class _Asked:
    """A head to be cosigned, and the proof that it continues the one of size `old`."""

    note: SignedNote
    head: Head
    old: int
    proof: tuple[bytes, ...]

    @classmethod
    def read(cls, data: bytes) -> "_Asked":
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

    def cosign(self, data: bytes, key: CosigningKey, at: datetime) -> SignedNote:
        """Cosign a head, once it is remembered.

        Args:
            data: what the keeper of the record handed over.
            key: one's own key.
            at: one's own clock.

        Raises:
            RefusedError: it cannot be read, or comes without the proof that is needed.
            ChangedError: it does not continue what was cosigned before.
        """
        asked, heads = _Asked.read(data), self._seen()
        seen = heads.get(asked.head.origin)
        if seen is not None:
            _refuse_fork(asked, seen)
        self._remember({**heads, asked.head.origin: asked.head})
        return key.cosign(asked.note, at)

    def _seen(self) -> dict[str, Head]:
        """The largest head cosigned of each record."""
        path = self._folder / _SEEN
        if not path.exists():
            return {}
        with plain_words(path):
            value = parse(path.read_bytes())
        if not isinstance(value, list):
            raise ChangedError(str(path), "is not the list of what you cosigned before")
        heads = [Head.parse(str(text)) for text in value]
        return {head.origin: head for head in heads}

    def _remember(self, heads: dict[str, Head]) -> None:
        """Written whole under a passing name first: a crash leaves the old or the new."""
        texts = [head.text() for head in heads.values()]
        with plain_words(self._folder / _SEEN):
            handle, passing = tempfile.mkstemp(prefix=".making-", dir=self._folder)
            try:
                with os.fdopen(handle, "w", encoding="utf-8") as file:
                    json.dump(texts, file, ensure_ascii=False, indent=1)
                    file.flush()
                    os.fsync(file.fileno())
                Path(passing).replace(self._folder / _SEEN)
            finally:
                Path(passing).unlink(missing_ok=True)
            sync_folder(self._folder)


def _refuse_fork(asked: _Asked, seen: Head) -> None:
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

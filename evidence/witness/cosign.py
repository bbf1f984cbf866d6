"""Another person's signature over a head (c2sp.org/tlog-cosignature, cosignature/v1).

A cosigner signs, with a key of his own and the time by his own clock, that this head is the largest
that he has seen of its record. The signature is one more line below the signed note:

    — <key name> <base64(key ID ‖ time ‖ signature)>

`time` is POSIX seconds in 8 bytes, most significant first. The signature is Ed25519 over

    cosignature/v1
    time <seconds>
    <the note's whole text>

Its key type is 04, so a cosigner's key never has the ID of a key that signs heads.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from hashlib import sha256
from typing import TYPE_CHECKING

from evidence.errors import ChangedError, RefusedError
from evidence.ledger import NoteSignature, SignedNote, key_id, open_note, refuse_low_order
from evidence.ledger.vkeys import ed25519_verifies, read_vkey, write_vkey

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

COSIGNATURE = b"\x04"
"""The signature type of an Ed25519 cosignature."""

_TIME_BYTES = 8
_SIGNATURE_BYTES = 64
_LAST_SECOND = 253_402_300_799  # 9999-12-31T23:59:59Z: the last that the record can write down
_NAME = "roof-evidence-cosigner"


@dataclass(frozen=True, slots=True)
class Cosigner:
    """A cosigner's public key (type 04) and its name. Low-order keys cannot be made into one."""

    name: str
    public_key: bytes

    def __post_init__(self) -> None:
        refuse_low_order(self.public_key)
        NoteSignature(self.name, self.key_id, bytes(1))  # refuses a name that no line can bear

    @classmethod
    def parse(cls, vkey: str) -> "Cosigner":
        """Read a verifier key of type 04.

        Raises:
            RefusedError: another form or type, an ID that is not the key's, or a low-order key.
        """
        return cls(*read_vkey(vkey, COSIGNATURE, "a cosigner's key"))

    @property
    def key_id(self) -> bytes:
        """The key's ID, 4 bytes."""
        return key_id(self.name, COSIGNATURE, self.public_key)

    @property
    def vkey(self) -> str:
        """The verifier key in text form; `Cosigner.parse` reads it back."""
        return write_vkey(self.name, COSIGNATURE, self.public_key)

    def verify(self, text: str, signature: bytes) -> bool:
        """True if `signature` (time, then 64 bytes) is this key's over a note text."""
        if len(signature) != _TIME_BYTES + _SIGNATURE_BYTES:
            return False
        seconds = _seconds(signature)
        return 0 < seconds <= _LAST_SECOND and ed25519_verifies(
            self.public_key, signature[_TIME_BYTES:], _message(seconds, text)
        )


@dataclass(frozen=True, slots=True)
class CosigningKey:
    """A cosigner's private key. It signs heads of others and nothing else."""

    private_key: "Ed25519PrivateKey" = field(repr=False)

    @classmethod
    def generate(cls) -> "CosigningKey":
        """A new key."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        return cls(Ed25519PrivateKey.generate())

    @property
    def cosigner(self) -> Cosigner:
        """The public half; its name follows from the key, so that no two people share one."""
        public_key = self.private_key.public_key().public_bytes_raw()
        return Cosigner(f"{_NAME}/{sha256(public_key).hexdigest()[:16]}", public_key)

    def cosign(self, note: SignedNote, at: datetime) -> SignedNote:
        """The note with this key's line below the others, in place of an earlier one of its own."""
        seconds, own = int(at.timestamp()), self.cosigner
        signature = self.private_key.sign(_message(seconds, note.text))
        line = NoteSignature(own.name, own.key_id, seconds.to_bytes(_TIME_BYTES, "big") + signature)
        others = [s for s in note.signatures if (s.name, s.key_id) != (own.name, own.key_id)]
        return SignedNote(note.text, (*others, line))


def read_cosignatures(
    note: SignedNote, text: str, cosigners: Iterable[Cosigner]
) -> list[tuple[Cosigner, datetime]]:
    """Who of the `cosigners` signed the head with this text, and when by his own clock.

    Lines by other keys are ignored. Where one signed twice, the earlier time counts.

    Raises:
        ChangedError: the note is over another head, a known key's line is not over it, or no
            known key signed.
    """
    if note.text != text:
        raise ChangedError("cosigned note", "is over another head than this one")
    return [(one, min(_times(note.signatures, one))) for one in open_note(note, cosigners)]


def _times(lines: Sequence[NoteSignature], by: Cosigner) -> list[datetime]:
    return [
        datetime.fromtimestamp(_seconds(line.signature), UTC)
        for line in lines
        if (line.name, line.key_id) == (by.name, by.key_id)
    ]


def _seconds(signature: bytes) -> int:
    return int.from_bytes(signature[:_TIME_BYTES], "big")


def _message(seconds: int, text: str) -> bytes:
    return f"cosignature/v1\ntime {seconds}\n{text}".encode()


def refuse_signing_key(cosigner: Cosigner, signing: Iterable[bytes]) -> None:
    """Refuse a cosigner's key that also signs heads: an outsider keeps a key of his own.

    Args:
        cosigner: the key.
        signing: public keys, 32 bytes each, that the record ever named for its heads.

    Raises:
        RefusedError: it is one of them.
    """
    if cosigner.public_key in set(signing):
        raise RefusedError(
            f"key {cosigner.name}",
            "also signs the record's own heads",
            "A cosigner is somebody else, with a key of his own.",
        )

"""A second log key on paper, for the day the first is lost.

32 secret bytes and 2 bytes of checksum are printed as 55 letters and digits in groups of five, in
an alphabet without I, L, O and U (Crockford's base32), so that a person can type them back.
"""

import base64
import secrets
from dataclasses import dataclass, field
from hashlib import sha256

from evidence.errors import RefusedError
from evidence.ledger.notes import Signer

SEED_BYTES = 32
CHECK_BYTES = 2
LETTERS = 55
GROUP = 5

_RFC4648 = "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567"
_CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_TO_PAPER = str.maketrans(_RFC4648, _CROCKFORD)
_FROM_PAPER = str.maketrans(_CROCKFORD, _RFC4648)
_LOOK_ALIKES = str.maketrans({"O": "0", "I": "1", "L": "1", "-": None})
_TRY_AGAIN = "Compare it with the paper, group by group."


@dataclass(frozen=True, slots=True)
class RecoveryKey:
    """The seed of an Ed25519 key (RFC 8032 § 5.1.5). It never shows in a `repr`."""

    seed: bytes = field(repr=False)

    def __post_init__(self) -> None:
        if len(self.seed) != SEED_BYTES:
            raise RefusedError("recovery key", f"is not {SEED_BYTES} bytes")

    @classmethod
    def generate(cls) -> "RecoveryKey":
        """A new key from the operating system's randomness."""
        return cls(secrets.token_bytes(SEED_BYTES))

    @classmethod
    def parse(cls, text: str) -> "RecoveryKey":
        """Read what was typed back: any case, spaces and hyphens, O for 0, I and L for 1.

        Raises:
            RefusedError: a letter outside the alphabet, too few or too many, or a wrong checksum.
        """
        letters = "".join(text.upper().split()).translate(_LOOK_ALIKES)
        strange = next((char for char in letters if char not in _CROCKFORD), None)
        if strange is not None:
            raise RefusedError(
                "recovery key", f"holds {strange!r}, which it never uses", _TRY_AGAIN
            )
        if len(letters) != LETTERS:
            raise RefusedError(
                "recovery key", f"has {len(letters)} letters, not {LETTERS}", _TRY_AGAIN
            )
        payload = base64.b32decode(letters.translate(_FROM_PAPER) + "=")
        key = cls(payload[:SEED_BYTES])
        if "".join(key.words()) != letters:
            raise RefusedError(
                "recovery key", "its checksum is wrong: a letter differs", _TRY_AGAIN
            )
        return key

    def words(self) -> tuple[str, ...]:
        """Eleven groups of five letters and digits: the seed, then the checksum."""
        payload = self.seed + sha256(self.seed).digest()[:CHECK_BYTES]
        letters = base64.b32encode(payload).decode().translate(_TO_PAPER)  # "=" comes 56th
        return tuple(letters[place : place + GROUP] for place in range(0, LETTERS, GROUP))

    def text(self) -> str:
        """The groups with hyphens between them, in one line."""
        return "-".join(self.words())

    def signer(self, name: str) -> Signer:
        """The key as an ordinary log key: `name` is the record's origin, the vkey is its own."""
        return Signer.from_seed(name, self.seed)

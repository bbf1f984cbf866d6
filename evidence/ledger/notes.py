"""Signed notes: plain text with signature lines below it (c2sp.org/signed-note, v1.0.0).

    This is an example message.
    <empty line>
    — example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXm…

A note is a text that ends with a newline, an empty line, and one or more lines of

    — <key name> <base64(key ID ‖ signature)>

The text may hold empty lines: the last one divides. Notes are UTF-8 without control characters
other than newline; a key's name is not empty and holds no space and no plus. A key's ID is

    SHA-256(name ‖ 0A ‖ type ‖ public key)[:4]

and a key that others are to trust is written as a *verifier key*, in one line:

    <name>+<key ID in hex>+<base64(type ‖ public key)>

Type 01 is made and checked here: Ed25519 (RFC 8032) over the text. Signatures by keys that the
reader did not name are ignored; a bad signature by a key that he did name spoils the whole note.

Nothing is read leniently: whatever is parsed formats to the very same bytes.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Protocol, TypeVar

from evidence.errors import ChangedError, RefusedError
from evidence.ledger.low_order import refuse_low_order
from evidence.ledger.strict import b64decode_strict, b64encode, is_unicode, shown
from evidence.ledger.vkeys import KEY_ID_BYTES, ed25519_verifies, key_id, read_vkey, write_vkey

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

ED25519 = b"\x01"
MAX_SIGNATURES = 100
"""The specification asks for at least 16; a cap bounds what a stranger's note can cost."""
MAX_BYTES = 1_000_000

_DASH = "\u2014"


@dataclass(frozen=True, slots=True)
class NoteSignature:
    """One signature line: who says to have signed (name and key ID), and the signature's bytes."""

    name: str
    key_id: bytes
    signature: bytes

    def __post_init__(self) -> None:
        _refuse_bad_name(self.name)
        if len(self.key_id) != KEY_ID_BYTES or not self.signature:
            raise RefusedError(f"signature by {shown(self.name)}", "is too short")

    @classmethod
    def parse(cls, line: str) -> "NoteSignature":
        """Read `— name base64`, without its newline.

        Raises:
            RefusedError: another form.
        """
        parts = line.split(" ")
        if len(parts) != 3 or parts[0] != _DASH:
            raise RefusedError(f"line {shown(line)}", "is not a signature line")
        blob = b64decode_strict(parts[2])
        return cls(parts[1], blob[:KEY_ID_BYTES], blob[KEY_ID_BYTES:])

    def format(self) -> str:
        """The line, without its newline."""
        return f"{_DASH} {self.name} {b64encode(self.key_id + self.signature)}"


@dataclass(frozen=True, slots=True)
class SignedNote:
    """A text and its signature lines. Being well formed says nothing yet of who signed."""

    text: str
    signatures: tuple[NoteSignature, ...]

    def __post_init__(self) -> None:
        if not self.text.endswith("\n") or not is_unicode(self.text):
            raise _malformed("its text is not Unicode text that ends with a newline")
        if any(char < " " and char != "\n" for char in self.text):
            raise _malformed("its text holds a control character")
        if not 1 <= len(self.signatures) <= MAX_SIGNATURES:
            raise _malformed(f"it has {len(self.signatures)} signatures")

    @classmethod
    def parse(cls, note: bytes | str) -> "SignedNote":
        """Read a whole note strictly.

        Raises:
            RefusedError: another form, not UTF-8, or larger than any honest note.
        """
        try:
            data = note if isinstance(note, bytes) else note.encode()
            whole = data.decode()
        except UnicodeError as error:
            raise _malformed("it is not UTF-8 text") from error
        if len(data) > MAX_BYTES:
            raise _malformed(f"it is larger than {MAX_BYTES} bytes")
        head, divider, lines = whole.rpartition("\n\n")
        if not divider or not lines.endswith("\n"):
            raise _malformed("it has no signature lines below an empty line")
        signatures = tuple(NoteSignature.parse(line) for line in lines[:-1].split("\n"))
        return cls(head + "\n", signatures)

    def format(self) -> str:
        """The note's text form; `SignedNote.parse` reads it back to an equal note."""
        return f"{self.text}\n" + "".join(f"{line.format()}\n" for line in self.signatures)


class NoteVerifier(Protocol):
    """A public key of any signature type: what `open_note` needs to know of it."""

    @property
    def name(self) -> str:
        """The key's name."""

    @property
    def key_id(self) -> bytes:
        """The key's ID, 4 bytes."""

    def verify(self, text: str, signature: bytes) -> bool:
        """True if `signature` is this key's over the note text `text`."""


@dataclass(frozen=True, slots=True)
class Verifier:
    """An Ed25519 public key (type 01) and its name. Keys of low order cannot be made into one."""

    name: str
    public_key: bytes

    def __post_init__(self) -> None:
        _refuse_bad_name(self.name)
        refuse_low_order(self.public_key)

    @classmethod
    def parse(cls, vkey: str) -> "Verifier":
        """Read a verifier key of type 01.

        Raises:
            RefusedError: another form or type, an ID that is not the key's, or a low-order key.
        """
        return cls(*read_vkey(vkey, ED25519, "an Ed25519 key"))

    @property
    def key_id(self) -> bytes:
        """The key's ID, 4 bytes."""
        return key_id(self.name, ED25519, self.public_key)

    @property
    def vkey(self) -> str:
        """The verifier key in text form; `Verifier.parse` reads it back."""
        return write_vkey(self.name, ED25519, self.public_key)

    def verify(self, text: str, signature: bytes) -> bool:
        """True if `signature` (64 bytes) is this key's over `text`."""
        return ed25519_verifies(self.public_key, signature, text.encode())


@dataclass(frozen=True, slots=True)
class Signer:
    """An Ed25519 private key and its name."""

    name: str
    private_key: "Ed25519PrivateKey" = field(repr=False)

    def __post_init__(self) -> None:
        _refuse_bad_name(self.name)

    @classmethod
    def from_seed(cls, name: str, seed: bytes) -> "Signer":
        """The key that grows from 32 secret bytes (RFC 8032 § 5.1.5)."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        return cls(name, Ed25519PrivateKey.from_private_bytes(seed))

    @classmethod
    def generate(cls, name: str) -> "Signer":
        """A new key."""
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        return cls(name, Ed25519PrivateKey.generate())

    @property
    def verifier(self) -> Verifier:
        """The public half."""
        return Verifier(self.name, self.private_key.public_key().public_bytes_raw())

    def sign(self, text: str) -> NoteSignature:
        """Sign a note's text, its last newline included."""
        signature = self.private_key.sign(text.encode())
        return NoteSignature(self.name, self.verifier.key_id, signature)


V = TypeVar("V", bound=NoteVerifier)


def open_note(note: SignedNote, verifiers: Iterable[V]) -> list[V]:
    """Which of the `verifiers` signed the note, in the order of its lines.

    Lines by other keys are ignored, even if they share a name or an ID (not both) with a known key.

    Raises:
        ChangedError: a known key's signature is not over this text, or no known key signed.
        RefusedError: two different verifiers share both name and key ID.
    """
    known: dict[tuple[str, bytes], V] = {}
    for verifier in verifiers:
        if known.setdefault((verifier.name, verifier.key_id), verifier) != verifier:
            raise RefusedError(f"key {shown(verifier.name)}", "shares its ID with another key")
    signers: list[V] = []
    for line in note.signatures:
        signer = known.get((line.name, line.key_id))
        if signer is None:
            continue
        if not signer.verify(note.text, line.signature):
            raise ChangedError(f"signature by {shown(line.name)}", "does not belong to this text")
        if signer not in signers:
            signers.append(signer)
    if not signers:
        raise ChangedError("signed note", "is signed by none of the known keys")
    return signers


def _refuse_bad_name(name: str) -> None:
    if any(char.isspace() or char == "+" or char < " " for char in name):
        raise RefusedError(
            f"key name {shown(name)}", "holds a space, a plus or a control character"
        )
    if not name or not is_unicode(name):
        raise RefusedError(f"key name {shown(name)}", "is empty or not Unicode text")


def _malformed(why: str) -> RefusedError:
    return RefusedError("signed note", f"is malformed: {why}")

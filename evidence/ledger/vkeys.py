"""Verifier keys: an Ed25519 key of any signature type in one line (c2sp.org/signed-note)."""

import re
from hashlib import sha256

from evidence.errors import RefusedError
from evidence.ledger.low_order import PUBLIC_KEY_BYTES
from evidence.ledger.strict import b64decode_strict, b64encode, is_unicode, shown

KEY_ID_BYTES = 4

_VKEY = re.compile(r"([^+]+)\+([0-9a-f]{8})\+(.+)")


def key_id(name: str, kind: bytes, public_key: bytes) -> bytes:
    """The 4 bytes that, with its name, tell a key from others (signed-note § Signatures).

    Args:
        name: the key's name.
        kind: the signature type, one byte.
        public_key: the key as its type encodes it; 32 bytes for Ed25519.
    """
    return sha256(name.encode() + b"\n" + kind + public_key).digest()[:KEY_ID_BYTES]


def write_vkey(name: str, kind: bytes, public_key: bytes) -> str:
    """The verifier key in text form; `read_vkey` reads it back."""
    return f"{name}+{key_id(name, kind, public_key).hex()}+{b64encode(kind + public_key)}"


def kind_of(vkey: str) -> bytes:
    """The signature type that a verifier key states, one byte; empty where it is none.

    Raises:
        RefusedError: its last part is not base64.
    """
    match = _VKEY.fullmatch(vkey)
    return b"" if match is None else b64decode_strict(match[3])[:1]


def read_vkey(vkey: str, kind: bytes, what: str) -> tuple[str, bytes]:
    """Read the verifier key of an Ed25519 key: its name and its 32 bytes.

    Args:
        vkey: the text.
        kind: the signature type that is wanted, one byte.
        what: how a person knows that type ("an Ed25519 key").

    Raises:
        RefusedError: another form or type, or an ID that is not the key's.
    """
    match = _VKEY.fullmatch(vkey)
    if match is None or not is_unicode(vkey):
        raise RefusedError(f"key {shown(vkey)}", "is not of the form name+id+base64")
    name, stated_id, encoded = match.groups()
    blob = b64decode_strict(encoded)
    if blob[:1] != kind or len(blob) != 1 + PUBLIC_KEY_BYTES:
        raise RefusedError(f"key {shown(vkey)}", f"is not {what} (type {kind.hex()}, 32 bytes)")
    if key_id(name, kind, blob[1:]).hex() != stated_id:
        raise RefusedError(f"key {shown(vkey)}", "carries an ID that is not its own")
    return name, blob[1:]


def ed25519_verifies(public_key: bytes, signature: bytes, message: bytes) -> bool:
    """True if `signature` (64 bytes) is the key's over `message` (RFC 8032 § 5.1.7)."""
    from cryptography.exceptions import InvalidSignature
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey

    try:
        Ed25519PublicKey.from_public_bytes(public_key).verify(signature, message)
    except (InvalidSignature, ValueError):  # ValueError: bytes that are no point of the curve
        return False
    return True

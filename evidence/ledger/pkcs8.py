"""A private key locked by a passphrase: PKCS#8, EncryptedPrivateKeyInfo (RFC 5958 § 3).

Written here because `cryptography` stretches a passphrase with 2,048 rounds and offers no setting
for this form; it reads what stands here, as does `openssl pkey`. The lock is PBES2 (RFC 8018,
§ 6.2): PBKDF2 with HMAC-SHA-256, then AES-256 in CBC mode.
"""

import os
from hashlib import pbkdf2_hmac
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

    from evidence.ledger.certificate import SigningKey

ROUNDS = 600_000
"""Of PBKDF2-HMAC-SHA256; OWASP Password Storage Cheat Sheet, 2023 edition (from memory)."""

_SALT_BYTES, _KEY_BYTES, _BLOCK_BYTES = 16, 32, 16


def locked_pem(key: "Ed25519PrivateKey | SigningKey", passphrase: bytes) -> bytes:
    """The key as `ENCRYPTED PRIVATE KEY` in PEM."""
    from asn1crypto import core, keys, pem
    from cryptography.hazmat.primitives.ciphers import Cipher, algorithms, modes
    from cryptography.hazmat.primitives.padding import PKCS7
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        NoEncryption,
        PrivateFormat,
    )

    plain = key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
    salt, iv = os.urandom(_SALT_BYTES), os.urandom(_BLOCK_BYTES)
    secret = pbkdf2_hmac("sha256", passphrase, salt, ROUNDS, _KEY_BYTES)
    padder = PKCS7(_BLOCK_BYTES * 8).padder()
    padded = padder.update(plain) + padder.finalize()
    cipher = Cipher(algorithms.AES(secret), modes.CBC(iv)).encryptor()
    derivation = {
        "algorithm": "pbkdf2",
        "parameters": {
            "salt": core.OctetString(salt),
            "iteration_count": ROUNDS,
            "prf": {"algorithm": "sha256", "parameters": core.Null()},
        },
    }
    scheme = {"algorithm": "aes256_cbc", "parameters": iv}
    locked = keys.EncryptedPrivateKeyInfo(
        {
            "encryption_algorithm": {
                "algorithm": "pbes2",
                "parameters": {
                    "key_derivation_func": derivation,
                    "encryption_scheme": scheme,
                },
            },
            "encrypted_data": cipher.update(padded) + cipher.finalize(),
        }
    )
    armoured: bytes = pem.armor("ENCRYPTED PRIVATE KEY", locked.dump())
    return armoured

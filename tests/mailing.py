"""Letters signed the way a mail domain signs them (RFC 6376), by a key made for the tests.

The signing is written out here by hand, with relaxed canonicalization, so that the reader under
test is not checked against itself; one test has a letter signed by the library, too.
"""

import re
from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from hashlib import sha256

from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import padding, rsa
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

DOMAIN, SELECTOR = "post.example", "spring"
KEY_NAME = f"{SELECTOR}._domainkey.{DOMAIN}"
SIGNED = ("from", "to", "subject", "date")


@cache
def domain_key(which: str = "own", bits: int = 2048) -> rsa.RSAPrivateKey:
    return rsa.generate_private_key(public_exponent=65537, key_size=bits)


def der_of(key: rsa.RSAPrivateKey) -> bytes:
    return key.public_key().public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)


def key_record(key: rsa.RSAPrivateKey | None = None, tags: str = "k=rsa; ") -> bytes:
    encoded = b64encode(der_of(key or domain_key())).decode()
    return f"v=DKIM1; {tags}p={encoded}".encode()


def looked_up(name: str = KEY_NAME) -> bytes:
    """The key record as `dig +noall +answer` prints it."""
    text = key_record().decode()
    return f'{name}. 300 IN TXT "{text[:200]}" "{text[200:]}"\n'.encode()


@dataclass(frozen=True)
class Draft:
    """A letter before it is signed: its lines of head by name, its body, what is signed and how."""

    body: str
    fields: tuple[tuple[str, str], ...] = (
        ("From", "A. Holder <holder@post.example>"),
        ("To", "Invented Mutual <claims@mutual.example>"),
        ("Subject", "State of the record"),
        ("Date", "Sun, 31 Aug 2025 07:00:00 -0500"),
    )
    signed: Sequence[str] = SIGNED
    tags: tuple[tuple[str, str], ...] = (("t", "1756641600"),)  # 2025-08-31T12:00:00Z
    algorithm: str = "rsa-sha256"
    key: rsa.RSAPrivateKey = field(default_factory=domain_key)

    def but(self, **changes: object) -> "Draft":
        return replace(self, **changes)

    def with_field(self, name: str, value: str) -> "Draft":
        return replace(self, fields=(*self.fields, (name, value)))

    def message(self) -> bytes:
        """The letter as it is sent, its signature on top, lines ended by CRLF."""
        body = self.body.replace("\n", "\r\n").encode()
        head = "".join(f"{name}: {value}\r\n" for name, value in self.fields)
        return f"DKIM-Signature: {self._signature(body)}\r\n{head}\r\n".encode() + body

    def _signature(self, body: bytes) -> str:
        digest = b64encode(sha256(_relaxed_body(body)).digest()).decode()
        tags = {
            "v": "1", "a": self.algorithm, "c": "relaxed/relaxed", "d": DOMAIN, "s": SELECTOR,
            **dict(self.tags), "h": ":".join(self.signed), "bh": digest, "b": "",
        }  # fmt: skip
        unsigned = "; ".join(f"{name}={value}" for name, value in tags.items())
        lines = [_relaxed(*self._last(name)) for name in self.signed if self._last(name)[0]]
        data = "".join(lines) + _relaxed("dkim-signature", unsigned).removesuffix("\r\n")
        made = self.key.sign(data.encode(), padding.PKCS1v15(), hashes.SHA256())
        return unsigned + b64encode(made).decode()

    def _last(self, name: str) -> tuple[str, str]:
        found = [pair for pair in self.fields if pair[0].lower() == name]
        return found[-1] if found else ("", "")


def _relaxed(name: str, value: str) -> str:
    plain = re.sub(r"[ \t]+", " ", value).strip()
    return f"{name.lower()}:{plain}\r\n"


def _relaxed_body(body: bytes) -> bytes:
    lines = [re.sub(rb"[ \t]+", b" ", line).rstrip(b" ") for line in body.split(b"\r\n")]
    while lines and not lines[-1]:
        lines.pop()
    return b"".join(line + b"\r\n" for line in lines)

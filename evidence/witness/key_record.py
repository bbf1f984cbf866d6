"""A mail domain's public key as its DNS publishes it (RFC 6376 § 3.6.1), kept as a text file.

    v=DKIM1; k=rsa; p=MIGfMA0GCSqGSIb3DQEBAQUAA4GNADCBiQKBgQ…

Also taken as tools print it: in quoted pieces, `<selector>._domainkey.<domain>` ahead of them.
"""

import re
from base64 import b64decode
from dataclasses import dataclass

from evidence.errors import ChangedError, EvidenceError, RefusedError

MAX_BYTES = 10_000

_SMALLEST_BITS = 1024  # RFC 8301 § 3.2
_LARGEST_BITS = 8192  # bounds the work; RFC 8301 asks verifiers for 4096 at least
_QUOTED = re.compile(r'"([^"]*)"')
_NAMED = re.compile(r"([A-Za-z0-9_.-]+\._domainkey\.[A-Za-z0-9_.-]+?)\.?", re.ASCII)


@dataclass(frozen=True, slots=True)
class KeyRecord:
    """A key record that can be used.

    Attributes:
        text: its tags, `v=DKIM1; …`.
        name: the DNS name under which it is said to have stood, lower case; empty where not said.
        der: the public key in DER (SubjectPublicKeyInfo).
    """

    text: bytes
    name: str
    der: bytes

    def refuse_other(self, name: str) -> None:
        """Refuse a record that is said to have stood under another name.

        Raises:
            ChangedError: it is.
        """
        if self.name and self.name != name:
            raise ChangedError(
                "letter", f"it is signed with another key than that of {self.name[:60]}"
            )


def read_key_record(data: bytes) -> KeyRecord:
    """Read a key record.

    Raises:
        RefusedError: it cannot be read, was revoked, or is of a kind that proves nothing.
    """
    try:
        return _read(data)
    except EvidenceError:
        raise
    except Exception as error:  # a stranger's bytes may trip the readers in any way
        raise _refused("cannot be read") from error


def _read(data: bytes) -> KeyRecord:
    from dkim.util import parse_tag_value

    if len(data) > MAX_BYTES:
        raise _refused(f"is larger than {MAX_BYTES} bytes")
    name, text = _parts(data.decode("ascii").strip())
    tags = parse_tag_value(text.encode("ascii"))
    _refuse_useless(tags)
    return KeyRecord(text.encode("ascii"), name, _der(tags[b"p"]))


def _parts(text: str) -> tuple[str, str]:
    """The name ahead of the record, if any, and the record itself."""
    pieces = _QUOTED.findall(text)
    ahead = text.partition('"')[0].split() if pieces else []
    named = _NAMED.fullmatch(ahead[0]) if ahead else None
    return ("" if named is None else named[1].lower()), ("".join(pieces) if pieces else text)


def _refuse_useless(tags: dict[bytes, bytes]) -> None:
    if tags.get(b"v", b"DKIM1") != b"DKIM1" or b"p" not in tags:
        raise _refused("is not the key record of a mail domain")
    if not tags[b"p"]:
        raise _refused("says that the key was revoked")
    if tags.get(b"k", b"rsa") != b"rsa":
        raise _refused("holds another key than RSA")
    if b"h" in tags and b"sha256" not in [part.strip() for part in tags[b"h"].split(b":")]:
        raise _refused("does not allow SHA-256")
    flags = [flag.strip() for flag in tags.get(b"t", b"").split(b":")]
    if b"y" in flags:  # RFC 6376 § 3.6.1: then the letter counts as unsigned
        raise _refused("says that the domain was only testing")
    uses = [use.strip() for use in tags.get(b"s", b"*").split(b":")]
    if not {b"*", b"email"} & set(uses):
        raise _refused("is not for e-mail")


def _der(encoded: bytes) -> bytes:
    from cryptography.hazmat.primitives.asymmetric.rsa import RSAPublicKey
    from cryptography.hazmat.primitives.serialization import (
        Encoding,
        PublicFormat,
        load_der_public_key,
    )

    key = load_der_public_key(b64decode(b"".join(encoded.split()), validate=True))
    if not isinstance(key, RSAPublicKey) or not _SMALLEST_BITS <= key.key_size <= _LARGEST_BITS:
        raise _refused(f"holds no RSA key of {_SMALLEST_BITS} to {_LARGEST_BITS} bits")
    return key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)


def _refused(why: str) -> RefusedError:
    return RefusedError(
        "key record of the mail domain",
        why,
        "It is the TXT record of <s=>._domainkey.<d=>, both named in the letter's DKIM-Signature.",
    )

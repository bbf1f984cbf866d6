"""How a dossier's signature lies in its file, byte by byte: PAdES B-B (ETSI EN 319 142-1 § 6).

A signed PDF holds its signature within itself (ISO 32000-1 § 12.8.1):

    … /Contents <3082…00> … /ByteRange [0 a b c] …
                ^ a      ^ b                      ^ b + c, the end of the file

Signed is everything but the gap from a to b. What stands in the gap is nobody's word, so it may not
vary by a bit: "<", lower-case hexadecimal of the one CMS structure that follows from the digest,
the certificate and the signature, zeros to the end, ">".
"""

import re
from dataclasses import dataclass
from hashlib import sha256
from typing import Self

from evidence.errors import ChangedError
from evidence.ledger.certificate import verifying_key
from evidence.witness.cms import made_by, signed_attributes, signed_data

_BYTE_RANGE = re.compile(rb"/ByteRange ?\[0 ([0-9]{1,12}) ([0-9]{1,12}) ([0-9]{1,12})\]")
_HEX = re.compile(rb"<((?:[0-9a-f]{2})+)>")


@dataclass(frozen=True, slots=True)
class ByteRange:
    """What a signature says that it covers: all bytes below `end` but those of the gap.

    Attributes:
        start: where the gap begins, at "<".
        stop: where it has ended, after ">".
        end: where the signed bytes end.
    """

    start: int
    stop: int
    end: int

    def digest(self, pdf: bytes) -> bytes:
        """SHA-256 of the signed bytes."""
        view = memoryview(pdf)
        signed = sha256(view[: self.start])
        signed.update(view[self.stop : self.end])
        return signed.digest()

    def contents(self, pdf: bytes) -> bytes:
        """The bytes in the gap, zeros at the end included.

        Raises:
            ChangedError: they are not written as lower-case hexadecimal from edge to edge.
        """
        match = _HEX.fullmatch(pdf, self.start, self.stop)
        if match is None:
            raise ChangedError("signature", "is not written in the one form that it has")
        return bytes.fromhex(match[1].decode("ascii"))


def byte_ranges(pdf: bytes) -> tuple[ByteRange, ...]:
    """Every /ByteRange in the file that has a gap in this very file, in order of its place.

    Those of signed files among the attachments point elsewhere, and are left out. Where a file was
    cut off, `end` lies behind its last byte.
    """
    found = []
    for match in _BYTE_RANGE.finditer(pdf):
        start, stop, length = (int(number) for number in match.groups())
        framed = pdf[start : start + 1] == b"<" and pdf[stop - 1 : stop] == b">"
        if start < stop and framed:
            found.append(ByteRange(start, stop, stop + length))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Seal:
    """The signature and the certificate of the key that is said to have made it, in DER."""

    certificate_der: bytes
    signature: bytes
    attributes: bytes

    @classmethod
    def read(cls, contents: bytes, digest: bytes) -> Self:
        """Read the CMS structure over bytes with this SHA-256, and rebuild it to the last bit.

        Raises:
            ChangedError: it differs from the one structure that its parts make.
        """
        from asn1crypto import cms

        try:
            signed = cms.ContentInfo.load(contents)["content"]
            certificate_der = signed["certificates"][0].chosen.dump()
            signature = signed["signer_infos"][0]["signature"].native
            attributes = signed_attributes("data", digest, certificate_der)
            rebuilt = signed_data(attributes, signature, [certificate_der])
        except Exception as error:  # a stranger's bytes may trip the reader in any way
            raise ChangedError("signature", "cannot be read") from error
        if contents != rebuilt.ljust(len(contents), b"\0"):
            if digest not in contents:
                raise ChangedError("signature", "was made over other bytes than these")
            raise ChangedError("signature", "holds bytes that nobody signed")
        return cls(certificate_der, signature, attributes)

    def holds(self) -> bool:
        """True if the certificate's key is one that signs dossiers, and made the signature."""
        key = verifying_key(self.certificate_der)
        return key is not None and made_by(key, self.signature, self.attributes)

"""How far a reader may lean on an outsider's clock."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Trust(StrEnum):
    """On whom an outsider's word rests (OUTPUTS § 3)."""

    TRUSTED = "trusted"
    """It chains to an anchor that the reader gave."""
    UNTRUSTED = "untrusted"
    """It is whole, but nobody whom the reader named vouches for who gave it."""
    SAMPLE = "sample"
    """It was given by a sample authority, in a sample case. It vouches for nothing."""


MailKey = tuple[str, bytes]
"""A mail domain's key: its DNS name `<selector>._domainkey.<domain>`, lower case, and its DER."""


@dataclass(frozen=True, slots=True)
class Anchors:
    """Whom a reader trusts. What the record itself brings along is never among them.

    Attributes:
        certificates: of time-stamping authorities, in DER.
        cosigners: verifier keys of type 04, in text form.
        mail_keys: keys of mail domains that the reader looked up himself: each speaks for the
            domain under whose name he found it, and for no other.
    """

    certificates: tuple[bytes, ...] = ()
    cosigners: tuple[str, ...] = ()
    mail_keys: tuple[MailKey, ...] = ()


NOBODY = Anchors()
"""A reader who trusts nobody yet."""


@dataclass(frozen=True, slots=True)
class Statement:
    """What an outsider's answer says of a head, once it is verified.

    Attributes:
        time: the moment at which the head existed, UTC.
        name: the outsider, as the answer names him.
        trust: on whose word that rests.
        certificate_ends: when the certificate that signed it ends, UTC; None where it has none.
    """

    time: datetime
    name: str
    trust: Trust
    certificate_ends: datetime | None = None

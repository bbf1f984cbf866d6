"""What stands on a card (RECORD § 6): an outsider's answer, a case, and a zone if one is wanted.

A card carries one text, the same in its QR code wherever it is printed or shown:

    CARD1/<answer>/<case>
    CARD1/<answer>/<case>/<ZONE>

    answer  base32 (RFC 4648 § 6, no padding) of the 32 bytes of the SHA-256 of the newest
            outsider's answer in the record, that is, of the file of its `witness` entry; 52
            characters, whose last 4 bits are 0
    case    base32 of the 16 bytes of the case's id; 26 characters, whose last 2 bits are 0
    ZONE    the id of a zone of the rig in capital letters; 1 to 40 of A-Z, 0-9 and "-"

The "1" is the version: another layout gets another number, and a reader takes those he knows. All
characters are of the alphanumeric mode of ISO/IEC 18004 (5.5 bits each), so that at level M the 85
characters without a zone fit a code of version 4 (33 modules a side), and with a zone of up to 36
characters one of version 5 (37 modules). Hex would need version 5 and 6; of the same width on
paper their modules, which a far or blurred picture must tell apart, would be smaller.

For people twelve letters stand below the code: the first 12 hex digits of the answer's SHA-256,
each digit 0-f written as the letter in its place of `BCDFGHJKLMNPRSTV`. There are no vowels and no
digits, so they form no words and none is taken for another. Anybody finds the answer again:

    sha256sum originals/* | cut -c1-12 | tr 0-9a-f BCDFGHJKLMNPRSTV

A worked example: the answer whose SHA-256 is that of "abc" (FIPS 180-4, B.1), in the case
000102030405060708090a0b0c0d0e0f, zone vent-1:

    CARD1/XJ4BNP4PAHH6UQKBIDPF3LRCEOYAGYNDSYLXVHFUCD7WD4QACWWQ/AAAQEAYEAUDAOCAJBIFQYDIOB4/VENT-1
    PNKL CJPV LVBC
"""

import base64
import re
from dataclasses import dataclass

from evidence.errors import RefusedError

START = "CARD1/"
"""How the text of every card of this version begins."""

MAX_TEXT = 126
"""Characters of the longest text: with a zone of 40."""

_LETTERS = str.maketrans("0123456789abcdef", "BCDFGHJKLMNPRSTV")
_TEXT = re.compile(
    r"CARD1/(?P<answer>[A-Z2-7]{52})/(?P<case>[A-Z2-7]{26})(?:/(?P<zone>[A-Z0-9-]{1,40}))?"
)


@dataclass(frozen=True, slots=True)
class Card:
    """A card's content: `answer` (SHA-256 in hex), `case_id` (32 hex digits), and a zone's id."""

    answer: str
    case_id: str
    zone: str | None = None

    @property
    def text(self) -> str:
        """The text of its code; `Card.parse` reads it back."""
        parts = [_base32(self.answer), _base32(self.case_id)]
        if self.zone is not None:
            parts.append(self.zone.upper())
        return START + "/".join(parts)

    @property
    def letters(self) -> str:
        """The twelve letters, in three groups of four."""
        return letters_of(self.answer)

    @classmethod
    def parse(cls, text: str) -> "Card":
        """Read a code's text strictly: what is read writes the very same text.

        Raises:
            RefusedError: it is the text of another code, or of no card of this version.
        """
        match = _TEXT.fullmatch(text)
        if match is not None:
            zone = match["zone"]
            card = cls(
                _hex(match["answer"]), _hex(match["case"]), None if zone is None else zone.lower()
            )
            if card.text == text:
                return card
        raise RefusedError("a code", "is not that of a card of this version")


def letters_of(answer: str) -> str:
    """The twelve letters for an answer's SHA-256 (hex): `PNKL CJPV LVBC`."""
    letters = answer[:12].translate(_LETTERS)
    return f"{letters[:4]} {letters[4:8]} {letters[8:]}"


def _base32(digits: str) -> str:
    return base64.b32encode(bytes.fromhex(digits)).decode().rstrip("=")


def _hex(encoded: str) -> str:
    return base64.b32decode(encoded + "=" * (-len(encoded) % 8)).hex()

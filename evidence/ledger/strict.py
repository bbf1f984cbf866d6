"""Text that has exactly one spelling: base64 and decimal numbers.

Python's own readers are lenient (`b64decode("AB==")`, `int("1_0")`, `int("٣")` all succeed), and a
reader that takes two spellings of one value lets signed text be altered without a trace.
"""

import base64
import re

from evidence.errors import RefusedError

# 18 digits hold every count that SQLite's 63-bit integers can hold safely, and bound the work.
_DECIMAL = re.compile(r"0|[1-9][0-9]{0,17}")


def shown(text: str) -> str:
    """`text` quoted for an error message, cut where a stranger made it long."""
    return repr(text if len(text) <= 60 else f"{text[:60]}…")


def is_unicode(text: str) -> bool:
    """True for text that UTF-8 can carry: Python's strings may hold lone surrogates besides."""
    return not any("\ud800" <= char <= "\udfff" for char in text)


def b64encode(data: bytes) -> str:
    """Standard base64 with padding (RFC 4648 § 4)."""
    return base64.b64encode(data).decode("ascii")


def b64decode_strict(text: str) -> bytes:
    """Read standard base64 (RFC 4648 § 4), refusing stray characters and stray bits.

    Raises:
        RefusedError: `text` is not what `b64encode` writes.
    """
    try:
        data = base64.b64decode(text, validate=True)
    except ValueError:
        data = b""
    if b64encode(data) != text:
        raise RefusedError(shown(text), "is not base64")
    return data


def decimal_strict(text: str) -> int:
    """Read an ASCII decimal number without sign or leading zero, of at most 18 digits.

    Raises:
        RefusedError: any other spelling.
    """
    if _DECIMAL.fullmatch(text) is None:
        raise RefusedError(shown(text), "is not a plain decimal number")
    return int(text)

"""Text as somebody else wrote it: kept as it stands, or as its bytes (RECORD § 2)."""

from pydantic import TypeAdapter, ValidationError

from evidence import words as w
from evidence.shapes import Hex, Raw

_TEXT: TypeAdapter[str] = TypeAdapter(w.Text)


def raw(data: bytes) -> Raw:
    """The text that `data` holds in UTF-8, or `Hex` where that is not clean text.

    Clean is what `words.Text` takes: NFC, no control characters, 1 to 4,000 characters. Of longer
    bytes the first 4,000 are kept, as many as the record has room for; the file keeps them all.
    """
    try:
        return _TEXT.validate_python(data.decode("utf-8"))
    except (UnicodeDecodeError, ValidationError):
        return Hex(hex=data[: w.MAX_TEXT].hex())

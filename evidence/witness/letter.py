"""A letter over a head: an e-mail that its mail domain signed (DKIM, RFC 6376).

A domain's mail server signs what it sends, with its name and mostly with the time (`t=`). A message
that holds a head thus existed, head and all, when it was signed. Its Date is the sender's own word:
the server signs that he wrote it, not that it is so. A letter without `t=` is therefore not taken.

The key that verifies it stands in the domain's DNS for a while only, so its record is kept beside
the letter. Who kept it there is the keeper of the case: nobody vouches that it was the domain's,
unless the reader looked it up himself.

Nothing here touches a network. The signature itself is `dkimpy`'s to verify; what this program
asks beyond RFC 6376 is that the whole text was signed, with who wrote it, when and about what.
"""

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from evidence.errors import ChangedError, EvidenceError
from evidence.ledger import Head, decimal_strict
from evidence.witness.key_record import KeyRecord, read_key_record
from evidence.witness.trust import MailKey, Trust

if TYPE_CHECKING:
    from dkim import DKIM

MAX_BYTES = 1_000_000
"""A letter with a head in it takes a few thousand bytes."""
MAX_LINE = 998
"""Bytes of a line that mail servers pass on (RFC 5322 § 2.1.1); it bounds the readers' work."""

_MOST_SIGNATURES = 10
_MOST_FIELD = 8_000
_SIGNED = (b"from", b"date", b"subject")
_ENCODINGS = ("7bit", "8bit", "binary", "quoted-printable", "base64")
_DOMAIN = re.compile(rb"[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)+")
_BLANKS = re.compile(rb"\s{100}")

_Field = Sequence[bytes]
"""A line of a letter's head: its name and its value."""


@dataclass(frozen=True, slots=True)
class Letter:
    """A letter whose signature holds.

    Attributes:
        time: when its mail server signed it (`t=`), UTC.
        domain: whose mail server signed it (`d=`).
        lines: the lines of its plain text, without marks of quotation.
        trust: on whose word the domain's key rests.
    """

    time: datetime
    domain: str
    lines: tuple[str, ...]
    trust: Trust

    def heads(self, origin: str) -> list[Head]:
        """The heads of a record that the text holds, each in its three lines."""
        found = []
        for at, line in enumerate(self.lines):
            if line == origin:
                try:
                    found.append(Head.parse("\n".join((*self.lines[at : at + 3], ""))))
                except EvidenceError:  # the name alone, in a sentence
                    continue
        return found


def read_letter(
    message: bytes, key_record: bytes, *, at: datetime, mail_keys: Collection[MailKey] = ()
) -> Letter:
    """Verify a letter.

    Args:
        message: the e-mail as it came (`.eml`, RFC 5322), lines ended by LF or CRLF.
        key_record: the domain's key record, as `read_key_record` takes it.
        at: when the letter was handed in; a signature that had expired by then is refused.
        mail_keys: the keys that the reader looked up himself, by the name under which they stood.

    Raises:
        ChangedError: no signature of it holds under that key, or one holds for less than the whole.
        RefusedError: the key record cannot be used.
    """
    key = read_key_record(key_record)
    try:
        return _read(message, key, at, mail_keys)
    except EvidenceError:
        raise
    except Exception as error:  # a stranger's bytes may trip the readers in any way
        raise _changed("it cannot be read as an e-mail") from error


def _read(message: bytes, key: KeyRecord, at: datetime, mail_keys: Collection[MailKey]) -> Letter:
    from dkim import DKIM

    if len(message) > MAX_BYTES:
        raise _changed(f"it is larger than {MAX_BYTES} bytes")
    if any(len(line) > MAX_LINE for line in message.split(b"\n")):
        raise _changed(
            f"it has a line of more than {MAX_LINE} bytes",
            "Save the message as it came (its source), not as shown.",
        )
    signed = DKIM(message)
    headers = [field for field in signed.headers if field[0].lower() == b"dkim-signature"]
    if not 1 <= len(headers) <= _MOST_SIGNATURES:
        raise _changed(f"it has {len(headers)} signatures of a mail domain")
    tags = _holding(signed, headers, key, at)
    return Letter(
        time=_moment(tags[b"t"]),
        domain=tags[b"d"].decode("ascii").lower(),
        lines=tuple(_lines(signed)),
        trust=Trust.TRUSTED if (_key_name(tags), key.der) in mail_keys else Trust.UNTRUSTED,
    )


# The signature


def _holding(
    signed: "DKIM", headers: Sequence[_Field], key: KeyRecord, at: datetime
) -> Mapping[bytes, bytes]:
    """The tags of the first signature that holds."""
    first: ChangedError | None = None
    for header in headers:
        try:
            return _verified(signed, header, key, at)
        except ChangedError as error:
            first = first or error
    raise first or _changed("it is not signed")


def _verified(
    signed: "DKIM", header: _Field, key: KeyRecord, at: datetime
) -> Mapping[bytes, bytes]:
    from dkim import validate_signature_fields
    from dkim.util import parse_tag_value

    if len(header[1]) > _MOST_FIELD or _BLANKS.search(header[1]):
        raise _changed("its signature is longer than any mail server writes")
    try:
        tags: dict[bytes, bytes] = parse_tag_value(header[1])
        # The library would compare `t` and `x` with the clock of whoever reads, on any later day.
        validate_signature_fields({k: v for k, v in tags.items() if k not in (b"t", b"x")})
        _refuse_partial(tags, signed)
        _refuse_undated(tags)
        _refuse_expired(tags, at)
        key.refuse_other(_key_name(tags))
        whole = signed.verify_sig(tags, _named(tags), header, lambda *_, **__: key.text)
    except EvidenceError:
        raise
    except Exception as error:  # the library's own, and whatever a stranger's bytes may trip
        raise _changed(f"its signature does not hold ({_said(error)})") from error
    if not whole:
        raise _changed("its signature does not hold under this key record")
    return tags


def _key_name(tags: Mapping[bytes, bytes]) -> str:
    """Where the key of a signature stands in the DNS (RFC 6376 § 3.6.2.1), lower case."""
    return (tags[b"s"] + b"._domainkey." + tags[b"d"]).decode("ascii").lower()


def _named(tags: Mapping[bytes, bytes]) -> list[bytes]:
    """The names of the signed lines, in lower case."""
    return [name.strip().lower() for name in tags[b"h"].split(b":")]


def _refuse_partial(tags: Mapping[bytes, bytes], signed: "DKIM") -> None:
    """The whole text, and who wrote it, when and about what: each once, and signed."""
    if tags[b"a"] != b"rsa-sha256":  # RFC 8301: SHA-1 is out; Ed25519 (RFC 8463) is hardly in use
        raise _changed("it is signed in another way than rsa-sha256")
    if b"l" in tags:
        raise _changed("its signature covers the beginning of the text only (l=)")
    if _DOMAIN.fullmatch(tags[b"d"]) is None:
        raise _changed("its signature names no mail domain")
    named = _named(tags)
    present = [name.lower() for name, _ in signed.headers]
    for name in _SIGNED:
        shown = name.decode().capitalize()
        if name not in named:
            raise _changed(f"its {shown} is not signed")
        if present.count(name) != 1:
            raise _changed(f"it has {present.count(name)} lines named {shown}")


def _refuse_undated(tags: Mapping[bytes, bytes]) -> None:
    if b"t" not in tags:
        raise _changed(
            "its mail server did not say when it signed (no t=), and its Date is the sender's own",
            "Send it through another mail provider, or use a time stamp: witness --tsa.",
        )


def _refuse_expired(tags: Mapping[bytes, bytes], at: datetime) -> None:
    if b"x" not in tags:
        return
    ends = _moment(tags[b"x"])
    if ends < at:
        raise _changed(f"its signature expired on {ends:%Y-%m-%d}, before it was handed in")
    if ends < _moment(tags[b"t"]):
        raise _changed("its signature expires before it was made")


# What it says


def _moment(seconds: bytes) -> datetime:
    try:
        return datetime.fromtimestamp(decimal_strict(seconds.decode("ascii")), UTC)
    except (EvidenceError, ValueError, OverflowError, OSError) as error:
        raise _changed("its signature names no moment that a clock can show") from error


def _lines(signed: "DKIM") -> Iterator[str]:
    """The lines of every plain-text part, decoded.

    The parts are cut out of the very bytes that were signed. A head is ASCII, so no character set
    needs to be believed.
    """
    from email import message_from_bytes

    about = b"".join(
        name + b":" + value
        for name, value in signed.headers
        if name.lower() in (b"content-type", b"content-transfer-encoding")
    )
    for part in message_from_bytes(about + b"\r\n" + signed.body).walk():
        encoding = str(part.get("Content-Transfer-Encoding", "7bit")).strip().lower()
        if part.get_content_type() != "text/plain" or encoding not in _ENCODINGS:
            continue
        data = part.get_payload(decode=True)
        text = data.decode("ascii", "replace") if isinstance(data, bytes) else ""
        yield from (line.lstrip("> ").rstrip() for line in text.split("\n"))


def _said(error: Exception) -> str:
    text = str(error).encode("ascii", "replace").decode()
    return "".join(char if char.isprintable() else " " for char in text)[:80]


def _changed(why: str, what_to_do: str = "") -> ChangedError:
    return ChangedError("letter", why, what_to_do)

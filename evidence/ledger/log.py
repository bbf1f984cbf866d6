"""The chain of entries: each holds the SHA-256 of the bytes before it (RECORD § 2).

    {"body":{…},"by":"owner","files":[…],"kind":"…","logged":"…Z","nth":4,"prev":"…","seq":17,"v":1}

Pure: lines of bytes in, lines of bytes or faults out. What a body says is no matter here; only the
envelope around it is. The kind `clock` alone means something: it may turn the clock back.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from hashlib import sha256

from evidence.errors import EvidenceError, RefusedError
from evidence.ledger.canonical import JSONValue, dumps, loads
from evidence.times import parse_utc

VERSION = 1
GENESIS_PREV = "0" * 64
CLOCK = "clock"

_FIELDS = frozenset({"body", "by", "files", "kind", "logged", "nth", "prev", "seq", "v"})


def entry_sha256(line: bytes) -> str:
    """The hash by which the next entry names this one: SHA-256 of its bytes, in hex."""
    return sha256(line).hexdigest()


@dataclass(frozen=True, slots=True)
class ChainFault:
    """Where the chain does not hold: `seq` is the place, counted from 0, at which it shows."""

    seq: int
    reason: str

    def __str__(self) -> str:
        return f"entry {self.seq + 1}: {self.reason}"


@dataclass(frozen=True, slots=True)
class Link:
    """What an entry says of its own place: all that the chain needs of it."""

    seq: int
    nth: int
    prev: str
    kind: str
    logged: str
    sha256: str

    @classmethod
    def read(cls, line: bytes) -> "Link":
        """Read an entry's envelope.

        Raises:
            RefusedError: not canonical JSON, or a field is missing, unknown or of another type.
        """
        entry = loads(line)
        if not isinstance(entry, dict) or entry.keys() != _FIELDS:
            raise RefusedError("entry", f"does not have the fields {', '.join(sorted(_FIELDS))}")
        if _whole(entry, "v") != VERSION:
            raise RefusedError("entry", f"is of format {entry['v']}, not {VERSION}")
        if not isinstance(entry["body"], dict) or not isinstance(entry["files"], list):
            raise RefusedError("entry", "has a body that is no object, or files that are no list")
        _text(entry, "by")
        parse_utc(_text(entry, "logged"))
        return cls(
            seq=_whole(entry, "seq"),
            nth=_whole(entry, "nth"),
            prev=_text(entry, "prev"),
            kind=_text(entry, "kind"),
            logged=_text(entry, "logged"),
            sha256=entry_sha256(line),
        )


@dataclass(frozen=True, slots=True)
class Tip:
    """The end of a chain: all that the next entry must fit.

    `size` is the next entry's `seq` and `prev` its `prev`; `counts` holds how many entries of each
    kind there are; no entry may be `logged` before `floor` (empty text at the very start).
    """

    size: int = 0
    prev: str = GENESIS_PREV
    counts: Mapping[str, int] = field(default_factory=dict)
    floor: str = ""

    @classmethod
    def of(cls, lines: Iterable[bytes]) -> "Tip":
        """The tip of a whole chain that holds.

        Raises:
            RefusedError: a line is not an entry.
        """
        tip = cls()
        for line in lines:
            tip = tip.after(Link.read(line))
        return tip

    def after(self, link: Link) -> "Tip":
        """The tip once `link` stands at the end, whether or not it fits there.

        A misfit is thus named once, and what follows is measured against what stands there. A
        `clock` entry resets the floor as every entry sets it: to its own `logged`.
        """
        counts = {**self.counts, link.kind: link.nth}
        return Tip(link.seq + 1, link.sha256, counts, link.logged)

    def nth(self, kind: str) -> int:
        """The number that the next entry of `kind` bears, counted from 1."""
        return self.counts.get(kind, 0) + 1


START = Tip()
"""The tip of an empty chain."""


def seal(
    tip: Tip,
    kind: str,
    body: Mapping[str, JSONValue],
    by: str,
    files: Sequence[Mapping[str, JSONValue]],
    logged: str,
) -> bytes:
    """The bytes of the entry that follows `tip`.

    Args:
        tip: the end of the chain.
        kind: the entry's kind.
        body: what it says.
        by: the id of the party who says it.
        files: what it holds; may be empty.
        logged: the writer's clock, `YYYY-MM-DDTHH:MM:SSZ`.

    Raises:
        RefusedError: the clock ran back, or a value has no canonical form.
    """
    parse_utc(logged)
    if kind != CLOCK and logged < tip.floor:
        raise RefusedError(
            f"clock {logged}",
            f"is earlier than the entry before ({tip.floor}); nothing was written",
            "Set the clock. If it is right now, say so in plain view: enter CASE clock why=REASON",
        )
    return dumps(
        {
            "body": dict(body),
            "by": by,
            "files": [dict(file) for file in files],
            "kind": kind,
            "logged": logged,
            "nth": tip.nth(kind),
            "prev": tip.prev,
            "seq": tip.size,
            "v": VERSION,
        }
    )


def verify_chain(lines: Iterable[bytes], tip: Tip = START) -> list[ChainFault]:
    """Every place where `lines` do not continue the chain that ends in `tip`; empty if they do.

    A chain vouches for all entries but its last, whose bytes only a signed head covers.
    """
    faults: list[ChainFault] = []
    for line in lines:
        try:
            link = Link.read(line)
        except EvidenceError as error:
            faults.append(ChainFault(tip.size, f"{error.what} {error.why}"))
            tip = Tip(tip.size + 1, entry_sha256(line), tip.counts, tip.floor)
            continue
        faults += [ChainFault(tip.size, reason) for reason in _misfits(link, tip)]
        tip = tip.after(link)
    return faults


def _misfits(link: Link, tip: Tip) -> Iterable[str]:
    if link.seq != tip.size:
        yield f"entry {link.seq + 1} stands in its place"
    if link.prev != tip.prev:
        yield "does not hold the hash of the entry before"
    if link.nth != tip.nth(link.kind):
        yield f"is number {link.nth} of kind '{link.kind}' where {tip.nth(link.kind)} is due"
    if link.kind != CLOCK and link.logged < tip.floor:
        yield f"was logged at {link.logged}, before the entry ahead of it ({tip.floor})"


def _whole(entry: Mapping[str, JSONValue], name: str) -> int:
    value = entry[name]
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise RefusedError(f"field '{name}'", "is not a whole number from 0")
    return value


def _text(entry: Mapping[str, JSONValue], name: str) -> str:
    value = entry[name]
    if not isinstance(value, str):
        raise RefusedError(f"field '{name}'", "is not text")
    return value

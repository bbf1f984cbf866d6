"""The signed head of the record: how many entries, and the root over them.

A head is a C2SP tlog-checkpoint (c2sp.org/tlog-checkpoint) in a signed note. Its text is three
lines: origin, size, base64 of the root:

    roof-evidence/0f0e0d0c0b0a09080706050403020100
    41
    CsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=
"""

from dataclasses import dataclass

from evidence.errors import RefusedError
from evidence.ledger.notes import SignedNote, Signer
from evidence.ledger.strict import b64decode_strict, b64encode, decimal_strict, shown
from evidence.ledger.tree import HASH_BYTES


def origin_of(case_id: str) -> str:
    """The name under which a case's heads are signed: no two records share it (RECORD § 2)."""
    return f"roof-evidence/{case_id}"


@dataclass(frozen=True, slots=True)
class Head:
    """A record's state: its `origin`, its `size` in entries, and the 32-byte `root` over them."""

    origin: str
    size: int
    root: bytes

    def __post_init__(self) -> None:
        if not self.origin or any(char < " " for char in self.origin):
            raise RefusedError(f"origin {shown(self.origin)}", "is empty or not clean text")
        if self.size < 0 or len(self.root) != HASH_BYTES:
            raise RefusedError("head", "has a size below 0, or a root that is not 32 bytes")

    def text(self) -> str:
        """The note text, its last newline included; `Head.parse` reads it back."""
        return f"{self.origin}\n{self.size}\n{b64encode(self.root)}\n"

    @classmethod
    def parse(cls, text: str) -> "Head":
        """Read a checkpoint's text strictly.

        Raises:
            RefusedError: another form, or extension lines: nobody can check what they say, and
                this program never writes one.
        """
        lines = text.split("\n")
        if len(lines) < 4 or lines[-1]:
            raise RefusedError("head", "is not three lines: origin, size, root")
        if len(lines) > 4:
            raise RefusedError("head", f"carries extension lines, from {shown(lines[3])} on")
        return cls(lines[0], decimal_strict(lines[1]), b64decode_strict(lines[2]))


def sign_head(head: Head, signer: Signer) -> SignedNote:
    """Sign a head with one of its record's keys, which bear the origin as their name.

    Raises:
        RefusedError: the key has another name.
    """
    if signer.name != head.origin:
        raise RefusedError(f"key {shown(signer.name)}", f"does not sign for {shown(head.origin)}")
    text = head.text()
    return SignedNote(text, (signer.sign(text),))

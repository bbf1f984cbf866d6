"""A pack opened as a case, for reading (OUTPUTS § 4): nothing is unpacked but what is asked for."""

import hashlib
import shutil
import tempfile
import weakref
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path, PurePath
from threading import get_ident
from typing import NoReturn

from evidence import carried
from evidence.case import Clock, Draft, Record, now
from evidence.errors import ChangedError, MissingError, RefusedError
from evidence.ledger import (
    Contents,
    Head,
    KeyStore,
    SignedNote,
    Signer,
    leaf_hash,
    tree_root,
    verify_chain,
)
from evidence.shapes import FileRef
from evidence.stored import START, StoredZip

PROOFS_NAME = "proofs.json"
"""Inclusion and consistency proofs; a pack that holds them is an excerpt."""

MOST_TEXT = 1 << 30
"""Of `record.jsonl` and `heads.txt`, which are read whole: a million entries (judgement)."""
MOST_DOCUMENT = 256 << 20
"""Of a JSON document: the proofs of a hundred thousand entries, twice over (judgement)."""
MOST_ANSWER = 64 << 20
"""Of an outsider's answer; a letter may have been sent with pictures (judgement)."""


def is_pack(path: Path) -> bool:
    """Whether a file begins as a ZIP does; what it is worth is seen when it is opened."""
    try:
        with path.open("rb") as file:
            return file.read(len(START)) == START
    except OSError:
        return False


@dataclass(frozen=True)  # without slots: names and sums are worked out once
class PackedFiles:
    """The sealed files in a pack, found by the SHA-256 under which entries name them."""

    pack: StoredZip

    def name_of(self, sha256: str) -> str | None:
        """The member that ought to hold a file; None where none does."""
        return self._originals.get(sha256) or self._answers.get(sha256)

    @cached_property
    def _originals(self) -> Mapping[str, str]:
        names = (name for name in self.pack.by_name if name.startswith(carried.ORIGINAL))
        return {name.removeprefix(carried.ORIGINAL).partition(".")[0]: name for name in names}

    @cached_property
    def _answers(self) -> Mapping[str, str]:
        """Outsiders' answers go by the number of their entry: each is known by its own sum."""
        found = {}
        for name in self.pack.by_name:
            if name.startswith(carried.ANSWER):
                with suppress(ChangedError):
                    found[self.pack.sum(name).sha256] = name
        return found

    def unpack(self, name: str, sha256: str, out: Path) -> None:
        """Write a member to the disk, whole and unchanged or not at all.

        Raises:
            ChangedError: it is not what was sealed.
            RefusedError: the disk refuses.
        """
        part = out.with_name(f".{out.name}.part")
        digest = hashlib.sha256()
        try:
            with part.open("wb") as file:
                for piece in self.pack.pieces(name):
                    digest.update(piece)
                    file.write(piece)
            if digest.hexdigest() != sha256:
                raise ChangedError(name, "is not what was sealed")
            part.replace(out)
        except OSError as error:
            raise RefusedError(str(out), f"cannot be written: {error.strerror}") from error
        finally:
            part.unlink(missing_ok=True)


class PackedRecord(Record):
    """A record in a pack: everything that reads a case reads it, nothing writes to it.

    Attributes:
        files: the sealed files, and the container.
    """

    def __init__(self, path: Path) -> None:
        self.files = PackedFiles(StoredZip.open(path))
        place = Path(tempfile.mkdtemp(prefix="roof-evidence-"))
        weakref.finalize(self, shutil.rmtree, place, ignore_errors=True)
        super().__init__(place)
        self.folder = path  # by this name people know it

    @classmethod
    def open(cls, folder: Path) -> "PackedRecord":
        """Open a pack that holds a whole record.

        Raises:
            RefusedError: it cannot be read, is not put together as a pack is, or is an excerpt.
        """
        record = cls(folder)
        missing = [
            name
            for name in (carried.RECORD_NAME, carried.HEADS_NAME)
            if name not in record.files.pack.by_name
        ]
        if missing:
            raise RefusedError(str(folder), f"is no pack: it holds no {missing[0]}")
        if PROOFS_NAME in record.files.pack.by_name:
            raise RefusedError(
                str(folder),
                "is an excerpt: entries were withheld, so no gap and no last look can be told",
                "`roof-evidence check` says what it holds and what it proves.",
            )
        return record

    def mend(self) -> None:
        """Nothing: no write of a pack is ever cut off."""

    @cached_property
    def contents(self) -> Contents:
        """Every entry's bytes and every signed head.

        Whoever reads a stranger's pack must not read what `check` would find in the first look:
        the chain and the newest root are made again. Who signed, only `check` asks.

        Raises:
            ChangedError: they are not as a pack holds them, or do not hold together.
        """
        lines = carried.split_lines(self.files.pack.read(carried.RECORD_NAME, MOST_TEXT))
        try:
            heads = self.files.pack.read(carried.HEADS_NAME, MOST_TEXT).decode()
        except UnicodeDecodeError as error:
            raise ChangedError(carried.HEADS_NAME, "is not UTF-8") from error
        notes = carried.split_notes(heads)
        if not notes or verify_chain(lines) or not _stands_over(notes[-1], lines):
            raise ChangedError(
                str(self.folder),
                "its entries are not those under its newest head",
                "`roof-evidence check` says where.",
            )
        return Contents(lines, notes)

    def original(self, sha256: str) -> Path:
        """The path of a sealed file, unpacked until the same thread asks for another one.

        Raises:
            MissingError: the pack does not hold it.
            ChangedError: what it holds under that name is something else.
        """
        name = self.files.name_of(sha256)
        if name is None:
            raise MissingError(f"file {sha256[:12]}…", "is not in the pack")
        place = self.originals / f"{get_ident():x}"
        out = place / f"{sha256}{PurePath(name).suffix}"
        if not out.is_file():
            place.mkdir(parents=True, exist_ok=True)
            for other in place.iterdir():  # a pack may be larger than the room here
                other.unlink()
            self.files.unpack(name, sha256, out)
        return out

    def _bytes(self, ref: FileRef) -> bytes | None:
        name = self.files.name_of(ref.sha256)
        return None if name is None else self.files.pack.read(name, MOST_ANSWER)

    # What writes

    @property
    def key_store(self) -> KeyStore:
        """None: a pack has no keys."""
        raise read_only(self.folder)

    def rehearse(self, drafts: Sequence[Draft], clock: Clock = now) -> NoReturn:  # noqa: ARG002
        """Refuse: no entry can be taken."""
        raise read_only(self.folder)

    def write(
        self,
        drafts: Sequence[Draft],  # noqa: ARG002
        signer: Signer,  # noqa: ARG002
        **_others: object,
    ) -> NoReturn:
        """Refuse: nothing is ever written into a pack."""
        raise read_only(self.folder)


def _stands_over(note: str, lines: Sequence[bytes]) -> bool:
    with suppress(RefusedError):
        head = Head.parse(SignedNote.parse(note).text)
        return (head.size, head.root) == (len(lines), tree_root(map(leaf_hash, lines)))
    return False


def read_only(path: Path) -> RefusedError:
    """The answer to whoever would write into a pack."""
    return RefusedError(
        str(path), "is a pack: it can be read, not written", "Name the case folder."
    )

"""What the corpus is made of: the small case, its dossier, and a pack of both."""

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from evidence.carried import HEADS_NAME, RECORD_NAME, STANDING_NAME, heads_bytes, record_bytes
from evidence.ledger import Signer
from evidence.sealed_values import REVEALED_NAME
from evidence.story import build_story
from tests.forging import Unsigned, issued
from tests.making import write_story
from tests.packing import members, packed, put_together
from tests.tampering import Handed, opened_by_force, owner_of, stranger_to

_COPIED = ("ledger.sqlite", "originals")


@dataclass(frozen=True)  # without slots: what takes time is made once
class Bases:
    """The small case with a dossier in it (`whole`), that dossier, and the same case before."""

    folder: Path
    case: Path
    whole: Path
    dossier: Path

    @classmethod
    def make(cls, folder: Path) -> "Bases":
        """Build them from the story."""
        case = folder / "base" / "case"
        build_story(write_story(folder / "base" / "told"), case)
        whole = Path(shutil.copytree(case, folder / "base" / "whole"))
        return cls(folder, case, whole, issued(whole, folder / "base" / "claim.pdf"))

    @cached_property
    def handed(self) -> Handed:
        """The small case as `check` takes one."""
        return Handed.of(self.case)

    @cached_property
    def owner(self) -> Signer:
        """The key that signs its heads."""
        return owner_of(self.case)

    @cached_property
    def stranger(self) -> Signer:
        """Another key under the same name."""
        return stranger_to(self.case)

    @cached_property
    def unsigned(self) -> Unsigned:
        """A dossier just before it is signed: whoever holds the key may put in what he likes."""
        folder = self.folder / "base" / "unsigned"
        return Unsigned.of(Path(shutil.copytree(self.case, folder)), self.folder / "base" / "b.pdf")

    @cached_property
    def pack(self) -> Mapping[str, bytes]:
        """The members of a pack of the small case."""
        return members(packed(self.case, self.folder / "base" / "small.zip").path)

    @cached_property
    def whole_pack(self) -> Path:
        """A pack with the dossier in it."""
        return packed(self.whole, self.folder / "base" / "whole.zip").path

    def as_case(self, handed: Handed, out: Path) -> Path:
        """A case folder that holds these entries, heads and files, whatever they are."""
        (out / "originals").mkdir(parents=True)
        shutil.copy(self.case / "ledger.sqlite", out)
        for digest, data in handed.files.items():
            (out / "originals" / f"{digest}.bin").write_bytes(data)
        with opened_by_force(out) as ledger:
            ledger.execute("DELETE FROM entries")
            ledger.execute("DELETE FROM heads")
            ledger.executemany(
                "INSERT INTO entries (seq, sha256, bytes) VALUES (?, ?, ?)",
                [(seq, f"{seq:064x}", line) for seq, line in enumerate(handed.lines)],
            )
            ledger.executemany(
                "INSERT INTO heads (size, note) VALUES (?, ?)", enumerate(handed.heads)
            )
        return out

    def as_pack(self, handed: Handed, out: Path) -> Path:
        """A pack of the same, its manifest made to fit; it states no figures."""
        base = {
            sha: data for sha, data in self.handed.files.items() if handed.files.get(sha) == data
        }
        files = {
            name: data
            for name, data in self.pack.items()
            if name != STANDING_NAME
            and (not name.startswith(("original-", "witness-")) or data in base.values())
        }
        files[RECORD_NAME] = record_bytes(handed.lines)
        files[HEADS_NAME] = heads_bytes(handed.heads)
        if handed.revealed is not None:
            files[REVEALED_NAME] = handed.revealed
        more = {sha: data for sha, data in handed.files.items() if sha not in base}
        files.update({f"original-{sha}.bin": data for sha, data in more.items()})
        return put_together(files, out.with_suffix(".zip"))

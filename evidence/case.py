"""A case on disk: open it, write one entry, read its history.

Joins the ledger, the photos and the entries. An entry is written as one unit: everything that can
be refused is refused before a byte is kept, files are sealed before the entry that names them, and
the entry stands in the record with a signed head or not at all.
"""

import os
from collections.abc import Callable, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from functools import cached_property
from pathlib import Path

from pydantic import JsonValue

from evidence.cards import refuse_told_by_machine
from evidence.entries import Case, Rig
from evidence.envelope import Entry, read_entry
from evidence.errors import MissingError, RefusedError
from evidence.keeping import FileDraft, References, Seen, keep
from evidence.keyring import refuse_stranger
from evidence.ledger import (
    Contents,
    Head,
    KeyStore,
    Link,
    SignedNote,
    Signer,
    Store,
    Tip,
    leaf_hash,
    seal,
    sign_head,
    tree_root,
)
from evidence.normal import nfc_fields
from evidence.photos import Atlas, Crew, Shelf, Worker, check_readable, hold, load_atlas
from evidence.shapes import Description, FileRef
from evidence.times import utc_text, zone
from evidence.upkeep import History, Known, admit, read_history
from evidence.upkeep.findings import measure_findings
from evidence.vouching import Read, answers_in, refuse_unanswered
from evidence.witness import NOBODY, Anchors, Statement

Clock = Callable[[], datetime]

KEYS = "keys"
"""The folder within `private/` of a case that keeps its keys itself."""

_TOLD = frozenset(Description.model_fields) - {"camera"}
"""What may be said of a file; hash, size and camera tags are read from it, never told."""

_UNREAD: Mapping[str, JsonValue] = {
    "bytes": 0,
    "type": "application/octet-stream",
    "name": "not read yet",
}
"""Stands for a file while its entry is rehearsed."""


def now() -> datetime:
    """The writer's clock: UTC, whole seconds."""
    return datetime.now(UTC).replace(microsecond=0)


@dataclass(frozen=True, slots=True)
class Draft:
    """An entry to be written."""

    kind: str
    body: Mapping[str, JsonValue]
    by: str
    files: tuple[FileDraft, ...] = ()


@dataclass(frozen=True, slots=True)
class Written:
    """What was written: the entries and the head that binds them."""

    entries: tuple[Entry, ...]
    head: Head


def user_folder() -> Path:
    """The user's own key folder; `ROOF_EVIDENCE_KEYS` names another."""
    import platformdirs

    named = os.environ.get("ROOF_EVIDENCE_KEYS")
    return Path(named) if named else platformdirs.user_config_path("roof-evidence") / "keys"


def user_keys() -> KeyStore:
    """The keys of all the user's cases."""
    return KeyStore(user_folder())


class Record:
    """An open case folder (RECORD § 1)."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.ledger = folder / "ledger.sqlite"
        self.originals = folder / "originals"
        self.previews = folder / "previews"
        self.issued = folder / "issued"
        self.private = folder / "private"

    @classmethod
    def open(cls, folder: Path) -> "Record":
        """Open a case folder.

        Raises:
            RefusedError: there is no case in it.
        """
        record = cls(folder)
        if not record.ledger.is_file():
            raise RefusedError(
                str(folder),
                "is not a case: it holds no ledger.sqlite",
                "See `roof-evidence start --help`.",
            )
        return record

    def mend(self) -> None:
        """Undo a write that was cut off: whoever only checks a case must leave it as it is."""
        if self.ledger.with_name(self.ledger.name + "-journal").exists():
            with Store.open(self.ledger, writable=True):
                pass

    @cached_property
    def contents(self) -> Contents:
        """Every entry's bytes and every signed head, read at one moment."""
        with Store.open(self.ledger, writable=False) as store:
            return store.contents()

    @property
    def lines(self) -> tuple[bytes, ...]:
        """Every entry's bytes, as they stand in the ledger."""
        return self.contents.entries

    @property
    def heads(self) -> tuple[str, ...]:
        """Every signed head, by size."""
        return self.contents.heads

    @cached_property
    def entries(self) -> tuple[Entry, ...]:
        """Every entry, read strictly."""
        return tuple(read_entry(line) for line in self.lines)

    @property
    def case(self) -> Case:
        """The case entry."""
        body = self.entries[0].body if self.entries else None
        if not isinstance(body, Case):
            raise RefusedError("entry 1", "is not a case entry")
        return body

    @property
    def home(self) -> str:
        """The zone of civil dates, as last stated."""
        rigs = [entry.body for entry in self.entries if isinstance(entry.body, Rig)]
        if not rigs:
            raise RefusedError("the record", "has no rig yet")
        return rigs[-1].home_zone

    def today(self, clock: Clock = now) -> date:
        """Today's date where the rig is at home."""
        return clock().astimezone(zone(self.home)).date()

    @property
    def last_day(self) -> date:
        """The day of the newest entry where the rig is at home: as of it, all of it stands."""
        return self.entries[-1].logged.astimezone(zone(self.home)).date()

    def root_on(self, on: date) -> str:
        """The Merkle root (hex) over what had been written by the end of a day."""
        size = read_history(self.entries, on=on).size
        return tree_root([leaf_hash(line) for line in self.lines[:size]]).hex()

    def history(self, on: date, anchors: Anchors = NOBODY) -> History:
        """What had been written by the end of `on`."""
        answers = self.answers(anchors).items()
        trust = {seq: answer.trust for seq, answer in answers}
        ends = {
            seq: answer.certificate_ends
            for seq, answer in answers
            if answer.certificate_ends is not None
        }
        return read_history(self.entries, on=on, trust=trust, ends=ends, atlas=self.atlas)

    @property
    def atlas(self) -> Atlas | None:
        """This machine's lookup of zones, where a picture has a position to look up."""
        files = (file for entry in self.entries for file in entry.files)
        placed = any(file.camera and file.camera.GPSLatitude for file in files)
        return load_atlas() if placed else None

    def answers(self, anchors: Anchors = NOBODY) -> dict[int, Statement]:
        """What each outsider's answer says, by seq of the entry that holds it (`answers_in`)."""
        return answers_in(self.entries, self.notes, self._bytes, anchors)

    def _bytes(self, ref: FileRef) -> bytes | None:
        """The bytes of a sealed file; None where it cannot be read."""
        try:
            return self.original(ref.sha256).read_bytes()
        except (MissingError, OSError):
            return None

    @property
    def notes(self) -> dict[int, str]:
        """The signed heads by their size."""
        return {Head.parse(SignedNote.parse(note).text).size: note for note in self.heads}

    def original(self, sha256: str) -> Path:
        """The path of a sealed file.

        Raises:
            MissingError: the case does not hold it.
        """
        found = next(self.originals.glob(f"{sha256}.*"), None)
        if found is None:
            raise MissingError(f"file {sha256[:12]}…", "is not among the originals")
        return found

    @property
    def key_store(self) -> KeyStore:
        """The case's own key folder if it has one, else the user's."""
        own = self.private / KEYS
        return KeyStore(own) if own.is_dir() else user_keys()

    def preview(self, sha256: str, worker: Worker) -> Path | None:
        """A small picture without metadata, made when it is first asked for."""
        out = self.previews / f"{sha256}.jpg"
        if not out.is_file():
            self.previews.mkdir(exist_ok=True)
            try:
                shown = worker.preview(self.original(sha256), out)
            except MissingError:
                return None
            if not shown.shown:
                return None
        return out

    def write(
        self,
        drafts: Sequence[Draft],
        signer: Signer,
        *,
        clock: Clock = now,
        take_broken: bool = False,
        crew: Crew | None = None,
        seen: Seen = lambda _file, _trouble: None,
    ) -> Written:
        """Write entries as one unit under one signed head.

        Args:
            drafts: the entries, in order.
            signer: a log key of the case.
            clock: the writer's clock.
            take_broken: seal pictures that cannot be decoded, too; `intake` takes everything.
            crew: reads the files; one is hired where none is given.
            seen: told of each file that was sealed, and what was wrong with it, in order.

        Raises:
            RefusedError: an entry cannot be taken; nothing was written.
        """
        prepared = [_clean(draft) for draft in drafts]
        self.rehearse(prepared, clock)
        refuse_stranger(signer, self.entries)
        with nullcontext(crew) if crew else Crew() as readers:
            handed = [file for draft in prepared for file in draft.files]
            kept = iter(
                keep(handed, self.originals, self.entries, readers, seen, take_broken=take_broken)
            )
            files = [[next(kept) for _ in draft.files] for draft in prepared]

        def make(tip: Tip) -> Sequence[bytes]:
            # Read again under the lock: another writer may have come first.
            before = [read_entry(line) for line in store.entries()]
            refuse_stranger(signer, before)
            shelf = Shelf(self.originals)
            for draft, refs in zip(prepared, files, strict=True):
                for file, ref in zip(draft.files, refs, strict=True):
                    hold(file.path, str(ref["sha256"]), shelf)
            return self._following(tip, before, prepared, files, clock, self._bytes)

        with Store.open(self.ledger, writable=True) as store:
            appended = store.append(make, lambda head: sign_head(head, signer), signer.name)
        self._forget()
        entries = tuple(read_entry(line) for line in appended.entries)
        return Written(entries, Head.parse(appended.note.text))

    def rehearse(self, drafts: Sequence[Draft], clock: Clock = now) -> None:
        """Refuse what can be refused before any file is kept; write nothing.

        Raises:
            RefusedError: an entry could not be taken.
        """
        for file in (file for draft in drafts for file in draft.files):
            read = sorted(file.described.keys() - _TOLD)
            if read:
                raise RefusedError(
                    f"files: field {read[0]!r}",
                    "cannot be told of a file",
                    f"Told may be: {', '.join(sorted(_TOLD))}.",
                )
            refuse_told_by_machine(file.described)
            check_readable(file.path)
        paths = {f"{n:064x}": f.path for n, f in enumerate(f for d in drafts for f in d.files)}
        sums = iter(paths)  # a number in the place of each file's sum
        files = [
            [{**_UNREAD, "sha256": next(sums), **file.described} for file in draft.files]
            for draft in drafts
        ]

        def unsealed(ref: FileRef) -> bytes:
            return paths[ref.sha256].read_bytes()

        self._following(Tip.of(self.lines), self.entries, drafts, files, clock, unsealed)

    def _following(
        self,
        tip: Tip,
        before: Sequence[Entry],
        drafts: Sequence[Draft],
        files: Sequence[References],
        clock: Clock,
        read: Read,
    ) -> list[bytes]:
        """The lines of the drafts behind `before`, each one that the record can take there."""
        entries, lines = list(before), []
        for draft, refs in zip(drafts, files, strict=True):
            line = seal(tip, draft.kind, draft.body, draft.by, refs, utc_text(clock()))
            entries.append(self._admitted(entries, read_entry(line)))
            if draft.kind == "witness":
                refuse_unanswered(entries, self.notes, read)
            lines.append(line)
            tip = tip.after(Link.read(line))
        return lines

    def _admitted(self, entries: Sequence[Entry], entry: Entry) -> Entry:
        """The entry, if the record can take it after `entries`."""
        open_findings: dict[str, str] = {}
        if isinstance(entry.body, Rig) and any(isinstance(e.body, Rig) for e in entries):
            from evidence.trade import load_catalogue

            history = read_history(entries, on=entry.logged.date() + timedelta(days=1))
            open_findings = {
                facts.id: facts.zone
                for facts in measure_findings(history, load_catalogue())
                if facts.state == "open"
            }
        admit(Known.of(entries), entry, open_findings=open_findings)
        return entry

    def _forget(self) -> None:
        """What was read before a write is read again."""
        for name in ("contents", "entries"):
            self.__dict__.pop(name, None)


def _clean(draft: Draft) -> Draft:
    """The draft with all its text in normal form NFC, as the record wants it."""
    files = tuple(replace(file, described=nfc_fields(file.described)) for file in draft.files)
    return Draft(draft.kind, nfc_fields(draft.body), draft.by, files)

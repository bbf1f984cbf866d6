"""Seal many files at once, and say what each camera's clock supports (OUTPUTS, `intake`)."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from hashlib import file_digest
from itertools import count
from pathlib import Path

from pydantic import JsonValue

from evidence.case import Clock, Draft, Record, now
from evidence.errors import RefusedError
from evidence.hints import Hint, pixel_hints
from evidence.keeping import FileDraft
from evidence.ledger import Signer
from evidence.leftovers import clear_leftovers
from evidence.looking import Progress
from evidence.photos import Crew, Shelf, Visit, check_readable, group, hold, walk
from evidence.photos.crew import cores
from evidence.photos.whose import Whose, left_out
from evidence.proposing import Proposal, propose
from evidence.roll import NewFile, read_roll
from evidence.upkeep import Picture

MOST_FILES = 400
"""In one entry: with all their tags they stay well below what the ledger takes as one entry."""


@dataclass(frozen=True, slots=True)
class Unreadable:
    """A file that was sealed although it, or what its camera wrote, could not be read."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A file that was not taken: by the cards around it, it may be of another rig."""

    name: str
    path: Path
    sha256: str
    why: Whose


@dataclass(frozen=True, slots=True)
class Intake:
    """What was sealed. `seq` is the first entry's; None where nothing was.

    Attributes:
        sealed: the pictures and other files, in their order.
        already_held: sums of what the record held already.
        unreadable: what was sealed although it could not be read.
        visits: the sealed files by camera, time and card.
        seq: the place of the entry, from 0.
        hints: what to take again while still on the roof.
        cleared: names of originals that a write which was cut off had left behind.
        left_out: what was not taken, for it may belong to another record.
        proposals: what could be entered of the pictures; nothing of it was.
    """

    sealed: tuple[Picture, ...]
    already_held: tuple[str, ...]
    unreadable: tuple[Unreadable, ...]
    visits: tuple[Visit, ...]
    seq: int | None
    hints: tuple[Hint, ...] = ()
    cleared: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    proposals: tuple[Proposal, ...] = ()


def take_in(  # noqa: PLR0913 - facts of their own, each given by its name
    record: Record,
    paths: Sequence[Path],
    by: str,
    signer: Signer,
    *,
    note: str | None = None,
    despite_cards: bool = False,
    clock: Clock = now,
    progress: Progress = lambda _done, _all: None,
) -> Intake:
    """Seal files and folders; what the record already holds is left out.

    They go into one `photos` entry, very many into several under one head. Broken pictures are
    taken too, and told. What may be of another rig, by the cards of another record beside it, is
    left out and told. `progress` counts the files read, those sealed, then those looked at.

    Args:
        record: the case.
        paths: files and folders.
        by: the party who hands them in.
        signer: a log key of the case.
        note: a sentence about all of them.
        despite_cards: take what lies beside another record's card, too.
        clock: the writer's clock.
        progress: told how far it is.

    Raises:
        RefusedError: a path is not there or cannot be read; nothing was written.
    """
    fresh, again = _told_apart(record, paths)
    cleared = clear_leftovers(record, {*fresh, *again})
    unreadable: list[Unreadable] = []
    with Crew() as crew:
        roll = read_roll(record, fresh, again, crew, clock(), progress)
        others = {} if despite_cards else left_out(roll.items, record.case.case_id)
        taken = [new for new in roll.new if new.item.sha256 not in others]
        seq = _seal(record, taken, _Handing(by, signer, note, clock), crew, unreadable, progress)
    history = record.history(record.last_day)
    sealed = tuple(p for _, p in history.pictures() if seq is not None and p.seq >= seq)
    sums = {picture.file.sha256 for picture in sealed}
    items = roll.as_sealed(sealed, history.home)
    hints = tuple(pixel_hints(record, sealed, progress))
    return Intake(
        sealed=sealed,
        already_held=tuple(again),
        unreadable=tuple(unreadable),
        visits=tuple(group(items, of=sums)),
        seq=seq,
        hints=hints,
        cleared=cleared,
        left_out=tuple(
            LeftOut(new.path.name, new.path, new.item.sha256, others[new.item.sha256])
            for new in roll.new
            if new.item.sha256 in others
        ),
        proposals=tuple(propose(record, history, items, sums, by)),
    )


@dataclass(frozen=True, slots=True)
class _Handing:
    """Who hands in, and how it is written down."""

    by: str
    signer: Signer
    note: str | None
    clock: Clock


def _seal(
    record: Record,
    taken: Sequence[NewFile],
    handing: _Handing,
    crew: Crew,
    unreadable: list[Unreadable],
    progress: Progress,
) -> int | None:
    """Write the `photos` entries; the first one's seq, None where there is nothing to seal."""
    if not taken:
        return None
    files = [FileDraft(new.path, read=new.read) for new in taken]
    body: dict[str, JsonValue] = {} if handing.note is None else {"note": handing.note}
    parts = [tuple(files[at : at + MOST_FILES]) for at in range(0, len(files), MOST_FILES)]
    photos = [Draft("photos", body, handing.by, part) for part in parts]
    done = count(1)

    def seen(draft: FileDraft, trouble: str | None) -> None:
        if trouble is not None:
            unreadable.append(Unreadable(draft.path.name, trouble))
        progress(next(done), len(files))

    written = record.write(
        photos, handing.signer, clock=handing.clock, take_broken=True, crew=crew, seen=seen
    )
    return written.entries[0].seq


def _told_apart(record: Record, paths: Sequence[Path]) -> tuple[dict[str, Path], dict[str, Path]]:
    """By their sums the files that are new, each once, and those that the record holds.

    Of these, one that has gone from the originals is put back.
    """
    found = walk(paths)
    if not found:
        raise RefusedError(", ".join(map(str, paths)), "holds no files", "Name files or folders.")
    held = {ref.sha256 for entry in record.entries for ref in entry.files}
    fresh: dict[str, Path] = {}
    again: dict[str, Path] = {}
    for path in found:
        check_readable(path)  # a pipe would be waited for
    with ThreadPoolExecutor(cores()) as threads:
        for path, digest in zip(found, threads.map(_digest, found), strict=True):
            (again if digest in held else fresh).setdefault(digest, path)
    shelf = Shelf(record.originals)
    for digest, path in again.items():
        hold(path, digest, shelf)
    return fresh, again


def _digest(path: Path) -> str:
    try:
        with path.open("rb") as file:
            return file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise RefusedError(str(path), f"cannot be read: {error.strerror}") from error

"""The case's pictures looked at: measures of their pixels, kept beside the previews.

Derived like a preview: taken from the original's bytes, made anew where it is gone or of an older
kind, never written into the record. No figure rests on it.
"""

from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path

from pydantic import ValidationError

from evidence.case import Record
from evidence.errors import MissingError
from evidence.photos import Crew, Look, Worker
from evidence.photos.look import VERSION
from evidence.photos.seen import asked_of_looks
from evidence.photos.signals import Question
from evidence.upkeep import History
from evidence.upkeep.asked import shots

Progress = Callable[[int, int], None]


def look_at_pictures(
    record: Record,
    sums: Iterable[str],
    progress: Progress = lambda _done, _all: None,
) -> dict[str, Look]:
    """What was measured of each original, by its SHA-256; those that are gone are left out."""
    wanted = list(dict.fromkeys(sums))
    looks = {digest: kept for digest in wanted if (kept := _kept(_place(record, digest)))}
    ahead = [digest for digest in wanted if digest not in looks]

    def looked(digest: str, worker: Worker) -> Look | None:
        with suppress(MissingError):
            return worker.look(record.original(digest))
        return None

    with Crew() as crew:
        seen = zip(ahead, crew.each(looked, ahead), strict=True)
        for done, (digest, look) in enumerate(seen, start=1):
            if look is not None:
                looks[digest] = look
                keep_look(record, digest, look)
            progress(done, len(ahead))
    return looks


def keep_look(record: Record, digest: str, look: Look) -> None:
    """Keep a look beside the previews; where that cannot be written, it is taken again."""
    with suppress(OSError):
        record.previews.mkdir(exist_ok=True)
        _place(record, digest).write_text(look.model_dump_json(exclude_none=True), "ascii")


def seen_questions(
    record: Record, history: History, progress: Progress = lambda _done, _all: None
) -> tuple[Question, ...]:
    """What the pixels of the history's pictures raise, as this machine sees them."""
    taken = shots(history)
    looks = look_at_pictures(record, (shot.sha256 for shot in taken), progress)
    return tuple(asked_of_looks(taken, looks))


def _place(record: Record, digest: str) -> Path:
    return record.previews / f"{digest}.look.json"


def _kept(path: Path) -> Look | None:
    try:
        look = Look.model_validate_json(path.read_bytes())
    except (OSError, ValidationError):
        return None
    return look if look.version == VERSION else None

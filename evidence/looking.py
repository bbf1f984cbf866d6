"""The case's pictures looked at: measures of their pixels, and their Content Credentials.

Both are kept beside the previews. Derived like a preview: taken from the original's bytes, made
anew where it is gone or of an older kind, never written into the record. No figure rests on it.
"""

from collections.abc import Callable, Iterable
from contextlib import suppress
from pathlib import Path

from pydantic import ValidationError

from evidence.case import Record
from evidence.errors import MissingError
from evidence.photos import Credentials, Crew, Look, Worker
from evidence.photos.credentials import VERSION as CREDENTIALS_VERSION
from evidence.photos.credentials import Held
from evidence.photos.look import VERSION
from evidence.photos.seen import asked_of_looks
from evidence.photos.signals import Question
from evidence.shapes import Strict
from evidence.upkeep import History
from evidence.upkeep.asked import shots
from evidence.witness import NOBODY, Anchors

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
    _keep(record, _place(record, digest), look)


def credentials_of(
    record: Record,
    sums: Iterable[str],
    anchors: Anchors = NOBODY,
    progress: Progress = lambda _done, _all: None,
) -> dict[str, Credentials]:
    """What is told of the Content Credentials of those originals that bear some, by SHA-256.

    Whom to trust is the reader's to say: an answer is kept only where he names nobody, or where
    there is nothing to trust.
    """
    wanted = list(dict.fromkeys(sums))
    trusted = _pem(anchors)
    found: dict[str, Credentials] = {}
    with Worker() as worker:
        for done, digest in enumerate(wanted, start=1):
            kept = _kept_credentials(record, digest)
            if kept is None or (trusted and kept.integrity is not None):
                with suppress(MissingError):
                    kept = worker.credentials(record.original(digest), trusted)
                    if not trusted and _lasting(kept):
                        _keep(record, _credentials_place(record, digest), kept)
            if kept is not None and kept.held is not None:
                found[digest] = kept
            progress(done, len(wanted))
    return found


def _lasting(told: Credentials) -> bool:
    """Whether another try would tell the same: not where the reader was missing or gave up."""
    return told.integrity is not None or told.held is not Held.EMBEDDED


def _pem(anchors: Anchors) -> str:
    from ssl import DER_cert_to_PEM_cert

    return "".join(DER_cert_to_PEM_cert(der) for der in anchors.certificates)


def seen_questions(
    record: Record, history: History, progress: Progress = lambda _done, _all: None
) -> tuple[Question, ...]:
    """What the pixels of the history's pictures raise, as this machine sees them."""
    taken = shots(history)
    looks = look_at_pictures(record, (shot.sha256 for shot in taken), progress)
    return tuple(asked_of_looks(taken, looks))


def _place(record: Record, digest: str) -> Path:
    return record.previews / f"{digest}.look.json"


def _credentials_place(record: Record, digest: str) -> Path:
    return record.previews / f"{digest}.credentials.json"


def _keep(record: Record, place: Path, told: Strict) -> None:
    with suppress(OSError):
        record.previews.mkdir(exist_ok=True)
        place.write_text(told.model_dump_json(exclude_none=True), "utf-8")


def _kept_credentials(record: Record, digest: str) -> Credentials | None:
    try:
        data = _credentials_place(record, digest).read_bytes()
        told = Credentials.model_validate_json(data)
    except (OSError, ValidationError):
        return None
    return told if told.version == CREDENTIALS_VERSION else None


def _kept(path: Path) -> Look | None:
    try:
        look = Look.model_validate_json(path.read_bytes())
    except (OSError, ValidationError):
        return None
    return look if look.version == VERSION else None

"""Measuring in the case's pictures: which picture is meant, the card in it, and measures on record.

The sums stand in `lengths`; here they meet the files of a case.
"""

import hashlib
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from evidence.card_size import HEIGHT, WIDTH
from evidence.case import Record
from evidence.entries import Body, Deed, Inspection
from evidence.errors import RefusedError
from evidence.lengths import Kept, Length, Point, Sheet, kept_in
from evidence.photos import CardCorners, Worker
from evidence.photos.marks import CORNERS_SURE
from evidence.photos.media import HEAD, media_type
from evidence.shapes import FileRef
from evidence.witness import Card
from evidence.witness.card import MAX_TEXT, START

PRINTED_SURE = 0.5
"""Standard uncertainty of each side of a printed card, in mm: printers differ by half a per cent
and more (common practice, no source)."""
PRINTED_BASIS = "its own print, taken as true to size"

_SUM_START = re.compile(r"[0-9a-f]{6,64}", re.ASCII)
_BY_HAND = "Give the corners of what lies there: see `roof-evidence measure --help`."


@dataclass(frozen=True, slots=True)
class Shown:
    """A picture to measure in.

    Attributes:
        path: where its bytes are.
        sha256: their sum.
        name: as a person knows it.
        number: of the entry that it is sealed in; None where it is not in the record yet.
        size: of the upright picture in pixels.
        cards: what is seen of this program's cards in it.
    """

    path: Path
    sha256: str
    name: str
    number: int | None
    size: tuple[int, int]
    cards: tuple[CardCorners, ...]


def shown(record: Record, named: str, *, seek_cards: bool) -> Shown:
    """The picture that is meant: a file that is there, else one of the record.

    Args:
        record: the case.
        named: a path; or the name, or the first six or more digits of the SHA-256, of a file of
            the case.
        seek_cards: look for cards in it.

    Raises:
        RefusedError: there is none, there are several, or it is no picture that can be read.
        MissingError: its original is not here.
    """
    path = Path(named)
    if path.is_file():
        digest, name = _sum(path), path.name
        held = next((one for one in _pictures(record) if one[1].sha256 == digest), None)
    else:
        held = _held(record, named)
        digest, name = held[1].sha256, _name(held[1])
        path = record.original(digest)
    if not media_type(_head(path), path.name).startswith("image/"):
        raise RefusedError(name, "is no picture", "Measure in a picture.")
    with Worker() as worker:
        marks = worker.marks(path, START if seek_cards else "", MAX_TEXT)
    if marks.size is None:
        raise RefusedError(name, f"cannot be measured in: {marks.unreadable}")
    number = None if held is None else held[0]
    return Shown(path, digest, name, number, marks.size, marks.cards)


def card_in(picture: Shown, record: Record, size: Point = (WIDTH, HEIGHT)) -> Sheet:
    """The one card of this program in a picture.

    Args:
        picture: in which cards were sought.
        record: the case.
        size: of the card as printed, in mm, where its line was measured as other than 100 mm.

    Raises:
        RefusedError: there is none, there are several, or its corners are not found.
    """
    if not picture.cards:
        raise RefusedError(picture.name, "shows no card of this program that can be read", _BY_HAND)
    if len(picture.cards) > 1:
        raise RefusedError(
            picture.name, f"shows {len(picture.cards)} cards: which one is meant is not clear",
            _BY_HAND,
        )  # fmt: skip
    seen = picture.cards[0]
    if seen.corners is None:
        raise RefusedError(f"the card in {picture.name}", f"gives no size: {seen.why}", _BY_HAND)
    card = Card.parse(seen.text)
    whose = "this case" if card.case_id == record.case.case_id else "another case"
    name = f"the card {card.letters} of {whose}"
    return Sheet(name, size, PRINTED_SURE, seen.corners, CORNERS_SURE, sides_known=True)


@dataclass(frozen=True, slots=True)
class Again:
    """A measure in a finding's note, reckoned again from what the note says.

    Attributes:
        number: of the entry.
        finding: its id.
        kept: what the note says.
        picture: the file of the record in which it was measured; None where it is not there.
        length: what comes out now; None where it would be refused, and `why` says so.
    """

    number: int
    finding: str
    kept: Kept
    picture: FileRef | None
    length: Length | None
    why: str | None = None


def measures(record: Record) -> Iterator[Again]:
    """Every measure in the findings of a record, reckoned again, in order."""
    pictures = [file for _, file in _pictures(record)]
    for entry in record.entries:
        for finding, note in _noted(entry.body):
            for kept in kept_in(note or ""):
                of = (file for file in pictures if file.sha256.startswith(kept.scene.picture))
                yield _again(entry.number, finding, kept, next(of, None))


def _noted(body: Body) -> list[tuple[str, str | None]]:
    """The findings of an entry with their notes, those looked at again behind."""
    noted = []
    if isinstance(body, Deed):
        noted += [(finding.id, finding.note) for finding in body.findings or ()]
    if isinstance(body, Inspection):
        noted += [(recheck.finding, recheck.note) for recheck in body.rechecks or ()]
    return noted


def _again(number: int, finding: str, kept: Kept, picture: FileRef | None) -> Again:
    try:
        return Again(number, finding, kept, picture, kept.scene.length())
    except RefusedError as error:
        return Again(number, finding, kept, picture, None, f"{error.what} {error.why}")


def _held(record: Record, named: str) -> tuple[int, FileRef]:
    """The one picture of the record with this name, or whose sum starts so."""
    by_sum = _SUM_START.fullmatch(named) is not None
    found = {
        file.sha256: (number, file)
        for number, file in reversed(list(_pictures(record)))
        if file.name == named or (by_sum and file.sha256.startswith(named))
    }
    if not found:
        raise RefusedError(
            named,
            "is neither a file nor a picture of this case",
            "Give a path, the name it came with, or six or more digits of its SHA-256.",
        )
    if len(found) > 1:
        sums = ", ".join(digest[:12] for digest in found)
        raise RefusedError(named, f"is the name of {len(found)} pictures", f"Give one of {sums}.")
    return next(iter(found.values()))


def _pictures(record: Record) -> Iterator[tuple[int, FileRef]]:
    for entry in record.entries:
        for file in entry.files:
            if file.type.startswith("image/"):
                yield entry.number, file


def _name(file: FileRef) -> str:
    return file.name if isinstance(file.name, str) else file.sha256[:12]


def _sum(path: Path) -> str:
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise RefusedError(str(path), f"cannot be read: {error.strerror}") from error


def _head(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(HEAD)

"""What to take again while the person is still on the roof. Nothing of it stands in the record."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from evidence.case import Record
from evidence.envelope import Entry
from evidence.looking import Progress, look_at_pictures
from evidence.photos.seen import hints
from evidence.photos.signals import Question, Signal
from evidence.upkeep import Picture
from evidence.upkeep.asked import is_shot
from evidence.upkeep.items import build_items
from evidence.words import FileRole, Via


class Trouble(StrEnum):
    """What a picture lacks that its pixels do not tell."""

    NO_CLOCK = "no-clock"
    """On nothing that its camera wrote of the time anybody relies."""
    CARD_UNREAD = "card-unread"
    """It is said to show a card, and none could be read in it."""


@dataclass(frozen=True, slots=True)
class Hint:
    """Why a picture may be worth taking again: a question of its pixels, or what it lacks."""

    picture: Picture
    signal: Signal | Trouble

    @property
    def question(self) -> Question | None:
        """The same as `photos` asks it; None for what it lacks."""
        if isinstance(self.signal, Trouble):
            return None
        return Question(self.signal, self.picture.file.sha256, self.picture.seq)


def pixel_hints(
    record: Record,
    pictures: Sequence[Picture],
    progress: Progress = lambda _done, _all: None,
) -> Iterator[Hint]:
    """Blurred, too dark, too bright, of the originals; each look is kept for `photos`."""
    shown = [picture for picture in pictures if is_shot(picture)]
    looks = look_at_pictures(record, (picture.file.sha256 for picture in shown), progress)
    for picture in shown:
        look = looks.get(picture.file.sha256)
        if look is not None:
            yield from (Hint(picture, signal) for signal in hints(look))


def all_hints(record: Record, pictures: Sequence[Picture]) -> Iterator[Hint]:
    """The same, and what each picture lacks: of the few that one entry is written with."""
    yield from pixel_hints(record, pictures)
    for picture in pictures:
        copied = picture.file.via is Via.MESSENGER  # nobody can set its clock
        if is_shot(picture) and not picture.capture.relied_on and not copied:
            yield Hint(picture, Trouble.NO_CLOCK)
        if picture.file.role is FileRole.CARD and picture.file.card is None:
            yield Hint(picture, Trouble.CARD_UNREAD)


def pictures_first_in(record: Record, entry: Entry) -> list[Picture]:
    """The pictures that came with an entry: those that an earlier one holds were looked at then."""
    if not entry.files:
        return []
    known = {file.sha256 for one in record.entries[: entry.seq] for file in one.files}
    item = build_items(record.entries, record.atlas)[entry.seq]
    return [picture for picture in item.pictures if picture.file.sha256 not in known]

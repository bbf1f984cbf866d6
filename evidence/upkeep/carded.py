"""Cards seen in pictures: a "not before" of the picture, on an outsider's clock (RECORD § 6).

It stands beside the capture interval and is never mixed into it: what a camera's clock says and
what an outsider's clock says are two bases. Of an old card that is pictured again nothing more
follows than that the picture is younger than that old answer.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from evidence.entries import Witness
from evidence.shapes import CardRead
from evidence.upkeep.history import History
from evidence.upkeep.items import Item, Picture
from evidence.upkeep.vouched import Vouched


class CardState(StrEnum):
    """What the record knows of the answer that a card shows."""

    COUNTS = "counts"
    """It is in the record, verifies, and its outsider is trusted (or a sample's, in a sample)."""
    UNTRUSTED = "untrusted"
    """It verifies; nobody whom the reader named vouches for who gave it."""
    UNVERIFIED = "unverified"
    """An entry names it, but the answer is missing or does not verify."""
    UNKNOWN = "unknown"
    """No entry of this record names it: of another case, or not of any."""


@dataclass(frozen=True, slots=True)
class CardSeen:
    """A card in a picture.

    `named_by` is the seq of the entry that holds the answer. `newer` counts the answers that count,
    stood ahead of the picture's entry and are newer than the card's: none but for an old card.
    """

    item: Item
    picture: Picture
    card: CardRead
    state: CardState
    answer: Vouched | None
    named_by: int | None
    newer: int

    @property
    def not_before(self) -> datetime | None:
        """The picture was taken after this moment; None where the card is not relied on."""
        return self.answer.time if self.state is CardState.COUNTS and self.answer else None

    @property
    def contradicted(self) -> bool:
        """What the camera's clock supports (else the writer's clock) ends before the answer.

        It is said of every answer that verifies, whether or not its outsider is trusted.
        """
        span = self.picture.capture.span
        latest = self.item.entry.logged if span is None else span.latest
        return self.answer is not None and latest < self.answer.time


def card_seen(history: History, item: Item, picture: Picture) -> CardSeen | None:
    """The card in a picture; None where none was read in it."""
    card = picture.file.card
    return None if card is None else _seen(history, _answers(history), item, picture, card)


def cards_seen(history: History) -> Iterator[CardSeen]:
    """Every card in a picture of an entry that was not withdrawn, in order."""
    answers = _answers(history)
    for item, picture in history.pictures():
        card = picture.file.card
        if card is not None:
            yield _seen(history, answers, item, picture, card)


def count_dated(history: History) -> int:
    """Pictures that an outsider's answer on a card lets be relied on as younger than it.

    A picture in several entries counts once, and so does a copy with its original.
    """
    dated = (s for s in cards_seen(history) if s.not_before is not None and not s.contradicted)
    return len({history.links.one_of(seen.picture.file.sha256) for seen in dated})


def _answers(history: History) -> Mapping[str, int]:
    """The entry (seq) that first names each answer, by the answer's SHA-256."""
    named: dict[str, int] = {}
    for item in history.items:
        if isinstance(item.body, Witness) and item.entry.files:
            named.setdefault(item.entry.files[0].sha256, item.seq)
    return named


def _seen(
    history: History, answers: Mapping[str, int], item: Item, picture: Picture, card: CardRead
) -> CardSeen:
    named_by = answers.get(card.answer)
    answer = next((a for a in history.vouched if a.seq == named_by), None)
    if named_by is None:
        state = CardState.UNKNOWN
    elif answer is None:
        state = CardState.UNVERIFIED
    else:
        state = CardState.COUNTS if answer.counts else CardState.UNTRUSTED
    newer = sum(
        other.counts and other.seq < item.seq and other.time > answer.time
        for other in history.vouched
        if answer is not None
    )
    return CardSeen(item, picture, card, state, answer, named_by, newer)

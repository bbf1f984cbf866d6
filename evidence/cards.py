"""Cards (RECORD § 6): which answer the next one carries, and what one in a picture says."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import JsonValue

from evidence.entries import Case, Rig, Witness
from evidence.envelope import Entry
from evidence.errors import RefusedError
from evidence.photos import Worker
from evidence.times import parse_utc
from evidence.upkeep.carded import CardSeen, cards_seen
from evidence.witness import Card
from evidence.witness.card import MAX_TEXT, START

if TYPE_CHECKING:
    from evidence.case import Record


@dataclass(frozen=True, slots=True)
class Answer:
    """An outsider's answer in the record: the SHA-256 of its file, its time, who gave it."""

    sha256: str
    time: datetime
    name: str
    seq: int


def newest_answer(record: "Record") -> Answer:
    """The outsider's answer that a card of today carries: the latest that verifies.

    Raises:
        RefusedError: no outsider has answered yet.
    """
    verified = record.answers()
    newest = max(
        (answer for answer in _answers(record.entries) if answer.seq in verified),
        key=lambda answer: (answer.time, answer.seq),
        default=None,
    )
    if newest is None:
        raise RefusedError(
            "the card",
            "needs an outsider's answer, and no answer that verifies is in the record",
            "Run `roof-evidence witness` first; see `roof-evidence witness --help`.",
        )
    return newest


def next_card(record: "Record", zone_id: str | None = None) -> tuple[Card, Answer]:
    """The card to lay in the next photos.

    Raises:
        RefusedError: no outsider has answered yet, or the rig has no such zone.
    """
    if zone_id is not None:
        known = _zones(record.entries)
        if zone_id not in known:
            raise RefusedError(
                f"zone {zone_id!r}", "is not a zone of this rig", f"Known: {', '.join(known)}."
            )
    answer = newest_answer(record)
    return Card(answer.sha256, record.case.case_id, zone_id), answer


def cards_in(record: "Record", sums: Collection[str]) -> list[CardSeen]:
    """What follows from the cards in some files of the record, as it stands now."""
    if not any(file.card for entry in record.entries for file in entry.files):
        return []
    return [
        seen
        for seen in cards_seen(record.history(record.last_day))
        if seen.picture.file.sha256 in sums
    ]


def refuse_told_by_machine(described: Mapping[str, JsonValue]) -> None:
    """A person may say what he reads on a card; what a machine reads, the program reads itself.

    Raises:
        RefusedError: the description says that a machine read it.
    """
    card = described.get("card")
    if isinstance(card, dict) and card.get("read_by") == "machine":
        raise RefusedError(
            "files: field 'card'",
            "is read by this program itself where a machine can read it",
            'Say {"answer": …, "read_by": "person"} of a card that you read.',
        )


def card_texts(path: Path, kind: str, worker: Worker) -> tuple[str, ...]:
    """The texts of the cards in a picture; none in a file of another kind (`kind`: media type)."""
    return worker.codes(path, START, MAX_TEXT).texts if kind.startswith("image/") else ()


def card_field(texts: Sequence[str], entries: Sequence[Entry]) -> dict[str, JsonValue]:
    """The field `card` of a picture in which a card was read, else nothing.

    Of several cards the one with the newest answer that the record holds is taken, else the first:
    the picture is younger than each of them. A zone is taken only from a card of this very case,
    and only one that the rig has: what any other card says is nobody's word here.

    Args:
        texts: what was read in the picture.
        entries: the record ahead of it.
    """
    card = _chosen(texts, entries)
    if card is None:
        return {}
    read: dict[str, JsonValue] = {"answer": card.answer, "read_by": "machine"}
    if card.case_id == _case_id(entries) and card.zone in _zones(entries):
        read["zone"] = card.zone
    return {"card": read}


def case_on_card(texts: Sequence[str], entries: Sequence[Entry]) -> str | None:
    """The case (its id) whose card a picture shows; this record's own where it shows that too."""
    cases = [card.case_id for card in _parsed(texts)]
    own = _case_id(entries)
    return own if own in cases else next(iter(cases), None)


def _chosen(texts: Sequence[str], entries: Sequence[Entry]) -> Card | None:
    cards = list(_parsed(texts))
    held = {answer.sha256: (answer.time, answer.seq) for answer in _answers(entries)}
    known = [card for card in cards if card.answer in held]
    if known:
        return max(known, key=lambda card: held[card.answer])
    return cards[0] if cards else None


def _parsed(texts: Sequence[str]) -> Iterator[Card]:
    """The cards among the texts; a text that only begins like one is passed over."""
    for text in texts:
        with suppress(RefusedError):
            yield Card.parse(text)


def _answers(entries: Sequence[Entry]) -> Iterator[Answer]:
    for entry in entries:
        if isinstance(body := entry.body, Witness) and entry.files:
            yield Answer(entry.files[0].sha256, parse_utc(body.time), body.name, entry.seq)


def _case_id(entries: Sequence[Entry]) -> str | None:
    body = entries[0].body if entries else None
    return body.case_id if isinstance(body, Case) else None


def _zones(entries: Sequence[Entry]) -> list[str]:
    """The zones that the rig has now."""
    rigs = [entry.body for entry in entries if isinstance(entry.body, Rig)]
    return [place.id for place in rigs[-1].zones] if rigs else []

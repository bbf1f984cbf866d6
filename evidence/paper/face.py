"""The face of a card in its true size: code, letters, words, corner marks and ticks.

Laid out in millimetres from the outer edge of the upper left corner mark. The outer edges of the
four corner marks are the card's measure: 100 × 70 mm. Around them the paper stays white for 4 mm,
so that on a dark roof every mark has its contrast; there the card is cut.
"""

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime

from evidence.card_size import ARM, CODE_AT, HEIGHT, MARGIN, THICK, WIDTH, module_of
from evidence.dossier import say
from evidence.dossier.wording import wording
from evidence.figures import text_width
from evidence.figures.codes import code_rects, matrix_of
from evidence.figures.raster import MM, Flat
from evidence.figures.scene import Rect, Stroke, Text
from evidence.figures.style import CAP_HEIGHT, COPPER, INK, MUTED, Role
from evidence.witness import Card

SIZE = ((WIDTH + 2 * MARGIN) * MM, (HEIGHT + 2 * MARGIN) * MM)
"""The whole card as it is cut, in points."""

_COLUMN_AT, _COLUMN_WIDTH = 61.0, 35.0
_TICKS = 5.0
_SMALL_HEAD = 10.0
_MOST_NAME_LINES = 3
_LETTER_WIDTH = 0.6
"""Of IBM Plex Mono, over type size."""


@dataclass(frozen=True, slots=True)
class CardPrint:
    """What is printed on a card beside its code.

    Attributes:
        card: the code's content.
        title: the case's title.
        label: the zone's name; None for a card without a zone.
        answered: when the outsider answered.
        name: who the outsider is.
        seq: the entry that holds the answer.
        sample: whether the case is an invented one.
    """

    card: Card
    title: str
    label: str | None
    answered: datetime
    name: str
    seq: int
    sample: bool


def face(printed: CardPrint) -> tuple[Flat, ...]:
    """Everything on the card, in points from the corner of the cut card."""
    matrix = matrix_of(printed.card.text)
    module = module_of(len(matrix))
    dark = code_rects(matrix, CODE_AT, CODE_AT, module)
    letters = _letters(printed, module * len(matrix))
    return tuple(_placed(item) for item in (*dark, letters, *_marks(), *_words(printed)))


def _letters(printed: CardPrint, side: float) -> Text:
    """The twelve letters, as wide as the code, below the four modules that stay white around it."""
    letters = printed.card.letters
    size = side / (len(letters) * _LETTER_WIDTH)
    base = HEIGHT - THICK - 3.6
    return Text(CODE_AT, base, letters, size * MM, "mono")


def _marks() -> Iterator[Flat]:
    """Corner marks, and ticks along the lower edge between them."""
    for left in (True, False):
        for top in (True, False):
            x, y = (0.0 if left else WIDTH - ARM), (0.0 if top else HEIGHT - ARM)
            yield Rect(x, 0.0 if top else HEIGHT - THICK, ARM, THICK, INK)
            yield Rect(0.0 if left else WIDTH - THICK, y, THICK, ARM, INK)
    at = 2 * _TICKS
    while at <= WIDTH - 2 * _TICKS:
        tall = 2.2 if at % (2 * _TICKS) == 0 else 1.4
        yield Rect(at - 0.1, HEIGHT - tall, 0.2, tall, INK)
        at += _TICKS


def _words(printed: CardPrint) -> Iterator[Flat]:
    """The column beside the code."""
    words = wording("card")
    zone = printed.card.zone
    if printed.sample:
        yield from _tag(words.say("card_face", "sample"))
    else:
        yield from _lines(words.say("card_face", "title"), 9.4, 7.2, colour=MUTED)
    head = printed.label or words.say("card_face", "whole_roof")
    yield from _heading(say.sentence(say.name(head)))
    if zone is not None:
        yield _fitted(zone, 21.6, 7.6, role="mono", colour=MUTED)
    there = printed.answered.astimezone(UTC)
    whose = words.say("card_face", "answered", name=say.name(printed.name).rstrip("."))
    yield from list(_lines(whose, 25.6, 6.2, colour=MUTED))[:_MOST_NAME_LINES]
    yield _fitted(say.day(there.date()), 36.4, 12.5)
    number = say.entries([printed.seq])
    at = words.say("card_face", "at", clock=f"{there:%H:%M}", number=number)
    yield from _lines(at, 40.2, 7.6)
    yield from _lines(words.say("card_face", "after"), 44.9, 7.0)
    case = printed.card.case_id
    yield from _lines(f"{words.say('card_face', 'case')} {case[:16]}\n{case[16:]:>21}", 54.6, 6.0,
                      role="mono", colour=MUTED)  # fmt: skip
    size = words.say("card_face", "size", width=int(WIDTH), height=int(HEIGHT))
    yield from _lines(size, 60.4, 6.0, colour=MUTED)


def _heading(text: str) -> Iterator[Text]:
    """What the card is for, on one line; smaller on two where it is long."""
    one = _fitted(text, 17.4, 15.5)
    lines = _broken(text, "bold", _SMALL_HEAD)
    if one.size >= _SMALL_HEAD or len(lines) == 1:
        yield one
        return
    yield _fitted(lines[0], 14.2, _SMALL_HEAD)
    yield _fitted(lines[1] + ("\N{HORIZONTAL ELLIPSIS}" if lines[2:] else ""), 18.0, _SMALL_HEAD)


def _fitted(text: str, base: float, size: float, *, role: Role = "bold", colour: str = INK) -> Text:
    """One line, set smaller where it is wider than the column."""
    across = text_width(text, role, size) / MM
    return Text(
        _COLUMN_AT, base, text, size * min(1.0, _COLUMN_WIDTH / across), role, "start", colour
    )


def _lines(
    text: str, base: float, size: float, *, role: Role = "text", colour: str = INK
) -> Iterator[Text]:
    """Lines broken to the column's width, the first one on `base`."""
    for nth, line in enumerate(_broken(text, role, size)):
        yield Text(_COLUMN_AT, base + nth * size * 1.25 / MM, line, size, role, "start", colour)


def _broken(text: str, role: Role, size: float) -> list[str]:
    if "\n" in text:
        return text.split("\n")
    across = text_width(text, role, size) / MM
    most = int(len(text) * _COLUMN_WIDTH / across) if across else len(text)
    while True:
        lines = textwrap.wrap(text, most, break_on_hyphens=False)
        if most == 1 or all(text_width(line, role, size) / MM <= _COLUMN_WIDTH for line in lines):
            return lines
        most -= 1


def _tag(text: str) -> Iterator[Flat]:
    """The mark of a sample, boxed so that it survives a bad copy."""
    size = 6.4
    across = text_width(text, "text", size) / MM
    left, base, high = _COLUMN_AT + 1.2, 9.4, CAP_HEIGHT * size / MM
    yield Rect(left - 1.2, base - high - 1.0, across + 2.4, high + 2.0, None, Stroke(COPPER, 0.2))
    yield Text(left, base, text, size, "text", "start", COPPER)


def _placed(item: Flat) -> Flat:
    """From millimetres to points, and in from the cut edge; type is in points already."""

    def to(mm: float) -> float:
        return (mm + MARGIN) * MM

    match item:
        case Rect():
            stroke = (
                None if item.stroke is None else Stroke(item.stroke.colour, item.stroke.width * MM)
            )
            return Rect(
                to(item.x), to(item.y), item.width * MM, item.height * MM, item.fill, stroke
            )
        case Text():
            return Text(
                to(item.x), to(item.y), item.text, item.size, item.role, item.anchor, item.colour
            )

"""What is filled in by hand: boxes to mark, lines to write on, a place for the card."""

from collections.abc import Sequence
from datetime import date

from evidence.dossier import say
from evidence.dossier.wording import wording
from evidence.figures import Scene, SceneFlowable, bead_mark, text_width
from evidence.figures.scene import Item, Line, Rect, Stroke, Text
from evidence.figures.style import HAIRLINE, INK, MUTED, PAPER, SMALL
from evidence.words import Grade

SIDE = 16.0
_BETWEEN = 4.0
_PEN = Stroke(INK, 0.7)
_FINE = 7.6
_LINE, _CHOICE = 19.0, 13.5
SMALL_BEAD = 18.0

GRADES = (*(str(int(grade)) for grade in Grade), "\N{EN DASH}")
"""The grades, and "could not look"."""
SHOTS = ("W", "M", "C", "R")
"""The photo set of a zone (TRADE § 3): wide, middle, close, close with ruler and card."""
STATES = ("same", "worse", "better", "gone")

CARD = (242.6, 153.0)
"""A card of the usual size: 85.60 by 53.98 mm (ISO/IEC 7810, ID-1), in points."""


def across(boxes: int) -> float:
    """The width of so many boxes in a row."""
    return boxes * (SIDE + _BETWEEN) - _BETWEEN


def box_row(signs: Sequence[str]) -> SceneFlowable:
    """Boxes in a row, each with its sign in it, pale enough to be written over."""
    items: list[Item] = []
    for nth, sign in enumerate(signs):
        x = nth * (SIDE + _BETWEEN)
        items.append(Rect(x, 0.5, SIDE, SIDE, PAPER, _PEN, 1.5))
        items.append(Text(x + SIDE / 2, 11.4, sign, SMALL, anchor="middle", colour=MUTED))
    alt = f"Boxes to mark: {', '.join(signs)}"
    return SceneFlowable(Scene(across(len(signs)), SIDE + 1.0, tuple(items), "Boxes", alt))


def bead_heads() -> SceneFlowable:
    """The grade signs over the boxes of a column, small."""
    items: list[Item] = []
    for grade in Grade:
        x = int(grade) * (SIDE + _BETWEEN) + SIDE / 2
        items += bead_mark(grade, x, 3.0, 14.0)
    scene = Scene(across(len(GRADES)), 9.0, tuple(items), "Grades", "The signs of the grades")
    return SceneFlowable(scene)


def small_bead(grade: int) -> SceneFlowable:
    """A grade sign as high as a line of text."""
    items = bead_mark(grade, SMALL_BEAD / 2, 5.4, SMALL_BEAD)
    return SceneFlowable(Scene(SMALL_BEAD, 9.0, items, f"grade {grade}", f"Grade {grade}"))


def state_row(width: float, unit: str) -> SceneFlowable:
    """How a finding stands now, and its size now in the unit's word."""
    words, x = wording("round"), 0.0
    items: list[Item] = []
    for state in STATES:
        items += [Rect(x, 2.0, 9.5, 9.5, PAPER, _PEN, 1.2), Text(x + 12.5, 10.0, state, _FINE)]
        x += 12.5 + text_width(state, "text", _FINE) + 7.0
    times = words.say("zone", "by-size")
    items.append(Text(x, 10.0, words.say("zone", "now"), _FINE, colour=MUTED))
    x += text_width(words.say("zone", "now"), "text", _FINE) + 4.0
    blank = (width - x - 30.0) / 2
    items += [
        Line(x, 11.5, x + blank, 11.5, Stroke(MUTED, 0.5)),
        Text(x + blank + 7.0, 10.0, times, _FINE, anchor="middle", colour=MUTED),
        Line(x + blank + 14.0, 11.5, x + 2 * blank + 14.0, 11.5, Stroke(MUTED, 0.5)),
        Text(width, 10.0, unit, _FINE, anchor="end", colour=MUTED),
    ]
    return SceneFlowable(Scene(width, 13.0, tuple(items), "State", f"Mark: {', '.join(STATES)}"))


def moisture_row(width: float) -> SceneFlowable:
    """A reading inside: the place, a dry one with the same meter, and the air it was read in."""
    words, x = wording("round"), 0.0
    names = [words.say("zone", key) for key in ("moisture", "dry-place", "air", "air-humidity")]
    named = sum(text_width(name, "text", _FINE) + 4.0 for name in names)
    blank = (width - named) / len(names) - 8.0
    items: list[Item] = []
    for name in names:
        items.append(Text(x, 10.0, name, _FINE, colour=MUTED))
        x += text_width(name, "text", _FINE) + 4.0
        items.append(Line(x, 11.5, x + blank, 11.5, Stroke(MUTED, 0.5)))
        x += blank + 8.0
    alt = f"To fill in: {', '.join(names)}"
    return SceneFlowable(Scene(width, 13.0, tuple(items), "Reading", alt))


def to_fill_in(
    lines: Sequence[str], name: str, words: Sequence[str], put_off: str, width: float
) -> SceneFlowable:
    """Names with a line behind each, a box before each of several words, a box with its reason."""
    items: list[Item] = []
    start = max(text_width(line, "text", SMALL) for line in lines) + 6.0
    y = 12.0
    for line in lines:
        items.append(Text(0.0, y, line, colour=MUTED))
        items.append(Line(start, y + 1.5, width, y + 1.5, Stroke(MUTED, 0.5)))
        y += _LINE
    items.append(Text(0.0, y, name, colour=MUTED))
    for word in words:
        y += _CHOICE
        items.append(Rect(0.0, y - 8.0, 9.5, 9.5, PAPER, _PEN, 1.2))
        items.append(Text(14.0, y, word))
    y += _LINE
    start = 14.0 + text_width(put_off, "text", SMALL) + 6.0
    items += [
        Rect(0.0, y - 8.0, 9.5, 9.5, PAPER, _PEN, 1.2),
        Text(14.0, y, put_off),
        Line(start, y + 1.5, width, y + 1.5, Stroke(MUTED, 0.5)),
    ]
    alt = f"To fill in: {', '.join(lines)}; {name}: {', '.join(words)}; {put_off}"
    return SceneFlowable(Scene(width, y + 4.0, tuple(items), "This look", alt))


def card_place(answered: date | None) -> SceneFlowable:
    """A place as large as a card."""
    words = wording("round")
    across_, down = CARD
    dashed = Stroke(MUTED, 0.8, (4.0, 3.0))
    items: list[Item] = [
        Rect(0.5, 0.5, across_ - 1.0, down - 1.0, PAPER, dashed, 6.0),
        Text(12.0, 22.0, words.say("card_box", "here"), colour=MUTED),
    ]
    if answered is not None:
        said = words.say("card_box", "of", day=say.day(answered))
        items.append(Text(12.0, 34.0, said, colour=MUTED))
    scene = Scene(across_, down, tuple(items), "Card", words.say("card_box", "here"))
    return SceneFlowable(scene)


def writing_line(width: float) -> SceneFlowable:
    """A line to write on."""
    line = Line(0.0, SIDE + 0.5, width, SIDE + 0.5, Stroke(HAIRLINE, 0.8))
    return SceneFlowable(Scene(width, SIDE + 1.0, (line,), "Line", "A line to write on"))

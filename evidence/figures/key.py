"""A line of signs with their words, as many to a line as there is room for."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from evidence.figures.box import elided
from evidence.figures.scene import Item, Text
from evidence.figures.style import CAP_HEIGHT, MUTED, SMALL, text_width

LINE = 13.5
"""Distance of the lines of a key, in points."""
_BETWEEN = 16.0
_AFTER_SIGN = 5.0

Draw = Callable[[float, float], tuple[Item, ...]]
"""Draws a sign about a centre (x, y)."""


@dataclass(frozen=True, slots=True)
class Sign:
    """One entry of a key: how wide its sign is, how to draw it, and what it means."""

    width: float
    draw: Draw
    words: str


def key_lines(
    signs: Iterable[Sign], y: float, width: float, colour: str = MUTED, x: float = 0.0
) -> tuple[tuple[Item, ...], float]:
    """Draw the signs from (x, y) down, each with its words to the right.

    Returns:
        What was drawn, and the y below the last line (`y` itself where there are no signs).
    """
    items: list[Item] = []
    left = x
    base = y + LINE - 4.0
    for sign in signs:
        room = width - sign.width - _AFTER_SIGN
        words = elided(sign.words, room, "text", SMALL)
        taken = sign.width + _AFTER_SIGN + text_width(words, "text", SMALL)
        if left > x and left + taken > x + width:
            left, base = x, base + LINE
        items += sign.draw(left + sign.width / 2, base - CAP_HEIGHT * SMALL / 2)
        items.append(Text(left + sign.width + _AFTER_SIGN, base, words, colour=colour))
        left += taken + _BETWEEN
    return tuple(items), base + 4.0 if items else y

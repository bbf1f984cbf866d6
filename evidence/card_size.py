"""What stands where on a card, in millimetres from its upper left corner: drawn here, found there.

The card's measure is that between the outer edges of its four corner marks. Around them the paper
stays white. Print and search share these figures, so that neither can wander off alone.
"""

WIDTH, HEIGHT = 100.0, 70.0
"""Between the outer edges of the corner marks."""
MARGIN = 4.0
"""White paper around the corner marks."""
ARM, THICK = 7.0, 1.2
"""A corner mark: the length of its two arms, and how thick they are."""
CODE_AT = 7.0
"""The code's upper left corner, across and down."""
PX_PER_MM = 20
"""Of the card as a picture: 508 dpi, and a module of the code is a whole number of pixels."""

_CODE_SIDE = 49.0


def module_of(modules: int) -> float:
    """The side of one module of a code with so many modules a side: whole pixels of the picture."""
    return int(_CODE_SIDE * PX_PER_MM / modules) / PX_PER_MM

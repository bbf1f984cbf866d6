"""A QR code as geometry: the dark modules, in runs of a row."""

from collections.abc import Iterable, Iterator, Sequence

from evidence.figures.scene import Close, LineTo, MoveTo, Path, Rect, Step
from evidence.figures.style import INK

LEVEL = "m"
"""The level of error correction (ISO/IEC 18004 § 4.1): with a higher one the modules would be
smaller on the same paper, and size is what a far picture lacks. Raised where it costs none."""


def matrix_of(text: str) -> Sequence[Sequence[int]]:
    """The code's modules, row by row, without the quiet zone; dark is not 0."""
    import segno

    made: Sequence[Sequence[int]] = segno.make(text, error=LEVEL, micro=False).matrix
    return made


def code_rects(matrix: Sequence[Sequence[int]], x: float, y: float, module: float) -> list[Rect]:
    """The dark runs of a code whose upper left corner is at (x, y), in the unit of `module`."""
    return [
        Rect(x + start * module, y + down * module, run * module, module, INK)
        for down, row in enumerate(matrix)
        for start, run in _dark(row)
    ]


def one_shape(rects: Iterable[Rect]) -> Path:
    """Rectangles as one dark shape: drawn one by one they show seams on a screen."""
    return Path(tuple(step for rect in rects for step in _around(rect)), fill=INK)


def _dark(row: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Start and length of each dark run of a row."""
    start = None
    for at, dark in enumerate([*row, 0]):
        if dark and start is None:
            start = at
        elif not dark and start is not None:
            yield start, at - start
            start = None


def _around(rect: Rect) -> Iterator[Step]:
    right, bottom = rect.x + rect.width, rect.y + rect.height
    yield MoveTo(rect.x, rect.y)
    yield LineTo(right, rect.y)
    yield LineTo(right, bottom)
    yield LineTo(rect.x, bottom)
    yield Close()

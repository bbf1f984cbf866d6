"""A length with everything that it was reckoned from, and the sentence that keeps it.

RECORD gives a finding whole millimetres and a note, and no field for points and method. So they
stand in the note, in one sentence of fixed form that a person reads and a program reads back: from
the sentence alone the very same length is reckoned again.

    Length 212.4 ± 2.0 mm (k = 2) by the four corners of a card of size ID-1, 85.6 × 53.98 mm known
    to 0.05 mm (ISO/IEC 7810), at (1012, 804) (1427, 828) (1398, 1097) (978, 1064) read to 1 px;
    from (640, 1210) to (1585, 742) read to 1 px, from the upper left of the upright picture
    4cbac1af4851, 4000 × 3000 px.

What follows the first "±" is twice the standard uncertainty, "known to" and "read to" are standard
uncertainties. A coin stands as "by the rim of a US cent, 19.05 mm across known to 0.1 mm (…), at".
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from evidence.errors import RefusedError
from evidence.lengths.coin import Coin, length_by
from evidence.lengths.length import K, Length, Sheet, length_on
from evidence.lengths.plane import Corners, Point

MM_PER_INCH = 25.4

_NUMBER = r"-?\d+(?:\.\d+)?"
_POINT = rf"\({_NUMBER}, {_NUMBER}\)"
_SENTENCE = re.compile(
    rf"(?P<way>Length|Width) (?P<mm>{_NUMBER}) ± (?P<sure>{_NUMBER}) mm \(k = 2\) by"
    rf" (?:the four corners of (?P<sheet>.+?), (?P<wide>{_NUMBER}) × (?P<high>{_NUMBER}) mm"
    rf"|the rim of (?P<coin>.+?), (?P<across>{_NUMBER}) mm across)"
    rf" known to (?P<size_sure>{_NUMBER}) mm \((?P<basis>.+?)\), at (?P<at>{_POINT}(?: {_POINT})+)"
    rf" read to (?P<at_sure>{_NUMBER}) px; from (?P<start>{_POINT}) to (?P<end>{_POINT})"
    rf" read to (?P<points_sure>{_NUMBER}) px, from the upper left of the upright picture"
    rf" (?P<picture>[0-9a-f]{{12}}), (?P<px_wide>\d+) × (?P<px_high>\d+) px\.",
    re.ASCII,
)


class Way(StrEnum):
    """Which of a finding's two sizes it is."""

    LENGTH = "length"
    WIDTH = "width"


@dataclass(frozen=True, slots=True)
class Scene:
    """What a length is reckoned from.

    Attributes:
        picture: SHA-256 of the file, or its first twelve digits.
        size: of the upright picture in pixels.
        start: one end, in pixels of the upright picture.
        end: the other.
        points_sure: standard uncertainty of each of their coordinates, in pixels.
        by: the card or coin.
        basis: on what its size rests.
    """

    picture: str
    size: tuple[int, int]
    start: Point
    end: Point
    points_sure: float
    by: Sheet | Coin
    basis: str

    def length(self) -> Length:
        """The length between the two points.

        Raises:
            RefusedError: a point lies outside the picture, or the length cannot be told from it.
        """
        for x, y in (self.start, self.end, *self.by.marked):
            if not (0 <= x <= self.size[0] and 0 <= y <= self.size[1]):
                raise RefusedError(
                    f"the point ({figure(x)}, {figure(y)})",
                    f"lies outside the upright picture of {self.size[0]} × {self.size[1]} pixels",
                    "Count from its upper left corner, as it is shown.",
                )
        if isinstance(self.by, Sheet):
            return length_on(self.by, self.start, self.end, self.points_sure)
        return length_by(self.by, self.start, self.end, self.points_sure, self.size)


def sentence(scene: Scene, found: Length, way: Way) -> str:
    """The sentence that stands in the finding's note."""
    by = scene.by
    if isinstance(by, Sheet):
        wide, high = map(figure, by.size)
        which = f"the four corners of {by.name}, {wide} × {high} mm"
        known, read = by.size_sure, by.corners_sure
    else:
        which = f"the rim of {by.name}, {figure(by.across)} mm across"
        known, read = by.across_sure, by.rim_sure
    mm, sure = told(found)
    return (
        f"{way.capitalize()} {mm} ± {sure} mm (k = {K}) by {which} known to {figure(known)} mm"
        f" ({scene.basis}), at {' '.join(map(_pair, by.marked))} read to {figure(read)} px;"
        f" from {_pair(scene.start)} to {_pair(scene.end)} read to {figure(scene.points_sure)} px,"
        f" from the upper left of the upright picture {scene.picture[:12]},"
        f" {scene.size[0]} × {scene.size[1]} px."
    )


@dataclass(frozen=True, slots=True)
class Kept:
    """A sentence found in a note: which size, what it says, and what it was reckoned from."""

    way: Way
    text: str
    mm: str
    sure: str
    scene: Scene

    @property
    def holds(self) -> bool:
        """Whether the very figures that it says come out of its points."""
        try:
            return told(self.scene.length()) == (self.mm, self.sure)
        except RefusedError:
            return False


def kept_in(note: str) -> Iterator[Kept]:
    """The sentences of this form in a note, in order."""
    for found in _SENTENCE.finditer(note):
        yield Kept(
            way=Way(found["way"].lower()),
            text=found[0],
            mm=found["mm"],
            sure=found["sure"],
            scene=_scene(found),
        )


def told(found: Length, millimetres: float = 1.0) -> tuple[str, str]:
    """A length and its uncertainty (k = 2) as printed; in a unit of so many millimetres.

    In millimetres one decimal, two where the uncertainty is below 1 mm; in inches one more.
    """
    places = (1 if K * found.sure >= 1 else 2) + (millimetres > 1)
    return f"{found.mm / millimetres:.{places}f}", f"{K * found.sure / millimetres:.{places}f}"


def figure(value: float) -> str:
    """A figure of at most four decimals, without needless zeros."""
    return f"{value:.4f}".rstrip("0").rstrip(".")


def _pair(point: Point) -> str:
    return f"({figure(point[0])}, {figure(point[1])})"


def _scene(found: re.Match[str]) -> Scene:
    marked = _points(found["at"])
    known, read = float(found["size_sure"]), float(found["at_sure"])
    by: Sheet | Coin
    if found["sheet"] is not None:
        size = (float(found["wide"]), float(found["high"]))
        by = Sheet(found["sheet"], size, known, four(marked), read, sides_known=True)
    else:
        by = Coin(found["coin"], float(found["across"]), known, marked, read)
    (start,), (end,) = _points(found["start"]), _points(found["end"])
    return Scene(
        picture=found["picture"],
        size=(int(found["px_wide"]), int(found["px_high"])),
        start=start,
        end=end,
        points_sure=float(found["points_sure"]),
        by=by,
        basis=found["basis"],
    )


def _points(text: str) -> tuple[Point, ...]:
    pairs = re.findall(rf"\(({_NUMBER}), ({_NUMBER})\)", text, re.ASCII)
    return tuple((float(x), float(y)) for x, y in pairs)


def four(points: tuple[Point, ...]) -> Corners:
    """Four points as the corners of a card.

    Raises:
        RefusedError: they are more or fewer.
    """
    if len(points) != 4:
        raise RefusedError("the four corners", f"are {len(points)} points", "Give four.")
    return points[0], points[1], points[2], points[3]

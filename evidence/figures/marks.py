"""The signs: how a place was found, and who says so. Drawn, never typed.

Each function gives the items of one sign about a centre (x, y), sizes in points.
"""

from collections.abc import Iterable
from functools import partial
from typing import Literal

from evidence.figures.key import Sign, key_lines
from evidence.figures.scene import (
    Circle,
    Close,
    CurveTo,
    Item,
    Line,
    LineTo,
    MoveTo,
    Path,
    Polygon,
    Rect,
    Scene,
    Step,
    Stroke,
    Text,
)
from evidence.figures.style import COPPER, INK, MUTED, PAPER, SMALL, text_width
from evidence.words import Grade

DeedKind = Literal["wash", "treatment", "reseal", "repair", "cover", "other"]

OWNER_ONLY = "owner\N{RIGHT SINGLE QUOTATION MARK}s clock only"
WITNESSED = "witnessed before"
OUTSIDER = "outsider\N{RIGHT SINGLE QUOTATION MARK}s answer"
INCIDENT = "incident"
_URGENT = "leaking, structural or unsafe"

BEAD_SHAPE = 0.25
"""Height of a bead over its length. The shares below are of the length, too."""
_NICK_WIDTH = 0.20
_NICK_DEPTH = 0.155
_GAP = 0.20
_SLANT = 0.10
_ROUND = 0.5523
"""Control points of a quarter circle drawn as one Bézier curve, over its radius."""


def bead_mark(grade: int, x: float, y: float, length: float = 30.0) -> tuple[Item, ...]:
    """The grade sign: a bead of sealant seen from above (grades of TRADE § 4).

    0 whole, 1 one nick, 2 two nicks, 3 broken through, 4 broken and dripping.
    """
    match Grade(grade):
        case Grade.SOUND:
            return (_bead(x, y, length, ()),)
        case Grade.WATCH:
            return (_bead(x, y, length, (0.06,)),)
        case Grade.MAINTAIN:
            return (_bead(x, y, length, (-0.15, 0.15)),)
        case Grade.OPEN_PATH:
            return _broken_bead(x, y, length)
        case Grade.URGENT:
            return (*_broken_bead(x, y, length), _drop(x, y, length))


def grade_words(grade: int) -> str:
    """The sign's word with its figure: "3 open path"."""
    return f"{int(grade)} {Grade(grade).word}"


def who_mark(x: float, y: float, radius: float = 3.2, *, witnessed: bool) -> tuple[Item, ...]:
    """A hollow ring for the owner's clock only; filled if an outsider witnessed it before."""
    return (Circle(x, y, radius, INK if witnessed else PAPER, _ring(radius)),)


def who_span(
    first: float, last: float, y: float, radius: float = 3.2, *, witnessed: bool
) -> tuple[Item, ...]:
    """The same ring drawn out from `first` to `last`: it happened somewhere in between."""
    size = (first - radius, y - radius, last - first + 2 * radius, 2 * radius)
    return (Rect(*size, INK if witnessed else PAPER, _ring(radius), radius),)


def outsider_mark(x: float, y: float, side: float = 5.0) -> tuple[Item, ...]:
    """A small filled square: an outsider's answer. Its line is the strip's business."""
    return (Rect(x - side / 2, y - side / 2, side, side, INK),)


def incident_mark(x: float, y: float, size: float = 9.0) -> tuple[Item, ...]:
    """A copper triangle standing on its base."""
    half = size / 2
    return (
        Polygon(((x, y - half), (x + half * 1.1, y + half), (x - half * 1.1, y + half)), COPPER),
    )


def deed_mark(kind: DeedKind, x: float, y: float, size: float = 6.4) -> tuple[Item, ...]:
    """What was done: a square; crossed for a repair, a roof for a cover, a bead for a reseal."""
    half = size / 2
    square = Rect(x - half, y - half, size, size, PAPER, Stroke(INK, 1.1))
    match kind:
        case "reseal":
            return bead_mark(Grade.SOUND, x, y, size * 2.2)
        case "repair":
            thin = Stroke(INK, 0.8)
            return (
                square,
                Line(x - half, y - half, x + half, y + half, thin),
                Line(x - half, y + half, x + half, y - half, thin),
            )
        case "cover":
            roof = ((x - half * 1.3, y + half), (x, y - half), (x + half * 1.3, y + half))
            return (Polygon(roof, PAPER, Stroke(INK, 1.1)),)
        case "wash" | "treatment" | "other":
            return (square,)


def who_signs() -> tuple[Sign, ...]:
    """The entries of a key that say on whose word a date rests."""
    return (
        Sign(8.0, partial(who_mark, witnessed=False), OWNER_ONLY),
        Sign(8.0, partial(who_mark, witnessed=True), WITNESSED),
        Sign(5.0, outsider_mark, OUTSIDER),
    )


def grade_signs(grades: Iterable[int], length: float = 18.0) -> tuple[Sign, ...]:
    """The entries of a key that name the grades given."""
    return tuple(
        Sign(length, partial(bead_mark, grade, length=length), _in_key(grade)) for grade in grades
    )


def _in_key(grade: int) -> str:
    return grade_words(grade) + (f": {_URGENT}" if grade == Grade.URGENT else "")


def legend(width: float = 330.0, *, flowing: bool = False) -> Scene:
    """The marks with their words.

    Args:
        width: in points. The five grades share it in equal columns, the words under the signs;
            where that is too narrow they follow each other like the rest.
        flowing: let them follow each other in any case; that takes fewer lines.
    """
    step = width / len(Grade)
    widest = max(text_width(grade_words(grade), "text", SMALL) for grade in Grade)
    incident = Sign(9.0, partial(incident_mark, size=8.0), INCIDENT)
    if flowing or widest + 8.0 > step:
        signs = (*grade_signs(Grade), *who_signs(), incident)
        items, bottom = key_lines(signs, 0.0, width)
        return Scene(width, bottom, items, "Marks", _LEGEND_ALT)
    columns: list[Item] = []
    for grade in Grade:
        columns += bead_mark(grade, grade * step + 15.0, 5.0, 30.0)
        columns.append(Text(grade * step, 24.0, grade_words(grade), colour=MUTED))
    items, bottom = key_lines((*who_signs(), incident), 31.0, width, INK)
    return Scene(width, bottom, (*columns, *items), "Marks", _LEGEND_ALT)


_LEGEND_ALT = (
    "A bead of sealant seen from above stands for the grade: whole for 0 sound, one nick for "
    "1 watch, two nicks for 2 maintain, broken through for 3 open path, broken and dripping "
    f"for 4 urgent: {_URGENT}. A hollow ring stands for: "
    f"{OWNER_ONLY}. A filled one: {WITNESSED}. A small filled square: {OUTSIDER}. "
    f"A triangle: {INCIDENT}."
)


def _ring(radius: float) -> Stroke:
    return Stroke(INK, radius * 0.36)


def _bead(x: float, y: float, length: float, nicks: tuple[float, ...]) -> Path:
    """One whole bead; a nick in its far edge at each share of its length from the centre."""
    radius = length * BEAD_SHAPE / 2
    left, right = x - length / 2 + radius, x + length / 2 - radius
    edge: list[Step] = []
    for at in nicks:
        tip, half = x + at * length, length * _NICK_WIDTH / 2
        edge += [
            LineTo(tip - half, y - radius),
            LineTo(tip, y - radius + length * _NICK_DEPTH),
            LineTo(tip + half, y - radius),
        ]
    steps = (
        MoveTo(left, y - radius),
        *edge,
        LineTo(right, y - radius),
        *_cap(right, y, radius, 1),
        LineTo(left, y + radius),
        *_cap(left, y, -radius, -1),
        Close(),
    )
    return Path(steps, fill=INK)


def _broken_bead(x: float, y: float, length: float) -> tuple[Path, Path]:
    """Two halves with a slanting break between them."""
    radius, half = length * BEAD_SHAPE / 2, length / 2
    near, far = length * (_GAP - _SLANT) / 2, length * (_GAP + _SLANT) / 2
    left = (
        MoveTo(x - near, y - radius),
        LineTo(x - far, y + radius),
        LineTo(x - half + radius, y + radius),
        *_cap(x - half + radius, y, -radius, -1),
        Close(),
    )
    right = (
        MoveTo(x + far, y - radius),
        LineTo(x + half - radius, y - radius),
        *_cap(x + half - radius, y, radius, 1),
        LineTo(x + near, y + radius),
        Close(),
    )
    return Path(left, fill=INK), Path(right, fill=INK)


def _cap(x: float, y: float, radius: float, side: int) -> tuple[Step, Step]:
    """Half a circle about (x, y): side 1 from its top to its bottom, -1 back up on the left.

    `radius` carries the sign of the direction in which the pen goes down (+) or up (-).
    """
    out, bend = side * abs(radius), _ROUND * abs(radius)
    return (
        CurveTo(x + side * bend, y - radius, x + out, y - side * bend, x + out, y),
        CurveTo(x + out, y + side * bend, x + side * bend, y + radius, x, y + radius),
    )


def _drop(x: float, y: float, length: float) -> Path:
    """A drop that hangs below the break."""
    r = length * 0.072
    x -= length * _SLANT / 2  # where the break opens at the near edge
    top, centre = y + length * 0.06, y + length * 0.26
    steps = (
        MoveTo(x, top),
        CurveTo(x + r * 0.35, top + r * 1.2, x + r, centre - r * 0.9, x + r, centre),
        CurveTo(x + r, centre + r * _ROUND, x + r * _ROUND, centre + r, x, centre + r),
        CurveTo(x - r * _ROUND, centre + r, x - r, centre + r * _ROUND, x - r, centre),
        CurveTo(x - r, centre - r * 0.9, x - r * 0.35, top + r * 1.2, x, top),
        Close(),
    )
    return Path(steps, fill=INK)

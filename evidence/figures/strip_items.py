"""What may stand on a row of a time strip, and how each is drawn about the row's middle line."""

from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Literal

from evidence.figures.axis import TimeAxis
from evidence.figures.box import Box
from evidence.figures.key import Sign
from evidence.figures.marks import DeedKind, deed_mark, who_mark, who_span
from evidence.figures.scene import Hatch, Item, Line, LineTo, MoveTo, Path, Rect, Step, Stroke, Text
from evidence.figures.style import INK, MIDDLE_GREY, MUTED, PAPER, SMALL, text_width

BAR = 6.0
"""Height of bars, in points."""
TIER = 10.5
"""Height of one line of "50 over" labels."""
_STEM = 3.0
_BETWEEN_LABELS = 4.0
_LEAST_BAR = 2.0
_HAIR = Stroke(INK, 0.9)


@dataclass(frozen=True, slots=True)
class Look:
    """A look at the roof, on a day or at some time between two days.

    Attributes:
        when: the day, or the first and the last day it may have been.
        witnessed: an outsider vouches that the entry existed before what the strip is about.
        late: it was entered late.
    """

    when: date | tuple[date, date]
    witnessed: bool = False
    late: bool = False

    @property
    def days(self) -> tuple[date, date]:
        """The first and the last day; the same day twice where it is known."""
        return self.when if isinstance(self.when, tuple) else (self.when, self.when)


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch of days; without `last` it has not ended yet."""

    first: date
    last: date | None
    kind: Literal["trip", "storage"]


@dataclass(frozen=True, slots=True)
class Deed:
    """Something done on a day."""

    day: date
    kind: DeedKind


@dataclass(frozen=True, slots=True)
class Gap:
    """The time between two looks; what lies beyond the rule begins at `over_from`.

    Attributes:
        over_days: as counted elsewhere and printed as given, [min, max] where it is a pair.
    """

    first: date
    last: date
    over_from: date | None = None
    over_days: int | tuple[int, int] = 0

    @property
    def over_text(self) -> str:
        """`50 over`, or with a dash `48 to 50 over`; empty where nothing lies beyond the rule."""
        if self.over_from is None:
            return ""
        least, most = self.over_days if isinstance(self.over_days, tuple) else (self.over_days,) * 2
        return f"{most} over" if least == most else f"{least}\N{EN DASH}{most} over"


StripItem = Look | Bar | Deed | Gap


def mark_radius(axis: TimeAxis, looks: int) -> float:
    """Smaller where many looks share the row, never so small that a ring closes up."""
    return min(3.2, max(1.7, (axis.x1 - axis.x0) / max(looks, 1) * 0.3))


def is_on(axis: TimeAxis, item: StripItem) -> bool:
    """True where some part of the item lies on the axis."""
    match item:
        case Look():
            first, last = item.days
        case Bar():
            first, last = item.first, item.last or axis.end
        case Deed():
            first = last = item.day
        case Gap():
            first, last = item.first, item.last
    return first <= axis.end and last >= axis.start


def draw_item(axis: TimeAxis, item: StripItem, middle: float, radius: float) -> tuple[Item, ...]:
    """The item about the row's middle line, cut at the ends of the axis."""
    match item:
        case Look():
            return _look(axis, item, middle, radius)
        case Bar():
            left, right = axis.inside(item.first), axis.inside(item.last or axis.end)
            return _bar(left, right, middle, item.kind, closed=item.last is not None)
        case Deed():
            return deed_mark(item.kind, axis.at(item.day), middle, min(6.4, radius * 2))
        case Gap():
            line = Line(axis.inside(item.first), middle, axis.inside(item.last), middle, _HAIR)
            if item.over_from is None:
                return (line,)
            return line, *over_bar(*_over_ends(axis, item), middle)


def over_labels(axis: TimeAxis, items: tuple[StripItem, ...], edge: float) -> list[list[Text]]:
    """The "50 over" labels in tiers, lowest first, so that none meets another.

    The texts stand at y 0; `edge` is the right edge that none may pass.
    """
    tiers: list[list[Text]] = []
    ends: list[float] = []
    overs = [item for item in items if isinstance(item, Gap) and item.over_from is not None]
    for gap in sorted(overs, key=lambda gap: _over_ends(axis, gap)):
        if not is_on(axis, gap):
            continue
        width = text_width(gap.over_text, "text", SMALL)
        left, right = _over_ends(axis, gap)
        x = max(axis.x0, min((left + right - width) / 2, edge - width))
        tier = next((n for n, end in enumerate(ends) if end + _BETWEEN_LABELS <= x), len(ends))
        if tier == len(ends):
            ends.append(0.0)
            tiers.append([])
        ends[tier] = x + width
        tiers[tier].append(Text(x, 0.0, gap.over_text))
    return tiers


def over_bar(left: float, right: float, middle: float) -> tuple[Item, ...]:
    """Days beyond the rule: a hatched bar."""
    box = Box(left, middle - BAR / 2, right, middle + BAR / 2)
    return (
        Rect(box.x0, box.y0, box.width, box.height, PAPER),
        Hatch(box.corners, Stroke(INK, 0.75), 2.6, -55.0),
        Rect(box.x0, box.y0, box.width, box.height, None, Stroke(INK, 0.7)),
    )


def item_signs(items: tuple[StripItem, ...]) -> tuple[Sign, ...]:
    """Key entries for what the row labels do not explain, only for what is there."""
    looks = [item for item in items if isinstance(item, Look)]
    kinds = {item.kind for item in items if isinstance(item, Bar)}
    signs: list[Sign] = []
    if any(first != last for first, last in (look.days for look in looks)):
        signs.append(Sign(17.0, _span_sign, "some day in between"))
    if any(look.late for look in looks):
        signs.append(Sign(8.0, _late_sign, "entered late"))
    if any(isinstance(item, Gap) and item.over_from is not None for item in items):
        signs.append(Sign(16.0, _over_sign, "days beyond the rule"))
    if len(kinds) > 1:
        signs += [
            Sign(14.0, partial(_bar_sign, kind=kind), kind)
            for kind in ("trip", "storage")
            if kind in kinds
        ]
    return tuple(signs)


def _look(axis: TimeAxis, look: Look, middle: float, radius: float) -> tuple[Item, ...]:
    first, last = (axis.inside(day) for day in look.days)
    stem = Line((first + last) / 2, middle, (first + last) / 2, middle + radius + _STEM, _HAIR)
    ring = (
        who_mark(first, middle, radius, witnessed=look.witnessed)
        if last - first < 1.0
        else who_span(first, last, middle, radius, witnessed=look.witnessed)
    )
    return (stem, *ring) if look.late else ring


def _bar(left: float, right: float, middle: float, kind: str, *, closed: bool) -> tuple[Item, ...]:
    right = max(right, left + _LEAST_BAR)
    top, bottom = middle - BAR / 2, middle + BAR / 2
    fill = MIDDLE_GREY if kind == "trip" else PAPER
    items: list[Item] = [Rect(left, top, right - left, BAR, fill)]
    if kind == "storage":
        edge: list[Step] = [
            MoveTo(right, top),
            LineTo(left, top),
            LineTo(left, bottom),
            LineTo(right, bottom),
        ]
        if closed:
            edge.append(LineTo(right, top))
        items.append(Path(tuple(edge), stroke=Stroke(MUTED, 0.8)))
    return tuple(items)


def _over_ends(axis: TimeAxis, gap: Gap) -> tuple[float, float]:
    left = axis.inside(gap.over_from or gap.last)
    right = max(axis.inside(gap.last), left + _LEAST_BAR)
    return left, right


def _span_sign(x: float, y: float) -> tuple[Item, ...]:
    return who_span(x - 5.0, x + 5.0, y, witnessed=False)


def _late_sign(x: float, y: float) -> tuple[Item, ...]:
    return Line(x, y, x, y + 3.2 + _STEM, _HAIR), *who_mark(x, y, witnessed=False)


def _over_sign(x: float, y: float) -> tuple[Item, ...]:
    return over_bar(x - 8.0, x + 8.0, y)


def _bar_sign(x: float, y: float, kind: str) -> tuple[Item, ...]:
    return _bar(x - 7.0, x + 7.0, y, kind, closed=True)

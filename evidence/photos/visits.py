"""Pictures grouped into visits by their camera, their time and the cards in them. Pure.

Three steps, each of which others use too: what one camera took without a long pause is a *go*; goes
of any camera that lie close together are an *occasion*; and a go is cut where a card says that
another zone follows, which makes *visits*.
"""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from typing import NamedTuple

GAP = timedelta(hours=3)
"""A longer pause makes a new visit; common practice, no source."""


@dataclass(frozen=True, slots=True)
class VisitItem:
    """A picture as its grouping sees it.

    Attributes:
        sha256: the original's sum.
        earliest: of its relied-on capture interval, UTC; None with `latest` where there is none.
        latest: the other end.
        camera_name: the camera's model.
        zone: the zone that a card seen in the picture names.
        at: the moment (UTC) to order by, where the interval is wide: as if the camera's clock stood
            at home time. Else `earliest`. It orders and is never shown.
        card: the case (its id) of the card seen in the picture; None where none is seen.
        name: the name that the file came with: of two pictures of one second it is the number.
        loose: its clock may be read in two ways, and its place in the roll is not sure.
    """

    sha256: str
    earliest: datetime | None
    latest: datetime | None
    camera_name: str | None
    zone: str | None = None
    at: datetime | None = None
    card: str | None = None
    name: str = ""
    loose: bool = False

    @property
    def moment(self) -> datetime | None:
        """When it was taken, to order by; None where nothing is relied on."""
        if self.earliest is None or self.latest is None:
            return None
        return self.earliest if self.at is None else self.at

    @property
    def carded(self) -> bool:
        """Whether a card is seen in it."""
        return self.card is not None or self.zone is not None


@dataclass(frozen=True, slots=True)
class Visit:
    """Pictures of one camera taken in one go; without ends where their time is unknown."""

    earliest: datetime | None
    latest: datetime | None
    files: tuple[str, ...]
    camera: str | None
    zone: str | None


class Taken(NamedTuple):
    """A picture behind the moment that it is ordered by."""

    moment: datetime
    item: VisitItem


Go = Sequence[Taken]
"""What one camera took without a long pause, in order of time."""


def group(
    items: Sequence[VisitItem], gap: timedelta = GAP, of: Collection[str] | None = None
) -> list[Visit]:
    """Visits in order of time, their files in order of time; "time unknown" comes last.

    Each camera has visits of its own, since each clock errs in its own way. A card with a zone
    gives the zone of the pictures that follow it until the next card, and starts a visit where that
    is another zone. What lies ahead of the first card is in no zone.

    Args:
        items: the pictures.
        gap: a longer pause makes a new visit.
        of: the sums of the files to tell of, where the others only show what belongs together.
    """
    found = [
        ([item for _, item in part], zone) for go in goes(items, gap) for part, zone in parts(go)
    ]
    rest = undated(items)
    found.append((rest, _shared(item.zone for item in rest)))
    told = [
        ([item for item in part if of is None or item.sha256 in of], zone) for part, zone in found
    ]
    return [_visit(part, zone) for part, zone in told if part]


def goes(items: Iterable[VisitItem], gap: timedelta = GAP) -> list[Go]:
    """The dated pictures by camera, cut where the pause is long; in order of time.

    The pause is counted between the moments to order by: all of one camera share one clock and one
    unknown offset.
    """
    dated = [Taken(moment, item) for item in items if (moment := item.moment) is not None]
    found: list[Go] = []
    for _, of_one in groupby(sorted(dated, key=_by_camera), key=lambda one: _by_camera(one)[0]):
        found += _cut(of_one, gap)
    return sorted(found, key=lambda go: (go[0].moment, *_by_camera(go[0])))


def undated(items: Iterable[VisitItem]) -> list[VisitItem]:
    """The pictures on whose time nothing is relied, by name: what follows what is not known."""
    rest = [item for item in items if item.moment is None]
    return sorted(rest, key=lambda item: (item.name, item.sha256))


def occasions(items: Iterable[VisitItem], gap: timedelta = GAP) -> list[list[Go]]:
    """The goes of all cameras that lie within a pause of each other: one look at a roof."""
    found: list[list[Go]] = []
    until: datetime | None = None
    for go in goes(items, gap):
        if until is None or go[0].moment - until > gap:
            found.append([])
            until = go[-1].moment
        found[-1].append(go)
        until = max(until, go[-1].moment)
    return found


def parts(go: Go) -> list[tuple[Go, str | None]]:
    """A go cut where a card says that another zone follows, each part with its zone."""
    found: list[tuple[list[Taken], str | None]] = []
    zone: str | None = None
    for taken in go:
        if taken.item.carded:
            zone = taken.item.zone
        if not found or found[-1][1] != zone:
            found.append(([], zone))
        found[-1][0].append(taken)
    return [(part, of) for part, of in found]


def _by_camera(taken: Taken) -> tuple[str, datetime, str, str]:
    item = taken.item
    return item.camera_name or "", taken.moment, item.name, item.sha256


def _cut(ordered: Iterable[Taken], gap: timedelta) -> list[Go]:
    found: list[list[Taken]] = []
    for taken in ordered:
        if not found or taken.moment - found[-1][-1].moment > gap:
            found.append([])
        found[-1].append(taken)
    return [*found]


def _visit(items: Sequence[VisitItem], zone: str | None) -> Visit:
    """The hull of the pictures; the camera where they all name the same or say nothing."""
    return Visit(
        min((item.earliest for item in items if item.earliest is not None), default=None),
        max((item.latest for item in items if item.latest is not None), default=None),
        tuple(item.sha256 for item in items),
        _shared(item.camera_name for item in items),
        zone,
    )


def _shared(names: Iterable[str | None]) -> str | None:
    given = {name for name in names if name is not None}
    return given.pop() if len(given) == 1 else None

"""Pictures grouped into visits by their camera, their time and the zone on a card."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby

GAP = timedelta(hours=3)
"""A longer pause makes a new visit; common practice, no source."""


@dataclass(frozen=True, slots=True)
class VisitItem:
    """A picture: its relied-on capture interval (UTC; None twice where there is none).

    `zone` is the one that a card seen in the picture names.
    """

    sha256: str
    earliest: datetime | None
    latest: datetime | None
    camera_name: str | None
    zone: str | None


@dataclass(frozen=True, slots=True)
class Visit:
    """Pictures of one camera taken in one go; without ends where their time is unknown."""

    earliest: datetime | None
    latest: datetime | None
    files: tuple[str, ...]
    camera: str | None
    zone: str | None


_Dated = tuple[datetime, VisitItem]
"""A picture behind its earliest end."""


def group(items: Sequence[VisitItem], gap: timedelta = GAP) -> list[Visit]:
    """Visits in order of time, their files in order of time; "time unknown" comes last.

    Each camera has visits of its own, since each clock errs in its own way. A card for another
    zone starts a new visit; pictures without a card go with the card before them, or, at the start
    of a visit, with the first one after them.
    """
    dated = [
        (item.earliest, item)
        for item in items
        if item.earliest is not None and item.latest is not None
    ]
    runs = [run for of_one in _by_camera(dated) for run in _runs(of_one, gap)]
    runs.sort(key=lambda run: (run[0][0], run[0][1].camera_name or "", run[0][1].sha256))
    unknown = [item for item in items if item.earliest is None or item.latest is None]
    visits = [_visit([item for _, item in run]) for run in runs]
    return [*visits, *([_visit(unknown)] if unknown else [])]


def _by_camera(dated: Iterable[_Dated]) -> list[list[_Dated]]:
    def name(pair: _Dated) -> str:
        return pair[1].camera_name or ""

    ordered = sorted(dated, key=lambda pair: (name(pair), pair[0], pair[1].sha256))
    return [list(of_one) for _, of_one in groupby(ordered, key=name)]


def _runs(dated: Sequence[_Dated], gap: timedelta) -> list[list[_Dated]]:
    """Cut one camera's pictures where the pause is long or a card names another zone.

    The pause is counted between earliest ends: the two share one clock and one unknown offset.
    """
    runs: list[list[_Dated]] = []
    zone: str | None = None
    for start, item in dated:
        paused = not runs or start - runs[-1][-1][0] > gap
        if paused or (item.zone and zone and item.zone != zone):
            runs.append([])
            zone = None
        runs[-1].append((start, item))
        zone = item.zone or zone
    return runs


def _visit(items: Sequence[VisitItem]) -> Visit:
    """The hull of the pictures; camera and zone where they all name the same or say nothing."""
    starts = [item.earliest for item in items if item.earliest is not None]
    stops = [item.latest for item in items if item.latest is not None]
    return Visit(
        min(starts, default=None),
        max(stops, default=None),
        tuple(item.sha256 for item in items),
        _shared(item.camera_name for item in items),
        _shared(item.zone for item in items),
    )


def _shared(names: Iterable[str | None]) -> str | None:
    given = {name for name in names if name is not None}
    return given.pop() if len(given) == 1 else None

"""Questions that pictures raise by their tags, names, sums and entries. Pure.

Each is a question to a person, never proof, and no figure changes by it: every one of them also
comes up for honest pictures, and its wording says when. What is asked of the pixels stands in
`seen`, what is asked of a whole roll in `diary`.
"""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from enum import StrEnum
from functools import cached_property

from evidence.photos import told
from evidence.photos.clock import Capture
from evidence.shapes import Camera


class Signal(StrEnum):
    """What is asked; those from NIGHT on are asked of the pixels."""

    CLOCK_GPS = "clock-gps"
    ZONES_DISAGREE = "zones-disagree"
    CARD_CLOCK = "card-clock"
    CLOCK_BACKWARD = "clock-backward"
    CLOCK_DRIFT = "clock-drift"
    FRAMES_MISSING = "frames-missing"
    USED_TWICE = "used-twice"
    EDITOR = "editor"
    CHANGED_LATER = "changed-later"
    NIGHT = "night"
    ALIKE = "alike"
    THUMBNAIL = "thumbnail"
    BLURRED = "blurred"
    DARK = "dark"
    BRIGHT = "bright"


FROM_PIXELS = frozenset(
    {Signal.NIGHT, Signal.ALIKE, Signal.THUMBNAIL, Signal.BLURRED, Signal.DARK, Signal.BRIGHT}
)
"""Asked by whoever holds the originals; not to be asked again from the record alone."""


@dataclass(frozen=True, slots=True)
class Question:
    """A question about one picture of one entry, with the figures of its sentence by name."""

    signal: Signal
    sha256: str
    seq: int
    about: Mapping[str, str | int] = field(default_factory=dict)


@dataclass(frozen=True)  # without slots: what is asked for often is worked out once
class Shot:
    """A picture as the questions see it.

    Attributes:
        sha256: the original's sum.
        seq: the entry that it is sealed in.
        number: that entry's number as people are shown it.
        name: the name that the file came with; empty where that is not text.
        camera: its tags.
        capture: what its clock supports.
        dates: the first and last day of its entry; None where it states none, or only seals files.
        copied: it came by messenger, under a name of the messenger's.
        card: when the outsider answered whose answer a card in the picture shows.
        original: the sum of the file that it is a copy of, by a label; empty where it is none.
    """

    sha256: str
    seq: int
    number: int
    name: str
    camera: Camera | None
    capture: Capture
    dates: tuple[date, date] | None = None
    copied: bool = False
    card: datetime | None = None
    original: str = ""

    @cached_property
    def local(self) -> datetime | None:
        """The camera's own time of the capture."""
        written = self.camera and told.text(self.camera.DateTimeOriginal)
        return told.local_time(written) if written else None

    @cached_property
    def satellite_error(self) -> timedelta | None:
        """Clock minus satellites: by the camera's offset, else by the nearest of 15 minutes.

        None where either is missing; never folded by a day.
        """
        if self.camera is None or self.local is None:
            return None
        gps, offset = told.satellite_time(self.camera), told.offset_of(self.camera)
        if gps is None:
            return None
        if offset is not None:
            return self.local - offset - gps
        offset = round((self.local - gps) / _STEP) * _STEP
        within = min(max(offset, told.WEST), told.EAST)
        return self.local - within - gps

    def ask(self, signal: Signal, **about: str | int) -> Question:
        """The question about this picture."""
        return Question(signal, self.sha256, self.seq, about)


_STEP = timedelta(minutes=15)
AGREE = timedelta(minutes=3)
"""Of 39 pictures with satellite time 25 agreed so far; 14 did not, and were honest."""

_WRITTEN = timedelta(minutes=1)


def asked_of_tags(shots: Sequence[Shot], editors: Collection[str]) -> Iterator[Question]:
    """What single pictures raise, and one file in several entries.

    Args:
        shots: the pictures, in the order of their entries.
        editors: words by which programs that change pictures name themselves, in lower case.
    """
    for shot in shots:
        yield from _of_clock(shot)
        yield from _of_file(shot, editors)
    yield from _used_twice(shots)


def _of_clock(shot: Shot) -> Iterator[Question]:
    span, error = shot.capture.span, shot.satellite_error
    if shot.capture.contradiction is not None:
        yield shot.ask(Signal.ZONES_DISAGREE, said=shot.capture.contradiction)
    elif error is not None and abs(error) > AGREE and shot.camera is not None:
        yield shot.ask(
            Signal.CLOCK_GPS,
            local=str(shot.local),
            satellites=str(told.satellite_time(shot.camera)),
        )
    if shot.card is not None and span is not None and span.latest < shot.card:
        yield shot.ask(Signal.CARD_CLOCK)


def _of_file(shot: Shot, editors: Collection[str]) -> Iterator[Question]:
    if shot.camera is None:
        return
    software = told.text(shot.camera.Software) or ""
    if any(word in software.casefold() for word in editors):
        yield shot.ask(Signal.EDITOR, software=software)
    changed = told.local_time((told.text(shot.camera.DateTime) or "")[:19])
    if changed and shot.local and abs(changed - shot.local) > _WRITTEN:
        yield shot.ask(Signal.CHANGED_LATER, taken=str(shot.local), changed=str(changed))


def _used_twice(shots: Sequence[Shot]) -> Iterator[Question]:
    """One file in entries of different days: each says that it shows its own day."""
    of_file: dict[str, list[Shot]] = defaultdict(list)
    for shot in shots:
        if shot.dates is not None:
            of_file[shot.sha256].append(shot)
    for uses in of_file.values():
        first = uses[0]
        for later in uses[1:]:
            if days_differ(first, later):
                yield later.ask(Signal.USED_TWICE, other=first.number)


def days_differ(one: Shot, other: Shot) -> bool:
    """Whether the days of the two entries have none in common."""
    if one.dates is None or other.dates is None:
        return False
    return one.dates[1] < other.dates[0] or other.dates[1] < one.dates[0]

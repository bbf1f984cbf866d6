"""Each camera's diary: the numbers and the clock of its roll, picture by picture. Pure."""

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from evidence.photos.signals import AGREE, Question, Shot, Signal
from evidence.shapes import Camera, Raw

_FRAME = re.compile(r"(?P<roll>.*\D)?(?P<number>\d{3,5})\.[A-Za-z0-9]+", re.ASCII)
"""The name that a camera gives a picture: a few letters and its number in the roll.

DCF (JEITA CP-3461) has four letters and four digits; makers and telephones differ a little.
"""

_NEAR = 100
"""Numbers further apart say nothing about their order: rolls start again."""

_SET_BACK = timedelta(hours=3)
"""A clock without a zone may be set back so far within the same country."""

_DRIFT = timedelta(minutes=2)


@dataclass(frozen=True, slots=True)
class Roll:
    """One camera's numbering: the letters and digits of its names, and who made them."""

    letters: str
    digits: int
    camera: tuple[Raw | None, ...]

    def runs(self, numbers: Sequence[int]) -> Iterator[str]:
        """`LF_0532`, `LF_0537 to LF_0538`: numbers that follow each other as one run."""
        first = last = numbers[0]
        for number in [*numbers[1:], None]:
            if number == last + 1:
                last = number
                continue
            ends = [f"{self.letters}{end:0{self.digits}}" for end in dict.fromkeys((first, last))]
            yield " to ".join(ends)
            if number is not None:
                first = last = number


def frame_of(name: str, camera: Camera | None) -> tuple[Roll, int] | None:
    """The roll and the number of a picture by its name; None where it has none, or no camera."""
    found = _FRAME.fullmatch(name)
    if found is None or camera is None:
        return None
    made_by = (camera.Make, camera.Model, camera.BodySerialNumber)
    return Roll(found["roll"] or "", len(found["number"]), made_by), int(found["number"])


def asked_of_diary(shots: Iterable[Shot]) -> Iterator[Question]:
    """What each roll raises: numbers missing in a day, a clock that runs backward, or drifts."""
    rolls: dict[Roll, dict[int, Shot]] = defaultdict(dict)
    cameras: dict[tuple[Raw | None, ...], dict[str, Shot]] = defaultdict(dict)
    for shot in shots:
        frame = None if shot.copied else frame_of(shot.name, shot.camera)
        if frame is not None:
            rolls[frame[0]].setdefault(frame[1], shot)
            cameras[frame[0].camera].setdefault(shot.sha256, shot)
    for roll, frames in rolls.items():
        yield from _missing(roll, frames)
        yield from _backward(frames)
    for taken in cameras.values():
        yield from _drift(list(taken.values()))


def _missing(roll: Roll, frames: Mapping[int, Shot]) -> Iterator[Question]:
    """Numbers that nothing in the record has, between two pictures of one day."""
    days: dict[date, list[int]] = defaultdict(list)
    for number, shot in frames.items():
        if shot.local is not None:
            days[shot.local.date()].append(number)
    for numbers in days.values():
        ordered = sorted(numbers)
        for before, after in pairwise(ordered):
            gone = [number for number in range(before + 1, after) if number not in frames]
            if gone:
                yield frames[after].ask(Signal.FRAMES_MISSING, frames=", ".join(roll.runs(gone)))


def _backward(frames: Mapping[int, Shot]) -> Iterator[Question]:
    ordered = sorted(frames)
    for before, after in pairwise(ordered):
        first, second = frames[before], frames[after]
        if after - before <= _NEAR and _earlier(second, first):
            yield second.ask(Signal.CLOCK_BACKWARD, other=first.name)


def _earlier(one: Shot, other: Shot) -> bool:
    """Whether `one` was taken before `other` for certain, by the camera that took both."""
    mine, theirs = one.capture.span, other.capture.span
    if mine is not None and theirs is not None and theirs.earliest is not None:
        if mine.latest < theirs.earliest:
            return True
        if (mine.earliest, theirs.earliest) == (mine.latest, theirs.latest):
            return False
    if one.local is None or other.local is None:
        return False
    return one.local + _SET_BACK < other.local


def _drift(shots: Sequence[Shot]) -> Iterator[Question]:
    """How the clock's error against satellites moves: a slow clock moves, a stale fix jumps."""
    known = [
        (shot, error)
        for shot in shots
        if (error := shot.satellite_error) is not None and abs(error) <= AGREE
    ]
    ordered = sorted(known, key=lambda pair: pair[1])
    if not ordered or ordered[-1][1] - ordered[0][1] <= _DRIFT:
        return
    (first, _), (last, _) = ends = ordered[0], ordered[-1]
    later, other = (last, first) if _after(last, first) else (first, last)
    seconds = int((ends[1][1] - ends[0][1]).total_seconds())
    yield later.ask(Signal.CLOCK_DRIFT, other=other.name, seconds=seconds)


def _after(one: Shot, other: Shot) -> bool:
    return one.local is not None and other.local is not None and one.local > other.local

"""What the pictures leave open: clocks, copies, numbers that are missing in a camera's roll."""

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from evidence.entries import Label
from evidence.shapes import Raw
from evidence.upkeep.contest.contested import Contested, Shot, answer
from evidence.upkeep.contest.kinds import Challenge, Grave, How, Kind, Step, point
from evidence.upkeep.items import Item, Picture
from evidence.words import Via

_FRAME = re.compile(r"(?P<roll>.*\D)?(?P<number>\d{3,5})\.[A-Za-z0-9]+", re.ASCII)
"""The name that a camera gives a picture: a few letters and its number in the roll.

DCF (JEITA CP-3461) has four letters and four digits; makers and telephones differ a little.
"""


@dataclass(frozen=True, slots=True)
class _Roll:
    """One camera's numbering: the letters and digits of its names, and who made them."""

    letters: str
    digits: int
    camera: tuple[Raw | None, ...]


def pictured(case: Contested) -> Iterator[Challenge]:
    """What an opposing reader will ask about the pictures."""
    shots = [(i, picture) for i, picture in case.history.pictures() if picture.of_roof]
    yield from _copies(case, shots)
    yield from _clocks(shots)
    yield from _frames(case, shots)


def name_of(picture: Picture) -> str:
    """The name that the file came with; empty where that is not text."""
    return picture.file.name if isinstance(picture.file.name, str) else ""


def _copies(case: Contested, shots: Sequence[Shot]) -> Iterator[Challenge]:
    """Pictures that came by messenger, without an original linked to them since."""
    originals = {body.original_of for _, body in case.history.of(Label)}
    copies = [
        (item, picture)
        for item, picture in shots
        if picture.file.via is Via.MESSENGER and picture.file.sha256 not in originals
    ]
    if copies:
        yield point(
            Kind.COPY_ONLY,
            Grave.WEIGHT if any(i.seq in case.naming for i, _ in copies) else Grave.QUESTION,
            *(item.seq for item, _ in copies),
            today=(Step.ASK_ORIGINAL,),
            names=tuple(name_of(picture) for _, picture in copies),
        )


def _clocks(shots: Sequence[Shot]) -> Iterator[Challenge]:
    """Pictures whose camera wrote a time that cannot be relied on."""
    distrusted = [
        (item, picture)
        for item, picture in shots
        if picture.file.camera is not None
        and picture.file.camera.DateTimeOriginal is not None
        and not picture.capture.relied_on
    ]
    if distrusted:
        relied = {i.seq for i, picture in shots if picture.capture.relied_on}
        seqs = [item.seq for item, _ in distrusted]
        yield point(
            Kind.CLOCK_NOT_RELIED_ON,
            Grave.QUESTION,
            *seqs,
            answers=(answer(How.CAMERA, [seq for seq in seqs if seq in relied]),),
            today=(Step.TEST_CLOCK, Step.ASK_ORIGINAL),
            names=tuple(name_of(picture) for _, picture in distrusted),
        )


# The roll


def _frames(case: Contested, shots: Sequence[Shot]) -> Iterator[Challenge]:
    """Numbers missing between pictures that one camera took on one day, around this incident.

    A false alarm is common: cameras count pictures of other things and deleted ones too, and start
    again at 1. It is a question, and the sentence says so.
    """
    there: dict[_Roll, set[int]] = defaultdict(set)
    days: dict[tuple[_Roll, date], dict[int, Item]] = defaultdict(dict)
    looks = {look.seq for zone in case.facts.zones for look in (zone.before, zone.after) if look}
    for item, picture in shots:
        found = None if picture.file.via is Via.MESSENGER else _FRAME.fullmatch(name_of(picture))
        camera = picture.file.camera
        if found is None or camera is None:
            continue
        made_by = (camera.Make, camera.Model, camera.BodySerialNumber)
        roll = _Roll(found["roll"] or "", len(found["number"]), made_by)
        there[roll].add(int(found["number"]))
        about = item.seq in case.naming or case.facts.id in (picture.file.incidents or ())
        if about or item.seq in looks:
            days[roll, _day(item, picture)][int(found["number"])] = item
    missing: dict[_Roll, set[int]] = defaultdict(set)
    beside: dict[_Roll, set[int]] = defaultdict(set)
    for (roll, _), taken in days.items():
        gone = set(range(min(taken), max(taken))) - there[roll]
        if gone:
            missing[roll] |= gone
            beside[roll] |= {item.seq for item in taken.values()}
    for roll, gone in missing.items():
        yield point(
            Kind.MISSING_FRAMES,
            Grave.QUESTION,
            *sorted(beside[roll]),
            today=(Step.SEAL_FRAMES,),
            frames=tuple(_runs(roll, sorted(gone))),
        )


def _day(item: Item, picture: Picture) -> date:
    """The day of the picture by its camera, else of its entry."""
    span = picture.capture.span or item.span
    moment = item.entry.logged if span is None else span.latest
    return moment.astimezone(item.home).date()


def _runs(roll: _Roll, numbers: Sequence[int]) -> Iterator[str]:
    """`LF_0532`, `LF_0537 to LF_0538`: numbers that follow each other as one run."""
    first = last = numbers[0]
    for number in [*numbers[1:], None]:
        if number == last + 1:
            last = number
            continue
        ends = [f"{roll.letters}{end:0{roll.digits}}" for end in dict.fromkeys((first, last))]
        yield " to ".join(ends)
        if number is not None:
            first = last = number

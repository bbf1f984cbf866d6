"""What the pictures leave open: clocks, copies, numbers that are missing in a camera's roll."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date

from evidence.photos.diary import Roll, frame_of
from evidence.photos.signals import Question, Signal
from evidence.upkeep.asked import asked
from evidence.upkeep.contest.contested import Contested, Shot, answer
from evidence.upkeep.contest.kinds import Challenge, Grave, How, Kind, Step, point
from evidence.upkeep.items import Item, Picture
from evidence.words import Via

_OWN = frozenset(Signal) - {Signal.FRAMES_MISSING}
"""The signals that stand as questions; missing numbers are a kind of their own."""

_STEPS = {
    Signal.USED_TWICE: Step.ASK_ORIGINAL,
    Signal.EDITOR: Step.ASK_ORIGINAL,
    Signal.CHANGED_LATER: Step.ASK_ORIGINAL,
    Signal.ALIKE: Step.KEEP_DEVICE,
    Signal.THUMBNAIL: Step.ASK_ORIGINAL,
    Signal.BLURRED: Step.LOOK_NOW,
    Signal.DARK: Step.LOOK_NOW,
    Signal.BRIGHT: Step.LOOK_NOW,
}
"""What can be done about a question; those about clocks ask for a test of the clock."""


def pictured(case: Contested) -> Iterator[Challenge]:
    """What an opposing reader will ask about the pictures."""
    shots = [(i, picture) for i, picture in case.history.pictures() if picture.of_roof]
    yield from _copies(case, shots)
    yield from _clocks(shots)
    yield from _frames(case, shots)
    of_record = [one for one in asked(case.history, case.catalogue) if one.signal in _OWN]
    yield from _asked(Kind.PICTURE_QUESTION, shots, of_record, of_record)
    yield from _asked(Kind.PIXEL_QUESTION, shots, case.seen, (*of_record, *case.seen))


def name_of(picture: Picture) -> str:
    """The name that the file came with; empty where that is not text."""
    return picture.file.name if isinstance(picture.file.name, str) else ""


def _copies(case: Contested, shots: Sequence[Shot]) -> Iterator[Challenge]:
    """Pictures that came by messenger, without an original linked to them since."""
    linked = case.history.links.original_of
    copies = [
        (item, picture)
        for item, picture in shots
        if picture.file.via is Via.MESSENGER and picture.file.sha256 not in linked
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


def _asked(
    kind: Kind,
    shots: Sequence[Shot],
    questions: Sequence[Question],
    open_ones: Sequence[Question],
) -> Iterator[Challenge]:
    """One challenge for each signal, with the pictures of the roof that raise it.

    Another picture of the same entry that raises nothing at all answers it.
    """
    raised: dict[Signal, set[tuple[int, str]]] = defaultdict(set)
    for question in questions:
        raised[question.signal].add((question.seq, question.sha256))
    doubted = {(question.seq, question.sha256) for question in open_ones}
    plain = {
        i.seq for i, p in shots if (i.seq, p.file.sha256) not in doubted and p.capture.relied_on
    }
    for signal in Signal:
        about = [(i, p) for i, p in shots if (i.seq, p.file.sha256) in raised[signal]]
        if about:
            seqs = [item.seq for item, _ in about]
            yield point(
                kind,
                Grave.QUESTION,
                *seqs,
                answers=(answer(How.OTHER_PICTURE, [seq for seq in seqs if seq in plain]),),
                today=(_STEPS.get(signal, Step.TEST_CLOCK),),
                signal=str(signal),
                alarm=str(signal),
                names=tuple(name_of(picture) for _, picture in about),
            )


# The roll


def _frames(case: Contested, shots: Sequence[Shot]) -> Iterator[Challenge]:
    """Numbers missing between pictures that one camera took on one day, around this incident.

    A false alarm is common: cameras count pictures of other things and deleted ones too, and start
    again at 1. It is a question, and the sentence says so.
    """
    there: dict[Roll, set[int]] = defaultdict(set)
    days: dict[tuple[Roll, date], dict[int, Item]] = defaultdict(dict)
    looks = {look.seq for zone in case.facts.zones for look in (zone.before, zone.after) if look}
    for item, picture in shots:
        copied = picture.file.via is Via.MESSENGER
        frame = None if copied else frame_of(name_of(picture), picture.file.camera)
        if frame is None:
            continue
        roll, number = frame
        there[roll].add(number)
        about = item.seq in case.naming or case.facts.id in (picture.file.incidents or ())
        if about or item.seq in looks:
            days[roll, _day(item, picture)][number] = item
    missing: dict[Roll, set[int]] = defaultdict(set)
    beside: dict[Roll, set[int]] = defaultdict(set)
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
            frames=tuple(roll.runs(sorted(gone))),
        )


def _day(item: Item, picture: Picture) -> date:
    """The day of the picture by its camera, else of its entry."""
    span = picture.capture.span or item.span
    moment = item.entry.logged if span is None else span.latest
    return moment.astimezone(item.home).date()

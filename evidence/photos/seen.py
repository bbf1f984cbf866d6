"""Questions that the pixels raise, from what `look` measured. The thresholds are of 2,105 files.

Nobody who lacks the originals can ask them again. They stand apart from the record's own questions
wherever they are printed, with the word that the program looked on its holder's machine.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence

from evidence.photos import light, likeness
from evidence.photos.look import Look
from evidence.photos.signals import Question, Shot, Signal, days_differ

BLURRED_BELOW = 20.0
"""Variance of the Laplacian: 2 % of good pictures lie below, 99 % of heavily blurred ones."""

DARK_BELOW = 30.0
CLIPPED = 0.5
DAYLIGHT_LUMA = 60.0
THUMBNAIL_BELOW = 0.8


def asked_of_looks(shots: Sequence[Shot], looks: Mapping[str, Look]) -> Iterator[Question]:
    """What the pictures raise that were looked at, singly and among each other."""
    for shot in shots:
        look = looks.get(shot.sha256)
        if look is not None and look.luma is not None:
            yield from (shot.ask(signal) for signal in hints(look))
            yield from _of_one(shot, look, look.luma)
    yield from _alike(shots, looks)


def hints(look: Look) -> Iterator[Signal]:
    """What to look at again while the ladder still stands: blurred, too dark, too bright."""
    if look.luma is None:
        return
    if look.alike and max(look.sharpness, look.sharpest) < BLURRED_BELOW:
        yield Signal.BLURRED
    if look.luma < DARK_BELOW or look.dark >= CLIPPED:
        yield Signal.DARK
    if look.bright >= CLIPPED:
        yield Signal.BRIGHT


def _of_one(shot: Shot, look: Look, luma: float) -> Iterator[Question]:
    if look.thumbnail is not None and look.thumbnail < THUMBNAIL_BELOW:
        yield shot.ask(Signal.THUMBNAIL)
    span, camera = shot.capture.span, shot.camera
    if span is None or camera is None or look.flash is not False or luma < DAYLIGHT_LUMA:
        return
    value = light.exposure_value(camera)
    if value is not None and value >= light.DAYLIGHT_EV and light.night_throughout(span, camera):
        yield shot.ask(Signal.NIGHT, value=round(value))


def _alike(shots: Sequence[Shot], looks: Mapping[str, Look]) -> Iterator[Question]:
    """Pictures of different days that look alike; the same file, and a copy, are other questions.

    Pictures of one day are not asked about: those of one roof, minutes apart, look alike.
    """
    first = {shot.sha256: shot for shot in reversed(shots) if shot.dates is not None}
    found = {
        digest: look.alike
        for digest in reversed(first)
        if (look := looks.get(digest)) is not None and look.alike
    }
    like: dict[str, list[Shot]] = defaultdict(list)
    for one, other in likeness.alike(found):
        linked = {first[one].original, first[other].original} & {one, other}
        if not linked and days_differ(first[one], first[other]):
            like[other].append(first[one])
    for digest, others in like.items():
        named = sorted(others, key=lambda shot: shot.seq)
        yield first[digest].ask(
            Signal.ALIKE, others="; ".join(f"{one.name} in entry {one.number}" for one in named)
        )

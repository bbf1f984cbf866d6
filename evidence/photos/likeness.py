"""Which pictures look alike: a 64-bit hash of what they show at a glance. Pure.

The hash is the usual one over the cosine transform (C. Zauner, "Implementation and Benchmarking of
Perceptual Image Hash Functions", 2010; the library ImageHash does the same): 32 × 32 greys, the 64
lowest frequencies, each bit whether it lies above their median. It outlives recompression,
resizing, brightness and a crop of 2 %, not one of 10 %. Two pictures of one roof minutes apart
collide: it finds the same scene or the same picture, and cannot tell which.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from math import cos, pi
from statistics import median

SIDE = 32
"""The picture's greys, a side."""

ALARM = 6
"""Bits: hashes at most so far apart are of the same scene or the same picture."""

_LOW = 8
_BANDS = ALARM + 1

Hashes = tuple[int, ...]
"""One picture's hash as it stands and in its seven other orientations."""


@cache
def _waves() -> tuple[tuple[float, ...], ...]:
    return tuple(
        tuple(cos(pi * (2 * x + 1) * u / (2 * SIDE)) for x in range(SIDE)) for u in range(_LOW)
    )


def hashes(greys: Sequence[int]) -> Hashes:
    """The hash in all eight orientations; `greys` row by row, `SIDE` × `SIDE` of them.

    To turn or mirror a picture is to swap the axes of its transform and the signs of its odd waves.
    """
    low = _lowest(greys)
    turned = [[list(column) for column in zip(*low, strict=True)], low]
    found = []
    for table in reversed(turned):
        for down in (1, -1):
            for across in (1, -1):
                signed = [
                    value * (down if v % 2 else 1) * (across if u % 2 else 1)
                    for v, row in enumerate(table)
                    for u, value in enumerate(row)
                ]
                found.append(_bits(signed))
    return tuple(found)


def _lowest(greys: Sequence[int]) -> list[list[float]]:
    """The 8 × 8 lowest frequencies, by rows of rising vertical frequency."""
    rows = [greys[at : at + SIDE] for at in range(0, SIDE * SIDE, SIDE)]
    across = [[sum(map(_times, row, wave)) for wave in _waves()] for row in rows]
    columns = list(zip(*across, strict=True))
    return [[sum(map(_times, column, wave)) for column in columns] for wave in _waves()]


def _times(one: float, other: float) -> float:
    return one * other


def _bits(values: Sequence[float]) -> int:
    middle = median(values)
    return int("".join("1" if value > middle else "0" for value in values), 2)


def apart(one: Hashes, other: Hashes) -> int:
    """Bits between two pictures, in the orientation in which they are most alike."""
    return min((one[0] ^ turned).bit_count() for turned in other)


def alike(pictures: Mapping[str, Hashes]) -> Iterator[tuple[str, str]]:
    """Pairs at most `ALARM` bits apart, each once.

    Of 7 bands of a hash, 6 changed bits leave one untouched: only pictures that share a band in
    some orientation are compared, so that ten thousand pictures take seconds.
    """
    shared: dict[tuple[int, int], list[str]] = defaultdict(list)
    for name, found in pictures.items():
        near = {
            other for turned in found for band in _banded(turned) for other in shared.get(band, ())
        }
        yield from (
            (other, name) for other in sorted(near) if apart(pictures[other], found) <= ALARM
        )
        for band in _banded(found[0]):
            shared[band].append(name)


def _banded(value: int) -> Iterator[tuple[int, int]]:
    for at in range(_BANDS):
        low, high = at * 64 // _BANDS, (at + 1) * 64 // _BANDS
        yield at, value >> low & (1 << (high - low)) - 1

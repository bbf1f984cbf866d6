"""Files spoilt by chance: the same number spoils the same file in the same way."""

import random
from collections.abc import Callable, Sequence

_NUMBERS = (0, 1, 0x7F, 0x80, 0xFF, 0x7FFF, 0x8000, 0xFFFF, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF)
"""Where counts, sizes and places in files go wrong."""
_HEAD = 4096
"""Tags and tables mostly stand in a file's first bytes: three changes of four are made there."""
_MOST_CHANGES = 8


def mutated(sources: Sequence[bytes], at: int, number: int) -> bytes:
    """`sources[at]` spoilt: one to eight changes, drawn from `number` alone."""
    chance = random.Random(number)
    data = bytearray(sources[at])
    for _ in range(chance.randint(1, _MOST_CHANGES)):
        change = chance.choice(_CHANGES)
        change(data, chance, sources)
    return bytes(data)


Change = Callable[[bytearray, random.Random, Sequence[bytes]], None]


def _place(data: bytearray, chance: random.Random) -> int:
    reach = len(data) if chance.random() < 0.25 else min(len(data), _HEAD)
    return chance.randrange(reach) if reach else 0


def _flip(data: bytearray, chance: random.Random, _: Sequence[bytes]) -> None:
    if data:
        data[_place(data, chance)] ^= 1 << chance.randrange(8)


def _byte(data: bytearray, chance: random.Random, _: Sequence[bytes]) -> None:
    if data:
        data[_place(data, chance)] = chance.randrange(256)


def _number(data: bytearray, chance: random.Random, _: Sequence[bytes]) -> None:
    """A count or a place set to one of those that break things, in either order of bytes."""
    size = chance.choice((2, 4, 8))
    value = chance.choice(_NUMBERS) % (1 << 8 * size)
    at = _place(data, chance)
    data[at : at + size] = value.to_bytes(size, chance.choice(("little", "big")))


def _nudge(data: bytearray, chance: random.Random, _: Sequence[bytes]) -> None:
    """A count or a place off by a little."""
    at, order = _place(data, chance), chance.choice(("little", "big"))
    value = int.from_bytes(data[at : at + 2], order) + chance.randint(-16, 16)
    data[at : at + 2] = (value % 0x10000).to_bytes(2, order)


def _cut(data: bytearray, chance: random.Random, _: Sequence[bytes]) -> None:
    at = _place(data, chance)
    if chance.random() < 0.3:
        del data[at:]
    else:
        del data[at : at + chance.choice((1, 2, 4, 16, 256, 4096))]


def _again(data: bytearray, chance: random.Random, _: Sequence[bytes]) -> None:
    """A piece of the file once more, somewhere else."""
    start, size = _place(data, chance), chance.choice((1, 4, 16, 256, 4096))
    at = _place(data, chance)
    data[at:at] = data[start : start + size]


def _foreign(data: bytearray, chance: random.Random, sources: Sequence[bytes]) -> None:
    """A piece of another file over one of this."""
    other = chance.choice(sources)
    start, size = _place(bytearray(other[:_HEAD]), chance), chance.choice((8, 64, 1024))
    at = _place(data, chance)
    data[at : at + size] = other[start : start + size]


def _blank(data: bytearray, chance: random.Random, _: Sequence[bytes]) -> None:
    at, size = _place(data, chance), chance.choice((4, 32, 512))
    data[at : at + size] = bytes([chance.choice((0x00, 0xFF))]) * len(data[at : at + size])


_CHANGES: Sequence[Change] = (
    _flip, _flip, _byte, _number, _number, _nudge, _cut, _again, _foreign, _blank
)  # fmt: skip

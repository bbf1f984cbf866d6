"""The ways in which a thing may be done, in words."""

from collections.abc import Iterable

from evidence.dossier.wording import wording


def ways_listed(ways: Iterable[str]) -> str:
    """`pole camera, drone or a dealer's platform`."""
    *others, last = (wording("due").say("way", way) for way in ways)
    return f"{', '.join(others)} or {last}" if others else last

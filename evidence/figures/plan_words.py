"""What a zone's name says of its place: "front corner left", "field middle right", `field-mr`."""

import re
from collections.abc import Mapping

# Words of a label, and the short forms of an id such as "field-mr".
_SIDES = {"left": frozenset({"left", "l"}), "right": frozenset({"right", "r"})}
_ALONG = {
    "front": frozenset({"front", "fl", "fc", "fr"}),
    "middle": frozenset({"middle", "mid", "ml", "mc", "mr"}),
    "rear": frozenset({"rear", "back", "rl", "rc", "rr"}),
}
_ACROSS = {
    "left": frozenset({"left", "fl", "ml", "rl"}),
    "centre": frozenset({"centre", "center", "fc", "mc", "rc"}),
    "right": frozenset({"right", "fr", "mr", "rr"}),
}

ALONG = tuple(_ALONG)
"""The thirds of the length, from the front."""
ACROSS = tuple(_ACROSS)
"""The thirds of the width, from the left."""


def side_of(label: str, zone_id: str) -> str | None:
    """`left` or `right`; None where neither or both are named."""
    return _word(label, zone_id, _SIDES)


def cell_of(label: str, zone_id: str) -> tuple[str, str]:
    """Which of the nine fields, as words of `ALONG` and `ACROSS`; empty for one not named.

    In "rear middle" the middle is across: it then stands for the centre.
    """
    along, across = _word(label, zone_id, _ALONG), _word(label, zone_id, _ACROSS)
    if along is None:
        ends = {end: spellings for end, spellings in _ALONG.items() if end != "middle"}
        along = _word(label, zone_id, ends)
        if along is not None and across is None:
            across = "centre"
    return along or "", across or ""


def _word(label: str, zone_id: str, words: Mapping[str, frozenset[str]]) -> str | None:
    """The one word that the label says, or else the id; None where not just one."""
    for text in (label, zone_id):
        said = set(re.findall(r"[a-z]+", text.lower()))
        found = [word for word, spellings in words.items() if said & spellings]
        if found:
            return found[0] if len(found) == 1 else None
    return None

"""The time zone at a position, by the optional `timezonefinder` (the extra `places`).

The zone of a position is looked up when the record is read, never written down: `camera` keeps raw
tags alone (RECORD § 5). A lookup that one machine has and another lacks must not make them come to
different figures in silence. So it is handed in from outside, as an `Atlas` that bears its version;
what was measured with it names it (`standing`, the manifest of a dossier), and `check` measures as
the issuer did: without it where none is named, and "not checkable" where the reader has none.

Boundaries: © OpenStreetMap contributors, ODbL 1.0 (by way of the timezone-boundary-builder).
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from importlib import metadata, util
from typing import TYPE_CHECKING

from evidence.errors import RefusedError
from evidence.times import zone

if TYPE_CHECKING:
    from timezonefinder import TimezoneFinder

INSTALL = "pip install 'roof-evidence[places]'"
"""What gives a machine the lookup."""

_PACKAGES = ("timezonefinder", "timezonefinder-data")


@dataclass(frozen=True, slots=True)
class Atlas:
    """A lookup of time zones by position.

    Attributes:
        source: program and data, each with its version.
        zone_at: the IANA zone at a latitude and a longitude in decimal degrees; None at sea.
    """

    source: str
    zone_at: Callable[[float, float], str | None]


@cache
def load_atlas() -> Atlas | None:
    """This machine's lookup; None where the extra is not installed. Its data load on first use."""
    if util.find_spec("timezonefinder") is None:
        return None
    return Atlas(", ".join(_versions()), _zone_at)


def _versions() -> list[str]:
    found = []
    for package in _PACKAGES:
        try:
            found.append(f"{package} {metadata.version(package)}")
        except metadata.PackageNotFoundError:  # older versions carry their data themselves
            continue
    return found


@cache
def _finder() -> "TimezoneFinder":
    from timezonefinder import TimezoneFinder

    return TimezoneFinder()


def _zone_at(latitude: float, longitude: float) -> str | None:
    key = _finder().timezone_at_land(lng=longitude, lat=latitude)
    if key is None:
        return None
    try:
        return zone(key).key
    except RefusedError:  # a zone younger than the pinned tzdata
        return None

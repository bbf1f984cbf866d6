"""An interval of time and its basis (RECORD § 3).

Every time in the record is an interval, ends included, in UTC and whole seconds, with the basis on
which it rests. The bases are never mixed up. Civil dates serve for counting days, UTC for hours.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from functools import cache
from importlib import metadata, resources
from importlib.resources.abc import Traversable
from typing import TypeVar
from zoneinfo import ZoneInfo

from evidence.errors import RefusedError

T = TypeVar("T")

SECOND = timedelta(seconds=1)
GRACE = timedelta(minutes=10)
"""How far a stated time may lie after the writer's clock before it is refused (RECORD § 3)."""


class Basis(StrEnum):
    """On whose word a time rests."""

    STATED = "stated"
    CAMERA = "camera"
    LOGGED = "logged"
    WITNESSED = "witnessed"


@dataclass(frozen=True, slots=True)
class Span:
    """An interval [earliest, latest] in UTC; `earliest` is None where only "not after" is known."""

    earliest: datetime | None
    latest: datetime
    basis: Basis

    def __post_init__(self) -> None:
        if self.earliest is not None and self.earliest > self.latest:
            raise RefusedError(
                f"{utc_text(self.earliest)}/{utc_text(self.latest)}",
                "the interval ends before it starts",
                "Give the earlier time first.",
            )

    def cut_at(self, moment: datetime) -> "Span":
        """The same interval, its latest end not after `moment` (nor before its own earliest)."""
        latest = min(self.latest, moment)
        if self.earliest is not None:
            latest = max(latest, self.earliest)
        return Span(self.earliest, latest, self.basis)

    def meet(self, other: "Span") -> tuple[datetime | None, datetime] | None:
        """The ends of the common part, or None where there is none."""
        starts = [end for end in (self.earliest, other.earliest) if end is not None]
        earliest = max(starts) if starts else None
        latest = min(self.latest, other.latest)
        if earliest is not None and earliest > latest:
            return None
        return earliest, latest

    def days(self, zone: ZoneInfo) -> tuple[date, date]:
        """The first and the last calendar date in `zone`; "not after" stands on its latest date."""
        last = self.latest.astimezone(zone).date()
        first = last if self.earliest is None else self.earliest.astimezone(zone).date()
        return first, last

    def as_json(self) -> dict[str, str | None]:
        """`{"earliest","latest"}` as `standing` prints a moment."""
        return {
            "earliest": None if self.earliest is None else utc_text(self.earliest),
            "latest": utc_text(self.latest),
        }


Pair = tuple[int, int]
"""A count as [min, max]: equal where the times are exact, apart where they are intervals."""


def days_apart(before: tuple[date, date], after: tuple[date, date]) -> Pair:
    """Differences of calendar dates between two (first, last) pairs of dates, none below 0."""
    shortest = (after[0] - before[1]).days
    longest = (after[1] - before[0]).days
    return max(0, shortest), max(0, longest)


def minutes_apart(before: Span, after: Span) -> Pair:
    """Differences of whole minutes between two intervals, none below 0."""

    def minute(moment: datetime) -> int:
        return int(moment.timestamp() // 60)

    first_before = before.latest if before.earliest is None else before.earliest
    first_after = after.latest if after.earliest is None else after.earliest
    shortest = minute(first_after) - minute(before.latest)
    longest = minute(after.latest) - minute(first_before)
    return max(0, shortest), max(0, longest)


def hull(parts: Iterable[tuple[datetime | None, datetime]]) -> tuple[datetime | None, datetime]:
    """The smallest interval that holds every part; an open earliest end stays open."""
    ends = list(parts)
    starts = [earliest for earliest, _ in ends if earliest is not None]
    earliest = min(starts) if len(starts) == len(ends) else None
    return earliest, max(latest for _, latest in ends)


def utc_text(moment: datetime) -> str:
    """`YYYY-MM-DDTHH:MM:SSZ`."""
    return moment.astimezone(UTC).isoformat()[:19] + "Z"


_YEAR = r"(?:19|20|21)\d\d"  # no roof and no camera lies outside these three centuries
_DATE = _YEAR + r"-\d\d-\d\d"
# 24:00 and leap seconds are left out: what reads them differs from one Python to the next
_HOUR, _SIXTY = r"(?:[01]\d|2[0-3])", r"[0-5]\d"
_UTC_TEXT = re.compile(rf"{_DATE}T{_HOUR}:{_SIXTY}:{_SIXTY}Z", re.ASCII)


def parse_utc(text: str) -> datetime:
    """Read `YYYY-MM-DDTHH:MM:SSZ` strictly.

    Raises:
        RefusedError: any other form, or a date that the calendar does not have.
    """
    if _UTC_TEXT.fullmatch(text) is None:
        raise RefusedError(repr(text), "is not a UTC time in whole seconds", "Write …T12:10:05Z.")
    return _on_calendar(text, lambda: datetime.fromisoformat(text))


@cache
def zone(key: str) -> ZoneInfo:
    """The IANA time zone from the pinned `tzdata` package, the same on every machine.

    Raises:
        RefusedError: the key is not an IANA zone.
    """
    if key not in _zone_keys():
        raise RefusedError(
            f"zone {key!r}", "is not a zone of the IANA database", "Write America/Chicago, say."
        )
    with _zoneinfo().joinpath(*key.split("/")).open("rb") as file:
        return ZoneInfo.from_file(file, key=key)


@cache
def _zone_keys() -> frozenset[str]:
    """Every key, as spelt: on some machines a file opens under another spelling as well."""
    return frozenset(resources.files("tzdata").joinpath("zones").read_text("ascii").split())


def _zoneinfo() -> Traversable:
    return resources.files("tzdata").joinpath("zoneinfo")


def tzdata_version() -> str:
    """The version of the time-zone rules that every figure rests on."""
    return metadata.version("tzdata")


_DAY = re.compile(_DATE, re.ASCII)
_MONTH = re.compile(_YEAR + r"-\d\d", re.ASCII)
# Offsets on earth run from -12:00 to +14:00; -00:00 says that none is known (RFC 3339 § 4.3).
_OFFSET = rf"Z|(?!-00:00)(?:\+(?:0\d|1[0-3]):{_SIXTY}|\+14:00|-(?:0\d|1[01]):{_SIXTY}|-12:00)"
_CLOCK = re.compile(rf"{_DATE}T{_HOUR}:{_SIXTY}(:{_SIXTY})?({_OFFSET})", re.ASCII)
_FORMS = "Write 2025-05-30, 2025-05-30T12:10-05:00, 2025-05, A/B for an interval, or ../B."


def parse_day(text: str) -> date:
    """Read `YYYY-MM-DD` strictly.

    Raises:
        RefusedError: any other form, or a date that the calendar does not have.
    """
    if _DAY.fullmatch(text) is None:
        raise RefusedError(repr(text), "is not a date", "Write 2025-05-30.")
    return _on_calendar(text, lambda: date.fromisoformat(text))


def parse_when(text: str, home: ZoneInfo) -> Span:
    """Read a stated time (ISO 8601 / EDTF, the forms of RECORD § 3) into a UTC interval.

    Args:
        text: a day, a minute or second with its offset, a month, `A/B` or `../B`.
        home: the zone of dates without an offset.

    Raises:
        RefusedError: another form, a time of day without its offset, or a reversed interval.
    """
    start, slash, end = text.partition("/")
    if not slash:
        earliest, latest = _point(text, home)
        return Span(earliest, latest, Basis.STATED)
    _, latest = _point(end, home)
    if start == "..":
        return Span(None, latest, Basis.STATED)
    earliest, _ = _point(start, home)
    return Span(earliest, latest, Basis.STATED)


def local_day(day: date, home: ZoneInfo) -> tuple[datetime, datetime]:
    """The first and the last second of a calendar day in `home`, in UTC (23 to 25 hours)."""
    return _midnight(day, home), _midnight(day + timedelta(days=1), home) - SECOND


def _midnight(day: date, home: ZoneInfo) -> datetime:
    return datetime.combine(day, time.min, home).astimezone(UTC)


def _point(text: str, home: ZoneInfo) -> tuple[datetime, datetime]:
    if _CLOCK.fullmatch(text):
        moment = _on_calendar(text, lambda: datetime.fromisoformat(text).astimezone(UTC))
        whole_minute = text[16] != ":"
        return moment, moment + (timedelta(seconds=59) if whole_minute else timedelta(0))
    if _DAY.fullmatch(text):
        return local_day(parse_day(text), home)
    if _MONTH.fullmatch(text):
        first = parse_day(f"{text}-01")
        after = (first + timedelta(days=31)).replace(day=1)
        return _midnight(first, home), _midnight(after, home) - SECOND
    raise RefusedError(f"time {text!r}", "is not in a form that the record knows", _FORMS)


def _on_calendar(text: str, read: Callable[[], T]) -> T:
    try:
        return read()
    except ValueError as error:
        raise RefusedError(f"time {text!r}", "does not exist on the calendar", _FORMS) from error

"""Figures in words: dates, counts and entry numbers as a page shows them."""

import re
from bisect import bisect_right
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from itertools import accumulate
from unicodedata import east_asian_width
from zoneinfo import ZoneInfo

from evidence.times import Pair, Span

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

_ISO_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b", re.ASCII)
_MINUTE = timedelta(minutes=1)
_HOUR, _DAY = 60, 24 * 60  # in minutes
_CLIPPED = 240
_LONGEST_NAME = 80
"""Characters of a free text and of a name that a page takes; the record holds the rest."""


def day(given: date) -> str:
    """`8 June 2025`."""
    return f"{given.day} {MONTHS[given.month - 1]} {given.year}"


def dated(text: str) -> str:
    """The same with its dates as people write them: `2025-06-08` becomes `8 June 2025`."""

    def words(found: re.Match[str]) -> str:
        try:
            return day(date.fromisoformat(found.group()))
        except ValueError:  # a figure that only looks like one
            return found.group()

    return _ISO_DAY.sub(words, text)


def short_day(given: date) -> str:
    """`8 Jun 2025`, for tables."""
    return f"{given.day} {MONTHS[given.month - 1][:3]} {given.year}"


def clock(moment: datetime, zone: ZoneInfo) -> str:
    """`16:40 (UTC-5)` with a true minus sign."""
    return f"{moment.astimezone(zone):%H:%M} ({offset(moment, zone)})"


def offset(moment: datetime, zone: ZoneInfo) -> str:
    """`UTC-5`, `UTC+5:30`."""
    delta = moment.astimezone(zone).utcoffset()
    minutes = 0 if delta is None else int(delta.total_seconds()) // 60
    hours, rest = divmod(abs(minutes), 60)
    sign = "+" if minutes >= 0 else "\N{MINUS SIGN}"
    return f"UTC{sign}{hours}" + (f":{rest:02}" if rest else "")


def moment(given: datetime, zone: ZoneInfo) -> str:
    """`30 May 2025, 12:10`."""
    local = given.astimezone(zone)
    return f"{day(local.date())}, {local:%H:%M}"


def start(given: datetime, zone: ZoneInfo) -> str:
    """`30 May 2025, 12:10`; a midnight stands for its whole day: `30 May 2025`."""
    local = given.astimezone(zone)
    return day(local.date()) if (local.hour, local.minute) == (0, 0) else moment(given, zone)


def short_moment(given: datetime, zone: ZoneInfo) -> str:
    """`30 May 2025 12:10`, for tables."""
    local = given.astimezone(zone)
    return f"{short_day(local.date())} {local:%H:%M}"


def utc(given: datetime) -> str:
    """`30 May 2025 17:10Z`: an outsider's clock, in no zone of the rig's."""
    there = given.astimezone(UTC)
    return f"{short_day(there.date())} {there:%H:%M}Z"


def span(given: Span, zone: ZoneInfo) -> str:
    """An interval as short as it can honestly be said: a minute, a day, or both ends."""
    latest = given.latest.astimezone(zone)
    if given.earliest is None:
        return f"not after {moment(latest, zone)}"
    earliest = given.earliest.astimezone(zone)
    if given.latest - given.earliest < _MINUTE:
        return moment(earliest, zone)
    if _whole_days(earliest, latest):
        first, last = day(earliest.date()), day(latest.date())
        return first if first == last else f"{first} to {last}"
    if earliest.date() != latest.date():
        return f"{moment(earliest, zone)} to {moment(latest, zone)}"
    if earliest.utcoffset() != latest.utcoffset():
        return f"{moment(earliest, zone)} ({offset(earliest, zone)}) to {clock(latest, zone)}"
    return f"{moment(earliest, zone)} to {latest:%H:%M}"


def short_span(given: Span, zone: ZoneInfo) -> str:
    """The same for tables, with short months."""
    text = span(given, zone)
    for month in MONTHS:
        text = text.replace(month, month[:3])
    return text.replace(",", "")


def _whole_days(earliest: datetime, latest: datetime) -> bool:
    return earliest.strftime("%H:%M:%S") == "00:00:00" and latest.strftime("%H:%M") == "23:59"


def on_or_between(given: Span, zone: ZoneInfo) -> str:
    """`on 8 June 2025`, `between 1 and …`, `not after …`: for headings."""
    if given.earliest is None:
        return f"not after {day(given.latest.astimezone(zone).date())}"
    first, last = given.days(zone)
    return f"on {day(first)}" if first == last else f"between {day(first)} and {day(last)}"


def at(given: Span, zone: ZoneInfo) -> str:
    """`at 16:40 (UTC-5)`, `between 16:00 and 17:30 (UTC-5)`; the days of a wider window."""
    if given.earliest is None:
        return on_or_between(given, zone)
    if given.latest - given.earliest < _MINUTE:
        return f"at {clock(given.earliest, zone)}"
    first, last = given.earliest.astimezone(zone), given.latest.astimezone(zone)
    if first.date() != last.date() or _whole_days(first, last):
        return on_or_between(given, zone)
    same = first.utcoffset() == last.utcoffset()
    begins = f"{first:%H:%M}" if same else clock(first, zone)
    return f"between {begins} and {clock(last, zone)}"


def count(pair: Pair) -> str:
    """`9`, or `8–10` where the times are intervals."""
    low, high = pair
    return str(low) if low == high else f"{low}\N{EN DASH}{high}"


def counted(pair: Pair, unit: str) -> str:
    """`1 day`, `9 days`, `8–10 days`."""
    return f"{count(pair)} {unit if pair == (1, 1) else unit + 's'}"


def duration(minutes: Pair) -> tuple[str, str]:
    """Minutes in the unit in which a person would say them: `("50", "minutes")`, `("4.5", "days")`.

    An exact count is rounded up to a tenth, the ends of an interval are widened to whole hours or
    days: rounding makes no time shorter than it was.
    """
    if minutes[1] <= 3 * _HOUR:
        return count(minutes), "minute" if minutes == (1, 1) else "minutes"
    size, unit = (_HOUR, "hours") if minutes[1] <= 3 * _DAY else (_DAY, "days")
    if minutes[0] == minutes[1]:
        return f"{-(-minutes[0] * 10 // size) / 10:.1f}".removesuffix(".0"), unit
    return count((minutes[0] // size, -(-minutes[1] // size))), unit


def clipped(text: str, most: int = _CLIPPED) -> str:
    """One line of a free text: its first words and an ellipsis where it is longer than `most`.

    A wide character counts as two (UAX #11). Only a word of its own length is cut within itself.
    """
    line = " ".join(text.split())
    ends = list(accumulate(2 if east_asian_width(char) in ("W", "F") else 1 for char in line))
    if not ends or ends[-1] <= most:
        return line
    room = bisect_right(ends, most - 1)
    words = line[: room + 1].rpartition(" ")[0]
    return f"{words if len(words) > room // 2 else line[:room]}\N{HORIZONTAL ELLIPSIS}"


def name(text: str) -> str:
    """A name (of a place, a rig, a file, a party) as a line has room for it."""
    return clipped(text, _LONGEST_NAME)


def entries(seqs: Iterable[int]) -> str:
    """`entry 18`, `entries 18, 20`; people count from 1."""
    numbers = [str(seq + 1) for seq in dict.fromkeys(seqs)]
    if not numbers:
        return ""
    return ("entry " if len(numbers) == 1 else "entries ") + ", ".join(numbers)


def month(given: date) -> str:
    """`June 2025`."""
    return f"{MONTHS[given.month - 1]} {given.year}"


def sentence(text: str) -> str:
    """The same with a capital at its start: a zone's name may be written small."""
    return text[:1].upper() + text[1:]


def metres(millimetres: int) -> str:
    """`7.4` from 7400."""
    return f"{millimetres / 1000:.1f}"


def listed(words: Iterable[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    items = list(words)
    if len(items) <= 1:
        return "".join(items)
    return f"{', '.join(items[:-1])} and {items[-1]}"


def grouped(digest: str, size: int = 4) -> str:
    """A hash in groups that an eye can follow."""
    return " ".join(digest[start : start + size] for start in range(0, len(digest), size))

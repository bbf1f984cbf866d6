"""When a picture was taken, as far as its camera's own words go (RECORD § 5).

Pure: tags in, an interval and its reason out. The rules are tried in their order; the first that
applies answers. Only DateTimeOriginal tells of the moment of capture: DateTime is the file's last
change, DateTimeDigitized of a scan is the scanner's (Exif 3.0, § 4.6.6.5).
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from evidence.shapes import Camera, Raw
from evidence.times import GRACE, Basis, Span, local_day


class CaptureRule(StrEnum):
    """By which rule of RECORD § 5 the interval was found."""

    OFFSET = "offset"
    GPS = "gps"
    PLACE = "place"
    TRAVELS = "travels"
    ANYWHERE = "anywhere"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Capture:
    """What a picture's own clock supports.

    Attributes:
        rule: `none` exactly where `relied_on` is false.
        span: UTC, whole seconds, both ends given; None under rule `none`, where all that is known
            is that the picture was there when it was logged.
        subsec: the fraction of the second as the camera wrote its digits; empty where not given.
        relied_on: whether the camera's time counts; its raw tags are shown either way.
        why: one sentence for a person.
    """

    rule: CaptureRule
    span: Span | None
    subsec: str
    relied_on: bool
    why: str


@dataclass(frozen=True, slots=True)
class _Clock:
    """A local time that the camera wrote, and what may tell its zone."""

    local: datetime
    offset: timedelta | None
    gps: datetime | None
    home: ZoneInfo
    travels: tuple[ZoneInfo, ...]

    @property
    def zones(self) -> tuple[ZoneInfo, ...]:
        return (self.home, *self.travels)


@dataclass(frozen=True, slots=True)
class _Answer:
    rule: CaptureRule
    earliest: datetime
    latest: datetime
    why: str


_EAST, _WEST = timedelta(hours=14), timedelta(hours=-12)
"""The largest and the smallest offset in use on earth."""

_GPS_STEP = timedelta(minutes=15)
_GPS_SLACK = timedelta(minutes=2)

_EXIF_TIME = re.compile(r"(\d{4})[:-](\d\d)[:-](\d\d)[ T](\d\d):(\d\d):(\d\d)", re.ASCII)
_EXIF_OFFSET = re.compile(r"([+-])(\d\d):([0-5]\d)", re.ASCII)
_YEARS = range(1900, 2200)  # those of `times.parse_utc`

_RESET_DAYS = frozenset({(1970, 1, 1), (1980, 1, 1), (2000, 1, 1)})
"""Days from which clocks count that lost their power; from memory."""


def capture(
    camera: Camera | None,
    *,
    home: ZoneInfo,
    travels: Sequence[ZoneInfo],
    built: date | None,
    model_year: int | None,
    logged: datetime,
) -> Capture:
    """The capture interval of a picture, by the first rule of RECORD § 5 that applies.

    Args:
        camera: the tags as sealed; None where the file has none.
        home: the rig's `home_zone`.
        travels: the zones besides home; empty where none are stated.
        built: the day the rig was built, if known; nothing on it was pictured before.
        model_year: else nothing was pictured before 1 January of the year ahead of it.
        logged: the writer's clock when the file was sealed, UTC.
    """
    written = _text(camera.DateTimeOriginal) if camera else None
    if camera is None or written is None:
        return _none("The file says nothing readable about when it was taken.")
    if not re.search("[1-9]", written):
        return _none("The camera's clock was never set: its date is blank or zero.")
    local = _local(written)
    if local is None:
        return _none(f"The camera's date {written[:40]!r} is not a date that can be read.")
    clock = _Clock(local, _offset(camera), _gps(camera), home, tuple(travels))
    answer = next(found for rule in _RULES if (found := rule(clock)) is not None)
    doubt = _doubt(answer, local, _first_day(built, model_year), home, logged)
    if doubt:
        return _none(f"The camera's date {written} is not relied on: {doubt}.")
    return Capture(
        answer.rule,
        Span(answer.earliest, answer.latest, Basis.CAMERA).cut_at(logged),
        _subsec(camera),
        relied_on=True,
        why=answer.why,
    )


def _none(why: str) -> Capture:
    return Capture(CaptureRule.NONE, None, "", relied_on=False, why=why)


# What may be doubted about a date


def _doubt(
    answer: _Answer, local: datetime, first_day: date | None, home: ZoneInfo, logged: datetime
) -> str | None:
    """Why the date is not relied on, as the end of a sentence; None where it is."""
    if _is_reset(local):
        return "it is where a clock starts that was never set"
    if first_day is not None and answer.latest < local_day(first_day, home)[0]:
        return "it lies before the rig was built"
    if answer.earliest > logged + GRACE:
        return "it lies after the picture was logged"
    return None


def _is_reset(local: datetime) -> bool:
    """A known reset day, or the first hour of a year: a camera's default is its own year's start.

    A picture truly taken in that hour is lost to the rule; its raw date is still shown.
    """
    if (local.year, local.month, local.day) in _RESET_DAYS:
        return True
    return (local.month, local.day, local.hour) == (1, 1, 0)


def _first_day(built: date | None, model_year: int | None) -> date | None:
    if built is not None or model_year is None:
        return built
    return date(model_year - 1, 1, 1)


# The rules, in order


def _by_offset(clock: _Clock) -> _Answer | None:
    if clock.offset is None:
        return None
    moment = _at(clock, clock.offset)
    return _Answer(
        CaptureRule.OFFSET,
        moment,
        moment,
        f"The camera wrote its time zone, {_offset_text(clock.offset)}, beside the time.",
    )


def _by_gps(clock: _Clock) -> _Answer | None:
    """An offset from GPS counts only where a zone of the rig uses it that day: fixes go stale."""
    if clock.gps is None:
        return None
    apart = clock.local - clock.gps
    offset = round(apart / _GPS_STEP) * _GPS_STEP
    if abs(apart - offset) >= _GPS_SLACK or offset not in _offsets_that_day(clock):
        return None
    moment = _at(clock, offset)
    return _Answer(
        CaptureRule.GPS,
        moment,
        moment,
        f"The satellite time in the picture sets its zone, {_offset_text(offset)},"
        " which was in use that day where the rig goes.",
    )


def _by_travels(clock: _Clock) -> _Answer | None:
    if not clock.travels:
        return None
    # both folds: an hour that the clocks skipped or repeated has two answers in one zone
    moments = [
        clock.local.replace(tzinfo=zone, fold=fold).astimezone(UTC)
        for zone in clock.zones
        for fold in (0, 1)
    ]
    return _Answer(
        CaptureRule.TRAVELS,
        min(moments),
        max(moments),
        "The camera wrote a time without a zone, so every zone where the rig goes is allowed for"
        + _about_gps(clock),
    )


def _by_anywhere(clock: _Clock) -> _Answer:
    return _Answer(
        CaptureRule.ANYWHERE,
        _at(clock, _EAST),
        _at(clock, _WEST),
        "The camera wrote a time without a zone, so every zone on earth is allowed for"
        + _about_gps(clock),
    )


_RULES: tuple[Callable[[_Clock], _Answer | None], ...] = (
    _by_offset,
    _by_gps,
    _by_travels,
    _by_anywhere,
)
"""The order of RECORD § 5. A rule `place` would stand ahead of `travels`."""


def _about_gps(clock: _Clock) -> str:
    return "." if clock.gps is None else "; its satellite time does not fit its clock."


def _at(clock: _Clock, offset: timedelta) -> datetime:
    return (clock.local - offset).replace(tzinfo=UTC)


def _offsets_that_day(clock: _Clock) -> set[timedelta | None]:
    """Every offset that a zone of the rig uses on the calendar day of the picture."""
    day = clock.local.date()
    return {
        moment.astimezone(zone).utcoffset()
        for zone in clock.zones
        for moment in local_day(day, zone)
    }


def _offset_text(offset: timedelta) -> str:
    minutes = int(offset.total_seconds()) // 60
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"


# The tags as values


def _text(tag: Raw | None) -> str | None:
    return tag if isinstance(tag, str) else None


def _local(written: str) -> datetime | None:
    """`YYYY:MM:DD HH:MM:SS` (Exif 3.0 § 4.6.6.4), or with hyphens as some programs write it."""
    match = _EXIF_TIME.fullmatch(written)
    if match is None:
        return None
    try:
        year, month, day, hour, minute, second = map(int, match.groups())
        local = datetime(year, month, day, hour, minute, second)  # noqa: DTZ001 - no zone is known
    except ValueError:
        return None
    return local if local.year in _YEARS else None


def _offset(camera: Camera) -> timedelta | None:
    """OffsetTimeOriginal. OffsetTime belongs to DateTime, the last change, and is not used."""
    match = _EXIF_OFFSET.fullmatch(_text(camera.OffsetTimeOriginal) or "")
    if match is None:
        return None
    size = timedelta(hours=int(match[2]), minutes=int(match[3]))
    offset = -size if match[1] == "-" else size
    return offset if _WEST <= offset <= _EAST else None


def _gps(camera: Camera) -> datetime | None:
    """GPSDateStamp and GPSTimeStamp together, UTC; None where either is missing or unfit."""
    day, clock = _text(camera.GPSDateStamp), _text(camera.GPSTimeStamp)
    return None if day is None or clock is None else _local(f"{day} {clock.partition('.')[0]}")


def _subsec(camera: Camera) -> str:
    digits = _text(camera.SubSecTimeOriginal) or ""
    return digits if digits.isascii() and digits.isdigit() else ""

"""When a picture was taken, as far as its camera's own words go (RECORD § 5).

Pure: tags in, an interval and its reason out. Only DateTimeOriginal tells of the moment of capture:
DateTime is the file's last change, DateTimeDigitized of a scan is the scanner's (Exif 3.0,
§ 4.6.6.5).
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from evidence.photos import told
from evidence.photos.place import Atlas
from evidence.photos.rules import CaptureRule, answer
from evidence.shapes import Camera
from evidence.times import GRACE, Basis, Span, local_day

__all__ = ["Capture", "CaptureRule", "capture"]


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
        place: the IANA zone at its position; None where none was looked up or found.
        contradiction: a sentence that names what contradicts what; None where nothing does.
    """

    rule: CaptureRule
    span: Span | None
    subsec: str
    relied_on: bool
    why: str
    place: str | None = None
    contradiction: str | None = None


_RESET_DAYS = frozenset({(1970, 1, 1), (1980, 1, 1), (2000, 1, 1)})
"""Days from which clocks count that lost their power; from memory."""


def capture(  # noqa: PLR0913 - facts of their own, each given by its name
    camera: Camera | None,
    *,
    home: ZoneInfo,
    travels: Sequence[ZoneInfo],
    built: date | None,
    model_year: int | None,
    logged: datetime,
    atlas: Atlas | None = None,
    film: bool = False,
) -> Capture:
    """The capture interval of a picture, by the first rule of RECORD § 5 that applies.

    Args:
        camera: the tags as sealed; None where the file has none.
        home: the rig's `home_zone`.
        travels: the zones besides home; empty where none are stated.
        built: the day the rig was built, if known; nothing on it was pictured before.
        model_year: else nothing was pictured before 1 January of the year ahead of it.
        logged: the writer's clock when the file was sealed, UTC.
        atlas: looks up the zone at a position; without one the rule `place` never applies.
        film: the file is a film, whose time without an offset may be UTC or local.
    """
    written = told.text(camera.DateTimeOriginal) if camera else None
    if camera is None or written is None:
        return _none(_silent(camera, film=film))
    if not re.search("[1-9]", written):
        return _none("The camera's clock was never set: its date is blank or zero.")
    local = told.local_time(written)
    if local is None:
        return _none(f"The camera's date {written[:40]!r} is not a date that can be read.")
    clock = told.Clock(
        local,
        told.offset_of(camera),
        told.satellite_time(camera),
        told.position_of(camera),
        home,
        tuple(travels),
        atlas,
        film,
    )
    found, place = answer(clock)
    span = Span(min(found.moments), max(found.moments), Basis.CAMERA)
    doubt = _doubt(span, local, _first_day(built, model_year), home, logged)
    if doubt:
        return _none(f"The camera's date {written} is not relied on: {doubt}.", place)
    return Capture(
        found.rule,
        span.cut_at(logged),
        told.subsecond(camera),
        relied_on=True,
        why=found.why,
        place=place,
        contradiction=found.contradiction,
    )


def _none(why: str, place: str | None = None) -> Capture:
    return Capture(CaptureRule.NONE, None, "", relied_on=False, why=why, place=place)


def _silent(camera: Camera | None, *, film: bool) -> str:
    made = told.text(camera.DateTimeDigitized) if camera else None
    if film and made is not None:
        return (
            f"The film says when its file was made, {made}, and not which device filmed it;"
            " a copy bears the time of copying."
        )
    return "The file says nothing readable about when it was taken."


# What may be doubted about a date


def _doubt(
    span: Span, local: datetime, first_day: date | None, home: ZoneInfo, logged: datetime
) -> str | None:
    """Why the date is not relied on, as the end of a sentence; None where it is."""
    if _is_reset(local):
        return "it is where a clock starts that was never set"
    if first_day is not None and span.latest < local_day(first_day, home)[0]:
        return "it lies before the rig was built"
    if span.earliest is not None and span.earliest > logged + GRACE:
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

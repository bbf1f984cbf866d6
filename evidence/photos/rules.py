"""The rules of RECORD § 5: from a device's local time to an interval in UTC. Pure.

The rules are tried in their order; the first that applies answers. Where a second one contradicts
it, the interval holds both and the contradiction is named: which of them is wrong, a file cannot
tell.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from zoneinfo import ZoneInfo

from evidence.photos.place import INSTALL
from evidence.photos.told import EAST, WEST, Clock
from evidence.times import local_day, zone


class CaptureRule(StrEnum):
    """By which rule of RECORD § 5 the interval was found."""

    OFFSET = "offset"
    GPS = "gps"
    PLACE = "place"
    TRAVELS = "travels"
    ANYWHERE = "anywhere"
    NONE = "none"


@dataclass(frozen=True, slots=True)
class Answer:
    """What a rule comes to.

    Attributes:
        rule: the rule.
        moments: every moment (UTC) that it allows for; the interval is their hull.
        why: one sentence for a person.
        says: the same as a clause, to stand beside what contradicts it.
        contradiction: what contradicts it, as a sentence; None where nothing does.
    """

    rule: CaptureRule
    moments: tuple[datetime, ...]
    why: str
    says: str = ""
    contradiction: str | None = None


_GPS_STEP = timedelta(minutes=15)
_GPS_SLACK = timedelta(minutes=2)


def answer(clock: Clock) -> tuple[Answer, str | None]:
    """The first rule that applies, and the zone at the position where one was looked up."""
    if clock.film and clock.offset is None:
        return _of_film(clock), None
    at_place = _zone_at_place(clock)
    offset, gps = _by_offset(clock), _by_gps(clock, at_place)
    place = None if at_place is None else _by_place(clock, at_place)
    telling = [found for found in (offset, gps, place) if found is not None]
    key = None if at_place is None else at_place.key
    if not telling:
        return _by_travels(clock) or _by_anywhere(clock), key
    first, *others = telling
    if first.rule is CaptureRule.PLACE:
        # an offset in use nowhere near the rig cannot stand alone; it can be doubted against
        others += [found for found in (_by_satellites(clock),) if found is not None]
    against = [other for other in others if not set(other.moments) & set(first.moments)]
    return (_contradicted(first, against) if against else first), key


def _contradicted(first: Answer, against: Iterable[Answer]) -> Answer:
    others = list(against)
    said = "; ".join(found.says for found in (first, *others))
    named = f"What tells the zone contradicts itself: {said}."
    moments = (*first.moments, *(moment for other in others for moment in other.moments))
    return Answer(first.rule, moments, f"{named} All of it is allowed for.", contradiction=named)


# The rules, in order


def _by_offset(clock: Clock) -> Answer | None:
    if clock.offset is None:
        return None
    zone_text = offset_text(clock.offset)
    return Answer(
        CaptureRule.OFFSET,
        (_at(clock, clock.offset),),
        f"The camera wrote its time zone, {zone_text}, beside the time.",
        f"the camera wrote {zone_text}",
    )


def _by_gps(clock: Clock, at_place: ZoneInfo | None) -> Answer | None:
    """An offset from GPS counts only where a zone of the rig or of the place uses it that day.

    Else a stale fix would pass as one in one case of four.
    """
    found = _by_satellites(clock)
    zones = clock.zones if at_place is None else (*clock.zones, at_place)
    return found if gps_offset(clock) in _offsets_that_day(clock, zones) else None


def _by_satellites(clock: Clock) -> Answer | None:
    offset = gps_offset(clock)
    if offset is None:
        return None
    zone_text = offset_text(offset)
    return Answer(
        CaptureRule.GPS,
        (_at(clock, offset),),
        f"The satellite time in the picture sets its zone, {zone_text},"
        " an offset in use that day at its place or where the rig goes.",
        f"its satellite time comes to {zone_text}",
    )


def _by_place(clock: Clock, at_place: ZoneInfo) -> Answer:
    """Both offsets in an hour that the clocks skipped or repeated."""
    moments = _moments(clock, (at_place,))
    offsets = dict.fromkeys(offset_text(clock.local - m.replace(tzinfo=None)) for m in moments)
    zone_text = " or ".join(offsets)
    return Answer(
        CaptureRule.PLACE,
        moments,
        f"The camera wrote a time without a zone; its position lies in {at_place.key},"
        f" which had {zone_text} then{_about_gps(clock)}",
        f"its position lies in {at_place.key}, {zone_text}",
    )


def _by_travels(clock: Clock) -> Answer | None:
    if not clock.travels:
        return None
    return Answer(
        CaptureRule.TRAVELS,
        _moments(clock, clock.zones),
        "The camera wrote a time without a zone, so every zone where the rig goes is allowed for"
        + _about_position(clock)
        + _about_gps(clock),
    )


def _by_anywhere(clock: Clock) -> Answer:
    return Answer(
        CaptureRule.ANYWHERE,
        (_at(clock, EAST), _at(clock, WEST)),
        "The camera wrote a time without a zone, so every zone on earth is allowed for"
        + _about_position(clock)
        + _about_gps(clock),
    )


def _of_film(clock: Clock) -> Answer:
    """Either reading of a film's time lies within the zones of the earth around it."""
    return Answer(
        CaptureRule.ANYWHERE,
        (_at(clock, EAST), _at(clock, WEST)),
        "A film's time is UTC by the standard and local time by many cameras, so every zone on"
        " earth is allowed for.",
    )


# What they are made of


def gps_offset(clock: Clock) -> timedelta | None:
    """Local minus satellite time to 15 minutes; None where they fit no offset on earth.

    Never folded by a day: a clock one day off stays one day off.
    """
    if clock.gps is None:
        return None
    apart = clock.local - clock.gps
    offset = round(apart / _GPS_STEP) * _GPS_STEP
    fits = abs(apart - offset) < _GPS_SLACK and WEST <= offset <= EAST
    return offset if fits else None


def offset_text(offset: timedelta) -> str:
    """`-05:00`."""
    minutes = int(offset.total_seconds()) // 60
    return f"{'-' if minutes < 0 else '+'}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"


def _zone_at_place(clock: Clock) -> ZoneInfo | None:
    if clock.atlas is None or clock.position is None:
        return None
    key = clock.atlas.zone_at(*clock.position)
    return None if key is None else zone(key)


def _moments(clock: Clock, zones: Iterable[ZoneInfo]) -> tuple[datetime, ...]:
    """The local time in each zone; twice in an hour that the clocks skipped or repeated."""
    moments = (
        clock.local.replace(tzinfo=of, fold=fold).astimezone(UTC) for of in zones for fold in (0, 1)
    )
    return tuple(dict.fromkeys(moments))


def _at(clock: Clock, offset: timedelta) -> datetime:
    return (clock.local - offset).replace(tzinfo=UTC)


def _offsets_that_day(clock: Clock, zones: Iterable[ZoneInfo]) -> set[timedelta | None]:
    """Every offset that one of the zones uses on the calendar day of the picture."""
    day = clock.local.date()
    return {moment.astimezone(of).utcoffset() for of in zones for moment in local_day(day, of)} - {
        None
    }


def _about_gps(clock: Clock) -> str:
    return "." if clock.gps is None else "; its satellite time does not fit its clock."


def _about_position(clock: Clock) -> str:
    """What would tell the zone, where the picture has a position that nobody looks up."""
    if clock.position is None or clock.atlas is not None:
        return ""
    return f" (its position could tell the zone: {INSTALL})"

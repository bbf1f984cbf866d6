"""How long before or after a reading something was, or is to be."""

import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from evidence.cli.fields import with_offset
from evidence.errors import RefusedError
from evidence.times import Span, parse_when, zone

_HOURS = re.compile(r"(\d{1,4}) ?h", re.ASCII)
_NEARLY = re.compile(r"(?P<sign>[-+−]?)\d+(\.\d+)? ?(?P<unit>h?)", re.ASCII)


class ReadAt:
    """When it was read, and the zone of days and times without an offset."""

    def __init__(self, moment: datetime, home: ZoneInfo | None) -> None:
        self.moment = moment
        self.home = home

    @classmethod
    def of(cls, home: str | None, at: str | None) -> "ReadAt":
        """The time given, else now; `home` is the rig's IANA zone.

        Raises:
            RefusedError: it is no time of day.
        """
        place = None if home is None else zone(home)
        clock = cls(datetime.now().astimezone(place), place)
        read = clock.span(at, "--at", 0)
        if read is None:
            return clock
        text, span = read
        if span.earliest is None or _minute(span.earliest) != _minute(span.latest):
            raise RefusedError(f"--at {text!r}", "is no time of day", "Write 2025-06-01T10:00.")
        return cls(span.latest.astimezone(place), place)

    def span(self, text: str | None, name: str, way: int) -> tuple[str, Span] | None:
        """The time as the record would keep it, and what it covers; `36h` counts from the reading.

        Raises:
            RefusedError: another form, or a day without a case to say whose.
        """
        if text is None or (way > 0 and text == "none"):
            return None
        hours = _HOURS.fullmatch(text.strip())
        if hours is None and way:
            _refuse_nearly(text.strip(), name, way)
        if hours is not None and way:
            apart = timedelta(hours=way * int(hours[1]))
            moment = (self.moment.astimezone(UTC) + apart).astimezone(self.moment.tzinfo)
            text = moment.isoformat(timespec="minutes")
        elif self.home is not None:
            text = with_offset(text.strip(), self.home.key)
        elif "T" not in text:
            raise RefusedError(
                f"{name} {text!r}", "is a day without a place", "Name a CASE, or write hours: 36h."
            )
        try:
            return text, parse_when(text, self.home or zone("UTC"))
        except RefusedError as error:
            what_to_do = f"Write 36h. {error.what_to_do}" if way else error.what_to_do
            raise RefusedError(f"{name} {text!r}", error.why, what_to_do) from error

    def hours(
        self, span: tuple[str, Span] | None, name: str, way: int
    ) -> tuple[float, float] | None:
        """Hours from the reading to a time before it (-1) or after it (1), least and most.

        Raises:
            RefusedError: it lies wholly on the other side.
        """
        if span is None:
            return None
        ends = (span[1].earliest or self.moment, span[1].latest)
        apart = [way * (_minute(end) - _minute(self.moment)) / 60 for end in ends]
        if max(apart) < 0:
            side = "after" if way < 0 else "before"
            raise RefusedError(f"{name} {span[0]}", f"lies {side} the reading", "See --at.")
        return max(0.0, min(apart)), max(0.0, *apart)


def _refuse_nearly(text: str, name: str, way: int) -> None:
    """Refuse a count of hours that is not quite one, and say what it lacks."""
    nearly = _NEARLY.fullmatch(text)
    if nearly is None or (not nearly["unit"] and len(text) == len("2025")):  # a year is a time
        return
    if nearly["sign"]:
        side = "before" if way < 0 else "after"
        why = f"has a sign; hours are counted {side} the reading as it is"
    elif nearly["unit"]:
        why = "is no whole number of hours up to 9999"
    else:
        why = "has no unit"
    raise RefusedError(f"{name} {text!r}", why, "Write whole hours with an h: 36h.")


def _minute(moment: datetime) -> int:
    return int(moment.timestamp() // 60)

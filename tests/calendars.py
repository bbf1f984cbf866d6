"""A strict reader of iCalendar, written from RFC 5545 alone: what it cannot read breaks a rule."""

import re
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta

_NAME = re.compile(r"[A-Z0-9-]+")  # iana-token, § 3.1; in capitals, as everybody writes it
_LINE = re.compile(r'([A-Za-z0-9-]+)((?:;[A-Za-z0-9-]+=(?:"[^"]*"|[^";:,]*))*):(.*)', re.DOTALL)
_DURATION = re.compile(
    r"([+-]?)P(?:(\d+)W|(?:(\d+)D)?(?:T(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?)?)"  # § 3.3.6
)
_TEXT = frozenset({"SUMMARY", "DESCRIPTION", "NAME", "X-WR-CALNAME", "PRODID", "UID"})
_ONE_OF = {
    "STATUS": {"TENTATIVE", "CONFIRMED", "CANCELLED"},
    "CLASS": {"PUBLIC", "PRIVATE", "CONFIDENTIAL"},
    "TRANSP": {"OPAQUE", "TRANSPARENT"},
    "ACTION": {"DISPLAY"},
    "VERSION": {"2.0"},
}
_NEEDED = {
    "VCALENDAR": {"PRODID", "VERSION"},  # § 3.6
    "VEVENT": {"UID", "DTSTAMP", "DTSTART"},  # § 3.6.1, without METHOD
    "VALARM": {"ACTION", "TRIGGER", "DESCRIPTION"},  # § 3.6.6, DISPLAY
}
_HOLDS = {"": {"VCALENDAR"}, "VCALENDAR": {"VEVENT"}, "VEVENT": {"VALARM"}, "VALARM": set()}

Value = str | int | date | datetime | timedelta


@dataclass
class Component:
    """A component with its properties and what it holds."""

    kind: str
    values: dict[str, Value] = field(default_factory=dict)
    inner: list["Component"] = field(default_factory=list)


def read(data: bytes) -> Component:
    """The calendar object of a file."""
    root = Component("")
    open_ones = [root]
    for line in _unfolded(data):
        match = _LINE.fullmatch(line)
        assert match, line
        name, params, value = match[1], match[2], match[3]
        assert _NAME.fullmatch(name), name
        if name == "BEGIN":
            assert value in _HOLDS[open_ones[-1].kind], value
            made = Component(value)
            open_ones[-1].inner.append(made)
            open_ones.append(made)
        elif name == "END":
            done = open_ones.pop()
            assert done.kind == value
            assert done.values.keys() >= _NEEDED[done.kind]
            assert done.inner or done.kind != "VCALENDAR"  # icalbody holds 1*component, § 3.4
        else:
            values = open_ones[-1].values
            assert name not in values, f"{name} stands twice"
            values[name] = _value(name, params, value)
    assert open_ones == [root]
    (calendar,) = root.inner
    return calendar


def _unfolded(data: bytes) -> list[str]:
    """§ 3.1: CRLF alone ends a line of at most 75 octets; a leading space goes on."""
    assert data.endswith(b"\r\n")
    raw = data[:-2].split(b"\r\n")
    assert not any(b"\r" in line or b"\n" in line for line in raw)
    assert all(len(line) <= 75 for line in raw)
    for line in raw:
        text = line.decode()  # nobody cuts within a character, though the RFC lets them
        assert not any((ord(char) < 32 and char != "\t") or ord(char) == 127 for char in text)
    lines: list[str] = []
    for line in (line.decode() for line in raw):
        assert line
        if line[0] in " \t":
            lines[-1] += line[1:]
        else:
            lines.append(line)
    return lines


def _value(name: str, params: str, value: str) -> Value:
    if name == "DTSTART":
        assert params == ";VALUE=DATE"
        assert re.fullmatch(r"\d{8}", value)
        return date.fromisoformat(value)
    assert params == "", f"{name}{params}"
    if name == "DTSTAMP":
        return datetime.strptime(value, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
    if name == "SEQUENCE":
        assert re.fullmatch(r"\d+", value)
        return int(value)
    if name == "TRIGGER":
        return _duration(value)
    if name in _ONE_OF:
        assert value in _ONE_OF[name], value
        return value
    assert name in _TEXT, name
    return _text(value)


def _text(value: str) -> str:
    """§ 3.3.11: no backslash, semicolon or comma stands bare."""
    assert re.fullmatch(r"(?:\\[\\;,nN]|[^\\;,])*", value), value
    return re.sub(r"\\(.)", lambda found: {"n": "\n", "N": "\n"}.get(found[1], found[1]), value)


def _duration(value: str) -> timedelta:
    match = _DURATION.fullmatch(value)
    assert match, value
    sign, *parts = match.groups()
    weeks, days, hours, minutes, seconds = (int(part or 0) for part in parts)
    whole = timedelta(weeks=weeks, days=days, hours=hours, minutes=minutes, seconds=seconds)
    return -whole if sign == "-" else whole

"""Random histories of a roof in whole days, and each of them as a story.

Days are counted from `DAY_0`; everything is written down at 18:00 UTC, which is the same calendar
day in each of the home zones.
"""

from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, TypeVar

from hypothesis import strategies as st

from tests.scenarios.build import LOOK_90, RIG, Told, starter, tell

T = TypeVar("T")

DAY_0 = date(2025, 3, 3)  # a week before the clocks change in Chicago
LAST_DAY = 45
HOMES = ("UTC", "America/Chicago", "Asia/Kolkata")
TYPES = {"vent": "Z13", "skylight": "Z11", "ceiling": "Z25"}
ON_ROOF = ("vent", "skylight")
FROM_BELOW = ("ground", "inside")


@dataclass(frozen=True)
class Place:
    since: int | None
    until: int | None


@dataclass(frozen=True)
class Asked:
    """A rule; two of one id follow each other."""

    name: str
    id: str
    task: str
    days: int
    zones: tuple[str, ...] | None
    means: tuple[str, ...] | None
    first: int
    last: int | None
    logged: int


@dataclass(frozen=True)
class Done:
    """A look or a wash; `first` is None where only "not after" is told."""

    name: str
    task: str
    first: int | None
    last: int
    means: str
    zones: tuple[str, ...]
    logged: int


@dataclass(frozen=True)
class PutOff:
    name: str
    task: str
    first: int
    last: int
    zones: tuple[str, ...] | None
    logged: int


@dataclass(frozen=True)
class Fix:
    """A correction of something done: another day, other zones, only a note, or withdrawn."""

    name: str
    of: str
    what: str
    day: int
    zones: tuple[str, ...]
    logged: int


@dataclass(frozen=True)
class Held:
    name: str
    party: str
    first: int
    to: int | None
    ended: int | None
    logged: int


@dataclass(frozen=True)
class Roof:
    """A whole history, and the day on which it is measured."""

    home: str
    places: dict[str, Place]
    asked: tuple[Asked, ...]
    done: tuple[Done, ...]
    put_off: tuple[PutOff, ...]
    fixes: tuple[Fix, ...]
    held: tuple[Held, ...]
    on: int


# Random ones


def days(first: int = 0, last: int = LAST_DAY) -> st.SearchStrategy[int]:
    return st.integers(first, max(first, last))


def some_zones() -> st.SearchStrategy[tuple[str, ...]]:
    return st.lists(st.sampled_from(sorted(TYPES)), min_size=1, unique=True).map(tuple)


def maybe(drawn: st.SearchStrategy[T]) -> st.SearchStrategy[T | None]:
    return st.none() | drawn


@st.composite
def roofs(draw: st.DrawFn, *, exact: bool | None = None, home: str | None = None) -> Roof:
    """A history; `exact` leaves out times that are intervals."""
    restated = draw(st.booleans())
    # Which gap a new rule takes over is plain only where every time is one day.
    vague = 0 if restated or (draw(st.booleans()) if exact is None else exact) else 2
    done = tuple(_done(draw, at, vague=at < vague) for at in range(draw(st.integers(0, 9))))
    return Roof(
        home=home or draw(st.sampled_from(HOMES)),
        places={name: _place(draw) for name in TYPES},
        asked=_asked(draw, restated=restated),
        done=done,
        put_off=tuple(_put_off(draw, at) for at in range(draw(st.integers(0, 2)))),
        fixes=tuple(_fix(draw, at, done) for at in range(draw(st.integers(0, 3))) if done),
        held=tuple(_held(draw, at) for at in range(draw(st.integers(0, 4)))),
        on=draw(days(5, LAST_DAY + 15)),
    )


def _place(draw: st.DrawFn) -> Place:
    since = draw(maybe(days(0, 20)))
    return Place(since, draw(maybe(days(since or 0, LAST_DAY))))


def _asked(draw: st.DrawFn, *, restated: bool) -> tuple[Asked, ...]:
    zones = draw(maybe(some_zones() | st.just(("Z13", "ceiling"))))
    means = draw(maybe(st.just(("ground", "on-roof"))))
    first = draw(days(-8, 20))
    last = draw(maybe(days(first, LAST_DAY)))
    period = draw(days(1, 25))
    rules = [Asked("r0", "look", "inspection", period, zones, means, first, last, draw(days(0, 9)))]
    if restated:
        start = draw(days(-8, LAST_DAY))
        again = replace(rules[0], name="r1", days=period + draw(days(1, 9)), first=start)
        rules.append(replace(again, last=draw(maybe(days(start, 60))), logged=draw(days(9, 40))))
    if draw(st.booleans()):
        rules.append(
            Asked("r2", "wash", "wash", draw(days(1, 25)), zones, None, first, None, draw(days()))
        )
    return tuple(rules)


def _done(draw: st.DrawFn, at: int, *, vague: bool) -> Done:
    first = draw(days())
    length = draw(days(0, 5)) if vague else 0
    opened = vague and draw(st.booleans()) and first < 12
    return Done(
        name=f"d{at}",
        task=draw(st.sampled_from(["inspection", "inspection", "wash"])),
        first=None if opened else first,
        last=first if opened else first + length,
        means=draw(st.sampled_from(["on-roof", "ladder", "ground", "inside"])),
        zones=draw(some_zones()),
        logged=first + draw(st.sampled_from([0, 0, 0, 1, 6])),
    )


def _put_off(draw: st.DrawFn, at: int) -> PutOff:
    first = draw(days())
    last = first + draw(days(0, 3))
    zones = draw(maybe(some_zones()))
    return PutOff(f"p{at}", draw(st.sampled_from(["inspection", "wash"])), first, last, zones, last)


def _fix(draw: st.DrawFn, at: int, done: tuple[Done, ...]) -> Fix:
    of = draw(st.sampled_from(done))
    what = draw(st.sampled_from(["when", "zones", "note", "withdraw"]))
    return Fix(
        f"f{at}", of.name, what, draw(days(0, of.logged)), draw(some_zones()),
        of.logged + draw(days(0, 20)),
    )  # fmt: skip


def _held(draw: st.DrawFn, at: int) -> Held:
    first = draw(days(-30, LAST_DAY))
    to = draw(maybe(days(first, LAST_DAY + 15)))
    ended = draw(maybe(days(max(first, 0), LAST_DAY))) if to is None else None
    party = draw(st.sampled_from(["owner", "dealer"]))
    return Held(f"h{at}", party, first, to, ended, max(first, 0))


# As a story


def text(day: int) -> str:
    return (DAY_0 + timedelta(day)).isoformat()


def clock(day: int) -> str:
    return f"{text(day)}T18:00:00Z"


def told(roof: Roof, *more: tuple[int, Told]) -> tuple[list[Told], dict[int, str]]:
    """The story in the order of writing, and what stands at which place in the chain.

    Args:
        roof: the history.
        more: further entries with the day of their writing; each stands last on its day.
    """
    zones = [_zone(name, place) for name, place in roof.places.items()]
    rig = RIG | {"zones": zones, "home_zone": roof.home, "built": text(-60)}
    events: list[tuple[int, Told]] = [
        *((rule.logged, _rule(rule)) for rule in roof.asked),
        *((one.logged, _deed(one)) for one in roof.done),
        *((one.logged, _deferral(one)) for one in roof.put_off),
        *((one.logged, _correction(one, roof)) for one in roof.fixes),
        *((one.logged, _ownership(one)) for one in roof.held),
        *((max(one.ended, one.logged), _end(one)) for one in roof.held if one.ended is not None),
        *more,
    ]
    events.sort(key=lambda event: event[0])
    story = starter(rules=[], rig=rig, logged=f"{text(0)}T12:00:00Z")
    story += [one | {"logged": clock(day)} for day, one in events]
    return story, {at: one["id"] for at, one in enumerate(story, start=1) if "id" in one}


def _zone(name: str, place: Place) -> Told:
    ends = {"since": place.since, "until": place.until}
    told_ends = {key: text(day) for key, day in ends.items() if day is not None}
    return {"id": name, "type": TYPES[name], "label": name, "slope": "flat", **told_ends}


def _entry(kind: str, name: str, body: dict[str, Any]) -> Told:
    return tell(kind, {key: value for key, value in body.items() if value is not None}, "", id=name)


def _rule(rule: Asked) -> Told:
    body = LOOK_90 | {
        "id": rule.id,
        "task": rule.task,
        "days": rule.days,
        "zones": None if rule.zones is None else list(rule.zones),
        "means": None if rule.means is None else list(rule.means),
        "applies_from": text(rule.first),
        "applies_to": None if rule.last is None else text(rule.last),
    }
    return _entry("rule", rule.name, body)


def _when(first: int | None, last: int) -> str:
    if first == last:
        return text(last)
    return f"{'..' if first is None else text(first)}/{text(last)}"


def _rows(one: Done, zones: tuple[str, ...]) -> object:
    if one.task == "inspection":
        return [{"zone": name, "grade": 0} for name in zones]
    return "all" if len(zones) == len(TYPES) else list(zones)


def _deed(one: Done) -> Told:
    body: dict[str, Any] = {"when": _when(one.first, one.last), "zones": _rows(one, one.zones)}
    if one.task == "inspection":
        body |= {"means": one.means, "occasion": "routine"}
    return _entry(one.task, one.name, body)


def _deferral(one: PutOff) -> Told:
    body = {"when": _when(one.first, one.last), "task": one.task, "why": "weather"}
    return _entry("deferral", one.name, body | {"zones": one.zones and list(one.zones)})


def _correction(fix: Fix, roof: Roof) -> Told:
    target = next(one for one in roof.done if one.name == fix.of)
    body: dict[str, Any] = {"of": {"entry": fix.of}, "why": "mistyped"}
    if fix.what == "withdraw":
        body["withdraw"] = True
    elif fix.what == "when":
        body["set"] = {"when": text(fix.day)}
    elif fix.what == "zones":
        body["set"] = {"zones": _rows(target, fix.zones)}
    else:
        noted = {"occasion": "follow-up"} if target.task == "inspection" else {"method": "by hand"}
        body["set"] = noted
    return _entry("correction", fix.name, body)


def _ownership(one: Held) -> Told:
    body = {"id": one.name, "party": one.party, "from": text(one.first), "known_by": "own-record"}
    return _entry("ownership", one.name, body | {"to": None if one.to is None else text(one.to)})


def _end(one: Held) -> Told:
    assert one.ended is not None
    return _entry("end", f"{one.name}-end", {"of": one.name, "when": text(one.ended)})

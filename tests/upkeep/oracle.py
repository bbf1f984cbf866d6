"""A second, slow way to count gaps and custody: plain loops over days (OUTPUTS § 2).

It shares no code with what it is compared to. Days are whole numbers from `histories.DAY_0`.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, product

from tests.upkeep.histories import FROM_BELOW, ON_ROOF, TYPES, Asked, Done, Roof

BUILT = -60
EARLY, LATE = -100, 200
"""No day of any history lies outside these."""

Pair = tuple[int, int]


@dataclass(frozen=True)
class Row:
    """A gap. What closed it and what was put off in it are told by name."""

    from_: int
    to: int
    days: Pair
    over: Pair
    closed_by: str | None
    put_off: frozenset[str]


@dataclass(frozen=True)
class Zone:
    rows: tuple[Row, ...]
    last: int | None
    due: int | None
    longest: Pair


@dataclass(frozen=True)
class Kept:
    """One rule: its zones by name, and whether it was kept."""

    zones: dict[str, Zone]
    as_stated: str
    on_time: str


@dataclass(frozen=True)
class Hand:
    """A band of custody."""

    party: str | None
    first: int
    last: int | None
    days: int


@dataclass(frozen=True)
class Counted:
    """Something done as it stands: the days on which it can have been, and if it is on time."""

    done: Done
    first: int
    last: int
    told_on: int | None


# Gaps


def rules_kept(roof: Roof) -> dict[str, Kept]:
    """Every rule that was in force for a while, by its name."""
    written = [rule for rule in roof.asked if rule.logged <= roof.on]
    found = {rule.name: _kept(roof, rule, written) for rule in written}
    return {name: kept for name, kept in found.items() if kept is not None}


def _kept(roof: Roof, rule: Asked, written: Sequence[Asked]) -> Kept | None:
    in_force = [day for day in range(EARLY, LATE) if _ruling(day, rule.id, written) is rule]
    if not in_force:
        return None
    counted_from = in_force[0]
    while _ruling(counted_from - 1, rule.id, written) is not None:
        counted_from -= 1
    window = (counted_from, in_force[0], in_force[-1])
    done = sorted(_standing(roof), key=lambda one: (one.first, one.last, one.done.logged))
    zones, prompt = {}, []
    for name in _zones_of(rule):
        able = [one for one in done if _covers(one.done, name, rule)]
        zone = _zone(roof, rule, name, window, able)
        if zone is not None:
            zones[name] = zone
            promptly = [
                one for one in able if one.told_on is not None and one.told_on >= rule.logged
            ]
            on_time = _zone(roof, rule, name, window, promptly)
            assert on_time is not None
            prompt.append(on_time.longest)
    stated = [zone.longest for zone in zones.values()]
    return Kept(zones, _met(stated, rule.days), _met(prompt, rule.days))


def _ruling(day: int, rule_id: str, written: Sequence[Asked]) -> Asked | None:
    """The rule of that id in force on a day: the one stated last that speaks of it."""
    speaking = [rule for rule in written if rule.id == rule_id and rule.first <= day]
    if not speaking:
        return None
    last = max(reversed(speaking), key=lambda rule: rule.logged)  # of one day: the one behind
    return last if last.last is None or day <= last.last else None


def _zones_of(rule: Asked) -> list[str]:
    if rule.zones is not None:
        return [name for name in TYPES if name in rule.zones or TYPES[name] in rule.zones]
    return list(TYPES) if rule.task == "inspection" else list(ON_ROOF)


def _covers(done: Done, zone: str, rule: Asked) -> bool:
    if done.task != rule.task or zone not in done.zones:
        return False
    if done.task == "wash":
        return True
    if rule.means is not None:
        return done.means in rule.means
    return not (zone in ON_ROOF and done.means in FROM_BELOW)


def _standing(roof: Roof) -> Iterator[Counted]:
    """What was done as it stands on the day asked for."""
    for done in roof.done:
        fixes = [fix for fix in roof.fixes if fix.of == done.name and fix.logged <= roof.on]
        fixes.sort(key=lambda fix: fix.logged)
        if done.logged > roof.on or any(fix.what == "withdraw" for fix in fixes):
            continue
        first, last, zones, changed = done.first, done.last, done.zones, False
        for fix in fixes:
            if fix.what == "when":
                first, last, changed = fix.day, fix.day, True
            elif fix.what == "zones":
                zones, changed = fix.zones, True
        last = min(last, done.logged)
        told_on = done.logged if first == done.logged and not changed else None
        yield Counted(replace(done, zones=zones), BUILT if first is None else first, last, told_on)


def _zone(
    roof: Roof, rule: Asked, name: str, window: tuple[int, int, int], able: Sequence[Counted]
) -> Zone | None:
    place = roof.places[name]
    since = EARLY if place.since is None else place.since
    until = LATE if place.until is None else place.until
    start, opens = max(window[0], since), max(window[1], since)
    end = min(window[2], until, roof.on)
    if end < opens:
        return None
    inside = [
        replace(one, first=max(one.first, start), last=min(one.last, end))
        for one in able
        if one.first <= end and one.last >= start
    ]
    if all(one.first == one.last for one in inside):
        rows = _day_by_day(inside, start, end)
    else:
        rows = _by_pairs(inside, start, end)
    rows = [row for row in rows if opens == start or row.to >= opens]
    last = max((one.first for one in inside), default=None)
    return Zone(
        tuple(_told(row, rule, roof, name) for row in rows),
        last,
        (start if last is None else last) + rule.days if end == roof.on else None,
        _longest(inside, start, end) if opens == start else _most(row.days for row in rows),
    )


def _day_by_day(inside: Sequence[Counted], start: int, end: int) -> list[Row]:
    """The gaps between single days."""
    rows, since = [], start
    for day in range(start, end + 1):
        here = [one.done.name for one in inside if one.first == day]
        if (here or day == end) and day > since:
            days = sum(1 for _ in range(since, day))
            rows.append(
                Row(since, day, (days, days), (0, 0), here[0] if here else None, frozenset())
            )
        if here:
            since = day
    return rows


def _by_pairs(inside: Sequence[Counted], start: int, end: int) -> list[Row]:
    """The gaps between all up to an entry and all from the next on, wherever each truly lay."""
    firsts = [start, *(one.first for one in inside), end]
    closing = [*(one.done.name for one in inside), None]
    counts: list[set[int]] = [set() for _ in closing]
    for days in _placed(inside):
        lie = [start, *days, end]
        for at, count in enumerate(counts, start=1):
            count.add(max(0, min(lie[at:]) - max(lie[:at])))
    return [
        Row(firsts[at], firsts[at + 1], (min(count), max(count)), (0, 0), closing[at], frozenset())
        for at, count in enumerate(counts)
        if count != {0}
    ]


def _placed(inside: Sequence[Counted]) -> Iterator[tuple[int, ...]]:
    """Every way in which the days can have been."""
    return product(*(range(one.first, one.last + 1) for one in inside))


def _longest(inside: Sequence[Counted], start: int, end: int) -> Pair:
    """The longest gap at its least and its most."""
    found = set()
    for days in _placed(inside):
        stops = sorted({start, *days, end})
        found.add(max((after - before for before, after in pairwise(stops)), default=0))
    return min(found), max(found)


def _told(row: Row, rule: Asked, roof: Roof, zone: str) -> Row:
    over = (max(0, row.days[0] - rule.days), max(0, row.days[1] - rule.days))
    reach = row.from_ + row.days[1]
    return replace(row, over=over, put_off=frozenset(_put_off(roof, rule, zone, row.from_, reach)))


def _put_off(roof: Roof, rule: Asked, zone: str, first: int, last: int) -> Iterator[str]:
    for one in roof.put_off:
        fits = one.task == rule.task and (one.zones is None or zone in one.zones)
        days = range(one.first, min(one.last, one.logged) + 1)
        if one.logged <= roof.on and fits and any(first <= day <= last for day in days):
            yield one.name


def _most(pairs: Iterator[Pair]) -> Pair:
    rows = [(0, 0), *pairs]
    return max(row[0] for row in rows), max(row[1] for row in rows)


def _met(longest: Sequence[Pair], days: int) -> str:
    if any(pair[0] > days for pair in longest):
        return "no"
    return "yes" if longest and all(pair[1] <= days for pair in longest) else "unclear"


# Custody


def hands(roof: Roof) -> list[Hand]:
    """Who held the rig, and the days between on which nobody did."""
    told = [one for one in roof.held if one.logged <= roof.on]
    found, taken = [], set()
    for one in told:
        ended = one.ended is not None and max(one.ended, one.logged) <= roof.on
        stated = one.to if one.to is not None else one.ended if ended else None
        last = stated
        if stated is None:
            last = next(
                (
                    day - 1
                    for day in range(one.first + 1, LATE)
                    if any(o.first == day for o in told)
                ),
                None,
            )
        elif stated > roof.on:
            last = None
        held = [
            day
            for day in range(EARLY, LATE)
            if one.first <= day <= (LATE if last is None else last)
        ]
        taken.update(held)
        counted = [day for day in held if last is not None or day < roof.on]
        found.append(Hand(one.party, one.first, last, len(counted)))
    begun = min((one.first for one in told), default=LATE)
    run: list[int] = []
    for day in range(begun, roof.on + 2):
        free = day not in taken and day <= roof.on
        if free:
            run.append(day)
        elif run:
            goes_on = run[-1] == roof.on
            found.append(
                Hand(None, run[0], None if goes_on else run[-1], len(run) - (1 if goes_on else 0))
            )
            run = []
    return found

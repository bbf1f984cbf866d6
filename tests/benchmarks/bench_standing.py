"""How long a large record takes to be read and measured.

Run: python -m tests.benchmarks.bench_standing

Eleven years of one rig, invented: a look at twenty-four zones every other day or so, trips, washes,
findings that are rechecked and settled, incidents, corrections, papers and outsiders.
"""

import sys
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from time import perf_counter
from typing import Any, TypeVar

from evidence.trade import load_catalogue
from evidence.upkeep import as_json, measure, read_history, what_is_due
from evidence.witness import Trust
from tests.scenarios.build import LOOK_90, RIG, Told, build, look, photo, starter, tell

T = TypeVar("T")

ENTRIES = 3000
ALLOWED_SECONDS = 5
FIRST = date(2015, 1, 6)
ZONES = [f"zone-{n:02}" for n in range(1, 25)]


def main() -> int:
    """Print the seconds of each step; 1 where they come to more than is allowed."""
    entries = timed("write", lambda: build(list(story()), admitted=False))
    trust = {entry.seq: Trust.SAMPLE for entry in entries if entry.kind == "witness"}
    on = date(2026, 1, 1)
    begun = perf_counter()
    history = timed("read", lambda: read_history(entries, on=on, trust=trust))
    standing = timed("measure", lambda: measure(history, load_catalogue(), "ab" * 32))
    document = timed("as JSON", lambda: as_json(standing))
    timed("due", lambda: what_is_due(standing, load_catalogue()))
    seconds = perf_counter() - begun
    counted = {name: len(rows) for name, rows in document.items() if isinstance(rows, list)}
    print(f"{len(entries)} entries: {seconds:.2f} s, {counted}")  # noqa: T201
    return int(seconds > ALLOWED_SECONDS)


def timed(name: str, work: Callable[[], T]) -> T:
    """The result of `work`, its seconds printed."""
    begun = perf_counter()
    result = work()
    print(f"{name:8} {perf_counter() - begun:6.2f} s")  # noqa: T201
    return result


def story() -> Iterator[Told]:
    """About `ENTRIES` entries in order of time."""
    zones = [{"id": name, "type": "Z13", "label": name, "slope": "flat"} for name in ZONES]
    asked = LOOK_90 | {"zones": ZONES, "applies_from": "2015-01-05"}
    rules = [
        asked,
        asked | {"id": "wash-365", "task": "wash", "days": 365},
        asked | {"id": "reseal", "task": "reseal", "days": 900},
        asked | {"id": "trip", "task": "after-trip", "days": 7},
        asked | {"id": "event", "task": "after-event", "days": 2},
    ]
    rig = RIG | {"zones": zones, "built": "2014-06-01"}
    yield from starter(rules=rules, rig=rig, logged="2015-01-05T18:00:00Z")
    written = 5 + len(rules)  # the case, three parties, the rig and the rules
    for n in range(ENTRIES):
        day = (FIRST + timedelta(days=n * 4000 // ENTRIES)).isoformat()
        for told in one(n, day):
            yield told
            written += 2 if "witness" in told else 1
        if written >= ENTRIES:
            return


def one(n: int, day: str) -> Iterator[Told]:
    """The entry of a round; every fortieth is witnessed."""
    more: dict[str, Any] = {"witness": True} if n % 40 == 0 else {}
    logged = f"{day}T23:59:00Z"
    if n % 60 == 51:
        body = {
            "id": f"i{n}",
            "stated_cause": "branch",
            "when": day,
            "known": "found-later" if n % 120 == 51 else "seen",
            "zones": ZONES[n % 20 : n % 20 + 3],
        }
        yield tell("incident", body, logged, **more)
    elif n % 12 == 5:
        yield tell("trip", {"id": f"t{n}", "out": day, "back": day}, logged, **more)
    elif n % 12 == 6:
        yield tell("wash", {"when": day, "zones": "all"}, logged, id=f"wash-{n}", **more)
    elif n % 12 == 7:
        put_off = {"when": day, "task": "inspection", "why": "weather"}
        yield tell("deferral", put_off, logged, **more)
    elif n % 12 == 8:
        receipt = {"type": "receipt", "title": "soap", "about": [{"entry": f"wash-{n - 2}"}]}
        yield tell("paper", receipt, logged, **more)
    elif n % 100 == 99:
        fix = {"of": {"entry": f"look-{n}"}, "set": {"occasion": "follow-up"}, "why": "mistyped"}
        yield look(day, dict.fromkeys(ZONES, 0), id=f"look-{n}", **more)
        yield tell("correction", fix, logged)
    else:
        yield seen(n, day, **more)


def seen(n: int, day: str, **more: Any) -> Told:
    """A look at every zone, one of them with a finding; the one before last is settled by it."""
    zone = ZONES[n % len(ZONES)]
    found = {"id": f"f{n}", "zone": zone, "type": "D02", "grade": 3}
    body: Told = {"findings": [found]} if n % 5 == 0 else {}
    if n % 5 == 1:
        body["rechecks"] = [{"finding": f"f{n - 1}", "state": "same", "grade": 3}]
    if n % 5 == 3:
        body["settles"] = [f"f{n - 3}"]
    shot = photo(f"{day.replace('-', ':')} 12:00:00", offset="-06:00", name=f"{n}.jpg", zone=zone)
    return look(day, dict.fromkeys(ZONES, 0), body=body, files=[shot], **more)


if __name__ == "__main__":
    sys.exit(main())

"""How long `standing` takes on a large record, and how that grows.

Run: python -m tests.benchmarks.bench_standing

Ten years of one rig, invented: looks at eight zones with pictures, findings that are rechecked and
settled, trips, washes, deferrals, papers, corrections, outsiders, and a dozen incidents. A larger
record is a closer one over the same ten years. The case, its keys and its photos are left out: what
is timed goes from entries that were read to the JSON document.
"""

import gc
import sys
from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from statistics import median
from time import perf_counter
from typing import Any

from evidence.envelope import Entry
from evidence.trade import load_catalogue
from evidence.upkeep import as_json, measure, read_history
from evidence.witness import Trust
from tests.scenarios.build import LOOK_90, RIG, Told, build, look, photo, starter, tell

SIZES = (1_000, 5_000, 10_000)
AIM_MS = 150
"""For 5,000 entries, warm."""
AIM_RATIO = 12
"""From 1,000 to 10,000 entries: n log n gives 13.3, less what is the same at every size."""

ROUNDS = 5
INCIDENTS = 12
FIRST, DAYS = date(2015, 1, 6), 3650
ON = date(2025, 6, 1)
ZONES = [f"zone-{n}" for n in range(1, 9)]


def main() -> int:
    """Print the milliseconds at each size; 1 where an aim was missed."""
    took = {size: timed(size) for size in SIZES}
    ratio = took[10_000] / took[1_000]
    print(f"1,000 to 10,000 entries: {ratio:.1f} times as long (aim: {AIM_RATIO})")  # noqa: T201
    print(f"5,000 entries: {took[5_000]:.0f} ms (aim: {AIM_MS})")  # noqa: T201
    return int(ratio > AIM_RATIO or took[5_000] > AIM_MS)


def timed(size: int) -> float:
    """The milliseconds of `standing` over a record of that size: the median of several, warm."""
    entries = build(list(story(size)), admitted=False)
    steps = steps_over(entries)
    run(steps)
    rounds = [run(steps) for _ in range(ROUNDS)]
    parts = {name: median(one[name] for one in rounds) for name in rounds[0]}
    whole = median(sum(one.values()) for one in rounds)
    shown = ", ".join(f"{name} {ms:.0f}" for name, ms in parts.items())
    print(f"{len(entries):6} entries: {whole:6.0f} ms ({shown})")  # noqa: T201
    return whole


Steps = dict[str, Callable[[Any], Any]]


def steps_over(entries: Sequence[Entry]) -> Steps:
    """What `standing` does, one step after the other."""
    trust = {entry.seq: Trust.SAMPLE for entry in entries if entry.kind == "witness"}
    return {
        "read": lambda _: read_history(entries, on=ON, trust=trust),
        "measure": lambda history: measure(history, load_catalogue(), "ab" * 32),
        "as JSON": as_json,
    }


def run(steps: Steps) -> dict[str, float]:
    """The milliseconds of each step."""
    took, value = {}, None
    gc.collect()
    for name, step in steps.items():
        begun = perf_counter()
        value = step(value)
        took[name] = (perf_counter() - begun) * 1000
    return took


def story(size: int) -> Iterator[Told]:
    """About `size` entries in order of time."""
    zones = [{"id": name, "type": "Z13", "label": name, "slope": "flat"} for name in ZONES]
    asked = LOOK_90 | {"zones": ZONES, "applies_from": "2015-01-05"}
    rules = [
        asked,
        asked | {"id": "wash", "task": "wash", "days": 365},
        asked | {"id": "reseal", "task": "reseal", "days": 900},
        asked | {"id": "trip", "task": "after-trip", "days": 7},
        asked | {"id": "event", "task": "after-event", "days": 2},
    ]
    rig = RIG | {"zones": zones, "built": "2014-06-01"}
    yield from starter(rules=rules, rig=rig, logged="2015-01-05T18:00:00Z")
    rounds = size - 5 - len(rules) - size // 40  # less what stands at the start, and witnesses
    events = {(n + 1) * rounds // (INCIDENTS + 1) for n in range(INCIDENTS)}
    for n in range(rounds):
        day = (FIRST + timedelta(days=n * DAYS // rounds)).isoformat()
        yield incident(n, day) if n in events else one(n, day)


def incident(n: int, day: str) -> Told:
    """A branch on two zones; each second one was found later."""
    known = "found-later" if n % 2 else "seen"
    at = n % (len(ZONES) - 1)
    body = {"id": f"i{n}", "stated_cause": "branch", "when": day, "known": known}
    return tell("incident", body | {"zones": ZONES[at : at + 2]}, f"{day}T23:59:00Z")


def one(n: int, day: str) -> Told:
    """The entry of a round; every fortieth is witnessed."""
    more: dict[str, Any] = {"witness": True} if n % 40 == 0 else {}
    logged = f"{day}T23:59:00Z"
    match n % 12:
        case 5:
            return tell("trip", {"id": f"t{n}", "out": day, "back": day}, logged, **more)
        case 6:
            return tell("wash", {"when": day, "zones": "all"}, logged, **more)
        case 7:
            body = {"when": day, "task": "inspection", "why": "weather"}
            return tell("deferral", body, logged, **more)
        case 8:
            return tell("paper", {"type": "receipt", "title": "soap"}, logged, **more)
        case _:
            return seen(n, day, **more)


def seen(n: int, day: str, **more: Any) -> Told:
    """A look at every zone; in a round of twelve, a finding is opened, seen again and settled."""
    body: Told = {}
    match n % 12:
        case 0:
            zone = ZONES[n % len(ZONES)]
            body["findings"] = [{"id": f"f{n}", "zone": zone, "type": "D02", "grade": 3}]
        case 1:
            body["rechecks"] = [{"finding": f"f{n - 1}", "state": "same", "grade": 3}]
        case 3:
            body["settles"] = [f"f{n - 3}"]
    shot = photo(f"{day.replace('-', ':')} 12:00:00", offset="-06:00", name=f"{n}.jpg")
    return look(day, dict.fromkeys(ZONES, 0), body=body, files=[shot], **more)


if __name__ == "__main__":
    sys.exit(main())

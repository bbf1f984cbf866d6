"""How long `standing` takes on a large record, and how that grows.

Run: python -m tests.benchmarks.bench_standing

Ten years of one rig, invented: looks at eight zones with pictures, findings that are rechecked and
settled, trips, washes, deferrals, papers, corrections, outsiders, and a dozen incidents. A larger
record is a closer one over the same ten years. The case, its keys and its photos are left out.

Timed is the processor time of `standing`, from the history to the JSON document: the first time,
with the reading of the entries, and warm, when the history has been asked before.
"""

import gc
import sys
from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from time import process_time
from typing import Any, NamedTuple, TypeVar

from evidence.cli import GC_THRESHOLDS
from evidence.envelope import Entry
from evidence.trade import load_catalogue
from evidence.upkeep import History, as_json, measure, read_history
from evidence.witness import Trust
from tests.scenarios.build import LOOK_90, RIG, Told, build, look, photo, starter, tell

T = TypeVar("T")

SIZES = (1_000, 5_000, 10_000)
AIM_MS = 150
"""For 5,000 entries, warm."""
AIM_RATIO = 12
"""From 1,000 to 10,000 entries, warm and the first time: n log n would give 13.3."""

ROUNDS = 7
INCIDENTS = 12
FIRST, DAYS = date(2015, 1, 6), 3650
ON = date(2025, 6, 1)
ZONES = [f"zone-{n}" for n in range(1, 9)]


class Took(NamedTuple):
    """Milliseconds: reading, the first `standing` of that history, and a later one."""

    read: float
    first: float
    warm: float


def main() -> int:
    """Print the milliseconds at each size; 1 where an aim was missed."""
    gc.set_threshold(*GC_THRESHOLDS)  # as the program does
    took = {size: timed(size) for size in SIZES}
    small, large = took[1_000], took[10_000]
    warm = large.warm / small.warm
    first = (large.read + large.first) / (small.read + small.first)
    print(f"1,000 to 10,000 entries: {warm:.1f} times as long warm, {first:.1f} the first time")
    print(f"5,000 entries: {took[5_000].warm:.0f} ms warm; aims: {AIM_MS} ms, {AIM_RATIO} times")
    return int(max(warm, first) > AIM_RATIO or took[5_000].warm > AIM_MS)


def timed(size: int) -> Took:
    """The least disturbed of several rounds over a record of that size (as `timeit` advises)."""
    entries = build(list(story(size)), admitted=False)
    rounds = [one_round(entries) for _ in range(ROUNDS)]
    took = Took(*(min(part) for part in zip(*rounds, strict=True)))
    shown = ", ".join(f"{name} {ms:.0f}" for name, ms in took._asdict().items())
    print(f"{len(entries):6} entries: {shown} ms")
    return took


def one_round(entries: Sequence[Entry]) -> Took:
    """Read once, measured twice."""
    gc.collect()
    trust = {entry.seq: Trust.SAMPLE for entry in entries if entry.kind == "witness"}
    read, history = timing(lambda: read_history(entries, on=ON, trust=trust))
    first, _ = timing(lambda: standing(history))
    warm, _ = timing(lambda: standing(history))
    return Took(read, first, warm)


def standing(history: History) -> object:
    """The document of `standing --json`."""
    return as_json(measure(history, load_catalogue(), "ab" * 32))


def timing(work: Callable[[], T]) -> tuple[float, T]:
    """The milliseconds of processor time that it took, and what came out."""
    begun = process_time()
    result = work()
    return (process_time() - begun) * 1000, result


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

"""Entries that several tests of upkeep tell, each logged on the day that it is about."""

from hashlib import sha256
from typing import Any

from tests.scenarios.build import LOOK_90, Told, finding, look, tell

STRIKE = "2025-06-08T16:40-05:00"  # 21:40 UTC


def rule(task: str = "inspection", days: int = 90, **more: Any) -> Told:
    """A rule about the skylight from 5 January 2025."""
    name = "look-90" if task == "inspection" else task
    return {**LOOK_90, "id": name, "task": task, "days": days, **more}


def correct(of: int, logged: str, **body: Any) -> Told:
    """A correction of an entry: `set` or `withdraw`."""
    return tell("correction", {"of": of, "why": "mistyped", **body}, logged)


def found(when: str = "2025-06-10", grade: int = 3, **more: Any) -> Told:
    """A look that opens f1 at the skylight."""
    body = {"findings": [finding("f1", grade=grade)]}
    return look(when, {"skylight": grade}, body=body, **more)


def recheck(when: str, state: str, grade: int = 3, **more: Any) -> Told:
    """A look that sees f1 again, or sees that it is gone."""
    body = {"rechecks": [{"finding": "f1", "state": state, "grade": grade}]}
    body |= more.pop("body", {})
    return look(when, {"skylight": grade}, body=body, **more)


def reseal(when: str, logged: str | None = None, **body: Any) -> Told:
    """A strip and reseal of the skylight with a sealant that suits it; it settles f1."""
    whole = {
        "when": when,
        "zones": ["skylight"],
        "extent": "strip",
        "family": "self-levelling",
        "settles": ["f1"],
    }
    return tell("reseal", whole | body, logged or f"{when[:10]}T23:59:00Z")


def handed_over(*signing: str, responsible: str = "dealer") -> Told:
    """A delivery with f1 as a defect, promised for 1 August, signed by those who are named."""
    statement = "The skylight leaks; the dealer mends it."
    over = sha256(statement.encode()).hexdigest()
    body = {
        "when": "2025-06-11",
        "type": "delivery",
        "from": "dealer",
        "to": "owner",
        "writer": "to",
        "defects": [{"finding": "f1", "responsible": responsible, "promised": "2025-08-01"}],
        "statement": statement,
        "signatures": [
            {"party": name, "how": "drawn", "over": over, "at": "2025-06-11"} for name in signing
        ],
    }
    return tell("handover", body, "2025-06-11T20:00:00Z")


def trip(name: str, out: str, back: str | None = None) -> Told:
    """A trip; under way without `back`."""
    body = {"id": name, "out": out} | ({} if back is None else {"back": back})
    return tell("trip", body, f"{(back or out)[:10]}T22:00:00Z")


def reading(when: str, value: int, logged: str | None = None, **more: Any) -> Told:
    """A moisture reading in the ceiling, in tenths of a per cent."""
    body = {
        "when": when,
        "zone": "ceiling",
        "spot": "left",
        "value_pct10": value,
        "scale": "wood-mc",
        "meter": "pin",
    }
    return tell("reading", body | more, logged or f"{when[:10]}T22:00:00Z")


def incident(when: str = STRIKE, logged: str = "2025-06-08T22:00:00Z", **more: Any) -> Told:
    """The branch i1 at the skylight."""
    body = {
        "id": "i1",
        "stated_cause": "branch",
        "when": when,
        "known": "seen",
        "zones": ["skylight"],
    }
    return tell("incident", body | more, logged)


def after(when: str = "2025-06-09", grade: int = 4, **more: Any) -> Told:
    """A look at the skylight that names i1."""
    body = {"incidents": ["i1"], "occasion": "after-event"} | more.pop("body", {})
    return look(when, {"skylight": grade}, body=body, **more)

"""A record, and one entry of each kind that it can take next."""

from copy import deepcopy
from typing import Any

import pytest

from evidence.errors import RefusedError
from tests import examples
from tests.scenarios.build import LOOK_90, RIG, Told, build, finding, look, photo, starter, tell

SHOT = photo("2025:02:01 10:00:00", offset="-06:00")
INCIDENT: Told = {
    "id": "i1",
    "stated_cause": "branch",
    "when": "2025-02-02T16:40-06:00",
    "known": "seen",
    "zones": ["skylight"],
}
PAPER: Told = {"type": "receipt", "title": "soap"}
NOW = "2025-02-10T12:00:00Z"

# Behind the starter (0-5): 6 look with f1, 7 incident, 8 paper, 9 trip, 10 storage.
BEFORE: list[Told] = [
    *starter(),
    look("2025-02-01", {"skylight": 3}, body={"findings": [finding("f1")]}, files=[SHOT]),
    tell("incident", INCIDENT, "2025-02-03T12:00:00Z"),
    tell("paper", PAPER, "2025-02-03T12:01:00Z"),
    tell("trip", {"id": "t1", "out": "2025-02-04"}, "2025-02-04T12:00:00Z"),
    tell("storage", {"id": "s1", "from": "2025-01-10", "to": "2025-01-20"}, "2025-02-04T12:01:00Z"),
]

FITTING: dict[str, Told] = {
    "inspection": look("2025-02-09")["body"],
    "wash": {"when": "2025-02-09", "zones": ["skylight"]},
    "reseal": {
        "when": "2025-02-09",
        "zones": ["skylight"],
        "extent": "spot",
        "family": "self-levelling",
    },
    "cover": {"when": "2025-02-09", "zones": ["skylight"], "what": "sheet"},
    "reading": {
        "when": "2025-02-09",
        "zone": "ceiling",
        "spot": "left",
        "value_pct10": 110,
        "scale": "wood-mc",
        "meter": "pin",
    },
    "cost": {"when": "2025-02-09", "amount": "1", "currency": "USD", "what": "tape"},
    "notice": {"when": "2025-02-09", "direction": "sent", "party": "insurer", "type": "loss"},
    "paper": PAPER,
    "rule": LOOK_90 | {"id": "r2"},
    "deferral": {"when": "2025-02-09", "task": "inspection", "why": "ill"},
    "custody": {"when": "2025-02-09", "item": "lid", "action": "kept"},
    "incident": INCIDENT | {"id": "i2"},
    "weather": {"incident": "i1", "source": "x", "status": "final", "reports": []},
    "ownership": {"id": "o1", "party": "owner", "from": "2025-01-05", "known_by": "own-record"},
    "trip": {"id": "t2", "out": "2025-02-08"},
    "storage": {"id": "s2", "from": "2025-02-08"},
    "end": {"of": "t1", "when": "2025-02-09"},
    "label": {"of": [SHOT["sha256"]]},
    "rig": RIG,
}


def taken(*told: Told) -> None:
    build([*deepcopy(BEFORE), *told])


def refused(*told: Told) -> str:
    with pytest.raises(RefusedError) as caught:
        taken(*told)
    return str(caught.value)


def with_body(kind: str, logged: str = NOW, **changes: Any) -> Told:
    """The example of a kind, made to fit this record, with changes; `...` takes a field away."""
    body = {
        name: value
        for name, value in ({**FITTING.get(kind, examples.BODIES[kind])} | changes).items()
        if value is not ...
    }
    return tell(kind, body, logged)

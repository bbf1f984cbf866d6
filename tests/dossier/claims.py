"""Small claims told in entries: what stood before a strike, the strike, and what followed."""

from collections.abc import Sequence
from typing import Any

from evidence.dossier.summary import Summary, claim_summary
from evidence.trade import load_catalogue
from evidence.upkeep import Standing
from evidence.upkeep.incidents import IncidentFacts
from tests.scenarios.build import (
    LOOK_90,
    RIG,
    Told,
    finding,
    look,
    measured,
    photo,
    starter,
    tell,
)

ON = "2025-11-03"
RULE: Told = LOOK_90 | {"zones": ["field-mr", "skylight"], "basis": "paper-on-file"}
STRUCK = "2025-06-08T22:00:00Z"
FIELD = {"field-mr": 0}


def incident(when: str = "2025-06-08T16:40-05:00", logged: str = STRUCK, **more: Any) -> Told:
    """A branch on the middle right field at 16:40, unless it says otherwise."""
    body = {
        "id": "i1",
        "stated_cause": "branch",
        "when": when,
        "known": "seen",
        "zones": ["field-mr"],
    }
    by = more.pop("by", "owner")
    return tell("incident", body | more, logged) | {"by": by}


def cover(when: str = "2025-06-08T17:30-05:00", logged: str = "2025-06-08T22:40:00Z") -> Told:
    body = {"when": when, "zones": ["field-mr"], "what": "sheet and tape", "incidents": ["i1"]}
    return tell("cover", body, logged)


def notice(when: str = "2025-06-09", logged: str = "2025-06-09T15:00:00Z") -> Told:
    body = {"when": when, "direction": "sent", "party": "insurer", "type": "loss"}
    return tell("notice", body | {"incidents": ["i1"]}, logged)


def before(when: str = "2025-05-30", grades: dict[str, int] | None = None, **more: Any) -> Told:
    """A look before, with a close picture of the field."""
    shown = photo(f"{when[:10].replace('-', ':')} 12:10:31", offset="-05:00", zone="field-mr",
                  role="close", name="before.jpg")  # fmt: skip
    return look(when, grades or FIELD, **({"files": [shown]} | more))


def after(when: str = "2025-06-08T17:40-05:00", zone: str = "field-mr", **more: Any) -> Told:
    torn = finding("f3", zone, 4, type="D12", length_mm=210, width_mm=35, seen=["tear-edge-sharp"])
    body = {"occasion": "after-event", "findings": [torn], "incidents": ["i1"]}
    return look(when, {zone: 4}, body=body, **({"logged": "2025-06-08T22:55:00Z"} | more))


def claim(
    *told: Told, on: str = ON, rules: Sequence[Told] = (RULE,)
) -> tuple[Standing, IncidentFacts]:
    """A story behind its starter, and its first incident."""
    return measured_claim(starter(rules=list(rules)), *told, on=on)


def summary(*told: Told, on: str = ON, rules: Sequence[Told] = (RULE,)) -> Summary:
    """The first page of a claim, as text."""
    return claim_summary(*claim(*told, on=on, rules=rules), load_catalogue())


def crowded(name: str, text: str) -> tuple[Standing, IncidentFacts]:
    """40 zones, 60 pictures and 30 findings, under names and texts of any length; hail on all."""
    kinds = ("Z08", "Z11", "Z13", "Z05", "Z19")
    zones = [
        {
            "id": f"z{n}",
            "type": kinds[n % len(kinds)],
            "label": f"{name} {n}",
            "at": [n % 10 * 600, n // 10 * 500],
            "size_mm": [300, 300],
            "slope": "flat",
        }
        for n in range(40)
    ]
    ids = [zone["id"] for zone in zones]
    grades = {zone: n % 5 for n, zone in enumerate(ids)}
    found = [finding(f"f{n}", f"z{n}", 1 + n % 4, note=text) for n in range(1, 30)]
    pictures = [
        photo("2025:05:30 12:10:31", offset="-05:00", zone=f"z{n % 40}", role="close",
              name=f"{n} {name}"[:240])
        for n in range(60)
    ]  # fmt: skip
    rule = {key: value for key, value in RULE.items() if key != "zones"} | {"authority": text}
    return measured_claim(
        starter(rig=RIG | {"name": name, "zones": zones}, rules=[rule]),
        look("2025-05-30", grades, body={"findings": found}, files=pictures),
        incident(zones=ids, stated_cause="hail", note=text),
        look(
            "2025-06-08T17:40-05:00",
            {"z3": 4},
            logged="2025-06-08T22:55:00Z",
            body={
                "occasion": "after-event",
                "incidents": ["i1"],
                "findings": [finding("g1", "z3", 4, note=text)],
            },
        ),
        tell(
            "correction", {"of": 6, "set": {"means": "ladder"}, "why": text}, "2025-06-09T12:00:00Z"
        ),
    )


def measured_claim(
    begun: Sequence[Told], *told: Told, on: str = ON
) -> tuple[Standing, IncidentFacts]:
    standing = measured([*begun, *told], on)
    return standing, standing.incidents[0]

"""What is held against a small claim, and the entries that several of its tests tell.

Behind one rule a story begins with entry 6.
"""

from collections.abc import Sequence
from hashlib import sha256
from typing import Any

from evidence.trade import load_catalogue
from evidence.upkeep import measure, read_history
from evidence.upkeep.challenge import Answer, Challenge, How, Kind, challenge
from evidence.witness import Trust
from tests.dossier.claims import FIELD, RULE, after, before, claim, cover, incident, notice
from tests.scenarios.build import RIG, ROOT, Told, build, look, photo, starter, tell

BOTH = FIELD | {"skylight": 0}
SHOWN = photo("2025:06:08 17:40:10", offset="-05:00", zone="field-mr", role="close", name="a.jpg")
HELD = tell("ownership", {"id": "o1", "party": "owner", "from": "2023-03-01",
                          "known_by": "own-record"}, "2025-01-05T18:10:00Z")  # fmt: skip
SPOTLESS = (
    HELD,
    look("2025-03-05", BOTH, witness=True),
    before(grades=BOTH, witness=True),
    incident(),
    after(files=[SHOWN]),
    cover(logged="2025-06-08T22:56:00Z"),
    notice(),
)
WINDOW_ENDS = "2025-06-08T16:40:59-05:00"
"""The last second of the minute that `incident` states; it begins at 21:40:00 UTC."""


def against(*told: Told, **more: Any) -> tuple[Challenge, ...]:
    standing, facts = claim(*told, **more)
    return challenge(standing, facts, load_catalogue())


def against_distrusted(*told: Told) -> tuple[Challenge, ...]:
    """The same for a reader who was told to trust none of the outsiders."""
    written = build([*starter(rules=[RULE]), *told])
    trust = {entry.seq: Trust.UNTRUSTED for entry in written if entry.kind == "witness"}
    on = written[-1].logged.date()
    standing = measure(read_history(written, on=on, trust=trust), load_catalogue(), ROOT)
    return challenge(standing, standing.incidents[0], load_catalogue())


def only(kind: Kind, found: Sequence[Challenge]) -> Challenge:
    (one,) = (one for one in found if one.kind is kind)
    return one


def the(kind: Kind, *told: Told, **more: Any) -> Challenge:
    return only(kind, against(*told, **more))


def kinds(*told: Told, **more: Any) -> set[Kind]:
    return {one.kind for one in against(*told, **more)}


def answered(how: How, *entries: int) -> tuple[Answer, ...]:
    return (Answer(how, entries),)


# Entries


def custody(action: str, item: str = "vent lid", **more: Any) -> Told:
    files = more.pop("files", [])
    body = {"when": "2025-06-08", "item": item, "action": action, "incidents": ["i1"]}
    return tell("custody", body | more, "2025-06-08T23:30:00Z", files=files)


def wash(when: str, logged: str | None = None, zones: Any = "all", **more: Any) -> Told:
    body = {"when": when, "zones": zones, **more}
    return tell("wash", body, logged or f"{when[-10:]}T23:59:00Z")


def repair(when: str, what: str = "replace-part", zones: Sequence[str] = ("field-mr",)) -> Told:
    body = {"when": when, "zones": list(zones), "what": what}
    return tell("repair", body, f"{when[:10]}T23:59:00Z")


def deferral(when: str, task: str = "reseal") -> Told:
    return tell("deferral", {"when": when, "task": task, "why": "ill"}, f"{when[:10]}T23:59:00Z")


def pictures(logged: str, *files: Told) -> Told:
    return tell("photos", {}, logged, files=list(files))


def paper(*about: int, logged: str, kind: str = "receipt") -> Told:
    return tell("paper", {"type": kind, "title": "a paper", "about": list(about)}, logged)


def correction(of: int, logged: str, **body: Any) -> Told:
    return tell("correction", {"of": of, "why": "mistyped", **body}, logged)


def handover(when: str, **more: Any) -> Told:
    """A delivery by the dealer, signed by both."""
    statement = "As seen together."
    over = sha256(statement.encode()).hexdigest()
    signed = [{"party": name, "how": "drawn", "over": over, "at": when}
              for name in ("dealer", "owner")]  # fmt: skip
    body = {"when": when, "type": "delivery", "from": "dealer", "to": "owner", "writer": "to",
            "statement": statement, "signatures": signed}  # fmt: skip
    return tell("handover", body | more, f"{when}T23:59:00Z")


def rig(**changes: Any) -> Told:
    """The rig with changes; `...` takes a field away."""
    return {name: value for name, value in (RIG | changes).items() if value is not ...}

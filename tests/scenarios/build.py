"""A story (RECORD § 8) as entries, without a disk or a key: for the arithmetic of upkeep alone.

The entries go through canonical JSON and admission, as those of a case on disk do.
"""

from collections.abc import Mapping, Sequence
from copy import deepcopy
from datetime import date, timedelta
from hashlib import sha256
from typing import Any

import rfc8785

from evidence.envelope import Entry, read_entry
from evidence.times import parse_utc, utc_text
from evidence.trade import load_catalogue
from evidence.upkeep import History, Known, Standing, admit, as_json, measure, read_history
from evidence.witness import Trust

Told = dict[str, Any]

ROOT = "ab" * 32
START = "2025-01-05T18:00:00Z"  # noon in Chicago
WITNESSED_AFTER = timedelta(seconds=60)

OWNER: Told = {"id": "owner", "name": "M. Ashdown", "role": "owner"}
DEALER: Told = {"id": "dealer", "name": "Ferndale Trailers", "role": "dealer"}
INSURER: Told = {"id": "insurer", "name": "Larkfield Mutual", "role": "insurer"}
ZONES: list[Told] = [
    {"id": "field-mr", "type": "Z08", "label": "field, middle right", "slope": "flat"},
    {"id": "skylight", "type": "Z11", "label": "skylight", "slope": "flat"},
    {"id": "vent", "type": "Z13", "label": "ceiling vent", "slope": "flat"},
    {"id": "rail-left", "type": "Z05", "label": "left rail", "slope": "vertical"},
    {"id": "ceiling", "type": "Z25", "label": "ceiling below the skylight"},
]
RIG: Told = {
    "id": "wren",
    "name": "Wren",
    "surface": "tpo",
    "length_mm": 6400,
    "width_mm": 2300,
    "built": "2023-03-01",
    "home_zone": "America/Chicago",
    "walkable": "yes",
    "zones": ZONES,
}
LOOK_90: Told = {
    "id": "look-90",
    "task": "inspection",
    "days": 90,
    "zones": ["skylight"],
    "authority": "maker's booklet, 2023 edition, p. 14",
    "basis": "owners-own",
    "applies_from": "2025-01-05",
    "required": True,
}


def tell(kind: str, body: Told, logged: str, **more: Any) -> Told:
    """One entry of a story, by the owner unless it says otherwise."""
    return {"logged": logged, "by": "owner", "kind": kind, "body": body, **more}


def starter(
    *, rules: Sequence[Told] = (LOOK_90,), rig: Told = RIG, logged: str = START
) -> list[Told]:
    """Owner, dealer, insurer, rig and rules: what a record begins with."""
    parties = [tell("party", body, logged) for body in (OWNER, DEALER, INSURER)]
    return [*parties, tell("rig", rig, logged), *(tell("rule", body, logged) for body in rules)]


def look(when: str, grades: Mapping[str, int] | None = None, **more: Any) -> Told:
    """A routine look from the roof, logged at 18:00 in Chicago on the day it starts with.

    `body` adds to its body; `logged` and what else an entry may carry go beside it.
    """
    rows = [{"zone": zone, "grade": grade} for zone, grade in (grades or {"skylight": 0}).items()]
    body: Told = {"when": when, "means": "on-roof", "occasion": "routine", "zones": rows}
    body.update(more.pop("body", {}))
    logged = more.pop("logged", None) or evening(when)
    return tell("inspection", body, logged, **more)


def evening(when: str) -> str:
    """About 18:00 in Chicago on the day with which a stated time begins."""
    return f"{when.removeprefix('../')[:10]}T23:59:00Z"


def finding(name: str, zone: str = "skylight", grade: int = 3, **more: Any) -> Told:
    return {"id": name, "zone": zone, "type": "D02", "grade": grade, **more}


def photo(taken: str | None, **more: Any) -> Told:
    """A sealed picture; `taken` is its DateTimeOriginal, `offset` its OffsetTimeOriginal."""
    offset = more.pop("offset", None)
    name = more.pop("name", f"{taken}.jpg")
    camera = {"DateTimeOriginal": taken, "OffsetTimeOriginal": offset}
    ref: Told = {
        "sha256": sha256(name.encode()).hexdigest(),
        "bytes": 100,
        "type": "image/jpeg",
        "name": name,
        **more,
    }
    if taken is not None:
        ref["camera"] = {tag: text for tag, text in camera.items() if text is not None}
    return ref


def build(entries: Sequence[Told], *, admitted: bool = True) -> list[Entry]:
    """The entries of a story behind its case entry, with their witness entries."""
    told = [tell("case", {"case_id": "0" * 32, "title": "A story", "sample": True}, START)]
    told += deepcopy(list(entries))
    told[0] |= {"logged": told[1]["logged"], "by": told[1]["by"]}
    written = _Written(admitted=admitted)
    for one in told:
        written.add(one)
        if one.get("witness"):
            written.witness(one)
    return written.entries


class _Written:
    def __init__(self, *, admitted: bool) -> None:
        self.entries: list[Entry] = []
        self.known = Known()
        self.admitted = admitted
        self.seqs: dict[str, int] = {}
        self.prev = "0" * 64

    def add(self, one: Told) -> None:
        kind, seq = one["kind"], len(self.entries)
        whole = {
            "v": 1,
            "seq": seq,
            "nth": 1 + sum(entry.kind == kind for entry in self.entries),
            "prev": self.prev,
            "kind": kind,
            "body": self._resolved(one["body"]),
            "logged": one["logged"],
            "by": one["by"],
            "files": one.get("files", []),
        }
        line = rfc8785.dumps(whole)
        entry = read_entry(line)
        if self.admitted:
            admit(self.known, entry)
        self.known.add(entry)
        self.entries.append(entry)
        self.prev = sha256(line).hexdigest()
        if "id" in one:
            self.seqs[one["id"]] = seq

    def witness(self, one: Told) -> None:
        at = utc_text(parse_utc(one["logged"]) + WITNESSED_AFTER)
        size = len(self.entries)
        body = {"type": "rfc3161", "size": size, "root": ROOT, "time": at, "name": "Sample"}
        self.add(tell("witness", body, at))

    def _resolved(self, value: Any) -> Any:
        if isinstance(value, dict):
            if set(value) == {"entry"}:
                return self.seqs[value["entry"]]
            return {name: self._resolved(inner) for name, inner in value.items()}
        if isinstance(value, list):
            return [self._resolved(inner) for inner in value]
        return value


def history(entries: Sequence[Told], on: str, *, admitted: bool = True) -> History:
    """The history of a story behind its starter; every witness is a sample's."""
    written = build([*starter(), *entries] if _is_bare(entries) else entries, admitted=admitted)
    trust = {entry.seq: Trust.SAMPLE for entry in written if entry.kind == "witness"}
    return read_history(written, on=date.fromisoformat(on), trust=trust)


def measured(entries: Sequence[Told], on: str, *, admitted: bool = True) -> Standing:
    """A story measured; the starter is put ahead of one that does not begin with a party."""
    return measure(history(entries, on, admitted=admitted), load_catalogue(), ROOT)


def shown(entries: Sequence[Told], on: str, *, admitted: bool = True) -> Any:
    """A story measured, as the JSON document of OUTPUTS § 2."""
    return as_json(measured(entries, on, admitted=admitted))


def _is_bare(entries: Sequence[Told]) -> bool:
    return not entries or entries[0]["kind"] != "party"

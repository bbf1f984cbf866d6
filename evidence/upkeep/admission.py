"""What may be written next: the checks that depend on the entries before (RECORD §§ 2-4).

Ids are unique within their type, whatever is referred to is known, and no stated time lies in the
future. A refused entry is answered with the field, what is wrong, and what is known.
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from evidence import entries as e
from evidence.envelope import Entry
from evidence.errors import RefusedError
from evidence.shapes import Strict
from evidence.times import GRACE, parse_when, utc_text, zone
from evidence.upkeep.items import corrected

UNCORRECTABLE = ("case", "key", "witness", "issued")
OPENABLE = (e.Trip, e.Storage, e.Ownership)

_PLANNED = frozenset({"next_rain", "promised"})
"""Times that may lie ahead (RECORD § 3)."""

_REFERS = {
    "zone": "zones",
    "zones": "zones",
    "finding": "findings",
    "settles": "findings",
    "related": "findings",
    "incident": "incidents",
    "incidents": "incidents",
    "attribution": "incidents",
    "party": "parties",
    "responsible": "parties",
    "papers": "papers",
    "paper": "papers",
    "about": "entries",
    "rule": "rules",
}
"""Field name → what its ids must be found among. `from`/`to` of a hand-over are parties too."""


@dataclass(slots=True)
class Known:
    """What the record holds so far, by type of id."""

    ids: dict[str, set[str]] = field(
        default_factory=lambda: {
            name: set()
            for name in ("zones", "findings", "incidents", "parties", "rules", "files", "open")
        }
    )
    kinds: list[str] = field(default_factory=list)
    by_seq: list[Entry] = field(default_factory=list)
    used: set[tuple[str, str]] = field(default_factory=set)
    home: str | None = None

    @classmethod
    def of(cls, entries: Iterable[Entry]) -> "Known":
        """Everything known after `entries`."""
        known = cls()
        for entry in entries:
            known.add(entry)
        return known

    def add(self, entry: Entry) -> None:
        """Take note of one more entry."""
        body = entry.body
        self.kinds.append(entry.kind)
        self.by_seq.append(entry)
        self.ids["files"].update(file.sha256 for file in entry.files)
        if isinstance(body, e.Rig):
            self.home = body.home_zone
            self.ids["zones"].update(place.id for place in body.zones)
        if isinstance(body, e.Deed):
            self.ids["findings"].update(finding.id for finding in body.findings or ())
        if isinstance(body, e.End):
            self.ids["open"].discard(body.of)
        own = getattr(body, "id", None)
        if isinstance(own, str):
            self.used.add((entry.kind, own))
            for kind, name in ((e.Incident, "incidents"), (e.Party, "parties"), (e.Rule, "rules")):
                if isinstance(body, kind):
                    self.ids[name].add(own)
            if isinstance(body, OPENABLE):
                self.ids["open"].add(own)

    def among(self, group: str) -> Collection[str | int]:
        """The ids of a group; papers and entries are known by their seq."""
        if group == "papers":
            return [seq for seq, kind in enumerate(self.kinds) if kind == "paper"]
        if group == "entries":
            return range(len(self.kinds))
        return self.ids[group]


def admit(known: Known, entry: Entry, *, open_findings: Mapping[str, str] | None = None) -> None:
    """Refuse an entry that the record cannot take.

    Args:
        known: what stands before it.
        entry: the entry as it would be written.
        open_findings: findings open now with their zones, for a restated rig.

    Raises:
        RefusedError: naming the field.
    """
    _start(known, entry)
    _writer(known, entry)
    _own_ids(known, entry)
    body = entry.body
    known_with_own = _with_own(known, entry.body)
    _references(known_with_own, entry.kind, body)
    for file in entry.files:
        _references(known_with_own, "files", file)
    for path, text in _stated_times(entry.kind, body):
        _not_ahead(known, entry, path, text)
    if isinstance(body, e.Correction):
        _correction(known, entry, body)
    elif isinstance(body, e.Label):
        unknown = [digest for digest in body.of if digest not in known.ids["files"]]
        if unknown:
            raise RefusedError("label: field 'of'", f"no file {unknown[0][:12]}… is in the record")
    elif isinstance(body, e.End) and body.of not in known.ids["open"]:
        raise _unknown("end: field 'of'", body.of, known.ids["open"])
    elif isinstance(body, e.Rig):
        _no_open_zone_dropped(body, open_findings or {})


def _start(known: Known, entry: Entry) -> None:
    if isinstance(entry.body, e.Rehash):
        raise RefusedError(
            "kind 'rehash'", "is reserved for a record hashed again with a newer algorithm"
        )
    if isinstance(entry.body, e.Case) == bool(known.kinds):
        raise RefusedError(f"kind {entry.kind!r}", "a record starts with its one case entry")


def _writer(known: Known, entry: Entry) -> None:
    """`by` is a party; in the unit that starts a record the party is still to come."""
    parties = known.ids["parties"]
    if parties and entry.by not in parties and not isinstance(entry.body, e.Party):
        raise _unknown("field 'by'", entry.by, parties)


def _own_ids(known: Known, entry: Entry) -> None:
    own = getattr(entry.body, "id", None)
    restated = isinstance(entry.body, e.Rig | e.Rule | e.Party)
    if isinstance(own, str) and not restated and (entry.kind, own) in known.used:
        raise RefusedError(f"{entry.kind}: field 'id'", f"{own!r} is taken", "Choose another id.")
    if isinstance(entry.body, e.Rig):
        ids = [place.id for place in entry.body.zones]
        twice = next((name for name in ids if ids.count(name) > 1), None)
        if twice is not None:
            raise RefusedError("rig: field 'zones'", f"{twice!r} stands there twice")
    if isinstance(entry.body, e.Deed):
        seen: set[str] = set(known.ids["findings"])
        for finding in entry.body.findings or ():
            if finding.id in seen:
                raise RefusedError(
                    f"{entry.kind}: field 'findings'",
                    f"{finding.id!r} is taken",
                    "Use `rechecks` for a finding that was seen before.",
                )
            seen.add(finding.id)


def _with_own(known: Known, body: e.Body) -> Known:
    """A body and its files may refer to the findings and the incident that it opens itself."""
    wider = Known({name: set(ids) for name, ids in known.ids.items()}, known.kinds, known.by_seq)
    if isinstance(body, e.Deed):
        wider.ids["findings"].update(finding.id for finding in body.findings or ())
    if isinstance(body, e.Incident):
        wider.ids["incidents"].add(body.id)
    return wider


def _references(known: Known, path: str, value: Strict) -> None:
    """Every id that a model refers to is known."""
    for name in type(value).model_fields:
        given = getattr(value, name)
        if given is None or (isinstance(value, e.Rig) and name == "zones"):
            continue
        where = f"{path}: field {name.rstrip('_')!r}"
        group = _group(value, name)
        for item in given if isinstance(given, tuple) else (given,):
            if isinstance(item, Strict):
                _references(known, f"{path}.{name}", item)
            elif group is not None and item not in ("all", "undetermined"):
                _one(known, where, group, item)


def _group(value: Strict, name: str) -> str | None:
    if isinstance(value, e.Handover) and name in ("from_", "to"):
        return "parties"
    if isinstance(value, e.Rule) and name == "zones":
        return "zone ids or types"
    return _REFERS.get(name)


def _one(known: Known, where: str, group: str, item: object) -> None:
    if group == "zone ids or types":
        if isinstance(item, str) and (item.startswith("Z") or item in known.ids["zones"]):
            return
        group = "zones"
    among = known.among(group)
    if group == "parties" and not among:
        return  # the unit that starts a record: its keys stand before its party
    if item not in among:
        raise _unknown(where, item, among)


def _unknown(where: str, given: object, among: Collection[str | int]) -> RefusedError:
    shown = ", ".join(str(name) for name in sorted(among, key=str)[:12])
    return RefusedError(where, f"{given!r} is not known", f"Known: {shown or 'none yet'}.")


def _not_ahead(known: Known, entry: Entry, path: str, text: str) -> None:
    """No stated time lies more than ten minutes after the writer's clock."""
    earliest = parse_when(text, zone(known.home or "UTC")).earliest
    if earliest is not None and earliest > entry.logged + GRACE:
        raise RefusedError(
            path,
            f"{text} lies ahead of the clock ({utc_text(entry.logged)})",
            "Write what was done, not what is planned; or mend the clock.",
        )


def _stated_times(path: str, value: Strict) -> Iterator[tuple[str, str]]:
    for name, about in type(value).model_fields.items():
        given = getattr(value, name)
        if given is None or name in _PLANNED:
            continue
        if isinstance(given, tuple):
            for item in given:
                if isinstance(item, Strict):
                    yield from _stated_times(f"{path}.{name}", item)
        elif isinstance(given, str) and name in _TIMES.get(type(value), ("when",)):
            yield f"{path}: field {about.alias or name!r}", given


_TIMES: Mapping[type[Strict], tuple[str, ...]] = {
    e.Trip: ("out", "back"),
    e.Storage: ("from_", "to"),
    e.Ownership: ("from_",),
    e.Paper: ("dated",),
    e.Reseal: ("when", "last_wet"),
    e.Signature: ("at",),
}


def _correction(known: Known, entry: Entry, body: e.Correction) -> None:
    if body.of >= len(known.by_seq):
        raise _unknown("correction: field 'of'", body.of, range(len(known.by_seq)))
    target = known.by_seq[body.of]
    if target.kind in UNCORRECTABLE:
        raise RefusedError("correction: field 'of'", f"a {target.kind} entry is not corrected")
    if target.kind == "handover":
        raise RefusedError(
            "correction: field 'of'",
            "a hand-over was signed by both sides",
            "Write a new hand-over that both sign.",
        )
    if body.set is None:
        return
    unknown = [name for name in body.set if name not in _field_names(target)]
    if unknown:
        raise RefusedError("correction: field 'set'", f"{target.kind} has no field {unknown[0]!r}")
    changed = corrected(target, body.set)
    where = f"correction of entry {target.number}"
    _references(_with_own(known, changed), where, changed)
    for path, text in _stated_times(where, changed):
        _not_ahead(known, entry, path, text)


def _field_names(target: Entry) -> set[str]:
    return {about.alias or name for name, about in type(target.body).model_fields.items()}


def _no_open_zone_dropped(rig: e.Rig, open_findings: Mapping[str, str]) -> None:
    stated = {place.id for place in rig.zones}
    for finding, zone_id in open_findings.items():
        if zone_id not in stated:
            raise RefusedError(
                "rig: field 'zones'",
                f"{zone_id!r} has the open finding {finding!r} and cannot be left out",
                "Settle the finding first, or keep the zone.",
            )

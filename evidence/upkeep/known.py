"""What the record holds so far, by type of id, and whether what is referred to is among it."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field

from evidence import entries as e
from evidence.envelope import Entry
from evidence.errors import RefusedError
from evidence.shapes import Strict
from evidence.upkeep.history import Stay, stated_end

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
    "original_of": "files",
}
"""Field name → what its ids must be found among. `from`/`to` of a hand-over are parties too."""

_GROUPS = ("zones", "findings", "incidents", "parties", "rules", "files")


@dataclass(slots=True)
class Known:
    """What stands before an entry: ids by type, what is under way, and the entries themselves.

    Attributes:
        ids: by type; the zones are those that the rig has now.
        ever: every zone that the rig has or had.
        under_way: the entry that opened each trip, storage and ownership without an end.
        used: (kind, id) of every entry with an id.
        home: the zone of civil dates in force.
        rig: the id of the rig that the record is about.
    """

    ids: dict[str, set[str]] = field(default_factory=lambda: {name: set() for name in _GROUPS})
    ever: set[str] = field(default_factory=set)
    under_way: dict[str, Entry] = field(default_factory=dict)
    used: set[tuple[str, str]] = field(default_factory=set)
    by_seq: list[Entry] = field(default_factory=list)
    home: str | None = None
    rig: str | None = None

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
        self.by_seq.append(entry)
        self.ids["files"].update(file.sha256 for file in entry.files)
        self.add_own(body)
        own = getattr(body, "id", None)
        if isinstance(own, str):
            self.used.add((entry.kind, own))
        if isinstance(body, Stay) and stated_end(body) is None:
            self.under_way[body.id] = entry
        elif isinstance(body, e.End):
            self.under_way.pop(body.of, None)
        elif isinstance(body, e.Correction) and body.of < len(self.by_seq):
            self._retold(self.by_seq[body.of], body)
        elif isinstance(body, e.Rig):
            self.home, self.rig = body.home_zone, body.id

    def _retold(self, target: Entry, correction: e.Correction) -> None:
        """What a correction does to what is under way."""
        told = target.body
        if isinstance(told, e.End) and correction.withdraw:
            for stay in self.by_seq:
                if isinstance(stay.body, Stay) and stay.body.id == told.of:
                    self.under_way[told.of] = stay
        elif isinstance(told, Stay) and self.under_way.get(told.id) is target:
            ended = correction.set or {}
            if correction.withdraw or ended.get("back") or ended.get("to"):
                del self.under_way[told.id]

    def add_own(self, body: e.Body) -> None:
        """The ids that a body itself makes known."""
        if isinstance(body, e.Rig):
            self.ids["zones"] = {place.id for place in body.zones}
            self.ever |= self.ids["zones"]
        elif isinstance(body, e.Deed):
            self.ids["findings"].update(finding.id for finding in body.findings or ())
        elif isinstance(body, e.Incident):
            self.ids["incidents"].add(body.id)
        elif isinstance(body, e.Party):
            self.ids["parties"].add(body.id)
        elif isinstance(body, e.Rule):
            self.ids["rules"].add(body.id)

    def with_own(self, body: e.Body, *, of_any_time: bool = False) -> "Known":
        """What a body and its files may refer to: also the findings and the incident it opens.

        What is said of an earlier time may name every zone the rig ever had.
        """
        wider = Known({name: set(ids) for name, ids in self.ids.items()}, set(self.ever))
        wider.by_seq = self.by_seq
        wider.add_own(body)
        if of_any_time:
            wider.ids["zones"] = wider.ever
        return wider

    def among(self, group: str) -> Collection[str | int]:
        """The ids of a group; papers and entries are known by their seq."""
        if group == "papers":
            return {entry.seq for entry in self.by_seq if isinstance(entry.body, e.Paper)}
        if group == "entries":
            return range(len(self.by_seq))
        return self.ids[group]

    def check(self, path: str, value: Strict, only: Collection[str] | None = None) -> None:
        """Refuse a model that refers to an id that is not known.

        Args:
            path: where the model stands, for the answer.
            value: the model; those within it are checked too.
            only: the fields that are looked at; None for all of them.

        Raises:
            RefusedError: naming the field, with the ids that are known.
        """
        for where, group, item in references(value, path, only):
            self._one(where, group, item)

    def _one(self, where: str, group: str, item: object) -> None:
        if item in ("all", "undetermined"):
            return
        among = self.among(group.removesuffix(" or types"))
        if group == "parties" and not among:
            return  # the unit that starts a record: its keys stand before its party
        if group.endswith("types") and isinstance(item, str) and item.startswith("Z"):
            return
        if item not in among:
            raise unknown(where, item, among)


def references(
    value: Strict, path: str = "", only: Collection[str] | None = None
) -> Iterator[tuple[str, str, object]]:
    """Whatever a model and those within it refer to: the place, the group and the id.

    Args:
        value: the model.
        path: where it stands, for the place.
        only: the fields that are looked at; None for all of them.
    """
    for name, about in type(value).model_fields.items():
        given, written = getattr(value, name), about.alias or name
        if given is None or (only is not None and written not in only):
            continue
        for item in given if isinstance(given, tuple) else (given,):
            if isinstance(item, Strict):
                yield from references(item, f"{path}.{written}")
            elif (group := _group(value, name)) is not None:
                yield f"{path}: field {written!r}", group, item


def _group(value: Strict, name: str) -> str | None:
    if isinstance(value, e.Handover) and name in ("from_", "to"):
        return "parties"
    if isinstance(value, e.Rule) and name == "zones":
        return "zones or types"
    return _REFERS.get(name)


def unknown(where: str, given: object, among: Collection[str | int]) -> RefusedError:
    """The answer to an id that is not known."""
    shown = ", ".join(sorted(map(str, among), key=_in_order)[:12])
    return RefusedError(where, f"{given!r} is not known", f"Known: {shown or 'none yet'}.")


def _in_order(name: str) -> tuple[int, str]:
    """Numbers by their size, 2 before 10; names by the alphabet."""
    return (len(name) if name.isdecimal() else 0, name)

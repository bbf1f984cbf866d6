"""One line for an entry, as lists of entries show it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from evidence import entries as e
from evidence.dossier import say
from evidence.dossier.wording import wording
from evidence.shapes import Finding, FindingRecheck, Sealed
from evidence.times import parse_when
from evidence.trade import Catalogue
from evidence.upkeep import History, Item

_FEW = 3
_MOST_FINDINGS = 6
_TIMES: Mapping[type[e.Body], tuple[str, ...]] = {
    e.Trip: ("out", "back"),
    e.Storage: ("from", "to"),
    e.Ownership: ("from", "to"),
    e.Paper: ("dated",),
    e.Clock: ("was", "is"),
}
_PARTIES: Mapping[type[e.Body], tuple[str, ...]] = {
    e.Ownership: ("party",),
    e.Handover: ("from", "to"),
    e.Notice: ("party",),
}


def describe(item: Item, history: History, catalogue: Catalogue, *, only: str | None = None) -> str:
    """What an entry says, in one line: its kind and facts, what it found and settled, its fate.

    A free text is cut to its beginning; the record holds the whole.

    Args:
        item: the entry.
        history: the record that it stands in.
        catalogue: the words of the trade.
        only: a zone; of a look nothing is then said but what it says of that zone.
    """
    words, kind = wording("entries"), item.entry.kind
    fields = _fields(item, history)
    parts = _Parts(history, catalogue, only)
    if only is not None and isinstance(item.body, e.Inspection):
        fields["zones"] = parts.grade(item.body)
    more = [key for name in fields if (key := f"{kind}_{name}") in words.sections["more"]]
    line = words.say("kind", kind, **fields)
    line += "".join(words.say("more", key, **fields) for key in more)
    return ". ".join(part.rstrip(". ") for part in (line, *parts.of(item)))


def zone_names(ids: Sequence[str], history: History) -> str:
    """A few zones by their labels, many by their number."""
    words = wording("entries")
    if list(ids) == ["all"]:
        return words.say("part", "zones_all")
    if len(ids) > _FEW:
        return words.say("part", "zones_many", count=len(ids))
    labels = {place.id: say.name(place.zone.label) for place in history.places}
    return say.listed(labels.get(zone_id, zone_id) for zone_id in ids)


def _fields(item: Item, history: History) -> dict[str, object]:
    """The fields that the entry has, in words, under the names by which the record knows them."""
    body = item.body
    given = {
        about.alias or name: value
        for name, about in type(body).model_fields.items()
        if (value := getattr(body, name)) is not None
    }
    said = {name: _said(item, name, value, history) for name, value in given.items()}
    files = len(body.of) if isinstance(body, e.Label) else len(item.pictures)
    said["files"] = say.counted((files, files), "file")
    if isinstance(body, e.Witness):
        said["type"] = wording("entries").say("outsider", body.type)
    return said


def _said(item: Item, name: str, value: object, history: History) -> object:
    kind = type(item.body)
    if name in ("zone", "zones"):
        return zone_names(_zone_ids(value), history)
    if isinstance(value, Sealed):
        return wording("entries").say("part", "sealed")
    if isinstance(value, int):
        return _number(name, value, kind)
    if not isinstance(value, str):
        return value
    if name in _TIMES.get(kind, ()):
        return say.short_span(parse_when(value, item.home), item.home)
    return say.clipped(_party(value, history) if name in _PARTIES.get(kind, ()) else value)


def _number(name: str, value: int, kind: type[e.Body]) -> object:
    if name.endswith("_pct10"):
        return f"{value / 10:.1f} %"
    return value + 1 if kind is e.Correction else value  # people count entries from 1


def _party(party_id: str, history: History) -> str:
    party = history.parties().get(party_id)
    return party_id if party is None else party.name


def _zone_ids(zones: object) -> list[str]:
    """The ids in a `zone` or `zones` field: an id, `"all"`, or a list of ids, grades or zones."""
    listed = zones if isinstance(zones, tuple) else (zones,)
    return [str(getattr(row, "zone", getattr(row, "id", row))) for row in listed]


@dataclass(frozen=True)
class _Parts:
    """What follows the line: findings opened, looked at again and settled, and the entry's fate."""

    history: History
    catalogue: Catalogue
    only: str | None

    def of(self, item: Item) -> Iterator[str]:
        body = item.body
        if isinstance(body, e.Deed):
            found = [finding.id for finding in body.findings or ()]
            yield from self._said("found", {name: self._words(name) for name in found})
        if isinstance(body, e.Inspection):
            again = {row.finding: self._recheck(row) for row in body.rechecks or ()}
            yield from self._said("rechecked", again)
        if isinstance(body, e.Deed):
            yield from self._said(
                "settled", {name: self._words(name) for name in body.settles or ()}
            )
        if item.corrected_by:
            yield self._say("corrected", entries=say.entries(item.corrected_by))
        if item.withdrawn_by is not None:
            yield self._say("withdrawn", entries=say.entries([item.withdrawn_by]))

    def grade(self, look: e.Inspection) -> str:
        """The grade that a look gave the one zone, with its note."""
        rows = [row for row in look.zones if row.zone == self.only]
        if not rows:
            return self._say("not_covered")
        grade, note = rows[0].grade, rows[0].note
        text = self._say("grade", grade=int(grade), word=self.catalogue.grades[grade].word)
        return text if note is None else f"{text} ({say.clipped(note).rstrip('.')})"

    def _say(self, key: str, **figures: object) -> str:
        return wording("entries").say("part", key, **figures)

    def _said(self, key: str, words: Mapping[str, str]) -> Iterator[str]:
        """The sentence over those findings that are spoken of; none where there are none."""
        spoken = [text for name, text in words.items() if self._spoken_of(name)]
        shown = spoken[:_MOST_FINDINGS]
        if len(spoken) > _MOST_FINDINGS:
            shown.append(self._say("findings_more", count=len(spoken) - _MOST_FINDINGS))
        if shown:
            yield self._say(key, findings="; ".join(shown))

    def _spoken_of(self, finding_id: str) -> bool:
        finding = self._findings.get(finding_id)
        return self.only is None or (finding is not None and finding.zone == self.only)

    @cached_property
    def _findings(self) -> Mapping[str, Finding]:
        """Every finding of the record by its id, those of withdrawn entries too."""
        return {
            finding.id: finding
            for item in self.history.items
            if isinstance(item.body, e.Deed)
            for finding in item.body.findings or ()
        }

    def _words(self, finding_id: str) -> str:
        finding = self._findings.get(finding_id)
        if finding is None:
            return finding_id
        zone = zone_names([finding.zone], self.history)
        return self._say("finding", words=self.catalogue.findings[finding.type].words, zone=zone)

    def _recheck(self, row: FindingRecheck) -> str:
        words = self._words(row.finding)
        return self._say("recheck", finding=words, state=row.state, grade=int(row.grade))

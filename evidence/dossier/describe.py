"""One line for an entry, as lists of entries show it."""

from collections.abc import Sequence

from evidence.dossier.say import listed
from evidence.dossier.wording import wording
from evidence.entries import Correction, Deed, Inspection, Reading
from evidence.shapes import Strict
from evidence.trade import Catalogue
from evidence.upkeep import History, Item

_FEW = 3


def describe(item: Item, history: History, catalogue: Catalogue) -> str:
    """What an entry says, in one line: its kind, its zones, what it found and settled."""
    body, words = item.body, wording("entries")
    fields: dict[str, object] = {
        name: "" if value is None else value
        for name in type(body).model_fields
        if not isinstance(value := getattr(body, name), Strict)
    }
    fields["zones"] = _zones(_zone_ids(item), history)
    if isinstance(body, Reading):
        fields["value"] = f"{body.value_pct10 / 10:.1f} %"
        fields["zone_label"] = history.place(body.zone).zone.label
    if isinstance(body, Correction):
        fields["corrected"] = body.of + 1
    lines = [words.say("kind", item.entry.kind, **fields).strip().rstrip(":;,")]
    if isinstance(body, Deed):
        found = [
            f"{catalogue.findings[finding.type].words}, {history.place(finding.zone).zone.label}"
            for finding in body.findings or ()
        ]
        if found:
            lines.append(words.say("part", "found", findings="; ".join(found)))
        if body.settles:
            lines.append(words.say("part", "settles", findings=listed(body.settles)))
    return ". ".join(line.rstrip(". ") for line in lines)


def _zone_ids(item: Item) -> Sequence[str]:
    body = item.body
    if isinstance(body, Inspection):
        return [row.zone for row in body.zones]
    zones = getattr(body, "zones", None) or ()
    return ["all"] if zones == "all" else zones


def _zones(ids: Sequence[str], history: History) -> str:
    words = wording("entries")
    if list(ids) == ["all"]:
        return words.say("part", "zones_all")
    if len(ids) > _FEW:
        return words.say("part", "zones_many", count=len(ids))
    labels = {place.id: place.zone.label for place in history.places}
    return listed(labels.get(zone_id, zone_id) for zone_id in ids)

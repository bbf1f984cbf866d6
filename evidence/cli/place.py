"""Everything about one place on the roof, in order of time."""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import click
from pydantic import JsonValue

from evidence.cli import common
from evidence.cli.strip import tell_strip
from evidence.cli.wrong import finding_line
from evidence.dossier import say
from evidence.dossier.describe import describe
from evidence.dossier.exhibits import file_name
from evidence.dossier.linked import link_words
from evidence.dossier.outside import bracket_line, card_words, known_since
from evidence.entries import Deferral
from evidence.upkeep import as_json
from evidence.upkeep.brackets import bracket
from evidence.upkeep.carded import card_seen
from evidence.upkeep.shown import card_json

if TYPE_CHECKING:
    from evidence.upkeep import History, Item, Picture, Standing


def zone_document(standing: "Standing", zone_id: str) -> dict[str, JsonValue]:
    """Entries, findings and pictures of one zone, in order of their time."""
    whole = as_json(standing)
    items = _of_zone(standing, zone_id)
    entries = {row["seq"]: row for row in _rows(whole, "entries")}
    return {
        "zone": standing.history.place(zone_id).zone.model_dump(mode="json", exclude_none=True),
        "entries": [entries[item.seq] for item in items],
        "findings": [row for row in _rows(whole, "findings") if row["zone"] == zone_id],
        "pictures": [
            _picture(standing, item, picture)
            for item in items
            for picture in item.pictures
            if picture.file.zone == zone_id
        ],
    }


def _rows(document: Mapping[str, JsonValue], name: str) -> list[dict[str, JsonValue]]:
    value = document[name]
    return [row for row in value if isinstance(row, dict)] if isinstance(value, list) else []


def _picture(standing: "Standing", item: "Item", picture: "Picture") -> dict[str, JsonValue]:
    capture, seen = picture.capture, card_seen(standing.history, item, picture)
    ends = {"earliest": None, "latest": None} if capture.span is None else capture.span.as_json()
    return {
        "sha256": picture.file.sha256,
        "name": picture.file.model_dump(mode="json")["name"],
        "seq": item.seq,
        "role": picture.file.role,
        "capture": {
            "rule": capture.rule,
            **ends,
            "relied_on": capture.relied_on,
            "why": capture.why,
        },
        "card": None if seen is None else card_json(seen),
        **links_json(standing.history, picture),
    }


def links_json(history: "History", picture: "Picture") -> dict[str, JsonValue]:
    """The copies that a file is the original of, and the original of which it is a copy."""
    digest, links = picture.file.sha256, history.links
    return {
        "copies": [*links.copies_of.get(digest, ())],
        "original": links.original_of.get(digest),
    }


def tell_zone(standing: "Standing", zone_id: str) -> None:
    """One place on the roof: what stands open there, then all that was written of it."""
    history, place = standing.history, standing.history.place(zone_id)
    kind = standing.catalogue.zone_types[place.zone.type].label
    click.echo(click.style(f"{place.zone.label} ({zone_id}, {kind})", bold=True))
    for finding in standing.findings:
        if finding.zone == zone_id and finding.state == "open":
            common.tell(finding_line(standing, finding))
    tell_strip(standing, zone_id)
    common.heading("In order")
    common.rows(
        row for item in _of_zone(standing, zone_id) for row in _lines(standing, item, zone_id)
    )
    if not history.looks_at(zone_id):
        common.tell("No look at it is on record.")
    click.echo()
    common.tell(" ".join(known_since(history)))


def _lines(standing: "Standing", item: "Item", zone_id: str) -> Iterator[tuple[str, str, str]]:
    """What an entry says, what its pictures' cards say, and between which answers it lies."""
    history = standing.history
    yield str(item.entry.number), _when(item), _what(standing, item, zone_id)
    cards = [
        card_words(seen)
        for picture in item.pictures
        if picture.file.zone == zone_id and (seen := card_seen(history, item, picture))
    ]
    linked = [
        f"{file_name(picture)} is {words}"
        for picture in item.pictures
        if picture.file.zone == zone_id
        for words in link_words(picture, history)
    ]
    for text in dict.fromkeys([*map(say.sentence, cards), *linked]):
        yield "", "", f"{text}."
    yield "", "", bracket_line(bracket(history, item.seq))


def _when(item: "Item") -> str:
    if item.span is not None:
        return say.short_span(item.span, item.home)
    return say.short_day(item.entry.logged.astimezone(item.home).date())


def _what(standing: "Standing", item: "Item", zone_id: str) -> str:
    text = describe(item, standing.history, standing.catalogue, only=zone_id)
    shown = {p.file.sha256 for p in item.pictures if p.file.zone == zone_id}
    pictures = sum(not _counted_as_copy(standing.history, one, zone_id) for one in shown)
    return f"{text}. {say.counted((pictures, pictures), 'picture')}." if pictures else f"{text}."


def _counted_as_copy(history: "History", sha256: str, zone_id: str) -> bool:
    """Whether a file is the original of a picture of the zone, which counts where it stands."""
    copies = (history.picture(copy) for copy in history.links.copies_of.get(sha256, ()))
    return any(copy is not None and copy.file.zone == zone_id for copy in copies)


def _of_zone(standing: "Standing", zone_id: str) -> "list[Item]":
    items = [item for item in standing.history.items if _touches(item, zone_id)]
    return sorted(
        items,
        key=lambda item: (item.entry.logged if item.span is None else item.span.latest, item.seq),
    )


def _touches(item: "Item", zone_id: str) -> bool:
    """Whether an entry speaks of the zone: by its own fields, its findings or its files."""
    body = item.body
    zones = getattr(body, "zones", None)
    if zones == "all" or (isinstance(body, Deferral) and zones is None):
        return True
    rows = zones if isinstance(zones, tuple) else ()
    named = {getattr(row, "zone", getattr(row, "id", row)) for row in rows}
    named.add(getattr(body, "zone", None))
    named.update(finding.zone for finding in getattr(body, "findings", None) or ())
    named.update(picture.file.zone for picture in item.pictures)
    return zone_id in named

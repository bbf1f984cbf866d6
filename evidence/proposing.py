"""What could be entered of the pictures that were handed in: for a person to complete and confirm.

Nothing is entered here. A proposal has the form that `enter CASE KIND --from FILE` takes. What only
a person can say (the zones that were looked at and their grades, by which means, on which occasion)
is left open with a null, which `enter` refuses until it is filled in.
"""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from zoneinfo import ZoneInfo

from pydantic import JsonValue

from evidence.cards import cards_in
from evidence.case import Record
from evidence.copies import Likely, likely_originals
from evidence.entries import Label, Photos
from evidence.photos import VisitItem
from evidence.photos.visits import GAP, Go, occasions, parts, undated
from evidence.upkeep import History, Picture
from evidence.upkeep.asked import is_shot
from evidence.upkeep.carded import CardSeen

Fields = Mapping[str, JsonValue]


class AskKind(StrEnum):
    """What a person is asked before he enters a proposal."""

    OPEN = "open"
    """What was looked at, and in which state, no picture says."""
    NO_ZONE = "no-zone"
    """The day is that of a clock without a time zone."""
    CARD_LATER = "card-later"
    """The card in a picture is later than the camera's clock."""
    CAMERAS = "cameras"
    """Several cameras: was it one look?"""
    FOLLOWS = "follows"
    """Pictures have the zone of the card that was pictured before them."""
    ORIGINAL = "original"
    """A picture looks like a copy that the record holds."""
    OTHERS = "others"
    """Other pictures look like the copy too."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A question to a person, with the figures of its sentence by name."""

    kind: AskKind
    about: Mapping[str, str | int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Proposal:
    """An entry as it could be written: `files` are those that the record holds, by their sums.

    Their names stand there for a person to know them by. `by_zone` are the files of each zone that
    the cards tell.
    """

    kind: str
    body: Fields
    by: str
    files: tuple[Fields, ...]
    asks: tuple[Ask, ...]
    by_zone: Mapping[str | None, tuple[str, ...]] = field(default_factory=dict)

    def as_json(self, questions: Sequence[str]) -> dict[str, JsonValue]:
        """The form that `enter --from` takes; `questions` are its asks in words."""
        return {
            "kind": self.kind,
            "body": dict(self.body),
            "by": self.by,
            "files": [dict(file) for file in self.files],
            "asks": [*questions],
        }


def propose(
    record: Record, history: History, items: Sequence[VisitItem], fresh: Collection[str], by: str
) -> Iterator[Proposal]:
    """What could be entered of the pictures that were handed in, as the record stands now.

    Looks and labels are proposed of what no entry but `photos` names and no label speaks of:
    whoever hands the same folder in again is asked again of what he has left open.

    Args:
        record: the case.
        history: the same, as of its newest entry.
        items: what was handed in, but for what was left out.
        fresh: the sums of what is new.
        by: who hands them in.
    """
    wanted = _undescribed(history) & {item.sha256 for item in items}
    cards = {seen.picture.file.sha256: seen for seen in cards_in(record, wanted)}
    handing = _Handing(by, history.home, record.entries[-1].logged, cards, wanted)
    for occasion in occasions(items):
        if any(taken.item.sha256 in wanted for go in occasion for taken in go):
            yield _look(occasion, handing)
    yield from _labels_of_undated(undated(items), handing)
    pictures = list(history.pictures())
    for likely in likely_originals(record, pictures, {*fresh, *wanted}, history.links):
        yield _original(likely, by)


@dataclass(frozen=True, slots=True)
class _Handing:
    """Who handed in, where he is at home, when; the cards in the pictures; which are open."""

    by: str
    home: ZoneInfo
    logged: datetime
    cards: Mapping[str, CardSeen]
    wanted: Collection[str]


def _undescribed(history: History) -> set[str]:
    """The pictures that no entry but `photos` names, and no label speaks of."""
    shots, told = set(), {digest for _, label in history.of(Label) for digest in label.of}
    for item, picture in history.pictures():
        if not isinstance(item.body, Photos):
            told.add(picture.file.sha256)
        elif is_shot(picture):
            shots.add(picture.file.sha256)
    return shots - told


def _labels_of_undated(rest: Sequence[VisitItem], handing: _Handing) -> Iterator[Proposal]:
    """Without a time nothing follows anything: a card tells of the picture that it is in."""
    by_zone: dict[str, list[str]] = defaultdict(list)
    for item in rest:
        if item.zone is not None and item.sha256 in handing.wanted:
            by_zone[item.zone].append(item.sha256)
    for zone_id, sums in by_zone.items():
        yield _label(zone_id, sums, handing.by)


def _label(zone_id: str, sums: Iterable[str], by: str, asks: Iterable[Ask] = ()) -> Proposal:
    files = tuple(sums)
    body: Fields = {"of": [*files], "zone": zone_id}
    return Proposal("label", body, by, (), tuple(asks), {zone_id: files})


def _original(likely: Likely, by: str) -> Proposal:
    """The label that links an original to its copy, and says of it what was said of the copy."""
    copy, original = likely.copy.file, likely.original.file
    said = copy.model_dump(include={"role", "zone", "finding", "spot", "incidents"}, mode="json")
    told = original.model_dump(include=set(said), mode="json")
    body: dict[str, JsonValue] = {"of": [original.sha256], "original_of": copy.sha256}
    body |= {n: v for n, v in said.items() if v is not None and told[n] is None}
    about: dict[str, str | int] = {
        "copy": _name(likely.copy),
        "entry": likely.copy.seq + 1,
        "original": _name(likely.original),
        "bits": likely.bits,
    }
    asks = [Ask(AskKind.ORIGINAL, about)]
    if likely.others:
        names = ", ".join(f"{_name(one)} in entry {one.seq + 1}" for one in likely.others)
        asks.append(Ask(AskKind.OTHERS, {"names": names}))
    return Proposal("label", body, by, (), tuple(asks))


def labels_of(look: Proposal) -> list[Proposal]:
    """The pictures of a look described by their zones alone, where nobody writes a look."""
    asks = [ask for ask in look.asks if ask.kind is AskKind.FOLLOWS]
    return [
        _label(zone_id, sums, look.by, asks)
        for zone_id, sums in look.by_zone.items()
        if zone_id is not None
    ]


def _look(occasion: Sequence[Go], handing: _Handing) -> Proposal:
    pairs = [
        (taken.item, zone)
        for go in occasion
        for part, zone in parts(go)
        for taken in part
        if taken.item.sha256 in handing.wanted
    ]
    items = [item for item, _ in pairs]
    by_zone: dict[str | None, tuple[str, ...]] = {}
    for item, zone_id in pairs:
        by_zone[zone_id] = (*by_zone.get(zone_id, ()), item.sha256)
    when, asked = _when(items, handing)
    asks = [Ask(AskKind.OPEN), *asked]
    cameras = {item.camera_name for item in items}
    if len(cameras) > 1:
        asks.append(Ask(AskKind.CAMERAS, {"cameras": len(cameras)}))
    following = sum(zone_id is not None and not item.carded for item, zone_id in pairs)
    if following:
        asks.append(Ask(AskKind.FOLLOWS, {"count": following}))
    zones: list[JsonValue] = [
        {"zone": zone_id, "grade": None} for zone_id in by_zone if zone_id is not None
    ]
    return Proposal(
        kind="inspection",
        body={"when": when, "means": None, "occasion": None, "zones": zones},
        by=handing.by,
        files=tuple(
            {"sha256": item.sha256, "name": item.name}
            | ({} if zone_id is None else {"zone": zone_id})
            for item, zone_id in pairs
        ),
        asks=tuple(asks),
        by_zone=by_zone,
    )


def _when(items: Sequence[VisitItem], handing: _Handing) -> tuple[str, list[Ask]]:
    """The stated time to propose: never narrower than what is known, a day where no zone is.

    Where a card shows that the clock is wrong, all that is known is that it was between the answer
    on the card and the sealing.
    """
    home, cards = handing.home, handing.cards
    seen = [cards[item.sha256] for item in items if item.sha256 in cards]
    later = [card.answer.time for card in seen if card.contradicted and card.answer is not None]
    if later:
        asked = Ask(AskKind.CARD_LATER, {"clock": str(_days(items, home))})
        return _minutes(max(later), handing.logged, home), [asked]
    narrow = [
        (item.earliest, item.latest)
        for item in items
        if item.earliest and item.latest and item.latest - item.earliest <= GAP
    ]
    asks = [Ask(AskKind.NO_ZONE, {"home": home.key})] if len(narrow) < len(items) else []
    if narrow:
        first, last = min(start for start, _ in narrow), max(end for _, end in narrow)
        return _minutes(first, last, home), asks
    return _days(items, home), asks


def _minutes(first: datetime, last: datetime, home: ZoneInfo) -> str:
    """`2025-05-30T12:10-05:00/2025-05-30T12:35-05:00`; one minute where they are the same."""
    ends = [end.astimezone(home).isoformat(timespec="minutes") for end in (first, last)]
    return "/".join(dict.fromkeys(ends))


def _days(items: Sequence[VisitItem], home: ZoneInfo) -> str:
    """The days on which the cameras' clocks stood, if they stood at home time."""
    days = sorted(
        item.moment.astimezone(home).date().isoformat() for item in items if item.moment is not None
    )
    return "/".join(dict.fromkeys((days[0], days[-1])))


def _name(picture: Picture) -> str:
    return picture.file.name if isinstance(picture.file.name, str) else picture.file.sha256[:12]

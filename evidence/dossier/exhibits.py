"""Which pictures a dossier shows, and what stands under each."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from evidence.dossier import say
from evidence.dossier.wording import wording
from evidence.upkeep import History, Item, Picture
from evidence.upkeep.incidents import IncidentFacts, Look
from evidence.words import FileRole

_PARTNER: Mapping[FileRole | None, FileRole] = {FileRole.BEFORE: FileRole.AFTER}

_PREFERRED = (
    FileRole.MIDDLE,
    FileRole.CLOSE,
    FileRole.CLOSE_SCALE,
    FileRole.BEFORE,
    FileRole.AFTER,
    FileRole.WIDE,
)


@dataclass(frozen=True, slots=True)
class Exhibit:
    """A lettered picture."""

    letter: str
    picture: Picture
    item: Item


def letter(place: int) -> str:
    """A, B … Z, AA, AB …: exhibit letters by their place from 0."""
    text = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        text = chr(ord("A") + rest) + text
    return text


def of_zone(item: Item, zone_id: str) -> list[Picture]:
    """An entry's pictures of a zone, the telling ones first."""
    found = [p for p in item.pictures if p.of_roof and p.file.zone == zone_id]
    return sorted(found, key=_rank)


def _rank(picture: Picture) -> int:
    role = picture.file.role
    return _PREFERRED.index(role) if role in _PREFERRED else len(_PREFERRED)


def pair(
    before: Look | None, after: Look | None, zone_id: str
) -> tuple[Picture | None, Picture | None]:
    """The two pictures that are set side by side.

    A picture marked `before` belongs to one marked `after`; else two of the same kind are taken
    where both looks have one.
    """
    first = [] if before is None else of_zone(before.item, zone_id)
    second = [] if after is None else of_zone(after.item, zone_id)
    for mine in first:
        wanted = _PARTNER.get(mine.file.role, mine.file.role)
        same = next((other for other in second if other.file.role == wanted), None)
        if same is not None:
            return mine, same
    return (first[0] if first else None), (second[0] if second else None)


def pictures_of(
    history: History, facts: IncidentFacts, cited: Sequence[int], leave_out: Iterable[str]
) -> list[tuple[Item, Picture]]:
    """The further pictures of a claim: of cited entries, in the zones named or of a finding."""
    used = set(leave_out)
    zones = set(facts.incident.zones)
    rows = []
    for item, picture in history.pictures():
        named = picture.file.zone in zones or picture.file.finding is not None
        about = facts.id in (picture.file.incidents or ())
        if item.seq not in cited or not picture.of_roof or not (named or about):
            continue
        if picture.file.sha256 not in used:
            used.add(picture.file.sha256)
            rows.append((item, picture))
    return rows


def clock_words(picture: Picture, history: History) -> str:
    """What the camera's clock supports, in a few words."""
    words, capture = wording("common"), picture.capture
    if capture.span is not None:
        when = say.short_span(capture.span, history.home)
        return words.say("clock", "camera", when=when, rule=words.say("clock", capture.rule))
    if picture.file.camera is None:
        return words.say("clock", "stated")
    return words.say("clock", "not_relied_on", why=capture.why.rstrip("."))


def file_name(picture: Picture) -> str:
    """The name that the file came with."""
    name = picture.file.name
    return say.name(name) if isinstance(name, str) else wording("common").say("clock", "no_name")

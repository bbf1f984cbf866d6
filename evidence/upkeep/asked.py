"""The questions that the record's pictures raise by their tags, names, sums and entries.

Pure, so that whoever holds the record asks the same. No figure rests on an answer.
"""

from collections.abc import Mapping
from datetime import datetime

from evidence.photos.diary import asked_of_diary
from evidence.photos.signals import Question, Shot, asked_of_tags
from evidence.trade import Catalogue
from evidence.upkeep.history import History
from evidence.upkeep.items import Item, Picture
from evidence.words import FileRole, Via

_SHOWN = ("image/", "video/")


def is_shot(picture: Picture) -> bool:
    """Whether a file is a picture or a film that a camera may have taken: no scan of a paper."""
    return picture.file.type.startswith(_SHOWN) and picture.file.role is not FileRole.SCAN


def shots(history: History) -> tuple[Shot, ...]:
    """Every picture of every entry that was not withdrawn, in order."""
    answered, links = _answers(history), history.links.original_of
    return tuple(
        _shot(item, picture, answered, links)
        for item, picture in history.pictures()
        if is_shot(picture)
    )


def asked(history: History, catalogue: Catalogue) -> tuple[Question, ...]:
    """The questions, by entry and picture; `catalogue` has the words of editors."""
    taken = shots(history)
    editors = [row.word for row in catalogue.editors.values()]
    found = [*asked_of_tags(taken, editors), *asked_of_diary(taken)]
    place = {(shot.seq, shot.sha256): at for at, shot in enumerate(taken)}
    return tuple(sorted(found, key=lambda one: place[one.seq, one.sha256]))


def _shot(
    item: Item, picture: Picture, answered: Mapping[str, datetime], originals: Mapping[str, str]
) -> Shot:
    file = picture.file
    return Shot(
        sha256=file.sha256,
        seq=item.seq,
        number=item.entry.number,
        name=file.name if isinstance(file.name, str) else "",
        camera=file.camera,
        capture=picture.capture,
        dates=None if item.span is None else item.dates,
        copied=file.via is Via.MESSENGER,
        card=None if file.card is None else answered.get(file.card.answer),
        original=originals.get(file.sha256, ""),
    )


def _answers(history: History) -> dict[str, datetime]:
    """The time of each outsider's answer that counts, by the sum of its file."""
    found = {}
    for answer in history.vouched:
        item = history.item(answer.seq)
        if answer.counts and item is not None and item.pictures:
            found[item.pictures[0].file.sha256] = answer.time
    return found

"""Copies and their originals in words: each named beside the other, neither in its place."""

from collections.abc import Iterator

from evidence.dossier import say
from evidence.dossier.exhibits import file_name
from evidence.dossier.wording import wording
from evidence.upkeep import History, Picture


def link_words(picture: Picture, history: History) -> list[str]:
    """What a picture is linked to, as ends of a caption; empty where it is to nothing."""
    digest, links = picture.file.sha256, history.links
    copies = links.copies_of.get(digest, ())
    said = [_said(history, "original", copy, links.told_in[copy]) for copy in copies]
    original = links.original_of.get(digest)
    if original is not None:
        said.append(_said(history, "copy", original, links.told_in[digest]))
    return said


def linked_pairs(history: History) -> Iterator[str]:
    """Each copy that has an original: `message_1.jpg is a copy, its original is …`."""
    for copy, original in history.links.original_of.items():
        found, words = history.picture(copy), wording("photos")
        name = words.say("link", "gone") if found is None else file_name(found)
        said = _said(history, "copy", original, history.links.told_in[copy])
        yield words.say("link", "pair", name=name, said=said)


def _said(history: History, key: str, other: str, seq: int) -> str:
    words, found, label = wording("photos"), history.picture(other), say.entries([seq])
    if found is None:
        return words.say("link", key, name=words.say("link", "gone"), label=label)
    named = words.say("link", "named", name=file_name(found), number=say.entries([found.seq]))
    return words.say("link", key, name=named, label=label)

"""Copies whose original may have arrived: noticed by likeness and tags, asked of a person.

A messenger strips a picture of its tags and makes it smaller. Where a larger picture that names its
camera and time looks like it, the program asks whether that is its original. Two pictures of one
place look as much alike: it never links them itself.
"""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from evidence.case import Record
from evidence.looking import look_at_pictures
from evidence.photos import told
from evidence.photos.likeness import Hashes, alike, apart
from evidence.upkeep import Item, Picture
from evidence.upkeep.linked import Links
from evidence.words import FileRole, Via


@dataclass(frozen=True, slots=True)
class Likely:
    """A copy and what may be its original.

    Attributes:
        copy: the picture without tags, or told to have come by messenger.
        original: the most alike picture with a camera's time.
        bits: how far the two are apart, of 64.
        others: other pictures that look like the copy too.
    """

    copy: Picture
    original: Picture
    bits: int
    others: tuple[Picture, ...]


def likely_originals(
    record: Record,
    pictures: Sequence[tuple[Item, Picture]],
    fresh: Collection[str],
    links: Links,
) -> tuple[Likely, ...]:
    """Copies that have no original yet and what may be it, where one of the two is `fresh`.

    Args:
        record: the case; its originals are looked at.
        pictures: every picture of the record, in order.
        fresh: the sums of those that have just come.
        links: what is linked already.
    """
    first: dict[str, Picture] = {}
    for _, picture in pictures:
        first.setdefault(picture.file.sha256, picture)
    copies = [
        one for one in first.values() if _is_copy(one) and one.file.sha256 not in links.original_of
    ]
    originals = [one for one in first.values() if _is_original(one)]
    if not any(one.file.sha256 in fresh for one in copies):
        originals = [one for one in originals if one.file.sha256 in fresh]
    if not any(one.file.sha256 in fresh for one in originals):
        copies = [one for one in copies if one.file.sha256 in fresh]
    if not copies or not originals:
        return ()
    sums = [one.file.sha256 for one in (*copies, *originals)]
    seen = {
        digest: look.alike for digest, look in look_at_pictures(record, sums).items() if look.alike
    }
    return tuple(_likely(copies, originals, seen, fresh))


def _likely(
    copies: Sequence[Picture],
    originals: Sequence[Picture],
    seen: Mapping[str, Hashes],
    fresh: Collection[str],
) -> Iterator[Likely]:
    near: dict[str, set[str]] = {}
    for one, other in alike(seen):
        near.setdefault(one, set()).add(other)
        near.setdefault(other, set()).add(one)
    for copy in copies:
        mine = copy.file
        found = [
            one
            for one in originals
            if one.file.sha256 in near.get(mine.sha256, ())
            and one.file.bytes > mine.bytes
            and (mine.sha256 in fresh or one.file.sha256 in fresh)
        ]
        if not found:
            continue
        bits = {one.file.sha256: apart(seen[mine.sha256], seen[one.file.sha256]) for one in found}
        best, *others = sorted(found, key=lambda one: (bits[one.file.sha256], one.seq))
        yield Likely(copy, best, bits[best.file.sha256], tuple(others))


def _is_copy(picture: Picture) -> bool:
    """A picture of the roof without a camera's name and time, or told to be a messenger's."""
    if not picture.of_roof:
        return False
    camera = picture.file.camera
    if picture.file.via is Via.MESSENGER or camera is None:
        return True
    return camera.DateTimeOriginal is None and camera.Make is None and camera.Model is None


def _is_original(picture: Picture) -> bool:
    """A picture whose camera wrote its name and a time that can be read."""
    file, camera = picture.file, picture.file.camera
    if not file.type.startswith("image/") or file.role is FileRole.SCAN or camera is None:
        return False
    if file.via is Via.MESSENGER or (camera.Make is None and camera.Model is None):
        return False
    written = told.text(camera.DateTimeOriginal)
    return written is not None and told.local_time(written) is not None

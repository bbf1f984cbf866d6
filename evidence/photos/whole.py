"""Whether a picture is whole: asked while the camera is still at hand."""

import tempfile
from pathlib import Path

from evidence.errors import RefusedError
from evidence.photos.media import HEAD, media_type
from evidence.photos.worker import Worker

_DECODED = frozenset(
    {"image/jpeg", "image/png", "image/heic", "image/heif", "image/avif", "image/webp"}
)
"""Formats that are always shown: one that cannot be is broken. TIFF is left out, since raw files
bear its mark and not all of them can be decoded."""

_BOXED = frozenset({"image/heic", "image/heif", "image/avif"})
_BOX_HEAD, _LARGE_BOX_HEAD = 8, 16
_MOST_BOXES = 1000
"""At the top level of a picture there are four or five; this process reads them, not a child."""


def refuse_broken(path: Path, worker: Worker) -> None:
    """Refuse a picture that cannot be decoded to its end; take every other file.

    Raises:
        RefusedError: it is cut short or damaged.
    """
    with path.open("rb") as file:
        head = file.read(HEAD)
    kind = media_type(head, path.name)
    if kind not in _DECODED:
        return
    if kind in _BOXED and not _boxes_fit(path):
        raise _broken(path, "its parts reach beyond its end")
    with tempfile.TemporaryDirectory() as place:
        shown = worker.preview(path, Path(place) / "whole.jpg", longest_px=64)
    if not shown:
        raise _broken(path, shown.why or "it cannot be shown")


def why_broken(path: Path, worker: Worker) -> str | None:
    """Why a picture cannot be decoded to its end; None for a whole one, and for other files."""
    try:
        refuse_broken(path, worker)
    except RefusedError as error:
        return error.why
    return None


def _broken(path: Path, why: str) -> RefusedError:
    return RefusedError(
        path.name,
        f"is damaged or cut short: {why}",
        "Copy it from the camera again, or seal it as it is with `intake`.",
    )


def _boxes_fit(path: Path) -> bool:
    """Whether every top-level box ends within the file (ISO 14496-12 § 4.2).

    The decoder fills up what a cut file lacks, and says nothing.
    """
    size, place = path.stat().st_size, 0
    with path.open("rb") as file:
        for _ in range(_MOST_BOXES):
            if place + _BOX_HEAD > size:
                break
            file.seek(place)
            head = file.read(_LARGE_BOX_HEAD)
            length = int.from_bytes(head[:4], "big")
            if length == 0:  # to the end of the file
                return True
            if length == 1:
                length = int.from_bytes(head[8:16], "big")
            if length < _BOX_HEAD:
                return False
            place += length
    return place == size

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


def refuse_broken(path: Path, worker: Worker) -> None:
    """Refuse a picture that cannot be decoded to its end; take every other file.

    Raises:
        RefusedError: it is cut short or damaged.
    """
    with path.open("rb") as file:
        head = file.read(HEAD)
    if media_type(head, path.name) not in _DECODED:
        return
    with tempfile.TemporaryDirectory() as place:
        shown = worker.preview(path, Path(place) / "whole.jpg", longest_px=64)
    if not shown:
        raise RefusedError(
            path.name,
            f"is damaged or cut short: {shown.why}",
            "Copy it from the camera again, or seal it as it is with `intake`.",
        )

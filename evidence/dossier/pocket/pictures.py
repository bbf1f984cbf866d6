"""Small grey pictures for the sheet: they look the same on any printer."""

from collections.abc import Mapping
from io import BytesIO
from pathlib import Path

from evidence.case import Record
from evidence.dossier.exhibits import of_zone
from evidence.photos import Worker
from evidence.upkeep.rounds import Round, Stop

_PIXELS = (230, 172)
"""46 by 34.5 points at 360 dots an inch."""


def small_pictures(record: Record, planned: Round) -> Mapping[str, bytes]:
    """The newest telling picture of each zone as a grey JPEG, by the zone's id.

    A zone without a picture that can be shown is left out.
    """
    found: dict[str, bytes] = {}
    with Worker() as worker:
        for stop in planned.stops:
            path = _preview(record, stop, worker)
            if path is not None:
                found[stop.place.id] = _small(path)
    return found


def _preview(record: Record, stop: Stop, worker: Worker) -> Path | None:
    """The first picture, the most telling ahead, that the case holds and can show."""
    if stop.pictured is None:
        return None
    for picture in of_zone(stop.pictured, stop.place.id):
        path = record.preview(picture.file.sha256, worker)
        if path is not None:
            return path
    return None


def _small(path: Path) -> bytes:
    from PIL import Image

    with Image.open(path) as opened:
        grey = opened.convert("L")
    grey.thumbnail(_PIXELS)
    out = BytesIO()
    grey.save(out, "JPEG", quality=82)
    return out.getvalue()

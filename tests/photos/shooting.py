"""Pictures as the questions see them, in one line each."""

from datetime import date

from evidence.photos import capture
from evidence.photos.signals import Shot
from evidence.shapes import Camera
from evidence.times import parse_utc, zone

MAKER = {"Make": "Lumen", "Model": "Field 3"}
DAY = date(2025, 5, 30)


def shot(name="LF_0531.jpg", local="2025:05:30 12:10:05", *, seq=4, atlas=None, **more):
    """A picture of one camera; `more` are tags, and fields of `Shot` in small letters."""
    fields = {key: more.pop(key) for key in list(more) if key.islower()}
    camera = Camera(**MAKER, DateTimeOriginal=local, **more)
    taken = capture(
        camera,
        home=zone("America/Chicago"),
        travels=(),
        built=None,
        model_year=None,
        logged=parse_utc("2026-01-01T00:00:00Z"),
        atlas=atlas,
    )
    days = fields.pop("dates", (DAY, DAY))
    digest = fields.pop("sha256", name)
    return Shot(digest, seq, seq + 1, name, camera, taken, days, **fields)

"""A small case for tests: a story of one summer, with three pictures drawn on the spot."""

import json
from pathlib import Path
from typing import Any

SUMMER = "2025-01-05T18:00:00Z"

ZONES = [
    {"id": "front-strip", "type": "Z01", "label": "Front strip", "slope": "sloped"},
    {"id": "rail-left", "type": "Z05", "label": "Left rail", "slope": "vertical"},
    {"id": "rail-right", "type": "Z06", "label": "Right rail", "slope": "vertical"},
    {"id": "field-ml", "type": "Z08", "label": "Field, middle left", "slope": "flat",
     "at": [2500, 0], "size_mm": [2400, 800]},
    {"id": "field-mr", "type": "Z08", "label": "Field, middle right", "slope": "flat",
     "at": [2500, 1600], "size_mm": [2400, 800]},
    {"id": "skylight-1", "type": "Z11", "label": "Skylight", "slope": "flat",
     "at": [1000, 900], "size_mm": [560, 560]},
    {"id": "vent-1", "type": "Z13", "label": "Ceiling vent", "slope": "flat",
     "at": [5400, 1000], "size_mm": [360, 360]},
]  # fmt: skip

RIG = {
    "id": "rig", "name": 'Travel trailer "Kestrel"', "surface": "epdm", "length_mm": 7400,
    "width_mm": 2400, "home_zone": "America/Chicago", "walkable": "yes", "built": "2021-03-01",
    "zones": ZONES,
}  # fmt: skip

RULE = {
    "id": "look-90", "task": "inspection", "days": 90, "basis": "paper-on-file",
    "authority": "Care booklet, 2023 edition, p. 14", "applies_from": "2025-01-05",
    "required": True,
}  # fmt: skip


def picture(path: Path, taken: str | None, offset: str | None, grey: int) -> Path:
    """A JPEG of one grey with a diagonal, its clock set to `taken` (Exif form)."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (320, 240), (grey, grey, grey))
    ImageDraw.Draw(image).line((20, 200, 300, 40), fill=(30, 30, 30), width=6)
    exif = image.getexif()
    if taken is not None:
        inner = exif.get_ifd(0x8769)
        inner[0x9003] = taken
        if offset is not None:
            inner[0x9011] = offset
        exif[0x010F], exif[0x0110] = "Lumen", "Field 3"
    path.parent.mkdir(parents=True, exist_ok=True)
    image.save(path, exif=exif)
    return path


def look(when: str, logged: str, **more: Any) -> dict[str, Any]:
    """A story entry: a look at every zone, sound but for the grades given."""
    grades = more.pop("grades", {})
    told = {name: more.pop(name) for name in ("files", "witness", "id") if name in more}
    body = {
        "when": when, "means": "on-roof", "occasion": "routine",
        "zones": [{"zone": z["id"], "grade": grades.get(z["id"], 0)} for z in ZONES], **more,
    }  # fmt: skip
    return {"logged": logged, "by": "owner", "kind": "inspection", "body": body, **told}


def entry(kind: str, logged: str, body: dict[str, Any], **told: Any) -> dict[str, Any]:
    return {"logged": logged, "by": "owner", "kind": kind, "body": body, **told}


def story() -> dict[str, Any]:
    """Case 1 of TRADE § 10: a clean branch strike, looked at nine days before, covered, told."""
    return {
        "case": {"title": "Kestrel"},
        "entries": [
            entry("party", SUMMER, {"id": "owner", "name": "A. Holder", "role": "owner"}),
            entry("rig", SUMMER, RIG),
            entry("rule", SUMMER, RULE),
            entry("party", "2025-01-05T18:05:00Z",
                  {"id": "insurer", "name": "Invented Mutual", "role": "insurer"}),
            look("2025-01-05T11:00-06:00/2025-01-05T11:50-06:00", "2025-01-05T18:30:00Z"),
            look("2025-03-07T09:30-06:00/2025-03-07T10:20-06:00", "2025-03-07T17:30:00Z",
                 grades={"skylight-1": 1}, witness=True,
                 findings=[{"id": "f1", "zone": "skylight-1", "type": "D01", "grade": 1}],
                 files=[{"path": "photos/march.jpg", "role": "middle", "zone": "field-mr"}]),
            look("2025-05-30T11:40-05:00/2025-05-30T12:35-05:00", "2025-05-30T18:22:07Z",
                 grades={"skylight-1": 1}, witness=True,
                 files=[{"path": "photos/before.jpg", "role": "close", "zone": "field-mr"}]),
            entry("incident", "2025-06-08T22:30:00Z",
                  {"id": "i1", "stated_cause": "branch", "when": "2025-06-08T16:40-05:00",
                   "known": "seen", "zones": ["field-mr"]}),
            look("2025-06-08T17:05-05:00/2025-06-08T17:20-05:00", "2025-06-08T22:35:00Z",
                 occasion="after-event", grades={"field-mr": 4, "skylight-1": 1},
                 incidents=["i1"],
                 findings=[{"id": "f3", "zone": "field-mr", "type": "D12", "grade": 4,
                            "length_mm": 210, "width_mm": 35, "seen": ["tear-edge-sharp"]}],
                 files=[{"path": "photos/after.jpg", "role": "close", "zone": "field-mr",
                         "finding": "f3"}]),
            entry("cover", "2025-06-08T22:50:00Z",
                  {"when": "2025-06-08T17:30-05:00", "zones": ["field-mr"],
                   "what": "tarp and tape", "incidents": ["i1"]}, witness=True),
            entry("notice", "2025-06-09T15:00:00Z",
                  {"when": "2025-06-09T09:30-05:00", "direction": "sent", "party": "insurer",
                   "type": "loss", "incidents": ["i1"]}),
            look("2025-08-20T09:00-05:00/2025-08-20T10:00-05:00", "2025-08-20T16:00:00Z",
                 grades={"field-mr": 4, "skylight-1": 1}),
        ],
    }  # fmt: skip


def write_story(folder: Path, told: dict[str, Any] | None = None) -> Path:
    """The story and its pictures as files; returns the story's path."""
    picture(folder / "photos" / "march.jpg", "2025:03:07 10:00:00", "-06:00", 210)
    picture(folder / "photos" / "before.jpg", "2025:05:30 12:10:05", "-05:00", 200)
    picture(folder / "photos" / "after.jpg", "2025:06:08 17:12:00", "-05:00", 150)
    path = folder / "story.json"
    path.write_text(json.dumps(story() if told is None else told), encoding="utf-8")
    return path

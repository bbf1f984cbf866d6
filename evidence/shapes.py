"""Values inside the bodies of the kinds: findings, zones, files, camera tags (RECORD §§ 2, 4-7)."""

from collections.abc import Sequence
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

from evidence import words as w


class Strict(BaseModel):
    """Frozen, exact types, no unknown fields."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, serialize_by_alias=True)


def in_order(first_name: str, first: str, last_name: str, last: str | None) -> None:
    """Refuse days in the wrong order; in ISO 8601 they sort as text."""
    if last is not None and last < first:
        raise ValueError(f"{last_name!r} lies before {first_name!r}")


def once(name: str, ids: Sequence[str]) -> None:
    """Refuse an id that a list holds twice: the two could say different things."""
    twice = next((given for given in ids if ids.count(given) > 1), None)
    if twice is not None:
        raise ValueError(f"{twice!r} stands twice in {name!r}")


class Sealed(Strict):
    """SHA-256 of salt ‖ value; salt and value lie in `private/` (RECORD § 7)."""

    sealed: w.Sha256


class Hex(Strict):
    """Bytes that are not clean text, kept as they are."""

    hex: Annotated[str, StringConstraints(pattern=r"^([0-9a-f]{2})*$", max_length=8000)]


Raw = w.Text | Hex
Ids = tuple[w.Slug, ...]


class Camera(Strict):
    """Raw tag texts as the device wrote them; absent tags are left out (RECORD § 5)."""

    DateTimeOriginal: Raw | None = None
    OffsetTimeOriginal: Raw | None = None
    SubSecTimeOriginal: Raw | None = None
    DateTimeDigitized: Raw | None = None
    DateTime: Raw | None = None
    OffsetTime: Raw | None = None
    GPSDateStamp: Raw | None = None
    GPSTimeStamp: Raw | None = None
    GPSLatitude: Raw | None = None
    GPSLongitude: Raw | None = None
    Make: Raw | None = None
    Model: Raw | None = None
    BodySerialNumber: Raw | None = None
    Software: Raw | None = None
    ImageUniqueID: Raw | None = None
    ExposureTime: Raw | None = None
    FNumber: Raw | None = None
    ISOSpeedRatings: Raw | None = None
    Orientation: Raw | None = None
    PixelXDimension: Raw | None = None
    PixelYDimension: Raw | None = None


class CardRead(Strict):
    """A card seen in a picture: the outsider's answer that it shows (RECORD § 6)."""

    answer: w.Sha256
    read_by: Literal["machine", "person"]
    zone: w.Slug | None = None


class Description(Strict):
    """The describing fields of a file."""

    role: w.FileRole | None = None
    zone: w.Slug | None = None
    finding: w.Slug | None = None
    spot: w.Text | None = None
    when: w.When | None = None
    incidents: Ids | None = None
    via: w.Via | None = None
    camera: Camera | None = None
    card: CardRead | None = None


class FileRef(Description):
    """A sealed file: its hash, size in bytes, media type and the name it came with."""

    sha256: w.Sha256
    bytes: Annotated[int, Field(ge=0, le=2**53 - 1)]
    type: Annotated[str, StringConstraints(pattern=r"^[a-z0-9.+-]+/[a-z0-9.+-]+$", max_length=100)]
    name: Raw


class Finding(Strict):
    """What was seen at one place (RECORD § 4); attribution is the writer's own word."""

    id: w.Slug
    zone: w.Slug
    type: w.FindingType
    grade: w.GivenGrade
    length_mm: w.Millimetres | None = None
    width_mm: w.Millimetres | None = None
    note: w.Text | None = None
    seen: Ids | None = None
    related: Ids | None = None
    attribution: Ids | Literal["undetermined"] | None = None


class FindingRecheck(Strict):
    """A finding looked at again."""

    finding: w.Slug
    state: w.Recheck
    grade: w.GivenGrade
    note: w.Text | None = None


class Zone(Strict):
    """A place on the roof; `at` and `size_mm` in millimetres, x along the length from the front."""

    id: w.Slug
    type: w.ZoneType
    label: w.Text
    at: tuple[w.Millimetres, w.Millimetres] | None = None
    size_mm: tuple[w.Millimetres, w.Millimetres] | None = None
    surface: w.Surface | None = None
    slope: w.Slope | None = None
    sealant: w.Family | None = None
    since: w.Day | None = None
    until: w.Day | None = None
    why: w.Text | None = None

    @model_validator(mode="after")
    def _ordered(self) -> "Zone":
        if self.since is not None:
            in_order("since", self.since, "until", self.until)
        return self


class Place(Strict):
    """Where an incident happened: decimal degrees, and how far off they may be."""

    lat: w.Decimal
    lon: w.Decimal
    radius_m: Annotated[int, Field(ge=0, le=1_000_000)]
    text: w.Text | None = None


class Clause(Strict):
    """A clause of a paper, and the rule that the record made of it."""

    ref: w.Text
    text: w.Text
    rule: w.Slug | None = None


class Defect(Strict):
    """A finding at a hand-over: who answers for it, and by which day that was promised."""

    finding: w.Slug
    responsible: w.Slug
    promised: w.Day | None = None


class Signature(Strict):
    """Who signed a statement (by its SHA-256), how and when."""

    party: w.Slug
    how: Literal["key", "drawn", "paper"]
    over: w.Sha256
    at: w.When
    file: w.Sha256 | None = None

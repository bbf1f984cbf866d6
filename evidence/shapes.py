"""Values that several kinds share: sealed values, camera tags, files (RECORD §§ 2, 5-7)."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from evidence import words as w


class Strict(BaseModel):
    """Frozen, exact types, no unknown fields."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True, serialize_by_alias=True)


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

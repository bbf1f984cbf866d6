"""The words that the record may use: the lists of RECORD § 4 and the shapes of its values.

Strict by construction: text is NFC and at most 4,000 characters, ids are slugs, numbers are
integers with their unit in the name or decimal strings; there are no floats.
"""

import re
import unicodedata
from collections.abc import Callable, Iterable
from difflib import get_close_matches
from enum import IntEnum, StrEnum
from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints
from pydantic.fields import FieldInfo

from evidence.errors import RefusedError
from evidence.times import parse_day, parse_utc, parse_when, zone

MAX_TEXT = 4000


def _clean(text: str) -> str:
    if unicodedata.normalize("NFC", text) != text:
        raise ValueError("text must be in Unicode normal form NFC")
    if any(is_control(char) for char in text):
        raise ValueError("text must not hold control characters")
    return text


def is_control(char: str) -> bool:
    """True for what no page can show as it is written.

    Control characters but newline, lone surrogates, and the marks that turn text around, behind
    which a name can pass for another (UAX #9 § 2, "Directional Formatting Characters").
    """
    if char in _TURNING:
        return True
    return char != "\n" and unicodedata.category(char) in ("Cc", "Cs")


_TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def nearest(given: str, known: Iterable[str]) -> str:
    """What somebody may have meant, else everything that is known."""
    names = list(known)
    close = get_close_matches(given, names, n=1, cutoff=0.6)
    return f"Did you mean {close[0]!r}?" if close else f"Known: {', '.join(names)}."


def _checked(read: Callable[[str], object]) -> AfterValidator:
    """Keep the text if `read` takes it; its refusal then names the field it stands in."""

    def check(text: str) -> str:
        try:
            read(text)
        except RefusedError as error:
            raise ValueError(f"{error.why}. {error.what_to_do}") from error
        return text

    return AfterValidator(check)


def _format(name: str) -> FieldInfo:
    """Name a check in the JSON Schema: readers who are not in Python make it themselves."""
    info: FieldInfo = Field(json_schema_extra={"format": name})
    return info


Text = Annotated[
    str,
    StringConstraints(min_length=1, max_length=MAX_TEXT),
    AfterValidator(_clean),
    _format("text"),
]
Slug = Annotated[str, StringConstraints(pattern=r"^[a-z0-9-]{1,40}$")]
Sha256 = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{64}$")]
CaseId = Annotated[str, StringConstraints(pattern=r"^[0-9a-f]{32}$")]
Decimal = Annotated[str, StringConstraints(pattern=r"^-?(0|[1-9][0-9]{0,14})(\.[0-9]{1,9})?$")]
Currency = Annotated[str, StringConstraints(pattern=r"^[A-Z]{3}$")]
ZoneKey = Annotated[str, _checked(zone), _format("zone")]
When = Annotated[
    str,
    StringConstraints(max_length=60),
    _checked(lambda text: parse_when(text, zone("UTC"))),
    _format("when"),
]
Day = Annotated[str, _checked(parse_day), _format("day")]
UtcTime = Annotated[str, _checked(parse_utc), _format("utc")]
Seq = Annotated[int, Field(ge=0)]
Count = Annotated[int, Field(ge=0, le=10**9)]
Millimetres = Annotated[int, Field(ge=0, le=100_000)]
DeciCelsius = Annotated[int, Field(ge=-900, le=1500)]
Percent = Annotated[int, Field(ge=0, le=100)]
TenthsPercent = Annotated[int, Field(ge=0, le=9999)]
ZoneType = Annotated[str, StringConstraints(pattern=r"^Z(0[1-9]|1[0-9]|2[0-7])$")]
FindingType = Annotated[str, StringConstraints(pattern=r"^D(0[1-9]|[12][0-9]|30)$")]
ROOF_ZONES = frozenset(f"Z{number:02}" for number in range(1, 25))
"""Z01…Z24: what a look from the ground or from inside does not cover (OUTPUTS § 2)."""
ZONE_TYPE = re.compile(r"Z\d\d", re.ASCII)


class Grade(IntEnum):
    """How a place was found (TRADE § 4)."""

    SOUND = 0
    WATCH = 1
    MAINTAIN = 2
    OPEN_PATH = 3
    URGENT = 4
    """Leaking, structural or unsafe: a soft spot or a hole is not therefore seen to leak."""

    @property
    def word(self) -> str:
        """The word that stands beside the figure; the catalogue has the same."""
        return self.name.lower().replace("_", " ")


def _whole(value: object) -> object:
    if type(value) is not int:  # true and 1.0 are equal to 1, and are not written for it
        raise ValueError("must be a whole number from 0 to 4")
    return value


GivenGrade = Annotated[Grade, BeforeValidator(_whole)]
"""A grade as the record writes it."""


class Surface(StrEnum):
    EPDM = "epdm"
    TPO = "tpo"
    PVC = "pvc"
    GELCOAT = "gelcoat"
    ALUMINIUM = "aluminium"
    COATED = "coated"
    UNKNOWN = "unknown"


class Slope(StrEnum):
    FLAT = "flat"
    SLOPED = "sloped"
    VERTICAL = "vertical"


class Family(StrEnum):
    """Sealant families (TRADE § 2)."""

    SELF_LEVELLING = "self-levelling"
    NON_SAG = "non-sag"
    SILICONE = "silicone"
    POLYURETHANE = "polyurethane"
    HYBRID = "hybrid"
    BUTYL_TAPE = "butyl-tape"
    PUTTY_TAPE = "putty-tape"
    FACED_TAPE = "faced-tape"
    HOUSEHOLD_ACRYLIC = "household-acrylic"
    UNKNOWN = "unknown"


class Task(StrEnum):
    """What a rule may ask for."""

    INSPECTION = "inspection"
    WASH = "wash"
    TREATMENT = "treatment"
    RESEAL = "reseal"
    MOISTURE = "moisture"
    AFTER_TRIP = "after-trip"
    AFTER_EVENT = "after-event"
    BEFORE_STORAGE = "before-storage"
    OUT_OF_STORAGE = "out-of-storage"
    AFTER_RESEAL = "after-reseal"
    BEFORE_WARRANTY_END = "before-warranty-end"


class Role(StrEnum):
    OWNER = "owner"
    PREVIOUS_OWNER = "previous-owner"
    DEALER = "dealer"
    TECHNICIAN = "technician"
    BUYER = "buyer"
    INSPECTOR = "inspector"
    INSURER = "insurer"
    WARRANTOR = "warrantor"
    WITNESS = "witness"


class KeyEvent(StrEnum):
    ADDED = "added"
    RETIRED = "retired"
    REPLACED = "replaced"
    LOST = "lost"


class KeyUse(StrEnum):
    LOG = "log"
    COSIGN = "cosign"


class RuleBasis(StrEnum):
    PAPER_ON_FILE = "paper-on-file"
    OWNERS_OWN = "owners-own"
    TOOL_DEFAULT = "tool-default"


class KnownBy(StrEnum):
    OWN_RECORD = "own-record"
    SCANS = "scans"
    HEARSAY = "hearsay"
    NOTHING = "nothing"


class Means(StrEnum):
    """How a look was had."""

    ON_ROOF = "on-roof"
    LADDER = "ladder"
    PLATFORM = "platform"
    POLE_CAMERA = "pole-camera"
    DRONE = "drone"
    GROUND = "ground"
    INSIDE = "inside"


class Occasion(StrEnum):
    ROUTINE = "routine"
    AFTER_TRIP = "after-trip"
    AFTER_EVENT = "after-event"
    DELIVERY = "delivery"
    PURCHASE = "purchase"
    BEFORE_STORAGE = "before-storage"
    OUT_OF_STORAGE = "out-of-storage"
    FOLLOW_UP = "follow-up"


class Recheck(StrEnum):
    SAME = "same"
    WORSE = "worse"
    BETTER = "better"
    GONE = "gone"


class Extent(StrEnum):
    SPOT = "spot"
    OVERLAY = "overlay"
    STRIP = "strip"


class OldBead(StrEnum):
    SOUND = "sound"
    REMOVED = "removed"
    PART = "part"
    NONE = "none"
    UNKNOWN = "unknown"


class RepairWork(StrEnum):
    PATCH = "patch"
    REPLACE_PART = "replace-part"
    REFIX = "refix"
    DRY_OUT = "dry-out"
    RECOAT = "recoat"
    NEW_ROOF = "new-roof"
    PROFESSIONAL = "professional"


class Cause(StrEnum):
    """What the owner states; the program names no cause."""

    BRANCH = "branch"
    HAIL = "hail"
    WIND = "wind"
    DEBRIS = "debris"
    ICE = "ice"
    IMPACT = "impact"
    COLLISION = "collision"
    UNKNOWN = "unknown"


class Known(StrEnum):
    SEEN = "seen"
    FOUND_LATER = "found-later"


class Scale(StrEnum):
    WOOD_MC = "wood-mc"
    RELATIVE = "relative"


class Meter(StrEnum):
    PIN = "pin"
    PINLESS = "pinless"


class PaperType(StrEnum):
    RECEIPT = "receipt"
    MANUAL = "manual"
    WARRANTY = "warranty"
    POLICY = "policy"
    REPORT = "report"
    LETTER = "letter"
    WEATHER = "weather"
    POLICE = "police"
    FORM = "form"
    SCAN = "scan"


class DeferralReason(StrEnum):
    UNSAFE = "unsafe"
    WEATHER = "weather"
    ILL = "ill"
    ACCESS = "access"
    OTHER = "other"


class CustodyAction(StrEnum):
    REMOVED = "removed"
    KEPT = "kept"
    SENT = "sent"
    RETURNED = "returned"
    DISCARDED = "discarded"


class NoticeType(StrEnum):
    LOSS = "loss"
    DENIAL = "denial"
    QUERY = "query"
    REPLY = "reply"
    PRESERVATION = "preservation"


class FileRole(StrEnum):
    WIDE = "wide"
    MIDDLE = "middle"
    CLOSE = "close"
    CLOSE_SCALE = "close-scale"
    BEFORE = "before"
    AFTER = "after"
    CARD = "card"
    SCAN = "scan"
    VIDEO = "video"
    OTHER = "other"


class Via(StrEnum):
    """The way a file came to the writer."""

    CAMERA_CARD = "camera-card"
    CABLE = "cable"
    PAGE = "page"
    MAIL = "mail"
    MESSENGER = "messenger"
    UNKNOWN = "unknown"


class Form(StrEnum):
    CLAIM = "claim"
    WARRANTY = "warranty"
    DELIVERY = "delivery"
    PURCHASE = "purchase"
    YEAR = "year"
    SHORT = "short"
    LETTER = "letter"

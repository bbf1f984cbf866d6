"""The words of a challenge: what is held against a record, how gravely, what answers it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import IntEnum, StrEnum

from evidence.times import Pair

Figure = str | int | date | Pair | tuple[str, ...]
"""A figure of a challenge: an id or a text, a count, a day, an interval of counts, a few names."""


class Grave(IntEnum):
    """How much hangs on it: 1 what was there before, 2 the weight of the record, 3 a question."""

    BEFORE = 1
    WEIGHT = 2
    QUESTION = 3


class Kind(StrEnum):
    """What is held against the record; among equally grave ones, in this order."""

    NO_LOOK_BEFORE = "no-look-before"
    OPEN_IN_ZONE = "open-in-zone"
    CHANGED_SINCE = "changed-since"
    NO_WITNESS_BEFORE = "no-witness-before"
    OWN_CLOCK = "own-clock"
    STRADDLING = "straddling"
    NO_PICTURE_BEFORE = "no-picture-before"
    NOT_LOOKED_AFTER = "not-looked-after"
    ONLY_FROM_BELOW = "only-from-below"
    NO_PICTURE_AFTER = "no-picture-after"
    WASHED_FIRST = "washed-first"
    PART_DISCARDED = "part-discarded"
    PART_UNACCOUNTED = "part-unaccounted"
    PARTS_UNWRITTEN = "parts-unwritten"
    WARNING_OVERRIDDEN = "warning-overridden"
    MENDED_UNSEEN = "mended-unseen"
    NO_COVER = "no-cover"
    LATE_COVER = "late-cover"
    NO_NOTICE = "no-notice"
    LATE_NOTICE = "late-notice"
    LATER_FINDING = "later-finding"
    LATER_READING = "later-reading"
    GAP = "gap"
    OPEN_GAP = "open-gap"
    GAPS_ELSEWHERE = "gaps-elsewhere"
    KEPT_BY_LATE = "kept-by-late"
    DUTY_UNDONE = "duty-undone"
    DUTY_LATE = "duty-late"
    RULE_AFTER_GAP = "rule-after-gap"
    RULE_LATER = "rule-later"
    OWN_RULE = "own-rule"
    DEFAULT_RULE = "default-rule"
    WRITTEN_AFTER = "written-after"
    CLOCK_DISAGREES = "clock-disagrees"
    WRITERS_CLOCK = "writers-clock"
    CLOCK_SET_BACK = "clock-set-back"
    LATE_ENTRY = "late-entry"
    CORRECTED = "corrected"
    WITHDRAWN = "withdrawn"
    COPY_ONLY = "copy-only"
    CLOCK_NOT_RELIED_ON = "clock-not-relied-on"
    MISSING_FRAMES = "missing-frames"
    PICTURE_QUESTION = "picture-question"
    OPEN_ELSEWHERE = "open-elsewhere"
    UNFIT_SEALANT = "unfit-sealant"
    OLD_LOT = "old-lot"
    UNKNOWN_HANDS = "unknown-hands"
    BEFORE_ANY_HAND = "before-any-hand"
    PIXEL_QUESTION = "pixel-question"


class How(StrEnum):
    """In which way an entry answers a challenge."""

    SEALED_BEFORE = "sealed-before"
    PICTURED = "pictured"
    HANDOVER = "handover"
    PAPER = "paper"
    CAMERA = "camera"
    WITNESSED_LATER = "witnessed-later"
    UNTRUSTED = "untrusted"
    OTHER_LOOK = "other-look"
    FIRST_WORDS = "first-words"
    REASON = "reason"
    MADE_BEFORE = "made-before"
    DEFERRAL = "deferral"
    FROM_BELOW = "from-below"
    RESPONSIBLE = "responsible"
    OWN_FINDING = "own-finding"
    REPAIRED = "repaired"
    RESEALED = "resealed"
    BASELINE = "baseline"
    OTHER_PICTURE = "other-picture"
    NOTICED = "noticed"
    LAST_WITHOUT = "last-without"
    SOUND_BEFORE = "sound-before"
    READ_BEFORE = "read-before"


class Step(StrEnum):
    """What could still be done today; none of it reaches back."""

    WITNESS_NOW = "witness-now"
    GIVE_TRUST = "give-trust"
    ASK_OTHERS = "ask-others"
    ASK_ORIGINAL = "ask-original"
    ASK_PAPER = "ask-paper"
    ASK_HOLDER = "ask-holder"
    LOOK_NOW = "look-now"
    COVER_NOW = "cover-now"
    NOTIFY_NOW = "notify-now"
    ACT_NOW = "act-now"
    KEEP_PART = "keep-part"
    METAL_PARTS = "metal-parts"
    TEST_CLOCK = "test-clock"
    SEAL_FRAMES = "seal-frames"
    KEEP_DEVICE = "keep-device"
    FILE_RULE = "file-rule"
    RESEAL = "reseal"
    READ_AGAIN = "read-again"


@dataclass(frozen=True, slots=True)
class Answer:
    """The entries that answer a challenge, in which way, and the zones that they leave open."""

    how: How
    entries: tuple[int, ...]
    leaves: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Challenge:
    """One thing that an opposing reader will say, from the record itself.

    Attributes:
        kind: what is held against the record.
        grave: how much hangs on it.
        entries: the entries (seq) that it is about; empty where it is about what is not there.
        answers: what in the record answers it; empty: no answer.
        today: what could still be done.
        about: the figures of its sentence, by name.
    """

    kind: Kind
    grave: Grave
    entries: tuple[int, ...]
    answers: tuple[Answer, ...]
    today: tuple[Step, ...]
    about: Mapping[str, Figure]


def point(
    kind: Kind,
    grave: Grave,
    *entries: int | None,
    answers: tuple[Answer, ...] = (),
    today: tuple[Step, ...] = (),
    **about: Figure,
) -> Challenge:
    """A challenge; entries that are not there, and answers without any entry, are left out."""
    return Challenge(
        kind,
        grave,
        tuple(dict.fromkeys(seq for seq in entries if seq is not None)),
        tuple(answer for answer in answers if answer.entries),
        today,
        about,
    )

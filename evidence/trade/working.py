"""The rows that the trade's sums draw on: limits, profiles, tubes, practice, moisture.

One frozen model for each table of `templates/catalogue/` that is about the work itself; what is
found on a roof and what it is made of stands in `evidence/trade/rows.py`.
"""

from enum import StrEnum
from fractions import Fraction
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from evidence import words as w
from evidence.errors import RefusedError
from evidence.trade.rows import Borne, Claim
from evidence.trade.units import LENGTH, VOLUME, Measure, Unit, measure, sizes


class Limit(StrEnum):
    """A figure that a sum is held against."""

    MARGIN_C = "margin-c"
    MARGIN_F = "margin-f"
    HUMIDITY = "humidity"
    WARM_FROM = "warm-from"
    WARM_TO = "warm-to"
    RAIN = "rain"
    SURE_OF_AIR = "sure-of-air"
    SURE_OF_SURFACE = "sure-of-surface"
    SURE_OF_HUMIDITY = "sure-of-humidity"
    WASTE = "waste"
    WOOD_FROM = "wood-from"
    WOOD_TO = "wood-to"
    CHANGE = "change"
    HEAT_CAUTION = "heat-caution"
    HEAT_GREAT_CAUTION = "heat-great-caution"
    HEAT_DANGER = "heat-danger"
    HEAT_EXTREME = "heat-extreme"


class Profile(StrEnum):
    """The cross-section of a bead; a dot covers one screw head or pinhole."""

    BAND = "band"
    FILLET = "fillet"
    HALF_ROUND = "half-round"
    ROUND = "round"
    DOT = "dot"


class Topic(StrEnum):
    """Which command prints a sentence of practice."""

    PREPARATION = "preparation"
    CURING = "curing"
    TERMS = "terms"
    CHECKING = "checking"
    MOISTURE = "moisture"
    CANNOT_TELL = "cannot-tell"
    MEASURING = "measuring"


class Band(StrEnum):
    """The bands of wood moisture, the driest first."""

    NORMAL = "normal"
    RE_TEST = "re-test"
    INVESTIGATE = "investigate"
    POSSIBLY_STRUCTURAL = "possibly-structural"


class CorrectionRule(StrEnum):
    """A published way to allow for the temperature of the wood; the formula is the program's."""

    KILN = "kiln"
    METER = "meter"
    PFAFF_GARRAHAN = "pfaff-garrahan"


def _typed(kind: str) -> AfterValidator:
    """Text that must read as a measure of this kind."""

    def check(text: str) -> str:
        try:
            measure(text, kind, "the catalogue's")
        except RefusedError as error:
            raise ValueError(f"{error.why}. {error.what_to_do}") from error
        return text

    return AfterValidator(check)


def _typed_sizes(text: str) -> str:
    try:
        sizes(text, "the catalogue's")
    except RefusedError as error:
        raise ValueError(f"{error.why}. {error.what_to_do}") from error
    return text


class LimitRow(Borne):
    """A figure, its unit and what it limits."""

    text: w.Text
    figure: w.Decimal
    unit: Literal["C", "F", "%", "h"]

    @property
    def value(self) -> Fraction:
        """The figure, exactly."""
        return Fraction(self.figure)

    @property
    def measure(self) -> Measure:
        """The figure as a temperature."""
        return Measure(self.value, Unit(self.unit))


class ProfileRow(Borne):
    """How large a bead of a profile usually is; both sizes are as typed, `3/8in`."""

    label: w.Text
    width: Annotated[w.Text, _typed(LENGTH)]
    height: Annotated[w.Text, _typed(LENGTH)]

    @property
    def size(self) -> tuple[Measure, Measure]:
        """Width and height; the two legs of a fillet; the diameter twice."""
        first, second = (measure(text, LENGTH, "size") for text in (self.width, self.height))
        return first, second


class PackageRow(Borne):
    """A size in which sealant is sold."""

    label: w.Text
    holds: Annotated[w.Text, _typed(VOLUME)]

    @property
    def volume(self) -> Measure:
        """What it holds."""
        return measure(self.holds, VOLUME, "volume")


class SizeRow(Borne):
    """Something of known size to lay beside what is measured: flat with four corners, or round.

    `across` is two lengths with an x between them, or a diameter; `known_to` is the standard
    uncertainty of each.
    """

    label: w.Text
    across: Annotated[w.Text, AfterValidator(_typed_sizes)]
    known_to: Annotated[w.Text, _typed(LENGTH)]

    @property
    def size(self) -> tuple[Measure, ...]:
        """Two sides, or one diameter."""
        return sizes(self.across, "size")


class PracticeRow(Claim):
    """A sentence of practice; `extents` says with which work it goes, left out: with all."""

    topic: Topic
    extents: tuple[w.Extent, ...] = ()


class BandRow(Borne):
    """A band of wood moisture; the last one has no upper edge.

    `up_to_pct10` in tenths of a per cent; a value on an edge is in the lower band.
    """

    words: w.Text
    up_to_pct10: Annotated[int, Field(ge=0, le=9999)] | None = None


class CorrectionRow(Borne):
    """What a temperature correction says, and who says it."""

    label: w.Text
    text: w.Text

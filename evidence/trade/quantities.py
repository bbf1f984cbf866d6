"""How much sealant a bead takes: cross-section times length, then tubes.

V = A L (1 + w). A of a band is width times height; of a fillet half the product of its legs; of a
half-round π d²/8; of a round π d²/4. A fillet round a disc of diameter D takes
2π (D/2 + a/3) a b/2 (Pappus). A dot is half an ellipsoid, π w² h/6. All exact but for π.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, pi
from typing import Literal

from evidence.errors import RefusedError
from evidence.trade.units import Measure
from evidence.trade.working import Profile

PI = Fraction(pi)
_MM3_PER_ML = 1000
_AROUND = "around it"
_ONE_SIZE = (Profile.FILLET, Profile.HALF_ROUND, Profile.ROUND)


@dataclass(frozen=True, slots=True)
class Bead:
    """A profile and its size, the width and the height; of a round one the diameter twice."""

    profile: Profile
    width: Measure
    height: Measure

    @property
    def area(self) -> Fraction:
        """The cross-section, mm²."""
        width, height = self.width.base, self.height.base
        return {
            Profile.BAND: width * height,
            Profile.FILLET: width * height / 2,
            Profile.HALF_ROUND: PI * width**2 / 8,
            Profile.ROUND: PI * width**2 / 4,
            Profile.DOT: Fraction(0),
        }[self.profile]

    def __str__(self) -> str:
        """`1 in × 1/4 in`, or one size where both are the same."""
        same = self.width.base == self.height.base
        return str(self.width) if same else f"{self.width} × {self.height}"


def bead_of(profile: Profile, size: tuple[Measure, ...], usual: tuple[Measure, Measure]) -> Bead:
    """The bead that was asked for; its usual size where none was given.

    Raises:
        RefusedError: a size of nothing, or one size where two are needed, or two where one is.
    """
    if any(side.base <= 0 for side in size):
        raise RefusedError(f"size of the {profile}", "is nothing", "Give more than 0.")
    if not size:
        return Bead(profile, *usual)
    if len(size) == 1 and profile in _ONE_SIZE:
        return Bead(profile, size[0], size[0])
    if len(size) == 1:
        raise RefusedError(f"size of the {profile}", "needs two sides", "Write 1x1/4in.")
    if profile in (Profile.HALF_ROUND, Profile.ROUND) and size[0].base != size[1].base:
        raise RefusedError(f"size of the {profile}", "has one diameter", "Write 3/8in.")
    return Bead(profile, size[0], size[1])


@dataclass(frozen=True, slots=True)
class Run:
    """One bead to be laid: its length in mm and how it runs, or so many dots; and its volume."""

    how: str
    length_mm: Fraction
    dots: int
    ml: Fraction


def straight(how: str, bead: Bead, length_mm: Fraction) -> Run:
    """A bead along a line, or around corners."""
    return Run(how, length_mm, 0, bead.area * length_mm / _MM3_PER_ML)


def around_disc(bead: Bead, diameter: Measure) -> Run:
    """A bead around a round flange; a fillet stands outside its edge."""
    across = diameter.base
    length = PI * across
    if bead.profile is not Profile.FILLET:
        return straight(_AROUND, bead, length)
    turned = 2 * PI * (across / 2 + bead.width.base / 3)
    return Run(_AROUND, length, 0, turned * bead.area / _MM3_PER_ML)


def dotted(bead: Bead, count: int) -> Run:
    """So many dots."""
    one = PI * bead.width.base**2 * bead.height.base / 6
    return Run(str(bead), Fraction(0), count, one * count / _MM3_PER_ML)


def measured(
    way: Literal["along", "around"], bead: Bead, size_mm: tuple[Fraction, Fraction]
) -> Run:
    """The bead that a measured place takes.

    Around: once round its outer size. Along: a band lies once over the longer side; any other
    profile seals both of its edges.
    """
    if way == "around":
        return straight(_AROUND, bead, 2 * (size_mm[0] + size_mm[1]))
    if bead.profile is Profile.BAND:
        return straight("along it", bead, max(size_mm))
    return straight("along both its edges", bead, 2 * max(size_mm))


def total(runs: Iterable[Run], waste_pct: Fraction) -> Fraction:
    """Millilitres of all runs with the allowance for waste, not yet rounded to tubes."""
    return sum((run.ml for run in runs), Fraction(0)) * (1 + waste_pct / 100)


def tubes(ml: Fraction, volume: Measure) -> tuple[int, Fraction]:
    """Whole tubes to buy, and how many are used, exactly."""
    used = ml / volume.base
    return ceil(used), used

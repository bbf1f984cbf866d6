"""The rows of the catalogue: one frozen model for each table of `templates/catalogue/`.

Every row but a source says what it rests on: published sources, or a basis such as "common
practice, no source" or "from memory". Where both stand, the basis bears what the source does not.
"""

from collections.abc import Mapping
from enum import StrEnum
from types import MappingProxyType
from typing import Annotated, Literal, TypeVar

from pydantic import AfterValidator, Field, StringConstraints, model_validator

from evidence import words as w
from evidence.shapes import Strict

K = TypeVar("K")
V = TypeVar("V")
SourceId = Annotated[str, StringConstraints(pattern=r"^(S[1-9][0-9]?|[a-z0-9-]{1,40})$")]
Days = Annotated[int, Field(ge=0, le=3660)]
Sources = tuple[SourceId, ...]
Rows = Annotated[Mapping[K, V], AfterValidator(MappingProxyType)]


class PointsTo(StrEnum):
    """What an observation is often cited for; never a verdict."""

    SUDDEN = "sudden"
    LONG_TERM = "long-term"
    NEITHER = "neither"


class Letter(StrEnum):
    """How a sealant suits a place (TRADE § 2), the best first."""

    Y = "Y"
    C = "C"
    N = "N"


class Borne(Strict):
    """A statement and what bears it."""

    source: Sources = ()
    basis: w.Text | None = None

    @model_validator(mode="after")
    def _is_borne(self) -> "Borne":
        if not self.source and self.basis is None:
            raise ValueError("says neither its source nor its basis")
        return self

    @property
    def rests_on(self) -> str:
        """For a person: "S39; common practice, no source"."""
        return "; ".join([*self.source, *([self.basis] if self.basis else [])])


class Claim(Borne):
    """One sentence with its own source or basis."""

    text: w.Text


class SurfaceRow(Borne):
    """What a roof is made of (TRADE § 1)."""

    label: w.Text
    spec: Claim | None = None
    life: tuple[Claim, ...] = ()
    care: tuple[Claim, ...] = ()
    avoid: tuple[Claim, ...] = ()
    tell_tale: tuple[Claim, ...] = ()


class Cell(Strict):
    """One letter of the fit table; without its own source or basis it rests on what its row does.

    `never_over`: families of an old bead over which the letter is N.
    """

    letter: Letter
    note: w.Text | None = None
    source: Sources = ()
    basis: w.Text | None = None
    never_over: tuple[w.Family, ...] = ()

    @property
    def rests_on(self) -> str:
        """As `Borne.rests_on`; empty where it rests on what its row does."""
        return "; ".join([*self.source, *([self.basis] if self.basis else [])])


class FamilyRow(Borne):
    """A family of sealants; a column left out is one on which the table is silent (TRADE § 2).

    `under_flange`: it goes there alone, and no bead is laid of it.
    """

    label: w.Text
    form: Literal["bead", "tape"] = "bead"
    under_flange: bool = False
    use: Claim | None = None
    horizontal: Cell | None = None
    vertical_or_sloped: Cell | None = None
    surfaces: Rows[w.Surface, Cell] = Field(default={}, validate_default=True)

    @model_validator(mode="after")
    def _is_whole(self) -> "FamilyRow":
        if self.surfaces and set(self.surfaces) != set(w.Surface) - {w.Surface.UNKNOWN}:
            raise ValueError("surfaces needs a letter for every known surface, or for none")
        return self

    def on_slope(self, slope: w.Slope | None) -> Cell | None:
        """The letter by slope; a sloped place uses the column of the vertical one.

        A slope that is not on record (None) has a letter only where every slope has the same one.
        """
        if slope is None:
            return self.horizontal if self.horizontal == self.vertical_or_sloped else None
        return self.horizontal if slope == w.Slope.FLAT else self.vertical_or_sloped


class ZoneRow(Borne):
    """A kind of place on a rig (TRADE § 3).

    `on_roof`: a look from the ground or from inside does not cover it. `usual_slopes` has the
    commonest first; no usual surface means that of the rig. `bead`: it runs along the longer side,
    or around; None where its length is for the keeper to give.
    """

    label: w.Text
    on_roof: bool
    usual_slopes: tuple[w.Slope, ...] = ()
    usual_surfaces: tuple[w.Surface, ...] = ()
    bead: Literal["along", "around"] | None = None
    look_for: w.Text


class GradeIf(Strict):
    """The graver grade of a finding, its condition and its days."""

    grade: w.Grade
    when: w.Text
    act_within_days: Days


class FindingRow(Borne):
    """A kind of finding (TRADE § 4); `keep_off`: while it is open nobody steps or climbs there."""

    words: w.Text
    look_for: w.Text
    grade: w.Grade
    remedy: w.Text
    act_within_days: Days
    grade_if: GradeIf | None = None
    keep_off: Claim | None = None
    notes: tuple[Claim, ...] = ()

    @model_validator(mode="after")
    def _second_is_graver(self) -> "FindingRow":
        if self.grade_if is not None and self.grade_if.grade <= self.grade:
            raise ValueError("grade_if must be graver than grade")
        return self


class TaskRow(Borne):
    """A task that a rule can set, with our default days where there are any (TRADE § 5).

    `standard` tasks are named as missing where the record has no rule for them. `again_at_days`
    asks for a second look, counted like `days`.
    """

    words: w.Text
    due: w.Text
    days: Days | None = None
    from_days: Days | None = None
    again_at_days: Days | None = None
    standard: bool
    notes: tuple[Claim, ...] = ()


class ObservationRow(Borne):
    """Something seen, which way it is often cited, and the pitfall (TRADE § 6)."""

    about: w.Text
    sentence: w.Text
    points_to: PointsTo
    pitfall: w.Text


class CautionRow(Borne):
    """A caution, never clearance (TRADE § 8); without `means` or `tasks` it goes with all."""

    text: w.Text
    when: w.Text
    means: tuple[w.Means, ...] = ()
    tasks: tuple[w.Task, ...] = ()

    def goes_with(self, task: w.Task, means: w.Means | None) -> bool:
        """Whether it is shown with this task, done by these means (None: not yet chosen)."""
        right_means = means is None or not self.means or means in self.means
        return right_means and (not self.tasks or task in self.tasks)


class SourceRow(Strict):
    """A published source, and how it was seen."""

    title: w.Text
    seen: w.Text


class GradeRow(Borne):
    """The word and the sentence of a grade."""

    word: w.Text
    sentence: w.Text


class EditorRow(Borne):
    """A word, in lower case, by which a program that changes pictures names itself."""

    word: Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9. -]{2,40}$")]

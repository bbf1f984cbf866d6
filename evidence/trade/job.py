"""A day's sealing worked out: for each place what fits and how long the bead is, then the tubes.

Beads of one family are added up before they are rounded to tubes: what is left of one tube goes on
to the next place.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from evidence.errors import RefusedError
from evidence.trade.catalogue import Catalogue
from evidence.trade.quantities import (
    Bead,
    Run,
    around_disc,
    bead_of,
    dotted,
    measured,
    straight,
    total,
    tubes,
)
from evidence.trade.sealing import Advice, Place, advise, usual_profile
from evidence.trade.units import Measure
from evidence.trade.working import Limit, Profile
from evidence.words import Extent, Family, ZoneType


@dataclass(frozen=True, slots=True)
class Wanted:
    """A place to be sealed; its outer size in mm, the diameter of its flange, or a given length."""

    name: str
    place: Place
    size_mm: tuple[Fraction, Fraction] | None = None
    diameter: Measure | None = None
    length: Measure | None = None


@dataclass(frozen=True, slots=True)
class Wish:
    """What the keeper has in mind; None and empty leave it to the catalogue."""

    family: Family | None = None
    extent: Extent | None = None
    profile: Profile | None = None
    size: tuple[Measure, ...] = ()
    dots: int = 0
    dot_size: tuple[Measure, ...] = ()
    waste_pct: int | None = None


@dataclass(frozen=True, slots=True)
class PlaceWork:
    """A place, what suits it and the runs of sealant; `unmeasured` says why there is none."""

    wanted: Wanted
    advice: Advice
    bead: Bead | None
    runs: tuple[Run, ...]
    unmeasured: str | None


@dataclass(frozen=True, slots=True)
class Tubes:
    """A size of package, how many to buy, and how much of them is used."""

    label: str
    volume: Measure
    count: int
    used: Fraction


@dataclass(frozen=True, slots=True)
class Quantity:
    """All of one family: millilitres net and with the allowance, or millimetres of a tape."""

    family: Family
    runs: tuple[Run, ...]
    net_ml: Fraction
    gross_ml: Fraction
    tape_mm: Fraction | None
    tubes: tuple[Tubes, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """The whole of it."""

    places: tuple[PlaceWork, ...]
    quantities: tuple[Quantity, ...]
    waste_pct: Fraction


def work_out(
    wanted: Sequence[Wanted], wish: Wish, catalogue: Catalogue, package: Measure | None = None
) -> Job:
    """Work out a job.

    Args:
        wanted: the places, in order.
        wish: family, work, bead and dots; the dots go with the first place.
        catalogue: the trade's tables.
        package: the keeper's own size of tube; None takes those of the catalogue.

    Raises:
        RefusedError: a bead of a size that cannot be, or a place where no bead belongs.
    """
    for each in wanted:
        _see_that_a_bead_belongs(each, catalogue)
    waste = catalogue.limits[Limit.WASTE].value if wish.waste_pct is None else wish.waste_pct
    works = tuple(
        _place_work(each, wish, catalogue, dots=wish.dots if first else 0)
        for first, each in zip([True, *[False] * len(wanted)], wanted, strict=False)
    )
    runs: dict[Family, list[Run]] = {}
    for work in works:
        if work.advice.chosen is not None and work.runs:
            runs.setdefault(work.advice.chosen.family, []).extend(work.runs)
    quantities = [
        _quantity(family, laid, Fraction(waste), catalogue, package)
        for family, laid in runs.items()
    ]
    return Job(works, tuple(quantities), Fraction(waste))


def no_bead(zone_type: ZoneType, catalogue: Catalogue) -> bool:
    """Whether no bead belongs there: what does not lie on the roof is not sealed against rain."""
    return not catalogue.zone_types[zone_type].on_roof


def _see_that_a_bead_belongs(wanted: Wanted, catalogue: Catalogue) -> None:
    kind = wanted.place.zone_type
    if kind is not None and no_bead(kind, catalogue):
        label = catalogue.zone_types[kind].label
        raise RefusedError(
            wanted.name,
            f"is no place of the roof ({label}): no bead belongs there",
            "Leave it out.",
        )


def _place_work(wanted: Wanted, wish: Wish, catalogue: Catalogue, *, dots: int) -> PlaceWork:
    advice = advise(wanted.place, catalogue, wish.family, wish.extent)
    if advice.chosen is None:
        return PlaceWork(wanted, advice, None, (), _none_to_reckon_with(advice))
    runs: list[Run] = []
    bead, unmeasured = None, None
    if advice.extent is not Extent.SPOT:
        bead = _bead(wanted, wish, advice.chosen.family, catalogue)
        run = _run(wanted, bead, catalogue)
        runs += [] if run is None else [run]
        unmeasured = "the length of its bead is not on record; measure it" if run is None else None
    if dots:
        usual = catalogue.profiles[Profile.DOT].size
        runs.append(dotted(bead_of(Profile.DOT, wish.dot_size, usual), dots))
    return PlaceWork(wanted, advice, bead, tuple(runs), unmeasured)


def _none_to_reckon_with(advice: Advice) -> str:
    if advice.asked is not None and not advice.asked.bead:
        return "it goes under a flange only, and no bead is laid of it"
    return "no sealant to reckon with"


def _bead(wanted: Wanted, wish: Wish, family: Family, catalogue: Catalogue) -> Bead:
    profile = wish.profile or usual_profile(wanted.place, family, catalogue)
    return bead_of(profile, wish.size, catalogue.profiles[profile].size)


def _run(wanted: Wanted, bead: Bead, catalogue: Catalogue) -> Run | None:
    if wanted.length is not None:
        return straight("as given", bead, wanted.length.base)
    if wanted.diameter is not None:
        return around_disc(bead, wanted.diameter)
    kind = wanted.place.zone_type
    way = "around" if kind is None else catalogue.zone_types[kind].bead
    if wanted.size_mm is None or way is None:
        return None
    return measured(way, bead, wanted.size_mm)


def _quantity(
    family: Family,
    runs: Sequence[Run],
    waste: Fraction,
    catalogue: Catalogue,
    package: Measure | None,
) -> Quantity:
    gross = total(runs, waste)
    if catalogue.families[family].form == "tape":
        length = sum((run.length_mm for run in runs), Fraction(0)) * (1 + waste / 100)
        return Quantity(family, tuple(runs), Fraction(0), Fraction(0), length, ())
    sizes = [(row.label, row.volume) for row in catalogue.packages.values()]
    if package is not None:
        sizes = [(f"tube of {package}", package)]
    bought = tuple(Tubes(label, volume, *tubes(gross, volume)) for label, volume in sizes)
    return Quantity(family, tuple(runs), total(runs, Fraction(0)), gross, None, bought)

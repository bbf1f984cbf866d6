"""Which sealant suits a place, what else would, and what the old bead asks for."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

from evidence.trade.catalogue import Catalogue, Fit
from evidence.trade.rows import Claim, Letter
from evidence.trade.working import Profile, Topic
from evidence.words import Extent, Family, OldBead, Slope, Surface, ZoneType

_CLEARED = (OldBead.REMOVED, OldBead.NONE)


@dataclass(frozen=True, slots=True)
class Place:
    """Where sealant is to go, and what lies there; None where it is not known."""

    surface: Surface
    slope: Slope | None = None
    zone_type: ZoneType | None = None
    old_family: Family | None = None
    old_bead: OldBead | None = None


@dataclass(frozen=True, slots=True)
class Option:
    """A family of sealants at a place, and how it suits; `bead`: whether one can be laid of it."""

    family: Family
    fit: Fit
    bead: bool = True


@dataclass(frozen=True, slots=True)
class Advice:
    """What goes with a place.

    Args:
        asked: the family that was asked for, whatever its letter.
        fits: the others that suit, Y before C, the old bead's own family first; never an N.
        unfit: the families that do not.
        extent: spot, overlay or strip; None where there is no old bead.
        why: the reason for that extent.
        warnings: what comes before everything else.
    """

    asked: Option | None
    fits: tuple[Option, ...]
    unfit: tuple[Option, ...]
    extent: Extent | None
    why: str
    warnings: tuple[str, ...] = ()

    @property
    def chosen(self) -> Option | None:
        """The family to reckon with: the one asked for, else the first that fits; never an N.

        Nor one of which no bead is laid.
        """
        wanted = self.fits if self.asked is None else (self.asked,)
        return next((row for row in wanted if row.bead and row.fit.letter is not Letter.N), None)


def advise(
    place: Place, catalogue: Catalogue, family: Family | None = None, extent: Extent | None = None
) -> Advice:
    """What suits the place.

    Args:
        place: surface, slope and the old bead.
        catalogue: the trade's tables.
        family: the one that the keeper has in mind.
        extent: the work that the keeper has in mind; None leaves it to the old bead.

    Raises:
        RefusedError: a word that the catalogue does not have.
    """
    options = [_option(place, each, catalogue) for each in _known(catalogue)]
    chosen = None if family is None else _option(place, family, catalogue)
    order = list(Letter)
    fits = sorted(
        (row for row in options if row.fit.letter is not Letter.N and row.family is not family),
        key=lambda row: (
            order.index(row.fit.letter),
            row.family is not place.old_family,
            catalogue.families[row.family].form == "tape",
        ),
    )
    laid = family or (fits[0].family if fits else None)
    found, why = _extent(place, laid)
    warnings = [FIND_OUT] if place.surface is Surface.UNKNOWN else []
    if extent is Extent.OVERLAY and found is Extent.STRIP:
        extent = found
        warnings = [f"{NO_OVERLAY}: {why}", *warnings]
        if chosen is not None:
            reason = f"{catalogue.families[chosen.family].label} not as an overlay: {why}"
            fit = Fit(Letter.N, reason, _overlay_rests_on(catalogue))
            chosen = replace(chosen, fit=fit)
    return Advice(
        asked=chosen,
        fits=tuple(fits),
        unfit=tuple(row for row in options if row.fit.letter is Letter.N),
        extent=extent or found,
        why=why if extent in (None, found) else f"as asked; by the old bead: {why}",
        warnings=tuple(warnings),
    )


NO_OVERLAY = "Strip the old bead; do not lay over it"
FIND_OUT = "Find out what the roof is made of first"


def _option(place: Place, family: Family, catalogue: Catalogue) -> Option:
    row = catalogue.families[family]
    return Option(family, fit_at(place, family, catalogue), bead=not row.under_flange)


def _overlay_rests_on(catalogue: Catalogue) -> str:
    borne = [row.rests_on for row in catalogue.practised(Topic.PREPARATION, Extent.STRIP)]
    return borne[-1]


def fit_at(place: Place, family: Family, catalogue: Catalogue) -> Fit:
    """The letter of the fit table at a place.

    A slope that is not on record counts as the worst of those that are usual there, so that
    nothing is proposed that would run; a surface that is not known as the worst of all.
    """
    over = None if place.old_bead in _CLEARED else place.old_family
    slopes = (place.slope,) if place.slope is not None else _usual(place, catalogue)
    surfaces = (place.surface,) if place.surface is not Surface.UNKNOWN else _known_surfaces()
    fits = [catalogue.fit(family, *at, over) for at in product(surfaces, slopes)]
    worst = max(fits, key=lambda fit: list(Letter).index(fit.letter))
    notes = [] if place.slope is not None else ["slope not on record: the worst usual"]
    notes += [] if place.surface is not Surface.UNKNOWN else ["surface not known: the worst of all"]
    if not notes:
        return worst
    return Fit(worst.letter, f"{worst.reason} ({'; '.join(notes)})", worst.source)


def usual_profile(place: Place, family: Family | None, catalogue: Catalogue) -> Profile:
    """A flat cap where sealant is laid on a flat place, a fillet elsewhere."""
    slopes = (place.slope,) if place.slope is not None else _usual(place, catalogue)[:1]
    flat = slopes == (Slope.FLAT,) and family is not Family.NON_SAG
    return Profile.BAND if flat else Profile.FILLET


def preparation(place: Place, advice: Advice, catalogue: Catalogue) -> tuple[Claim, ...]:
    """What is done before sealing there: by the work, the sealant and the surface."""
    chosen = advice.chosen
    use = None if chosen is None else catalogue.families[chosen.family].use
    return (
        *catalogue.practised(Topic.PREPARATION, advice.extent or Extent.SPOT),
        *([] if use is None else [use]),
        *catalogue.surfaces[place.surface].care,
    )


def _known(catalogue: Catalogue) -> Iterator[Family]:
    return (family for family in catalogue.families if family is not Family.UNKNOWN)


def _known_surfaces() -> tuple[Surface, ...]:
    return tuple(surface for surface in Surface if surface is not Surface.UNKNOWN)


def _usual(place: Place, catalogue: Catalogue) -> tuple[Slope, ...]:
    row = None if place.zone_type is None else catalogue.zone_types.get(place.zone_type)
    return tuple(Slope) if row is None or not row.usual_slopes else row.usual_slopes


def _extent(place: Place, laid: Family | None) -> tuple[Extent | None, str]:
    if place.old_bead in _CLEARED:
        return None, "no old bead is there"
    if place.old_family is None:
        return Extent.STRIP, "nobody said what the old bead is, if there is one"
    if place.old_family is Family.UNKNOWN:
        return Extent.STRIP, "the old bead's family is not known, or mixed"
    if place.old_family is not laid:
        return Extent.STRIP, "the old bead is of another family"
    if place.old_bead in (OldBead.PART, OldBead.UNKNOWN):
        return Extent.STRIP, "the old bead is in parts, or its state is not known"
    state = " and sound" if place.old_bead is OldBead.SOUND else "; see that it is sound"
    return Extent.OVERLAY, f"the old bead is of the same family{state}"

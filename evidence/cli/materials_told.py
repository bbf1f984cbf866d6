"""A job of sealing in sentences and as JSON."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

import click

from evidence.cli import common, own
from evidence.dossier import say
from evidence.trade import Catalogue, Letter, Topic
from evidence.trade.job import Job, PlaceWork, Quantity
from evidence.trade.quantities import Bead, Run
from evidence.trade.sealing import Advice, Option, preparation
from evidence.trade.units import Measure, Unit, decimal
from evidence.upkeep.sealing import OldLot


@dataclass(frozen=True, slots=True)
class Lots:
    """Tubes past their last day: those of the record, and the one in the keeper's hand."""

    recorded: tuple[OldLot, ...]
    in_hand: date | None
    on: date

    def lines(self) -> Iterator[str]:
        """A sentence for each."""
        for lot in self.recorded:
            words = (lot.product, lot.lot and f"lot {lot.lot}")
            named = ", ".join(word for word in words if word) or "a lot without a name"
            yield (
                f"Past its day: {named}, {say.day(lot.expired)} "
                f"({say.entries([lot.seq])}). Do not use what is left of it."
            )
        if self.in_hand is not None and self.in_hand < self.on:
            yield f"Past its day: the tube in your hand, {say.day(self.in_hand)}. Do not use it."


@dataclass(frozen=True, slots=True)
class Told:
    """What stands beside a job: lots, zones left out and why, the unit that was typed."""

    lots: Lots
    left: tuple[tuple[str, str], ...] = ()
    unit: Unit | None = None

    def left_out(self, job: Job) -> tuple[tuple[str, str], ...]:
        """Every place of which no bead is reckoned, and why."""
        unmeasured = ((work.wanted.name, work.unmeasured) for work in job.places)
        return (*((name, why) for name, why in unmeasured if why is not None), *self.left)


def tell_job(job: Job, told: Told, catalogue: Catalogue) -> None:
    """What fits where, what is done first, and how much it takes."""
    alike: dict[tuple[str, Advice], list[PlaceWork]] = {}
    for work in job.places:
        alike.setdefault((_where(work, catalogue), work.advice), []).append(work)
    for works in alike.values():
        _tell_places(works, catalogue)
    _tell_quantities(job, told, catalogue)
    for text in told.lots.lines():
        common.tell(text, indent=2)
    common.heading("While it cures")
    own.tell_claims(catalogue.practised(Topic.CURING), catalogue)
    own.tell_claims(catalogue.practised(Topic.TERMS), catalogue)


def _tell_places(works: Sequence[PlaceWork], catalogue: Catalogue) -> None:
    """Places for which the same goes."""
    work = works[0]
    place, advice = work.wanted.place, work.advice
    common.heading(say.listed(each.wanted.name for each in works))
    for text in advice.warnings:
        click.echo(click.style(f"  {text}.", bold=True))
    common.tell(f"{_where(work, catalogue)}.", indent=2)
    if advice.asked is not None:
        click.echo("  Asked for:")
        common.rows([_option(advice.asked, advice, catalogue)], indent=4)
    click.echo("  Suits it:" if advice.asked is None else "  Suits it, too:")
    suits = [_option(option, advice, catalogue) for option in advice.fits]
    common.rows(suits or [("-", "Nothing in the table. Ask the maker.")], indent=4)
    if advice.unfit:
        click.echo("  Do not use there:")
        common.rows([_option(option, advice, catalogue) for option in advice.unfit], indent=4)
    said = "New bead" if advice.extent is None else _EXTENTS[advice.extent]
    common.tell(f"{said}: {advice.why}.", indent=2)
    own.tell_claims(preparation(place, advice, catalogue), catalogue)
    own.tell_claims(catalogue.surfaces[place.surface].avoid, catalogue, "Not on this surface: ")


_EXTENTS = {"spot": "Spots only", "overlay": "Lay over the old bead", "strip": "Strip the old bead"}


def _where(work: PlaceWork, catalogue: Catalogue) -> str:
    place = work.wanted.place
    slope = place.slope or "slope not on record"
    old = "not on record"
    if place.old_family is not None:
        old = catalogue.families[place.old_family].label.rstrip(",")
    state = f", {place.old_bead}" if place.old_bead else ""
    surface = say.sentence(catalogue.surfaces[place.surface].label)
    return f"{surface}, {slope}; old bead: {old}{state}"


def _option(option: Option, advice: Advice, catalogue: Catalogue) -> tuple[str, str]:
    """The letter; the family, why it has that letter where it is not a plain Y, and the source."""
    family, fit = catalogue.families[option.family].label, option.fit
    reason = fit.reason.removeprefix(family).strip()
    label = family.rstrip(",")
    plain = fit.letter is Letter.Y and "(" not in reason
    said = label if plain else f"{label}: {reason}"
    if option is advice.chosen:
        said += "; reckoned with below"
    return fit.letter, own.marked(said, fit.source, catalogue)


def _tell_quantities(job: Job, told: Told, catalogue: Catalogue) -> None:
    common.heading("How much")
    for work in job.places:
        for run in work.runs:
            common.tell(f"{work.wanted.name}: {_run(run, work.bead, told, catalogue)}.", indent=2)
    for quantity in job.quantities:
        _tell_quantity(quantity, job.waste_pct, told, catalogue)
    left = told.left_out(job)
    if left:
        common.tell("Without these:" if job.quantities else "Not reckoned:", indent=2)
        for name, why in left:
            common.tell(f"- {name}: {why}.", indent=4)
    if left and job.quantities:
        common.tell("The count above is without them.", indent=2)
    if any(work.wanted.size_mm for work in job.places):
        common.tell("A size counts as the outer size. Measure again where it may not be.", indent=2)


def _run(run: Run, bead: Bead | None, told: Told, catalogue: Catalogue) -> str:
    if run.dots or bead is None:
        return f"{say.counted((run.dots, run.dots), 'dot')} of {run.how}, {_volume(run.ml)}"
    label = catalogue.profiles[bead.profile].label
    return f"{label} {bead} {run.how}, {_length(run.length_mm, told.unit)}, {_volume(run.ml)}"


def _tell_quantity(quantity: Quantity, waste: Fraction, told: Told, catalogue: Catalogue) -> None:
    label = say.sentence(catalogue.families[quantity.family].label.rstrip(","))
    allowance = f"with {decimal(waste, 1)} % for waste"
    click.echo()
    if quantity.tape_mm is not None:
        common.tell(f"{label}: {_length(quantity.tape_mm, told.unit)} {allowance}.", indent=2)
        return
    net, gross = _volume(quantity.net_ml), _volume(quantity.gross_ml)
    common.tell(f"{label}: {net}, {allowance} {gross}. Any one of these:", indent=2)
    bought = [
        (f"{row.count} ×", row.label, f"uses {decimal(row.used, 2)}") for row in quantity.tubes
    ]
    common.rows(bought, indent=4)


def _length(length_mm: Fraction, unit: Unit | None) -> str:
    """In the unit that was typed, then in the other system: a roof is measured in either."""
    exact = Measure(length_mm, Unit.MILLIMETRE)
    long = exact.to(Unit.FOOT)
    customary = long if long.amount >= _FEET_FROM else exact.to(Unit.INCH)
    metric = f"{decimal(length_mm, 0)} mm"
    if unit is None:
        return f"{customary} ({metric})"
    return f"{exact.to(unit)} ({metric if unit.customary else customary})"


_FEET_FROM = 10


def _volume(ml: Fraction) -> str:
    ounces = Measure(ml, Unit.MILLILITRE).to(Unit.FLUID_OUNCE)
    return f"{decimal(ml, 0)} ml ({ounces})"


def document(job: Job, told: Told, catalogue: Catalogue) -> dict[str, object]:
    """The job for a program: lengths in mm, volumes in ml, as decimal text."""
    return {
        "places": [_place_document(work, catalogue) for work in job.places],
        "quantities": [_quantity_document(row) for row in job.quantities],
        "waste_pct": decimal(job.waste_pct, 1),
        "expired": list(told.lots.lines()),
        "left_out": [{"name": name, "why": why} for name, why in told.left_out(job)],
        "own_rows": own.changes_json(catalogue),
    }


def _place_document(work: PlaceWork, catalogue: Catalogue) -> dict[str, object]:
    place, advice, bead = work.wanted.place, work.advice, work.bead
    return {
        "name": work.wanted.name,
        "surface": place.surface,
        "slope": place.slope,
        "old_family": place.old_family,
        "asked": None if advice.asked is None else _option_document(advice.asked),
        "warnings": list(advice.warnings),
        "fits": [_option_document(option) for option in advice.fits],
        "unfit": [_option_document(option) for option in advice.unfit],
        "extent": advice.extent,
        "why": advice.why,
        "preparation": own.claims_json(preparation(place, advice, catalogue)),
        "avoid": own.claims_json(catalogue.surfaces[place.surface].avoid),
        "profile": None if bead is None else bead.profile,
        "bead_mm": None
        if bead is None
        else [decimal(bead.width.base, 3), decimal(bead.height.base, 3)],
        "runs": [
            {"length_mm": decimal(r.length_mm, 1), "dots": r.dots, "ml": decimal(r.ml, 1)}
            for r in work.runs
        ],
        "unmeasured": work.unmeasured,
    }


def _option_document(option: Option) -> dict[str, object]:
    fit = option.fit
    return {
        "family": option.family,
        "fit": fit.letter,
        "reason": fit.reason,
        "source": fit.source,
    }


def _quantity_document(quantity: Quantity) -> dict[str, object]:
    return {
        "family": quantity.family,
        "net_ml": decimal(quantity.net_ml, 1),
        "gross_ml": decimal(quantity.gross_ml, 1),
        "tape_mm": None if quantity.tape_mm is None else decimal(quantity.tape_mm, 0),
        "tubes": [
            {
                "label": row.label,
                "ml": decimal(row.volume.base, 2),
                "count": row.count,
                "used": decimal(row.used, 3),
            }
            for row in quantity.tubes
        ],
    }

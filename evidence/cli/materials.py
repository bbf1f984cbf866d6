"""`materials`: which sealant fits a place on this roof, and how many tubes it takes."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

import click

from evidence.cli import common, own, typed
from evidence.errors import RefusedError
from evidence.trade import Profile
from evidence.words import Extent, Family, OldBead, Slope, Surface, ZoneType, nearest

if TYPE_CHECKING:
    from evidence.case import Record
    from evidence.shapes import Zone
    from evidence.trade import Catalogue
    from evidence.trade.job import Wanted
    from evidence.trade.units import Measure
    from evidence.upkeep import History

_ALL = "all"


@click.command(cls=typed.Command)
@click.argument("case", type=click.Path(path_type=Path), required=False)
@click.option("--zone", "zones", multiple=True, metavar="ZONE", help="A zone of the case, or all.")
@click.option("--type", "zone_type", metavar="Znn", help="Without a case: the kind of place.")
@click.option("--surface", type=typed.Word(Surface), help="Instead of what is on record.")
@click.option("--slope", type=typed.Word(Slope), help="Instead of what is on record.")
@click.option("--family", type=typed.Word(Family, [Family.UNKNOWN]), help="What you have in mind.")
@click.option("--old-family", type=typed.Word(Family), help="The family of the old bead.")
@click.option("--old-bead", type=typed.Word(OldBead), help="The state of the old bead.")
@click.option("--extent", type=typed.Word(Extent), help="The work that you have in mind.")
@click.option("--profile", type=typed.Word(Profile, [Profile.DOT]), help="Cross-section of it.")
@click.option("--bead", type=typed.SIZE, default=(), help="Its size: 3/8in, 1x1/4in, 10mm.")
@click.option("--size", type=typed.SIZE, help="OUTER size of the place: 14x22in.")
@click.option("--diameter", type=typed.LENGTH, help="Of a round flange: 4in.")
@click.option("--length", type=typed.LENGTH, help="Length of the bead: 96in, 8ft, 2.4m.")
@click.option("--spots", type=click.IntRange(0, 999), default=0, help="How many dots besides.")
@click.option("--dot", type=typed.SIZE, default=(), help="Width and height of a dot: 3/4x1/4in.")
@click.option("--tube", type=typed.VOLUME, help="Your own size of tube: 10.3oz, 300ml.")
@click.option("--waste", type=typed.ALLOWANCE, help="Allowance; 15 if left out.")
@click.option("--expires", type=typed.DAY, help="Last day printed on the tube in your hand.")
@common.on_option
@own.catalogue_option
@common.json_option
def materials(
    case: Path | None,
    zones: tuple[str, ...],
    zone_type: ZoneType | None,
    surface: Surface | None,
    slope: Slope | None,
    family: Family | None,
    old_family: Family | None,
    old_bead: OldBead | None,
    extent: Extent | None,
    profile: Profile | None,
    bead: "tuple[Measure, ...]",
    size: "tuple[Measure, ...] | None",
    diameter: "Measure | None",
    length: "Measure | None",
    spots: int,
    dot: "tuple[Measure, ...]",
    tube: "Measure | None",
    waste: int | None,
    expires: date | None,
    on: str | None,
    own_rows: str | None,
    as_json: bool,
) -> None:
    """Which sealant fits this place on this roof, and how many tubes.

    With a CASE it takes surface, slope, size and old bead of each zone from the record. Zones are
    added up before they are rounded to tubes.

    \b
    Example:
      roof-evidence materials my-rig --zone skylight-1 --zone vent-1
      roof-evidence materials --surface tpo --slope flat --size 14x22in --spots 8
    """  # noqa: D301 - click reads the character itself
    from evidence.cli.materials_told import Lots, Told, document, tell_job
    from evidence.trade.job import Wanted, Wish, work_out
    from evidence.trade.sealing import Place
    from evidence.upkeep.sealing import expired_lots

    _refuse_what_nobody_would_honour(case, zones, spots, extent)
    catalogue = own.catalogue_given(own_rows)
    record = None if case is None else common.open_to_read(case)
    history = None if record is None else record.history(common.day_given(on, record))
    if history is None:
        wanted, left = [_alone(zones, zone_type, catalogue)], []
    else:
        wanted = list(_on_record(history, zones, catalogue))
        left = list(_left_out(history, catalogue)) if zones == (_ALL,) else []
    here = Place(surface or Surface.UNKNOWN, slope, None, old_family, old_bead)
    sides = None if size is None else (size[0].base, size[-1].base)
    wanted = [_as_told(row, Wanted("", here, sides, diameter, length)) for row in wanted]
    wish = Wish(family, extent, profile, bead, spots, dot, waste)
    job = work_out(wanted, wish, catalogue, tube)
    lots = Lots(
        recorded=() if history is None else expired_lots(history),
        in_hand=expires,
        on=_day(on, record),
    )
    measured = next((typed_ for typed_ in (length, diameter, *(size or ())) if typed_), None)
    told = Told(lots, tuple(left), None if measured is None else measured.unit)
    if as_json:
        common.emit(document(job, told, catalogue))
        return
    if history is not None and history.case.sample:
        common.tell("This is a sample: an invented case.")
    tell_job(job, told, catalogue)
    own.tell_changes(catalogue)
    own.tell_cautions(catalogue)


def _refuse_what_nobody_would_honour(
    case: Path | None, zones: tuple[str, ...], spots: int, extent: Extent | None
) -> None:
    """Refuse options that contradict each other, or that this call would not look at."""
    of_one = typed.given("length", "size", "diameter")
    typed.refuse(of_one[1:], f"does not go with {', '.join(of_one[:1])}")
    if len(set(zones)) > 1 or zones == (_ALL,):
        typed.refuse(of_one, "is of one place; name one --zone")
    if case is not None:
        typed.refuse(typed.given("zone_type"), "does not go with a CASE, whose zones have theirs")
    if not spots:
        typed.refuse(typed.given("dot"), "needs --spots, how many of them")
    if extent is Extent.SPOT:
        typed.refuse(typed.given("bead", "profile", *_MEASURES), "does not go with --extent spot")


_MEASURES = ("length", "size", "diameter")


def _alone(zones: tuple[str, ...], zone_type: str | None, catalogue: "Catalogue") -> "Wanted":
    """A place that belongs to no case."""
    from evidence.trade.job import Wanted
    from evidence.trade.sealing import Place

    if zones:
        raise RefusedError(f"--zone {zones[0]!r}", "needs the CASE that has it", "Name the case.")
    if zone_type is not None and zone_type not in catalogue.zone_types:
        hint = nearest(zone_type, catalogue.zone_types)
        raise RefusedError(f"--type {zone_type!r}", "is no kind of place", hint)
    return Wanted("The place", Place(Surface.UNKNOWN, zone_type=zone_type))


def _on_record(
    history: "History", zones: tuple[str, ...], catalogue: "Catalogue"
) -> "Iterator[Wanted]":
    """The zones that were named, as the record has them.

    Raises:
        RefusedError: none was named, or the rig has no such zone.
    """
    from evidence.trade.job import Wanted
    from evidence.upkeep.sealing import place_to_seal

    there = [place for place in history.places if place.there_on(history.on)]
    if not zones:
        names = ", ".join(place.id for place in there)
        raise RefusedError("--zone", "is needed: which place", f"Known: all, {names}.")
    beaded = [place.id for place in there if catalogue.zone_types[place.zone.type].bead is not None]
    for zone_id in dict.fromkeys(beaded if zones == (_ALL,) else zones):
        place = place_to_seal(history, zone_id)
        zone = history.place(zone_id).zone
        sides = zone.size_mm and (Fraction(zone.size_mm[0]), Fraction(zone.size_mm[1]))
        yield Wanted(_named(zone), place, sides)


def _left_out(history: "History", catalogue: "Catalogue") -> "Iterator[tuple[str, str]]":
    """The zones that `all` leaves out, and why."""
    from evidence.trade.job import no_bead

    for place in history.places:
        kind = place.zone.type
        if place.there_on(history.on) and catalogue.zone_types[kind].bead is None:
            why = (
                "no bead belongs there"
                if no_bead(kind, catalogue)
                else "the length of a bead does not follow from its size; give it with --length"
            )
            yield _named(place.zone), why


def _named(zone: "Zone") -> str:
    from evidence.dossier import say

    return f"{say.sentence(zone.label)} ({zone.id})"


def _as_told(known: "Wanted", told: "Wanted") -> "Wanted":
    """What the options say of a place goes before what the record says."""
    surface = told.place.surface
    place = replace(
        known.place,
        surface=known.place.surface if surface is Surface.UNKNOWN else surface,
        slope=told.place.slope or known.place.slope,
        old_family=told.place.old_family or known.place.old_family,
        old_bead=told.place.old_bead or known.place.old_bead,
    )
    return replace(
        known,
        place=place,
        size_mm=told.size_mm or known.size_mm,
        diameter=told.diameter,
        length=told.length,
    )


def _day(on: str | None, record: "Record | None") -> date:
    """The day for which tubes are held against their last day."""
    if record is not None:
        return common.day_given(on, record)
    from datetime import datetime

    from evidence.times import parse_day

    return datetime.now().astimezone().date() if on is None else parse_day(on)

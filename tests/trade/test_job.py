"""A day's sealing: places, dots and tubes."""

from dataclasses import replace
from fractions import Fraction

import pytest

from evidence.errors import RefusedError
from evidence.trade import Profile, load_catalogue
from evidence.trade.job import Wanted, Wish, work_out
from evidence.trade.sealing import Place
from evidence.trade.units import LENGTH, VOLUME, measure, sizes
from evidence.words import Extent, Family, OldBead, Slope, Surface

CATALOGUE = load_catalogue()
FLAT = Place(Surface.TPO, Slope.FLAT, "Z11", Family.SELF_LEVELLING)
RAIL = Place(Surface.ALUMINIUM, Slope.VERTICAL, "Z05", Family.NON_SAG)


def inches(text):
    return measure(text, LENGTH, "x")


def outer(text):
    first, second = sizes(text, "x")
    return first.base, second.base


SKYLIGHT = Wanted("skylight", FLAT, outer("14x22in"))
VENT = Wanted("vent", replace(FLAT, zone_type="Z14"), diameter=inches("4in"))
STRIP = Wanted("strip", replace(FLAT, zone_type="Z01"), outer("96x2in"))


def counts(quantity):
    return {row.label: row.count for row in quantity.tubes}


def test_three_places_of_one_family_come_to_five_tubes_not_six():
    """295.0 + 51.5 + 786.6 ml with 15 %: 1303.0 ml, 4.278 tubes of 10.3 fl oz."""
    wish = Wish(profile=Profile.BAND)
    wide = Wish(profile=Profile.BAND, size=sizes("2x1/4in", "x"))
    ml = sum(
        (work_out([place], each, CATALOGUE).quantities[0].gross_ml)
        for place, each in ((SKYLIGHT, wish), (VENT, wish), (STRIP, wide))
    )
    assert float(ml) == pytest.approx(1303.0, abs=0.05)
    narrow = work_out([SKYLIGHT, VENT, STRIP], wish, CATALOGUE).quantities
    apart = [work_out([each], wish, CATALOGUE).quantities[0] for each in (SKYLIGHT, VENT, STRIP)]
    (together,) = narrow
    assert together.gross_ml == sum(row.gross_ml for row in apart)
    tube = "tube of 10.3 fl oz"
    assert counts(together)[tube] == 3
    assert sum(counts(row)[tube] for row in apart) == 5


def test_each_family_has_its_own_tubes():
    job = work_out([SKYLIGHT, Wanted("rail", RAIL, outer("96x2in"))], Wish(), CATALOGUE)
    assert [row.family for row in job.quantities] == [Family.SELF_LEVELLING, Family.NON_SAG]
    assert [work.bead.profile for work in job.places] == [Profile.BAND, Profile.FILLET]


def test_the_allowance_is_15_per_cent_unless_said():
    usual, own = (work_out([SKYLIGHT], Wish(waste_pct=w), CATALOGUE) for w in (None, 0))
    assert (usual.waste_pct, own.waste_pct) == (15, 0)
    assert own.quantities[0].gross_ml == own.quantities[0].net_ml
    assert usual.quantities[0].gross_ml == usual.quantities[0].net_ml * Fraction(115, 100)


def test_dots_are_counted_once_with_the_first_place():
    job = work_out([SKYLIGHT, VENT], Wish(dots=8), CATALOGUE)
    assert [sum(run.dots for run in work.runs) for work in job.places] == [8, 0]


def test_spots_alone_take_no_bead():
    (work,) = work_out([SKYLIGHT], Wish(extent=Extent.SPOT, dots=3), CATALOGUE).places
    assert (work.bead, [run.dots for run in work.runs]) == (None, [3])


def test_a_place_without_a_length_says_that_it_is_to_be_measured():
    job = work_out(
        [Wanted("field", replace(FLAT, zone_type="Z08"), outer("9x9in"))], Wish(), CATALOGUE
    )
    assert job.quantities == ()
    assert "measure it" in job.places[0].unmeasured


def test_nothing_is_reckoned_for_a_sealant_that_does_not_suit():
    job = work_out([SKYLIGHT], Wish(family=Family.SILICONE, dots=5), CATALOGUE)
    assert job.quantities == ()
    assert job.places[0].runs == ()


def test_a_tape_comes_in_lengths_and_not_in_tubes():
    (row,) = work_out([SKYLIGHT], Wish(family=Family.FACED_TAPE), CATALOGUE).quantities
    assert float(row.tape_mm) == pytest.approx(72 * 25.4 * 1.15)
    assert row.tubes == ()


def test_of_a_tape_for_under_a_flange_no_bead_is_reckoned():
    job = work_out([SKYLIGHT], Wish(family=Family.BUTYL_TAPE), CATALOGUE)
    assert job.quantities == ()
    assert job.places[0].unmeasured == "it goes under a flange only, and no bead is laid of it"


@pytest.mark.parametrize("kind", ["Z25", "Z26", "Z27"])
def test_no_bead_belongs_where_there_is_no_roof(kind):
    place = replace(FLAT, zone_type=kind)
    with pytest.raises(RefusedError, match="no bead belongs there"):
        work_out([Wanted("ceiling", place)], Wish(), CATALOGUE)


def test_the_keepers_own_tube_takes_the_place_of_the_list():
    tube = measure("250ml", VOLUME, "x")
    (row,) = work_out([SKYLIGHT], Wish(), CATALOGUE, tube).quantities
    assert counts(row) == {"tube of 250 ml": 2}


def test_the_tubes_are_those_of_the_trade():
    (row,) = work_out([SKYLIGHT], Wish(), CATALOGUE).quantities
    assert list(counts(row)) == [
        "tube of 10.1 fl oz",
        "tube of 10.3 fl oz",
        "tube of 300 ml",
        "tube of 310 ml",
        "sausage of 20 fl oz",
        "sausage of 600 ml",
    ]


def test_a_given_length_goes_before_the_size():
    (work,) = work_out([replace(SKYLIGHT, length=inches("10in"))], Wish(), CATALOGUE).places
    assert work.runs[0].length_mm == 254


def test_a_new_place_has_nothing_to_strip():
    bare = Wanted("new", replace(FLAT, old_family=None, old_bead=OldBead.NONE), outer("9x9in"))
    assert work_out([bare], Wish(), CATALOGUE).places[0].advice.extent is None

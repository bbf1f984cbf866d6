"""What suits a place: every combination has an answer, and what does not suit is never proposed."""

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.trade import Letter, Profile, load_catalogue
from evidence.trade.sealing import Place, advise, fit_at, preparation, usual_profile
from evidence.words import Extent, Family, OldBead, Slope, Surface

CATALOGUE = load_catalogue()
ZONE_TYPES = [None, *CATALOGUE.zone_types]
PLACES = st.builds(
    Place,
    surface=st.sampled_from(list(Surface)),
    slope=st.sampled_from([None, *Slope]),
    zone_type=st.sampled_from(ZONE_TYPES),
    old_family=st.sampled_from([None, *Family]),
    old_bead=st.sampled_from([None, *OldBead]),
)
FAMILIES = st.sampled_from([None, *(each for each in Family if each is not Family.UNKNOWN)])
EXTENTS = st.sampled_from([None, *Extent])


def names(options):
    return [option.family for option in options]


# --- the whole table -------------------------------------------------------------------------


def test_every_family_on_every_place_and_surface_has_an_answer_with_its_source():
    combined = list(product(Family, Surface, [None, *Slope], ZONE_TYPES))
    assert len(combined) == 10 * 7 * 4 * 28
    for family, surface, slope, zone_type in combined:
        fit = fit_at(Place(surface, slope, zone_type), family, CATALOGUE)
        assert fit.letter in Letter
        assert fit.reason
        assert fit.source


@given(PLACES, FAMILIES, EXTENTS)
def test_every_place_has_advice_and_an_n_is_never_proposed(place, family, extent):
    advice = advise(place, CATALOGUE, family, extent)
    assert all(option.fit.letter is not Letter.N for option in advice.fits)
    assert all(option.fit.letter is Letter.N for option in advice.unfit)
    told = set(names(advice.fits)) | set(names(advice.unfit)) | {family}
    assert told - {None} == set(Family) - {Family.UNKNOWN}
    if advice.chosen is not None:
        assert advice.chosen.fit.letter is not Letter.N
    assert advice.why
    assert all(claim.rests_on for claim in preparation(place, advice, CATALOGUE))


@given(PLACES)
def test_what_is_only_conditional_is_never_proposed_before_what_suits(place):
    letters = [option.fit.letter for option in advise(place, CATALOGUE).fits]
    assert letters == sorted(letters, key=list(Letter).index)


@given(PLACES, st.sampled_from(list(Slope)))
def test_an_unrecorded_slope_is_never_kinder_than_a_usual_one(place, slope):
    unrecorded = Place(place.surface, None, place.zone_type, place.old_family, place.old_bead)
    usual = CATALOGUE.zone_types[place.zone_type].usual_slopes if place.zone_type else ()
    if slope in (usual or tuple(Slope)):
        recorded = Place(place.surface, slope, place.zone_type, place.old_family, place.old_bead)
        order = list(Letter)
        for family in Family:
            kind = fit_at(unrecorded, family, CATALOGUE).letter
            assert order.index(kind) >= order.index(fit_at(recorded, family, CATALOGUE).letter)


# --- single places ---------------------------------------------------------------------------


def test_silicone_on_a_flat_tpo_skylight_is_answered_with_what_fits_instead():
    """TRADE § 10, case 6."""
    advice = advise(Place(Surface.TPO, Slope.FLAT, "Z11"), CATALOGUE, Family.SILICONE)
    assert advice.asked.fit.letter is Letter.N
    assert advice.chosen is None
    assert advice.fits[0].family is Family.SELF_LEVELLING
    assert Family.SILICONE not in names(advice.fits)


def test_self_levelling_is_not_proposed_for_a_rail_whose_slope_nobody_recorded():
    advice = advise(Place(Surface.ALUMINIUM, None, "Z05"), CATALOGUE)
    assert Family.SELF_LEVELLING in names(advice.unfit)
    assert "slope not on record" in advice.fits[0].fit.reason


def test_faced_tape_on_a_coating_is_refused_over_silicone_that_stays():
    """TRADE § 2: C; N over silicone."""
    coated = Place(Surface.COATED, Slope.FLAT, "Z09")
    over = Place(Surface.COATED, Slope.FLAT, "Z09", Family.SILICONE)
    gone = Place(Surface.COATED, Slope.FLAT, "Z09", Family.SILICONE, OldBead.REMOVED)
    letters = [fit_at(place, Family.FACED_TAPE, CATALOGUE).letter for place in (coated, over, gone)]
    assert letters == ["C", "N", "C"]


def test_the_old_beads_family_comes_first_among_equals():
    place = Place(Surface.ALUMINIUM, Slope.VERTICAL, "Z05", Family.POLYURETHANE)
    assert advise(place, CATALOGUE).fits[0].family is Family.POLYURETHANE


def test_a_bead_comes_before_a_tape():
    fits = names(advise(Place(Surface.GELCOAT, Slope.VERTICAL), CATALOGUE).fits)
    assert fits.index(Family.POLYURETHANE) < fits.index(Family.BUTYL_TAPE)


@pytest.mark.parametrize(
    ("family", "bead", "extent"),
    [
        (Family.SELF_LEVELLING, OldBead.SOUND, Extent.OVERLAY),
        (Family.SELF_LEVELLING, None, Extent.OVERLAY),
        (Family.SELF_LEVELLING, OldBead.PART, Extent.STRIP),
        (Family.NON_SAG, OldBead.SOUND, Extent.STRIP),
        (Family.UNKNOWN, OldBead.SOUND, Extent.STRIP),
        (None, None, Extent.STRIP),
        (None, OldBead.NONE, None),
        (Family.SILICONE, OldBead.REMOVED, None),
    ],
)
def test_the_old_bead_decides_whether_to_strip(family, bead, extent):
    """TRADE § 2: over a sound bead of the same family; unknown or mixed is stripped."""
    place = Place(Surface.EPDM, Slope.FLAT, "Z11", family, bead)
    assert advise(place, CATALOGUE, Family.SELF_LEVELLING).extent is extent


def test_work_that_was_asked_for_stands_and_what_the_bead_says_stands_beside_it():
    place = Place(Surface.EPDM, Slope.FLAT, "Z11", Family.UNKNOWN)
    advice = advise(place, CATALOGUE, Family.SELF_LEVELLING, Extent.SPOT)
    assert advice.extent is Extent.SPOT
    assert "not known, or mixed" in advice.why


@pytest.mark.parametrize(
    ("old", "bead"),
    [
        (Family.SILICONE, OldBead.SOUND),
        (Family.UNKNOWN, OldBead.SOUND),
        (None, None),
        (Family.SELF_LEVELLING, OldBead.PART),
    ],
)
def test_nothing_is_laid_over_another_bead_or_one_that_is_not_known_or_not_whole(old, bead):
    """TRADE § 2: unknown or mixed old bead: strip, do not overlay."""
    place = Place(Surface.EPDM, Slope.FLAT, "Z11", old, bead)
    advice = advise(place, CATALOGUE, Family.SELF_LEVELLING, Extent.OVERLAY)
    assert advice.warnings[0].startswith("Strip the old bead; do not lay over it: ")
    assert (advice.extent, advice.asked.fit.letter) == (Extent.STRIP, Letter.N)
    assert "S1" in advice.asked.fit.source
    assert advice.chosen is None
    assert advise(place, CATALOGUE, None, Extent.OVERLAY).extent is Extent.STRIP


def test_over_a_sound_bead_of_its_own_family_it_may_be_laid():
    place = Place(Surface.EPDM, Slope.FLAT, "Z11", Family.SELF_LEVELLING, OldBead.SOUND)
    advice = advise(place, CATALOGUE, Family.SELF_LEVELLING, Extent.OVERLAY)
    assert (advice.extent, advice.asked.fit.letter, advice.warnings) == ("overlay", "Y", ())


@given(PLACES, st.sampled_from([family for family in Family if family is not Family.UNKNOWN]))
def test_an_unknown_surface_is_never_kinder_than_any_that_it_may_be(place, family):
    order = list(Letter)
    unknown = fit_at(replace(place, surface=Surface.UNKNOWN), family, CATALOGUE).letter
    known = [
        fit_at(replace(place, surface=surface), family, CATALOGUE).letter
        for surface in Surface
        if surface is not Surface.UNKNOWN
    ]
    assert unknown is max(known, key=order.index)


def test_an_unknown_surface_is_to_be_found_out_first():
    advice = advise(Place(Surface.UNKNOWN, Slope.FLAT), CATALOGUE)
    assert advice.warnings == ("Find out what the roof is made of first",)
    assert {option.fit.letter for option in advice.fits} == {Letter.C}


@given(PLACES, FAMILIES, EXTENTS)
def test_a_family_for_under_a_flange_is_never_reckoned_with_for_a_bead(place, family, extent):
    advice = advise(place, CATALOGUE, family, extent)
    assert advice.chosen is None or advice.chosen.family is not Family.BUTYL_TAPE


@pytest.mark.parametrize(
    ("slope", "zone_type", "family", "profile"),
    [
        (Slope.FLAT, None, Family.SELF_LEVELLING, Profile.BAND),
        (Slope.FLAT, None, Family.NON_SAG, Profile.FILLET),
        (Slope.VERTICAL, None, Family.NON_SAG, Profile.FILLET),
        (None, "Z11", None, Profile.BAND),
        (None, "Z05", None, Profile.FILLET),
    ],
)
def test_a_flat_place_takes_a_flat_cap_and_any_other_a_fillet(slope, zone_type, family, profile):
    assert usual_profile(Place(Surface.EPDM, slope, zone_type), family, CATALOGUE) is profile


def test_preparation_is_that_of_the_work_the_sealant_and_the_surface():
    place = Place(Surface.TPO, Slope.FLAT, "Z11", Family.UNKNOWN)
    said = [claim.text for claim in preparation(place, advise(place, CATALOGUE), CATALOGUE)]
    assert "The place must be clean and dry." in said
    assert any(text.startswith("Where the old bead is unknown") for text in said)
    assert any("settles by itself" in text for text in said)
    assert "Use primer before tape." in said
    assert not any("takes a dot" in text for text in said)

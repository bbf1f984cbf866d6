"""Zones at positions by the optional lookup, on places whose zone anybody can look up."""

import pytest

from evidence.photos import CaptureRule, capture, load_atlas
from evidence.photos.camera import read_camera
from evidence.photos.place import Atlas
from evidence.times import parse_utc, utc_text, zone
from tests.conftest import needed


@pytest.fixture
def atlas() -> Atlas:
    found = load_atlas()
    needed(found is not None, "the extra 'places' (timezonefinder)")
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("latitude", "longitude", "key"),
    [
        # from memory of the map
        (41.90, -87.60, "America/Chicago"),
        (33.45, -112.07, "America/Phoenix"),
        (36.11, -109.22, "America/Denver"),  # the Navajo Nation keeps summer time within Arizona
        (27.70, 85.30, "Asia/Kathmandu"),
        (30.00, -40.00, None),  # the open Atlantic
    ],
)
def test_a_position_has_the_zone_of_its_map(atlas, latitude, longitude, key):
    assert atlas.zone_at(latitude, longitude) == key


def test_the_lookup_names_its_version_and_that_of_its_data(atlas):
    assert atlas.source.startswith("timezonefinder ")
    assert "data" in atlas.source


def test_a_machine_without_the_extra_has_no_lookup(monkeypatch):
    monkeypatch.setattr("importlib.util.find_spec", lambda _: None)
    load_atlas.cache_clear()
    try:
        assert load_atlas() is None
    finally:
        load_atlas.cache_clear()


def test_a_zone_younger_than_the_pinned_tzdata_is_none(atlas, monkeypatch):
    class Finder:
        def timezone_at_land(self, *, lng, lat):
            return "Mars/Olympus"

    monkeypatch.setattr("evidence.photos.place._finder", Finder)
    assert atlas.zone_at(1.0, 1.0) is None


def test_a_real_picture_from_new_york_on_chicago_time_is_said_to_contradict_itself(
    atlas, shared_photos
):
    # MANIFEST.tsv: 11:27:32, offset -05:00, satellites 16:27:32, 40.736435 -73.99316
    path = shared_photos / "open" / "public-testfil__nikon-20221019-building.jpeg"
    found = capture(
        read_camera(path).camera,
        home=zone("America/Chicago"),
        travels=(),
        built=None,
        model_year=None,
        logged=parse_utc("2026-01-01T00:00:00Z"),
        atlas=atlas,
    )
    assert (found.rule, found.place) == (CaptureRule.OFFSET, "America/New_York")
    ends = utc_text(found.span.earliest), utc_text(found.span.latest)
    assert ends == ("2022-10-25T15:27:32Z", "2022-10-25T16:27:32Z")
    assert "its position lies in America/New_York, -04:00" in found.contradiction

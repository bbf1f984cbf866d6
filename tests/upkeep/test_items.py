"""Entries as they stand: the rig in force, effective time, labels (RECORD §§ 3-4)."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from evidence.errors import RefusedError
from evidence.times import Basis, Span, parse_when, utc_text, zone
from evidence.upkeep.items import Item, build_items, effective_time
from tests.scenarios.build import RIG, Told, build, history, look, photo, starter, tell
from tests.upkeep import telling

CHICAGO = zone("America/Chicago")


def item(entries: list[Told], seq: int, on: str = "2025-12-31") -> Item:
    found = history(entries, on).item(seq)
    assert found is not None
    return found


def correct(of: int, logged: str = "2025-04-01T12:00:00Z", **body: object) -> Told:
    return telling.correct(of, logged, **body)


def times(found: Item) -> tuple[str | None, str]:
    shown = found.time.as_json()
    return shown["earliest"], str(shown["latest"])


# When it was told


def test_only_a_correction_of_the_time_moves_when_it_was_told():
    told = [look("2025-03-01"), correct(6, set={"occasion": "follow-up"})]
    found = item(told, 6)
    assert utc_text(found.told_at("when")) == "2025-03-01T23:59:00Z"
    assert utc_text(found.told_at()) == "2025-04-01T12:00:00Z"
    assert found.on_time


def test_a_time_corrected_a_month_later_is_late():
    found = item([look("2025-03-01"), correct(6, set={"when": "2025-02-28"})], 6)
    assert not found.within_24h
    assert found.lag_days == (1, 1)


@pytest.mark.parametrize("field", ["when", "zones"])
def test_a_corrected_time_or_zone_is_not_on_time(field: str):
    value = {"when": "2025-03-01T10:00-06:00", "zones": [{"zone": "skylight", "grade": 1}]}[field]
    found = item([look("2025-03-01"), correct(6, "2025-03-02T00:30:00Z", set={field: value})], 6)
    assert found.within_24h
    assert not found.on_time


# The rig in force


def test_each_entry_is_read_with_the_rig_in_force_when_it_was_written():
    moved = tell("rig", RIG | {"home_zone": "America/Denver"}, "2025-04-01T12:00:00Z")
    told = [look("2025-03-01"), moved, look("2025-05-01")]
    assert times(item(told, 6))[0] == "2025-03-01T06:00:00Z"
    assert times(item(told, 8))[0] == "2025-05-01T06:00:00Z"  # −06:00 in Denver's summer


def test_a_withdrawn_statement_of_the_rig_is_not_in_force():
    moved = tell("rig", RIG | {"home_zone": "America/Denver"}, "2025-04-01T12:00:00Z")
    told = [moved, correct(6, "2025-04-02T12:00:00Z", withdraw=True), look("2025-05-01")]
    assert times(item(told, 8))[0] == "2025-05-01T05:00:00Z"
    assert history(told, "2025-06-01").rig.home_zone == "America/Chicago"


# Effective time


def test_pictures_narrow_the_stated_time():
    shots = [
        photo("2025:03:01 10:00:00", offset="-06:00"),
        photo("2025:03:01 10:20:00", offset="-06:00"),
    ]
    found = item([look("2025-03-01", files=shots)], 6)
    assert times(found) == ("2025-03-01T16:00:00Z", "2025-03-01T16:20:00Z")
    assert (found.time.basis, found.conflict) == (Basis.CAMERA, False)


def test_a_picture_of_another_day_is_a_conflict_and_the_stated_time_counts_cut_at_logged():
    shots = [photo("2025:02:20 10:00:00", offset="-06:00")]
    found = item([look("2025-03-01", files=shots)], 6)
    assert times(found) == ("2025-03-01T06:00:00Z", "2025-03-01T23:59:00Z")
    assert (found.time.basis, found.conflict) == (Basis.STATED, True)


def test_a_scan_says_nothing_of_when_it_was_done():
    scans = [photo("2025:02:20 10:00:00", offset="-06:00", role="scan")]
    assert not item([look("2025-03-01", files=scans)], 6).conflict


def test_a_picture_without_a_clock_neither_narrows_nor_contradicts():
    found = item([look("2025-03-01", files=[photo(None, name="a.jpg")])], 6)
    assert (found.time.basis, found.conflict) == (Basis.STATED, False)


def test_an_interval_is_cut_at_logged():
    found = item([look("2025-03", logged="2025-03-10T12:00:00Z")], 6)
    assert times(found) == ("2025-03-01T06:00:00Z", "2025-03-10T12:00:00Z")


spans = st.tuples(st.integers(0, 50), st.integers(0, 50)).map(
    lambda pair: Span(
        parse_when(f"2025-03-01T00:{min(pair):02}Z", CHICAGO).earliest,
        parse_when(f"2025-03-01T00:{max(pair):02}Z", CHICAGO).latest,
        Basis.CAMERA,
    )
)
stated_spans = spans.map(lambda span: Span(span.earliest, span.latest, Basis.STATED))


@given(stated_spans, st.lists(spans, max_size=4), spans)
def test_an_effective_time_never_lies_outside_the_stated_one_nor_behind_the_log(
    stated, taken, logged
):
    found, conflict = effective_time(stated, taken, logged.latest)
    assert found.earliest is not None
    assert found.earliest >= stated.earliest
    assert found.latest <= max(stated.earliest, min(stated.latest, logged.latest))
    assert conflict == (bool(taken) and found.basis is Basis.STATED)


def test_an_entry_that_says_no_time_is_refused_one():
    found = item([], 4)
    assert (found.span, found.lag_days, found.within_24h) == (None, None, False)
    with pytest.raises(RefusedError, match="entry 5: does not say when"):
        _ = found.time


# Not after


def test_not_after_is_shown_at_its_latest_day_and_counted_from_the_day_the_rig_was_built():
    found = item([look("../2025-03-01")], 6)
    assert found.dates == (date(2025, 3, 1), date(2025, 3, 1))
    assert found.bounds == (date(2023, 3, 1), date(2025, 3, 1))
    assert found.lag_days == (0, 731)  # 1 March 2023 → 1 March 2025, with 29 February 2024
    assert not found.within_24h


def test_without_a_day_of_building_the_model_year_bounds_it_and_without_both_the_calendar():
    plain = {name: value for name, value in RIG.items() if name != "built"}
    dated = starter(rig=plain | {"model_year": 2023})
    assert item([*dated, look("../2025-03-01")], 6).bounds[0] == date(2022, 1, 1)
    assert item([*starter(rig=plain), look("../2025-03-01")], 6).bounds[0] == date(1900, 1, 1)


# Labels


def test_a_label_describes_a_file_that_was_sealed_before():
    shot = photo("2025:03:01 10:00:00", offset="-06:00")
    told = [
        tell("photos", {}, "2025-03-01T20:00:00Z", files=[shot]),
        tell("label", {"of": [shot["sha256"]], "zone": "skylight"}, "2025-03-02T20:00:00Z"),
        tell("label", {"of": [shot["sha256"]], "role": "wide"}, "2025-03-03T20:00:00Z"),
    ]
    (picture,) = item(told, 6).pictures
    assert (picture.file.zone, picture.file.role) == ("skylight", "wide")


def test_a_withdrawn_label_says_nothing():
    shot = photo(None, name="a.jpg")
    told = [
        tell("photos", {}, "2025-03-01T20:00:00Z", files=[shot]),
        tell("label", {"of": [shot["sha256"]], "zone": "skylight"}, "2025-03-02T20:00:00Z"),
        correct(7, withdraw=True),
    ]
    assert item(told, 6).pictures[0].file.zone is None


def test_no_label_moves_an_entry_in_time():
    """A picture of February contradicts 1 March; called a scan afterwards, it still does."""
    shot = photo("2025:02:20 10:00:00", offset="-06:00")
    scan = tell("label", {"of": [shot["sha256"]], "role": "scan"}, "2025-04-02T20:00:00Z")
    assert item([look("2025-03-01", files=[shot]), scan], 6).conflict


def test_no_label_tells_what_a_camera_wrote():
    shot = photo(None, name="a.jpg")
    forged = {"of": [shot["sha256"]], "camera": {"DateTimeOriginal": "2025:03:01 10:00:00"}}
    entries = build(
        [
            *starter(),
            look("2025-03-01", files=[shot]),
            tell("label", forged, "2025-04-02T20:00:00Z"),
        ],
        admitted=False,
    )
    (picture,) = build_items(entries)[6].pictures
    assert picture.file.camera is None
    assert not picture.capture.relied_on


# Cameras


def test_a_cameras_date_is_held_against_the_day_of_building_else_the_model_year():
    """Built in 2023, or of model year 2024, which begins in 2023: 2022 is not relied on."""

    def relied_on(taken: str, **about: object) -> bool:
        rig = {name: value for name, value in RIG.items() if name != "built"} | about
        told = [*starter(rig=rig), look("2025-03-01", files=[photo(taken, offset="-06:00")])]
        (picture,) = item(told, 6).pictures
        assert picture.seq == 6
        return picture.capture.relied_on

    early, late = "2022:12:31 12:00:00", "2023:01:01 12:00:00"
    assert (relied_on(early, model_year=2024), relied_on(late, model_year=2024)) == (False, True)
    assert (relied_on(late, built="2023-03-01"), relied_on(early)) == (False, True)

"""What is handed in, as its grouping sees it."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from evidence.case import Draft, Record
from evidence.keeping import FileDraft
from evidence.photos import Crew
from evidence.roll import read_roll
from tests.carding import photo, stranger
from tests.making import picture
from tests.photos.filming import film
from tests.tampering import owner_of

AUTUMN = datetime(2025, 9, 1, 12, tzinfo=UTC)


@pytest.fixture
def record(case: Path) -> Record:
    return Record.open(case)


def roll_of(record, fresh, held=()):
    paths = {f"{n:064x}": path for n, path in enumerate(fresh)}
    with Crew() as worker:
        return read_roll(record, paths, held, worker, AUTUMN, lambda _done, _all: None)


def test_a_camera_with_an_offset_orders_by_its_moment(record, tmp_path):
    (item,) = roll_of(
        record, [picture(tmp_path / "a.jpg", "2025:08:30 09:00:00", "-05:00", 9)]
    ).items
    assert (item.moment, item.camera_name, item.name) == (
        datetime(2025, 8, 30, 14, tzinfo=UTC), "Field 3", "a.jpg",
    )  # fmt: skip


def test_a_camera_without_a_zone_orders_as_if_it_stood_at_home_time(record, tmp_path):
    (item,) = roll_of(record, [picture(tmp_path / "a.jpg", "2025:08:30 09:00:00", None, 9)]).items
    assert item.moment == datetime(2025, 8, 30, 14, tzinfo=UTC)
    assert (item.earliest, item.latest) == (
        datetime(2025, 8, 29, 19, tzinfo=UTC), datetime(2025, 8, 30, 21, tzinfo=UTC),
    )  # fmt: skip


@pytest.mark.parametrize("taken", [None, "2016:02:03 10:00:00", "0000:00:00 00:00:00"])
def test_where_nothing_is_relied_on_nothing_orders(record, tmp_path, taken):
    (item,) = roll_of(record, [picture(tmp_path / "a.jpg", taken, "-05:00", 9)]).items
    assert (item.moment, item.loose) == (None, False)


def test_whose_card_a_new_picture_shows_is_known_before_it_is_sealed(record, tmp_path):
    other = stranger()
    mine = photo(record, tmp_path / "a.jpg", "2025:08:30 09:00:00")
    strange = photo(record, tmp_path / "b.jpg", "2025:08:30 09:00:00", answer=other.answer,
                    case_id=other.case_id)  # fmt: skip
    cards = [item.card for item in roll_of(record, [mine, strange]).items]
    assert cards == [record.case.case_id, other.case_id]


def test_whose_card_a_held_picture_shows_is_read_again(record, tmp_path):
    other = stranger()
    path = photo(record, tmp_path / "b.jpg", "2025:08:30 09:00:00", answer=other.answer,
                 case_id=other.case_id)  # fmt: skip
    draft = Draft("photos", {}, "owner", (FileDraft(path),))
    (entry,) = record.write([draft], owner_of(record.folder), clock=lambda: AUTUMN).entries
    digest = entry.files[0].sha256
    (item,) = roll_of(record, [], [digest]).items
    assert (item.sha256, item.card) == (digest, other.case_id)
    record.original(digest).unlink()
    (item,) = roll_of(record, [], [digest]).items
    assert item.card is None


def test_the_files_are_read_once_and_counted(record, tmp_path):
    seen = []
    paths = {f"{n:064x}": picture(tmp_path / f"{n}.jpg", None, None, n) for n in range(2)}
    with Crew() as worker:
        roll = read_roll(
            record, paths, (), worker, AUTUMN, lambda done, all_: seen.append((done, all_))
        )
    assert seen == [(1, 2), (2, 2)]
    assert [one.read.sha256 for one in roll.new] == list(paths)


@pytest.mark.parametrize(
    ("written", "loose"), [("2025-08-30T09:00:00", True), ("2025-08-30T09:00:00-0500", False)]
)
def test_a_film_whose_clock_reads_two_ways_has_no_sure_place(record, tmp_path, written, loose):
    keys = {"com.apple.quicktime.creationdate": written, "com.apple.quicktime.model": "Field 3"}
    path = film(tmp_path / "a.mov", datetime(2025, 8, 30, 14), keys)  # noqa: DTZ001 - UTC
    (item,) = roll_of(record, [path]).items
    assert (item.moment, item.loose) == (datetime(2025, 8, 30, 14, tzinfo=UTC), loose)

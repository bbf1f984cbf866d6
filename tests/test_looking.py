"""Looks are kept beside the previews and taken again where they are gone, old or broken."""

import json
import shutil
from datetime import date

import pytest

from evidence.case import Record
from evidence.looking import look_at_pictures, seen_questions
from evidence.photos.look import VERSION


@pytest.fixture
def record(case) -> Record:
    """The small case, not looked at yet."""
    shutil.rmtree(case / "previews", ignore_errors=True)
    return Record.open(case)


@pytest.fixture
def sums(record) -> list[str]:
    pictures = (f for e in record.entries for f in e.files if f.type.startswith("image/"))
    return list(dict.fromkeys(f.sha256 for f in pictures))


def kept(record):
    return sorted(record.previews.glob("*.look.json"))


def test_a_look_is_taken_once_and_kept(record, sums):
    seen = []
    first = look_at_pictures(record, sums, lambda done, whole: seen.append((done, whole)))
    assert list(first) == sums
    assert all(look.luma is not None for look in first.values())
    assert seen == [(at, len(sums)) for at in range(1, len(sums) + 1)]
    assert len(kept(record)) == len(sums)

    again = []
    assert look_at_pictures(record, sums, lambda *done: again.append(done)) == first
    assert again == []


@pytest.mark.parametrize("spoilt", ["", "{}x", '{"luma":"white"}'])
def test_a_broken_or_older_look_is_taken_again(record, sums, spoilt):
    first = look_at_pictures(record, sums)
    old = json.loads(kept(record)[0].read_text()) | {"version": VERSION - 1, "luma": 1.0}
    for path, text in zip(kept(record), (spoilt, json.dumps(old), ""), strict=False):
        path.write_text(text)
    assert look_at_pictures(record, sums) == first


def test_an_original_that_is_gone_is_left_out(record, sums):
    record.original(sums[0]).unlink()
    assert list(look_at_pictures(record, sums)) == sums[1:]


def test_where_a_look_cannot_be_kept_it_is_taken_all_the_same(record, sums):
    record.previews.write_text("a file in the way")
    assert list(look_at_pictures(record, sums)) == sums


def test_looking_changes_neither_the_record_nor_its_figures(record, sums):
    before = record.contents
    day = date(2025, 11, 3)
    assert seen_questions(record, record.history(day)) == seen_questions(
        record, record.history(day)
    )
    assert Record.open(record.folder).contents == before

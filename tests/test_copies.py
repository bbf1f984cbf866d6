"""Copies whose original may have arrived."""

from pathlib import Path

import pytest
from PIL import Image, ImageDraw

from evidence.case import Draft, Record
from evidence.copies import likely_originals
from evidence.keeping import FileDraft
from tests.tampering import owner_of


@pytest.fixture
def record(case: Path) -> Record:
    return Record.open(case)


def scene(seed: int) -> "Image.Image":
    """A picture of some shapes; another seed, another scene."""
    import random

    draw_at = random.Random(seed)
    image = Image.new("RGB", (1200, 900), (128, 128, 128))
    pen = ImageDraw.Draw(image)
    for _ in range(25):
        x, y = draw_at.randrange(1200), draw_at.randrange(900)
        grey = draw_at.randrange(256)
        pen.rectangle((x, y, x + 250, y + 180), fill=(grey, grey, grey))
    return image


def original(path, seed, taken="2025:08:30 09:00:00", *, turned=0):
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x9003] = taken
    exif[0x010F], exif[0x0110] = "Lumen", "Field 3"
    scene(seed).rotate(turned, expand=True).save(path, quality=92, exif=exif)
    return path


def copy(path, seed):
    """As a messenger sends it: smaller, recompressed, without tags."""
    image = scene(seed)
    image.thumbnail((640, 640))
    image.save(path, quality=60)
    return path


def sealed(record, *paths, **described):
    draft = Draft("photos", {}, "owner", tuple(FileDraft(path, described) for path in paths))
    (entry,) = record.write([draft], owner_of(record.folder)).entries
    return {file.name: file.sha256 for file in entry.files}


def found(record, fresh):
    history = record.history(record.last_day)
    likely = likely_originals(record, list(history.pictures()), fresh, history.links)
    return [(one.copy.file.name, one.original.file.name, len(one.others)) for one in likely]


def test_an_original_that_comes_after_its_copy_is_noticed(record, tmp_path):
    sealed(record, copy(tmp_path / "message.jpg", 1), copy(tmp_path / "else.jpg", 2))
    fresh = sealed(record, original(tmp_path / "LF_1.jpg", 1), original(tmp_path / "LF_3.jpg", 3))
    assert found(record, fresh.values()) == [("message.jpg", "LF_1.jpg", 0)]


def test_a_copy_that_comes_after_its_original_is_noticed_too(record, tmp_path):
    sealed(record, original(tmp_path / "LF_1.jpg", 1))
    fresh = sealed(record, copy(tmp_path / "message.jpg", 1), via="messenger")
    assert found(record, fresh.values()) == [("message.jpg", "LF_1.jpg", 0)]


def test_a_turned_original_is_noticed(record, tmp_path):
    paths = copy(tmp_path / "message.jpg", 1), original(tmp_path / "LF_1.jpg", 1, turned=90)
    fresh = sealed(record, *paths)
    assert found(record, fresh.values()) == [("message.jpg", "LF_1.jpg", 0)]


def test_where_nothing_new_came_nothing_is_asked(record, tmp_path):
    sealed(record, copy(tmp_path / "message.jpg", 1), original(tmp_path / "LF_1.jpg", 1))
    assert found(record, []) == []


def test_others_that_look_like_it_are_counted(record, tmp_path):
    again = original(tmp_path / "LF_2.jpg", 1, "2025:08:30 09:02:00")
    fresh = sealed(record, copy(tmp_path / "m.jpg", 1), original(tmp_path / "LF_1.jpg", 1), again)
    assert found(record, fresh.values()) == [("m.jpg", "LF_1.jpg", 1)]


def test_a_copy_that_is_linked_is_asked_of_no_more(record, tmp_path):
    fresh = sealed(record, copy(tmp_path / "m.jpg", 1), original(tmp_path / "LF_1.jpg", 1))
    label = {"of": [fresh["LF_1.jpg"]], "original_of": fresh["m.jpg"]}
    record.write([Draft("label", label, "owner")], owner_of(record.folder))
    assert found(record, fresh.values()) == []


def test_two_pictures_with_tags_or_two_without_are_no_copy_and_original(record, tmp_path):
    fresh = sealed(record, copy(tmp_path / "m.jpg", 1), copy(tmp_path / "n.jpg", 2))
    fresh |= sealed(record, original(tmp_path / "LF_3.jpg", 3), original(tmp_path / "LF_4.jpg", 4))
    assert found(record, fresh.values()) == []


def test_a_smaller_file_is_never_the_original_of_a_larger_one(record, tmp_path):
    large = tmp_path / "large.bmp"
    scene(1).save(large)
    fresh = sealed(record, large, original(tmp_path / "LF_1.jpg", 1))
    assert large.stat().st_size > (tmp_path / "LF_1.jpg").stat().st_size
    assert found(record, fresh.values()) == []


def test_the_bytes_of_neither_change(record, tmp_path):
    first, second = copy(tmp_path / "m.jpg", 1), original(tmp_path / "LF_1.jpg", 1)
    fresh = sealed(record, first, second)
    found(record, fresh.values())
    assert record.original(fresh["m.jpg"]).read_bytes() == first.read_bytes()
    assert record.original(fresh["LF_1.jpg"]).read_bytes() == second.read_bytes()
